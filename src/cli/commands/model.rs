//! `spooltalk model import` and `spooltalk model list`.

use crate::cli::Exit;
use crate::cli::args::{ImportArgs, ModelCommand, Quantize};
use crate::cli::failure::Failure;
use crate::cli::print;
use crate::speech::model::{self, Ear, Listed, ModelError, Store};

/// Takes models in, or shows what is there.
pub fn model(command: &ModelCommand) -> Result<Exit, Failure> {
    let store = Store::usual(|name| std::env::var_os(name)).ok_or_else(|| {
        Failure::usage("no place for speech models: set HOME, or SPOOLTALK_HOME to a folder of your choice")
    })?;
    match command {
        ModelCommand::Import(args) => import(args, &store),
        ModelCommand::List => list(&store),
    }
}

fn import(args: &ImportArgs, store: &Store) -> Result<Exit, Failure> {
    let quantize = args.quantize == Some(Quantize::Q8_0);
    let listed = model::import(&args.files, quantize, store).map_err(Failure::nothing)?;
    print::text(&line(&listed))
}

fn list(store: &Store) -> Result<Exit, Failure> {
    let listed = store.list().map_err(Failure::nothing)?;
    if listed.is_empty() {
        tracing::warn!("{}", ModelError::None { store: store.folder().to_owned() });
    }
    let sound = listed.iter().all(|l| l.about.is_ok());
    print::text(&listed.iter().map(line).collect::<String>())?;
    Ok(if sound { Exit::Done } else { Exit::Partly })
}

/// Name, size, languages, weights, whether the file is sound, and whether the trade ear goes with it.
fn line(listed: &Listed) -> String {
    match &listed.about {
        Ok(about) => {
            let languages =
                if about.multilingual { format!("{} languages", about.languages) } else { "English".to_owned() };
            let size = about.bytes as f64 / 1e6;
            let ear = Ear::built_in().fits(&listed.path, "en").is_ok_and(|fits| fits);
            let ear = if ear { ", with the trade ear" } else { "" };
            format!(
                "{:<16} {size:>7.1} MB  {:<6} {languages}, {}, sound{ear}\n",
                listed.name, about.kind, about.weights
            )
        }
        Err(why) => format!("{:<16} unusable: {why}\n", listed.name),
    }
}

//! `spooltalk review`: what is in doubt, settled by ear in the browser.

use std::time::Duration;

use crate::cli::Exit;
use crate::cli::args::{IngestArgs, ReviewArgs};
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::settle;
use crate::pipeline::Unwatched;
use crate::review::{Ended, Server, Session, Stop};

/// Serves the review until it is done, left alone or stopped; then writes the results anew.
pub fn review(args: &ReviewArgs, quiet: bool) -> Result<Exit, Failure> {
    settle::results(&args.trip, args.out.as_deref())?;
    let plan = settle::plan(&of_ingest(args), &args.trip, &Places::usual())?;
    let session = Session::open(plan).map_err(Failure::nothing)?;
    let server =
        Server::bind().map_err(|e| Failure::nothing(format_args!("no port of this machine to serve on: {e}")))?;
    let address = server.address();
    // Before anything is said: who reads the address may press Ctrl-C at once.
    let stop = Stop::default();
    let at_end = stop.clone();
    ctrlc::set_handler(move || at_end.now()).map_err(Failure::nothing)?;
    let left = session.doubts().len();
    // Always printed: it is the one way in.
    print::text(&format!("{left} in doubt; open {address}\nEvery answer is kept at once. Ctrl-C ends the review.\n"))?;
    if !args.no_browser
        && let Err(why) = opener::open_browser(&address)
    {
        tracing::warn!("no browser was opened ({why}): open the address yourself");
    }
    let idle = Duration::from_secs(u64::from(args.idle) * 60);
    let (mut session, ended) = server.run(session, idle, &stop).map_err(Failure::nothing)?;
    for notice in session.finish(&Unwatched).map_err(Failure::nothing)? {
        tracing::warn!("{notice}");
    }
    if !quiet {
        let why = match ended {
            Ended::Done => "done",
            Ended::Idle => "left alone, so it ended",
            Ended::Stopped => "stopped",
        };
        print::text(&format!(
            "{why}: {} left in doubt; every answer stands in {}\n",
            session.doubts().len(),
            session.out().display()
        ))?;
    }
    Ok(Exit::Done)
}

fn of_ingest(args: &ReviewArgs) -> IngestArgs {
    let usual = IngestArgs::of_trip(&args.trip, args.out.clone());
    IngestArgs { kit: args.kit.clone(), archive: args.archive.clone(), ..usual }
}

//! `spooltalk init`: a first kit file for a trip.

use std::io::{self, BufRead, IsTerminal as _, Write};

use crate::cli::Exit;
use crate::cli::args::{IngestArgs, InitArgs};
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::settle;
use crate::cli::{grammar, print};
use crate::exposure::Shutter;
use crate::kit::{FirstCamera, Format, Kit, Missing, Starter, ThingKind};
use crate::output::words::counted;
use crate::pipeline::{self, Speaks};
use crate::report::Report;

/// Frames on a roll from which on it is taken for 135 film.
const MORE_THAN_120: usize = 16;

/// Writes a first `kit.toml`, from a few questions on a terminal, else from what the notes speak of.
pub fn init(args: &InitArgs) -> Result<Exit, Failure> {
    let path = args.trip.join("kit.toml");
    if path.exists() {
        return Err(Failure::usage(format_args!(
            "{}: there is a kit already: `spooltalk kit add` adds to it, `spooltalk kit check` looks it through",
            path.display()
        )));
    }
    let asks = io::stdin().is_terminal() && io::stdout().is_terminal() && !args.from_notes;
    let (starter, how) =
        if asks { (ask(&mut io::stdin().lock(), &mut io::stdout())?, String::new()) } else { from_notes(args)? };
    super::kit::write(&path, &starter.text())?;
    print::text(&format!("{how}{}: written; read it through and correct it\n", path.display()))
}

/// What the notes speak of, and what to say of that.
fn from_notes(args: &InitArgs) -> Result<(Starter, String), Failure> {
    let ingest = IngestArgs::of_trip(&args.trip, args.out.clone());
    let plan = settle::plan(&ingest, &args.trip, &Places::usual())?;
    let language = grammar::language(None, Kit::default())?;
    let mut report = Report::default();
    let load = || super::ingest::recogniser(&plan, &language);
    let speaks = pipeline::speaks(&plan, &language, &load, &mut report);
    for line in report.lines() {
        tracing::warn!("{line}");
    }
    let how = format!("from {}: {}\n", counted(speaks.notes, "note"), told(&speaks));
    let starter = Starter { cameras: vec![camera(&speaks)], things: speaks.things };
    Ok((starter, how))
}

fn told(speaks: &Speaks) -> String {
    if speaks.things.is_empty() {
        return "they speak of no lens, film or filter that could be told".to_owned();
    }
    speaks.things.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// The camera that the notes were spoken about, as far as they tell.
fn camera(speaks: &Speaks) -> FirstCamera {
    let format = match (speaks.sheets, speaks.most_frames) {
        (true, _) => Format::S45,
        (false, n) if n > MORE_THAN_120 => Format::F135,
        _ => Format::F66,
    };
    FirstCamera {
        name: "camera".to_owned(),
        said: String::new(),
        format: format.as_str().to_owned(),
        shutters: speaks
            .shutters
            .filter(|(slow, fast)| slow != fast)
            .map(|(slow, fast)| (Shutter::Timed(slow).to_string(), Shutter::Timed(fast).to_string())),
        guessed: Some("a guess: 135, 6x4.5, 6x6, 6x7, 6x9, 4x5 …"),
    }
}

/// Asks on a terminal. An empty answer ends a list, or takes what stands in brackets.
fn ask(from: &mut dyn BufRead, to: &mut dyn Write) -> Result<Starter, Failure> {
    let mut talk = Talk { from, to };
    let mut starter = Starter::default();
    talk.say("A few questions; an empty answer goes on.\n")?;
    while let Some(name) = talk.answer("A camera: what is it called in the tables?", None)? {
        let said = talk.answer("  What do you call it when you talk?", None)?.unwrap_or_default();
        let formats: Vec<&str> = Format::ALL.iter().map(|f| f.as_str()).collect();
        let known = |text: &str| formats.contains(&text).then(|| text.to_owned());
        let format = talk.until(&format!("  Film format ({})", formats.join(", ")), "135", &known)?;
        let speeds = |text: &str| {
            let mut parts = text.split_whitespace();
            let speed = |t: Option<&str>| match t?.parse::<Shutter>().ok()? {
                s @ Shutter::Timed(_) => Some(s),
                _ => None,
            };
            let (slow, fast) = (speed(parts.next())?, speed(parts.next())?);
            (slow.seconds() > fast.seconds()).then(|| (slow.to_string(), fast.to_string()))
        };
        let shutters = Some(talk.until("  Slowest and fastest shutter speed", "1s 1/1000", &speeds)?);
        starter.cameras.push(FirstCamera { name, said, format, shutters, guessed: None });
    }
    let lists = [
        (ThingKind::Lens, "A lens: its focal length in mm, such as 80"),
        (ThingKind::Film, "A film: its name and speed, such as Bellbuoy 125"),
        (ThingKind::Filter, "A filter: what you call it, such as orange"),
    ];
    for (kind, question) in lists {
        while let Some(name) = talk.answer(question, None)? {
            let figure = (kind == ThingKind::Lens).then(|| name.trim_end_matches("mm").trim().parse().ok()).flatten();
            starter.things.push(Missing { kind, name, times: 1, figure });
        }
    }
    Ok(starter)
}

struct Talk<'a> {
    from: &'a mut dyn BufRead,
    to: &'a mut dyn Write,
}

impl Talk<'_> {
    fn say(&mut self, text: &str) -> Result<(), Failure> {
        write!(self.to, "{text}").and_then(|()| self.to.flush()).map_err(Failure::nothing)
    }

    /// An answer; none for an empty one, and at the end of the input.
    fn answer(&mut self, question: &str, usual: Option<&str>) -> Result<Option<String>, Failure> {
        self.say(&format!("{question}{} ", usual.map_or(String::new(), |u| format!(" [{u}]"))))?;
        let mut line = String::new();
        self.from.read_line(&mut line).map_err(Failure::nothing)?;
        let text = line.trim().to_owned();
        Ok(if text.is_empty() { usual.map(str::to_owned) } else { Some(text) })
    }

    /// Asks until the answer makes sense.
    fn until<T>(&mut self, question: &str, usual: &str, sense: &dyn Fn(&str) -> Option<T>) -> Result<T, Failure> {
        loop {
            let text = self.answer(question, Some(usual))?.unwrap_or_default();
            match sense(&text) {
                Some(value) => return Ok(value),
                None => self.say(&format!("  '{text}' is none; once more, as in {usual}.\n"))?,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_make_a_kit() {
        let answers = "Quill 66\nthe quill\nsquare\n6x6\n1s 1/500\n\n75\n\nBellbuoy 125\n\nND8\n\n";
        let mut shown = Vec::new();
        let text = ask(&mut answers.as_bytes(), &mut shown).unwrap().text();
        let kit = Kit::parse(&text).unwrap();
        assert_eq!((kit.cameras[0].name.as_str(), kit.cameras[0].format), ("Quill 66", Format::F66));
        assert_eq!((kit.lenses.len(), kit.films[0].iso.get(), kit.filters[0].lost.get()), (1, 125, 3.0));
        let shown = String::from_utf8(shown).unwrap();
        assert!(shown.contains("'square' is none"), "{shown}");
        // At the end of the input nothing is asked for ever.
        assert_eq!(ask(&mut "".as_bytes(), &mut Vec::new()).unwrap(), Starter::default());
    }
}

//! What a value would mean: against the daylight rule, on the gear, beside its neighbours.

use crate::edits::{Column, Edit, Edits};
use crate::exposure::Stops;
use crate::facts::Flag;
use crate::kit::Kit;
use crate::output::{AgainstRule, words};
use crate::roll::{Frame, Roll, Trip};

use super::show;

/// As near to the rule as this counts as on it: a third of a stop, as dials are read.
const ON_THE_RULE: f64 = 0.17;

/// The meaning of a value for a field of the frame at `at`, in a few words; empty when there is
/// nothing to say.
pub fn meaning(roll: &Roll, at: usize, kit: &Kit, unsure_below: f64, column: Column, text: &str) -> String {
    let Some(with) = trial(roll, &roll.frames[at], kit, unsure_below, column, text) else { return String::new() };
    let mut parts: Vec<String> = Vec::new();
    if column.bears_on_exposure()
        && let Some(against) = AgainstRule::of(&with)
    {
        parts.push(format!("{} {}", over(against.over), against.light));
    }
    let gear = |f: &&Flag| matches!(f, Flag::Odd(x) if x.as_str() == column.as_str()) || **f == Flag::Shake;
    let concerned = matches!(column, Column::Shutter | Column::FocalMm | Column::Lens | Column::Support);
    for flag in with.flags.iter().filter(gear).filter(|f| concerned || **f != Flag::Shake) {
        match (flag, words::reason(&with, *flag)) {
            // The rule was told above.
            (Flag::Odd(_), Some(why)) if why.contains(" asks for") => {}
            (Flag::Odd(_), Some(why)) => parts.push(why.to_owned()),
            _ => parts.push("slow for hand-holding".to_owned()),
        }
    }
    let beside = |i: Option<usize>| i.and_then(|i| roll.frames.get(i)).map(|f| (f.number, show::cell(roll, f, column)));
    if column == Column::Support && !with.flags.contains(&Flag::Shake) {
        parts.push("steady enough".to_owned());
    }
    for (number, cell) in [beside(at.checked_sub(1)), beside(Some(at + 1))].into_iter().flatten() {
        if cell == text {
            parts.push(format!("as frame {number}"));
        }
    }
    parts.join("; ")
}

/// The frame as it would be with this in its cell.
pub fn trial(roll: &Roll, frame: &Frame, kit: &Kit, unsure_below: f64, column: Column, text: &str) -> Option<Frame> {
    // With its neighbours, which have a say in what was only heard.
    let at = roll.frames.iter().position(|f| f.number == frame.number)?;
    let frames = roll.frames[at.saturating_sub(1)..roll.frames.len().min(at + 2)].to_vec();
    let mut trip = Trip { name: String::new(), rolls: vec![Roll { frames, ..roll.clone_head() }] };
    let edit = Edit::new(&roll.name, frame.number, column, &show::cell(roll, frame, column), text);
    Edits::from(vec![edit]).apply(&mut trip, kit, unsure_below);
    trip.rolls.pop()?.frames.into_iter().find(|f| f.number == frame.number)
}

/// Stops from the rule, in thirds: `on the rule for`, `2⅓ stops over for`.
fn over(stops: Stops) -> String {
    let n = stops.get();
    if n.abs() < ON_THE_RULE {
        return "on the rule for".to_owned();
    }
    let thirds = Stops::new((n.abs() * 3.0).round() / 3.0);
    let size = words::stops(thirds);
    let unit = if thirds.get() <= 1.0 { "stop" } else { "stops" };
    format!("{} {unit} {} for", size.trim_start_matches('+'), if n > 0.0 { "over" } else { "under" })
}

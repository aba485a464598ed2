//! "Six, seven, eight, the rope ends, one twenty-fifth, at five six, eight and eleven": as many settings of a dial
//! in a row as there are frames in a row, one each in the order said.

use std::ops::Range;

use crate::language::phrases::Passage;
use crate::language::tag::{Read, Role};
use crate::language::text::Kind;

/// How likely a setting goes with the frame that it stands as far down its row as. A choice: a row told plainly is
/// seldom anything else, and a number swallowed by the recogniser would shift it.
const IN_TURN: f32 = 0.95;

/// Ties the settings of a row to the frames of a row told before them, where there are as many of each.
pub fn in_turn(r: &Passage<'_>, read: &mut Read) {
    let frames: Vec<usize> = (0..read.mentions.len())
        .filter(|i| read.mentions[*i].role == Role::Number && read.mentions[*i].done())
        .collect();
    let rows = rows(r, read, &frames);
    for (at, row) in rows.iter().enumerate().filter(|(_, row)| row.len() > 1) {
        let last = *row.last().expect("a row has members");
        let end = rows.get(at + 1).map_or(read.mentions.len(), |next| next[0]);
        for role in [Role::Shutter, Role::Aperture] {
            let dial: Vec<usize> = (last + 1..end).filter(|i| read.mentions[*i].role == role).collect();
            let mut told = self::rows(r, read, &dial).into_iter().filter(|d| d.len() > 1);
            if let (Some(settings), None) = (told.next(), told.next())
                && settings.len() == row.len()
            {
                tie(read, row, &settings);
            }
        }
    }
}

/// Mentions in rows: nothing but commas and "and" between one and the next.
fn rows(r: &Passage<'_>, read: &Read, mentions: &[usize]) -> Vec<Vec<usize>> {
    let links = |between: Range<usize>| {
        between.into_iter().all(|t| {
            let t = &r.tokens[t];
            matches!(t.kind, Kind::Mark(',' | ';' | '&')) || ["and", "at"].iter().any(|l| r.lexicon.in_list(l, t))
        })
    };
    let mut out: Vec<Vec<usize>> = Vec::new();
    for i in mentions {
        let start = read.mentions[*i].tokens.start;
        match out.last_mut().and_then(|row| Some((*row.last()?, row))) {
            Some((before, row)) if before + 1 == *i && links(read.mentions[before].tokens.end..start) => row.push(*i),
            _ => out.push(vec![*i]),
        }
    }
    out
}

fn tie(read: &mut Read, frames: &[usize], settings: &[usize]) {
    for (k, setting) in settings.iter().enumerate() {
        for (j, frame) in frames.iter().enumerate() {
            let goes = if j == k { IN_TURN } else { 0.0 };
            read.set_together(*setting, *frame, goes);
            read.set_together(*frame, *setting, goes);
        }
        for other in settings.iter().filter(|o| *o != setting) {
            read.set_together(*setting, *other, 0.0);
        }
        let m = &mut read.mentions[*setting];
        m.opens = 0.0;
        m.standing = [m.standing[0].max(IN_TURN), 0.0, 0.0];
    }
}

#[cfg(test)]
mod tests {
    use crate::kit::Kit;
    use crate::language::Language;

    /// Frame, shutter and aperture of each frame that a text tells.
    fn told(text: &str) -> Vec<[String; 3]> {
        let language = Language::english(Kit::default());
        let frames = language.told(text).said.frames;
        let shown = |v: Option<String>| v.unwrap_or_default();
        frames
            .into_iter()
            .map(|f| {
                [
                    shown(f.number.map(|n| n.value.to_string())),
                    shown(f.shutter.map(|s| s.value.to_string())),
                    shown(f.aperture.map(|a| a.value.to_string())),
                ]
            })
            .collect()
    }

    #[test]
    fn as_many_settings_as_frames_are_one_each() {
        let row = told("Five is the slip, a thirtieth at f8. Six, seven, eight, the ropes, 1/125, f5.6, f8 and f11.");
        assert_eq!(
            row[1..],
            [["6", "1/125", "5.6"], ["7", "1/125", "8"], ["8", "1/125", "11"]].map(|r| r.map(str::to_owned))
        );
        let times = told("Eleven, twelve and thirteen, sparks only, a fifteenth, an eighth and a quarter, all at f11.");
        assert_eq!(
            times,
            [["11", "1/15", "11"], ["12", "1/8", "11"], ["13", "1/4", "11"]].map(|r| r.map(str::to_owned))
        );
    }
}

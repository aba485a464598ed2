//! Habits as a table for the terminal.

use crate::exposure::Stops;

use super::habits::{Habit, Habits};

/// The table: a block for film, light, filter, lens and year.
pub fn habits_text(all: &[Habits]) -> String {
    const HEADS: [&str; 7] = ["", "frames", "against the rule", "middle half", "of", "shake", "rating"];
    let mut out = String::new();
    for habits in all.iter().filter(|h| !h.groups.is_empty()) {
        let mut rows = vec![HEADS.map(str::to_owned)];
        rows[0][0] = habits.by.as_str().to_owned();
        rows.extend(habits.groups.iter().map(cells));
        out.push_str(&super::table::aligned(&rows, &[1, 2, 3, 4, 5, 6]));
        out.push('\n');
    }
    out
}

fn cells(habit: &Habit) -> [String; 7] {
    let name = habit.name.clone().unwrap_or_else(|| "(not known)".into());
    let (median, middle, of) = match habit.rule {
        None => (String::new(), String::new(), String::new()),
        Some(s) => (
            signed(s.median),
            format!("{} to {}", signed(s.lower_quarter), signed(s.upper_quarter)),
            s.count.to_string(),
        ),
    };
    let shake = if habit.shake == 0 { String::new() } else { percent(habit.shake, habit.frames) };
    let rating = habit.rating.map_or_else(String::new, |(mean, n)| format!("{mean:.1} of {n}"));
    [name, habit.frames.to_string(), median, middle, of, shake, rating]
}

/// Stops with their sign and one decimal: `+0.3`, `-1.0`, `0.0`.
pub(super) fn signed(stops: Stops) -> String {
    let tenths = (stops.get() * 10.0).round() / 10.0;
    if tenths == 0.0 { "0.0".into() } else { format!("{tenths:+.1}") }
}

fn percent(part: usize, whole: usize) -> String {
    match (part * 100 + whole / 2) / whole.max(1) {
        0 => "<1 %".into(),
        n => format!("{n} %"),
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Query, samples::stored};
    use super::*;

    #[test]
    fn a_block_for_each() {
        let text = habits_text(&stored().habits(&Query::default()).unwrap());
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "film            frames  against the rule   middle half  of  shake    rating");
        assert_eq!(lines[1], "Merrow Pan 100       3              -0.2  -1.2 to +4.0   3   33 %  4.0 of 1");
        assert_eq!(lines[2], "(not known)          2");
        assert_eq!(lines.iter().filter(|l| l.is_empty()).count(), 5);
    }
}

//! Columns of text, aligned for the terminal.

/// Rows with their columns aligned, two blanks between; those of `right` to the
/// right. Control characters are shown as blanks. Width counts characters.
pub(super) fn aligned<const N: usize>(rows: &[[String; N]], right: &[usize]) -> String {
    let rows: Vec<[String; N]> = rows.iter().map(|r| r.each_ref().map(|c| plain(c))).collect();
    let width = |column: usize| rows.iter().map(|r| r[column].chars().count()).max().unwrap_or(0);
    let widths: [usize; N] = std::array::from_fn(width);
    let mut out = String::new();
    for row in &rows {
        let mut line = String::new();
        for (i, cell) in row.iter().enumerate() {
            let gap = if i == 0 { "" } else { "  " };
            let width = widths[i];
            line += &if right.contains(&i) { format!("{gap}{cell:>width$}") } else { format!("{gap}{cell:<width$}") };
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

/// Nothing that could move the cursor or turn the text round.
fn plain(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().filter(|c| !turns(*c)).map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_cells_stay_on_their_line() {
        let rows = [["a\u{1b}[2J\n".to_owned(), "1".into()], ["é".into(), "22".into()]];
        assert_eq!(aligned(&rows, &[1]), "a [2J    1\né       22\n");
    }
}

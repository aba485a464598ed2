//! Foreign text in a line of a message.

/// Text that anybody may have written, as part of one line: what would break the line, move the cursor or turn
/// the direction of writing is told by its code, `\\u{a}`.
pub fn shown(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let turns = matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        if c.is_control() || turns || matches!(c, '\u{2028}' | '\u{2029}') {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::shown;

    #[test]
    fn no_name_makes_a_line_of_its_own() {
        assert_eq!(shown("a\nERROR b\r\u{1b}[2J\u{202e}é"), "a\\u{a}ERROR b\\u{d}\\u{1b}[2J\\u{202e}é");
    }
}

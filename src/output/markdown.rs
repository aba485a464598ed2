//! Text that anybody may have written, safe inside Markdown.

/// One line of plain text that Markdown shows as it is: marks escaped, line
/// breaks and control characters turned into spaces, direction overrides
/// dropped.
pub fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '&' | '~' | '#' | '$' | '!' => out.extend(['\\', c]),
            '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {}
            c if c.is_control() || c.is_whitespace() => {
                if !out.ends_with(' ') {
                    out.push(' ');
                }
            }
            c => out.push(c),
        }
    }
    out.trim().to_owned()
}

/// A path as a link target: percent-encoded but for plain characters and `/`.
pub fn href(path: &str) -> String {
    let mut out = String::with_capacity(path.len());
    for byte in path.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' | b'~' => out.push(byte.into()),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    // A first segment with a colon would pass for a scheme; colons are encoded above.
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_stays_text() {
        assert_eq!(plain("a | b\n# c <script>"), "a \\| b \\# c \\<script\\>");
        assert_eq!(plain("[x](http://y) `z` \u{202e}gpj\0"), "\\[x\\](http://y) \\`z\\` gpj");
        assert_eq!(href("notes/a b#t=1?.m4a"), "notes/a%20b%23t%3D1%3F.m4a");
        assert_eq!(href("javascript:alert(1)"), "javascript%3Aalert%281%29");
    }
}

//! What every page has: its frame, its style, its script.

use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("page.js");

/// A whole page.
pub fn page(title: &str, main: &Markup) -> Vec<u8> {
    page_of("", title, main)
}

/// A whole page of a kind that the style knows.
pub fn page_of(kind: &str, title: &str, main: &Markup) -> Vec<u8> {
    let nonce = &blake3::hash(main.0.as_bytes()).to_hex()[..32];
    let policy = format!(
        "default-src 'none'; img-src data:; media-src 'self' file:; style-src 'nonce-{nonce}'; \
         script-src 'nonce-{nonce}'; base-uri 'none'; form-action 'none'"
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content={ "spooltalk " (crate::VERSION) };
                title { (clean(title)) }
                style nonce=(nonce) { (PreEscaped(STYLE)) }
            }
            body class=[Some(kind).filter(|k| !k.is_empty())] {
                (main)
                script nonce=(nonce) { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string().into_bytes()
}

/// Foreign text in a line: escaped, and kept from turning the text around it.
pub fn foreign(text: &str) -> Markup {
    html! { bdi { (clean(text)) } }
}

/// Text without characters that HTML does not take or that turn its direction
/// past its end.
pub fn clean(text: &str) -> String {
    text.chars()
        .filter(|c| !matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'))
        .map(|c| if c.is_control() && c != '\n' && c != '\t' { '\u{fffd}' } else { c })
        .collect()
}

/// Seconds as on a player: `0:03`, `1:02:09`.
pub fn clock(seconds: f64) -> String {
    let s = seconds.max(0.0) as u64;
    let (h, m, s) = (s / 3600, s / 60 % 60, s % 60);
    if h > 0 { format!("{h}:{m:02}:{s:02}") } else { format!("{m}:{s:02}") }
}

/// A frame's anchor on its roll's page.
pub fn anchor(number: crate::facts::FrameNumber) -> String {
    format!("frame-{number}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_read_as_on_a_player() {
        assert_eq!([clock(3.9), clock(62.0), clock(3729.0), clock(-1.0)], ["0:03", "1:02", "1:02:09", "0:00"]);
    }

    #[test]
    fn the_script_and_style_cannot_end_early() {
        assert!(!SCRIPT.contains("</script") && !SCRIPT.contains("<!--") && !STYLE.contains("</style"));
        for text in [SCRIPT, STYLE] {
            assert!(!text.contains("http:") && !text.contains("https:") && !text.contains("//cdn"), "no network");
        }
    }
}

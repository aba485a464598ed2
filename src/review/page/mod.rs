//! The page of a review. Its script and style stand beside this file and are put
//! into it; it loads nothing else.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::serve::Response;

const STYLE: &str = include_str!("review.css");
const SCRIPT: &str = include_str!("review.js");

/// The page, with a policy that lets it run its own script, named by `nonce`, and ask this server,
/// and nothing else.
pub fn response(nonce: &str) -> Response {
    let policy = format!(
        "default-src 'none'; img-src 'self' data:; media-src 'self' blob:; connect-src 'self'; style-src 'nonce-{nonce}'; \
         script-src 'nonce-{nonce}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                link rel="icon" href="data:,";
                title { "Review" }
                style nonce=(nonce) { (PreEscaped(STYLE)) }
            }
            body {
                (head())
                main id="main" tabindex="-1" {
                    p.told id="told" role="status" {}
                    (question())
                    (frames())
                    section.end id="end" hidden aria-labelledby="end-title" {
                        h1 id="end-title" tabindex="-1" {}
                        p id="end-text" {}
                    }
                }
                (keys())
                script nonce=(nonce) { (PreEscaped(SCRIPT)) }
            }
        }
    };
    let mut response = Response::of("text/html; charset=utf-8", page.into_string().into_bytes());
    response.headers.push(("Content-Security-Policy", policy));
    response
}

fn head() -> Markup {
    html! {
        header {
            a.skip href="#main" { "To the question" }
            p.trip id="trip" {}
            ul.left id="left" aria-label="What is left" {}
            nav aria-label="Views" {
                button type="button" id="to-questions" aria-pressed="true" { "Questions" }
                button type="button" id="to-frames" aria-pressed="false" { "Frames " kbd { "f" } }
                button type="button" id="undo" disabled { "Undo " kbd { "u" } }
                button type="button" id="done" { "Write and close " kbd { "w" } }
            }
        }
    }
}

fn question() -> Markup {
    html! {
        section.question id="question" hidden aria-labelledby="where" {
            div.see {
                div.scans id="scans" {}
                div.edge id="edge" {}
                ol.beside id="beside" tabindex="0" aria-label="The frames beside it" {}
            }
            div.ask {
                p.where id="where" {}
                h1 id="title" tabindex="-1" {}
                ul.why id="why" aria-label="Why this is asked" {}
                div.sound id="sound" role="group" aria-label="What was said" {
                    div.quotes id="quotes" {}
                    div.wave id="wave-box" {
                        canvas id="wave" width="1200" height="160" role="img" aria-label="The sound; drag to choose what is played" {}
                        div.controls {
                            button type="button" id="play" aria-pressed="false" { "Play " kbd { "space" } }
                            button type="button" id="half" aria-pressed="false" { "Half speed " kbd { "h" } }
                            button type="button" id="loop" aria-pressed="true" { "Loop " kbd { "l" } }
                            button type="button" id="from" { "From here " kbd { "[" } }
                            button type="button" id="to" { "To here " kbd { "]" } }
                        }
                    }
                    audio id="audio" preload="none" {}
                }
                ol.choices id="choices" aria-label="Answers" {}
                label.onward id="onward-box" hidden { input type="checkbox" id="onward" checked; span id="onward-text" {} " " kbd { "g" } }
                form.type id="type" {
                    label for="typed" id="type-label" { "Something else" }
                    input id="typed" type="text" autocomplete="off" autocapitalize="off" spellcheck="false";
                    button type="submit" { "Take it" }
                    kbd { "t" }
                }
                div.pass {
                    button type="button" id="right" { "Right as it is " kbd { "r" } }
                    button type="button" id="open" { "Leave it open " kbd { "o" } }
                    button type="button" id="before" { "Before " kbd { "k" } }
                    button type="button" id="later" { "Later " kbd { "j" } }
                }
            }
        }
    }
}

fn frames() -> Markup {
    html! {
        section.frames id="frames" hidden aria-labelledby="frames-title" {
            h1 id="frames-title" tabindex="-1" { "Frames" }
            div.rolls id="rolls" role="group" aria-label="Rolls" {}
            form.facts id="facts" aria-label="What holds for the roll" {}
            div.desk {
                div {
                    ol.sheet id="sheet" aria-label="Frames of the roll" {}
                    p { button type="button" id="add" { "Add a frame after the last" } }
                    div id="loose-box" hidden {
                        h2 id="loose-title" { "Scans that show no frame" }
                        ul.sheet id="loose" aria-labelledby="loose-title" {}
                    }
                }
                div.editor id="editor" {}
            }
        }
    }
}

fn keys() -> Markup {
    html! {
        footer {
            details {
                summary { "Keys" }
                p {
                    kbd { "1" } "–" kbd { "9" } " an answer  " kbd { "r" } " right as it is  " kbd { "o" } " leave it open  "
                    kbd { "t" } " type  " kbd { "g" } " go on with it or not  " kbd { "space" } " play  " kbd { "h" } " half speed  "
                    kbd { "l" } " loop  " kbd { "[" } " " kbd { "]" } " from, to here  " kbd { "j" } " " kbd { "k" } " later, before  "
                    kbd { "u" } " undo  " kbd { "f" } " frames  " kbd { "w" } " write and close"
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_loads_nothing_from_elsewhere_and_cannot_end_early() {
        for text in [SCRIPT, STYLE] {
            assert!(!text.contains("http:") && !text.contains("https:") && !text.contains("//cdn"), "no network");
            assert!(!text.contains("</script") && !text.contains("</style") && !text.contains("<!--"));
        }
        assert!(!SCRIPT.contains("innerHTML"), "what was said never becomes markup");
    }
}

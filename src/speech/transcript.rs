//! A text that somebody already has, taken as if it had been heard.
//!
//! ```text
//! txt    = { line }                                  ; a note a line
//! md     = the same with its marks taken off
//! srt    = { [ number ] times { line } blank }       ; 00:01:02,500 --> 00:01:04,000
//! vtt    = "WEBVTT" { block blank }                  ; times with a point; NOTE, STYLE, REGION are skipped
//! ```
//!
//! Times that make no sense (reversed, empty, a minute of 75 seconds) leave their words, whose time is then not
//! known. A file of subtitles without any time is read as plain lines.
//!
//! Cues that follow one another without a pause in mid-sentence are one utterance.

use super::{SpeechError, Transcript, Utterance, Word};
use crate::facts::Confidence;

/// Cues nearer than this belong to one breath, when no sentence ends between them. Seconds.
const PAUSE_S: f64 = 0.6;

/// Longest text that is read, in megabytes: two hundred hours of talk.
const LONGEST_MB: usize = 8;
/// The same in bytes.
pub const LONGEST_TEXT: usize = LONGEST_MB << 20;

/// Kinds of text that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TextKind {
    /// A note a line.
    Plain,
    /// The same with Markdown's marks.
    Markdown,
    /// SubRip or WebVTT subtitles, with times.
    Subtitles,
}

impl TextKind {
    /// By the end of a file's name, in either case, without the dot.
    pub fn of_extension(extension: &str) -> Option<Self> {
        match extension.to_ascii_lowercase().as_str() {
            "txt" => Some(Self::Plain),
            "md" => Some(Self::Markdown),
            "srt" | "vtt" => Some(Self::Subtitles),
            _ => None,
        }
    }
}

/// The words of a text file. Written words are certain; only subtitles have times.
///
/// # Errors
/// `Text` when the bytes are no text, `TooLong` when there are more than [`LONGEST_TEXT`].
pub fn transcript(bytes: &[u8], kind: TextKind) -> Result<Transcript, SpeechError> {
    if bytes.len() > LONGEST_TEXT {
        return Err(SpeechError::TooLong { most_mb: LONGEST_MB });
    }
    let text = decoded(bytes)?;
    let (utterances, bad_times) = match kind {
        TextKind::Subtitles if text.contains("-->") => subtitles(&text),
        TextKind::Plain | TextKind::Subtitles => (text.lines().filter_map(|l| untimed(l.to_owned())).collect(), 0),
        TextKind::Markdown => (markdown(&text), 0),
    };
    Ok(Transcript { utterances, bad_times, sound: None })
}

/// UTF-8, UTF-16 with its mark, or else the old Western code page, as long as it is text at all.
fn decoded(bytes: &[u8]) -> Result<String, SpeechError> {
    let wide = |f: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes[2..].chunks_exact(2).map(|c| f([c[0], c[1]])).collect();
        String::from_utf16_lossy(&units)
    };
    let text = match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        [0xFF, 0xFE, ..] => wide(u16::from_le_bytes),
        [0xFE, 0xFF, ..] => wide(u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(t) => t.to_owned(),
            Err(_) => bytes.iter().map(|&b| char::from(b)).collect(),
        },
    };
    let strange = text.chars().filter(|c| c.is_control() && !c.is_whitespace()).count();
    if strange > text.chars().count() / 50 {
        return Err(SpeechError::Text("the bytes look like another kind of file".to_owned()));
    }
    Ok(text.replace("\r\n", "\n").replace('\r', "\n").chars().filter(|&c| c == '\n' || c == '\t' || kept(c)).collect())
}

/// Control characters and those that turn the writing direction have no place in a note.
fn kept(c: char) -> bool {
    !c.is_control()
        && !matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
}

fn untimed(line: String) -> Option<Utterance> {
    let words: Vec<Word> = line.split_whitespace().map(Word::written).collect();
    (!words.is_empty()).then_some(Utterance { start_s: 0.0, end_s: 0.0, words, scored: Vec::new() })
}

fn markdown(text: &str) -> Vec<Utterance> {
    let mut lines = text.lines().peekable();
    if lines.peek().is_some_and(|l| l.trim_end() == "---") {
        lines.next(); // front matter
        for l in lines.by_ref() {
            if matches!(l.trim_end(), "---" | "...") {
                break;
            }
        }
    }
    lines.map(unmarked).filter_map(untimed).collect()
}

/// A Markdown line without its marks: headings, lists, quotes, tables, emphasis, links, tags.
fn unmarked(line: &str) -> String {
    let mut rest = line.trim();
    if rest.len() >= 3 && rest.chars().all(|c| matches!(c, '-' | '*' | '_' | '=' | '|' | ':' | ' ' | '`' | '~')) {
        return String::new();
    }
    loop {
        let before = rest;
        rest = rest.trim_start_matches(['#', '>']).trim_start();
        for mark in ["- ", "* ", "+ ", "[ ] ", "[x] ", "[X] "] {
            rest = rest.strip_prefix(mark).unwrap_or(rest).trim_start();
        }
        if rest == before {
            break;
        }
    }
    let rest = rest.replace("**", "").replace("__", "").replace('`', "").replace('|', " ");
    let rest: String = unlinked(&rest);
    without_tags(&rest).split_whitespace().map(|w| w.trim_matches(['*', '_'])).collect::<Vec<_>>().join(" ")
}

/// `[words](address)` to `words`.
fn unlinked(line: &str) -> String {
    let mut out = String::with_capacity(line.len());
    // Behind the last of these there is nothing to look for, however many brackets open.
    let last_close = line.rfind(')').unwrap_or(0);
    let mut rest = line;
    while let Some((before, after)) = rest.split_once('[') {
        let at = line.len() - after.len();
        let upto = after.find('[').unwrap_or(after.len());
        let words = after[..upto].find("](").filter(|end| at + end < last_close);
        let link = words.and_then(|end| Some((&after[..end], after[end + 2..].split_once(')')?.1)));
        out.push_str(before.strip_suffix('!').unwrap_or(before));
        match link {
            Some((words, tail)) => {
                out.push_str(words);
                rest = tail;
            }
            None => {
                out.push('[');
                rest = after;
            }
        }
    }
    out + rest
}

/// Drops `<…>` when it looks like a tag, and reads the five named entities.
fn without_tags(line: &str) -> String {
    let mut out = String::with_capacity(line.len());
    let last_close = line.rfind('>').unwrap_or(0);
    let mut rest = line;
    while let Some(at) = rest.find('<') {
        let (before, after) = rest.split_at(at);
        out.push_str(before);
        let inside = &after[1..];
        let tag = inside.starts_with(|c: char| c.is_ascii_alphanumeric() || matches!(c, '/' | '!'))
            && line.len() - inside.len() < last_close;
        match tag.then(|| inside.find('>')).flatten() {
            Some(end) => rest = &inside[end + 1..],
            None => {
                out.push('<');
                rest = inside;
            }
        }
    }
    out.push_str(rest);
    for (name, c) in [("&lt;", "<"), ("&gt;", ">"), ("&nbsp;", " "), ("&quot;", "\""), ("&amp;", "&")] {
        out = out.replace(name, c);
    }
    out
}

/// One subtitle: from, to, words.
struct Cue {
    /// From and to in seconds; `None` when what stands there makes no sense.
    time: Option<(f64, f64)>,
    text: String,
}

/// What was said, and how many times make no sense.
fn subtitles(text: &str) -> (Vec<Utterance>, usize) {
    let mut said: Vec<Utterance> = Vec::new();
    let mut bad_times = 0;
    for cue in text.split("\n\n").flat_map(cues) {
        bad_times += usize::from(cue.time.is_none());
        let words = spread(&cue);
        if words.is_empty() {
            continue;
        }
        // An unknown time is 0, as in a text without times.
        let (start_s, end_s) = cue.time.unwrap_or_default();
        let has_time = |u: &Utterance| u.end_s > 0.0;
        match said.last_mut() {
            Some(u) if has_time(u) == cue.time.is_some() && start_s - u.end_s < PAUSE_S && !ends_a_sentence(u) => {
                u.end_s = u.end_s.max(end_s);
                u.words.extend(words);
            }
            _ => said.push(Utterance { start_s, end_s, words, scored: Vec::new() }),
        }
    }
    (said, bad_times)
}

fn ends_a_sentence(u: &Utterance) -> bool {
    u.words.last().is_some_and(|w| w.text.ends_with(['.', '!', '?', '…']))
}

/// The cues of one block. Some writers forget the blank line between two.
fn cues(block: &str) -> Vec<Cue> {
    let lines: Vec<&str> = block.lines().map(str::trim).collect();
    let mut cues: Vec<Cue> = Vec::new();
    if lines.iter().find(|l| !l.is_empty()).is_some_and(|l| l.starts_with("NOTE")) {
        return cues;
    }
    for (i, line) in lines.iter().enumerate() {
        let time = times(line);
        // An arrow within the words is theirs; the first of a block stands for a time.
        if time.is_some() || cues.is_empty() && line.contains("-->") {
            cues.push(Cue { time, text: String::new() });
        } else if let Some(cue) = cues.last_mut() {
            let number_of_next = line.parse::<u32>().is_ok() && lines.get(i + 1).is_some_and(|l| times(l).is_some());
            if !number_of_next {
                cue.text.push_str(line);
                cue.text.push(' ');
            }
        }
    }
    cues
}

/// `00:01:02,500 --> 00:01:04.000 align:start`
fn times(line: &str) -> Option<(f64, f64)> {
    let (from, to) = line.split_once("-->")?;
    let (start, end) = (clock(from.trim())?, clock(to.split_whitespace().next()?)?);
    (end >= start && end < LONGEST_S).then_some((start, end))
}

/// No recording is longer: a hundred hours, in seconds.
const LONGEST_S: f64 = 360_000.0;

/// `[hours:]minutes:seconds[.,]fraction` in seconds.
fn clock(text: &str) -> Option<f64> {
    let mut seconds = 0.0;
    let parts: Vec<&str> = text.split(':').collect();
    if !(2..=3).contains(&parts.len()) {
        return None;
    }
    for (i, part) in parts.into_iter().enumerate() {
        let part = part.replace(',', ".");
        if !part.chars().all(|c| c.is_ascii_digit() || c == '.') {
            return None;
        }
        let n = part.parse::<f64>().ok()?;
        if i > 0 && n >= 60.0 {
            return None;
        }
        seconds = seconds * 60.0 + n;
    }
    Some(seconds)
}

/// Words over the time of their cue, each as long as its letters.
fn spread(cue: &Cue) -> Vec<Word> {
    let text = without_tags(&cue.text.replace("{\\an8}", ""));
    let Some((start_s, end_s)) = cue.time else { return text.split_whitespace().map(Word::written).collect() };
    let letters: usize = text.split_whitespace().map(|w| w.chars().count() + 1).sum();
    let mut past = 0;
    let at = |n: usize| start_s + (end_s - start_s) * n as f64 / letters.max(1) as f64;
    text.split_whitespace()
        .map(|w| {
            let start_s = at(past);
            past += w.chars().count() + 1;
            Word { text: w.to_owned(), start_s, end_s: at(past), confidence: Confidence::SURE }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(bytes: &[u8], kind: TextKind) -> Vec<String> {
        transcript(bytes, kind).unwrap().utterances.iter().map(Utterance::text).collect()
    }

    #[test]
    fn a_line_is_a_note() {
        let text = "\u{FEFF}Roll 3,  on the quay.\r\n\r\nFrame 1,\u{202E} f8\tat a 60th\n";
        assert_eq!(lines(text.as_bytes(), TextKind::Plain), ["Roll 3, on the quay.", "Frame 1, f8 at a 60th"]);
    }

    #[test]
    fn old_code_pages_are_read() {
        assert_eq!(lines(b"caf\xe9 front, f8", TextKind::Plain), ["café front, f8"]);
        assert_eq!(lines(b"\xff\xfef\x008\x00", TextKind::Plain), ["f8"]);
    }

    #[test]
    fn a_picture_is_no_text() {
        let jpeg = [0xFF, 0xD8, 0xFF, 0xE0, 0, 0x10, 1, 2, 3, 4, 0, 0, 0, 5];
        assert!(matches!(transcript(&jpeg, TextKind::Plain), Err(SpeechError::Text(_))));
    }

    #[test]
    fn markdown_loses_its_marks_only() {
        let md = "---\ntitle: x\n---\n# Roll 30\n\n- [x] **Frame 1**, 1/125 at _f8_\n> 2. then [the pier](http://x/y), f < 8 <b>wide</b>\n---\n| 3 | f/11 |\n";
        assert_eq!(
            lines(md.as_bytes(), TextKind::Markdown),
            ["Roll 30", "Frame 1, 1/125 at f8", "2. then the pier, f < 8 wide", "3 f/11"]
        );
        let odd = "[a] [b](c) [d](e [f](g) ![h](i)j [k\n<a <b f < 8 <1";
        assert_eq!(lines(odd.as_bytes(), TextKind::Markdown), ["[a] b d hj [k", "<a <b f < 8 <1"]);
    }

    #[test]
    fn subtitles_keep_their_times_and_join_broken_sentences() {
        let srt = "1\n00:00:01,200 --> 00:00:06,900\nFrame 7, a 500th at 5.6,\n\n2\n00:00:07,000 --> 00:00:10,300\nhandheld.\n\n3\n01:00:14,800 --> 01:00:17,500\n<i>Frame 8</i>,\nsame &amp; again\n";
        let t = transcript(srt.as_bytes(), TextKind::Subtitles).unwrap();
        assert_eq!(t.text(), "Frame 7, a 500th at 5.6, handheld.\nFrame 8, same & again");
        assert_eq!((t.utterances[0].start_s, t.utterances[0].end_s), (1.2, 10.3));
        assert_eq!(t.utterances[1].words[0].start_s, 3614.8);
        let w = &t.utterances[0].words;
        assert!(w.windows(2).all(|p| p[0].end_s <= p[1].start_s + 1e-9), "{w:?}");
    }

    #[test]
    fn webvtt_notes_and_styles_are_skipped() {
        let vtt = "WEBVTT - x\n\nSTYLE\n::cue { color: red }\n\nNOTE\nthe man talks\n\nintro\n00:02.000 --> 00:09.500 align:start\n<v Anna>Roll <00:03.000>31.\n\n00:33.000 --> 00:39.000\nTwo frames\n";
        let t = transcript(vtt.as_bytes(), TextKind::Subtitles).unwrap();
        assert_eq!(t.text(), "Roll 31.\nTwo frames");
        assert_eq!(t.utterances[1].start_s, 33.0);
    }

    #[test]
    fn words_outlive_times_that_make_no_sense() {
        let srt = "1\n00:00:09,000 --> 00:00:02,000\nFrame 1, f8.\n\n2\n --> \nFrame 2, f11.\n\n3\n00:75:00,000 --> 00:76:00,000\nFrame 3,\n\n\
                   4\n99999999:00:00,000 --> 99999999:00:01,000\nf16.\n\n5\n00:00:30,000 --> 00:00:31,000\nFrame 4 --> 5, f22.\n";
        let t = transcript(srt.as_bytes(), TextKind::Subtitles).unwrap();
        assert_eq!(t.text(), "Frame 1, f8.\nFrame 2, f11.\nFrame 3, f16.\nFrame 4 --> 5, f22.");
        assert_eq!(t.bad_times, 4);
        let starts: Vec<f64> = t.utterances.iter().map(|u| u.start_s).collect();
        assert_eq!(starts, [0.0, 0.0, 0.0, 30.0]);
        assert_eq!(lines(b"Frame 1, f8.\nFrame 2, f11.\n", TextKind::Subtitles), ["Frame 1, f8.", "Frame 2, f11."]);
    }

    #[test]
    fn a_bad_clock_is_no_cue() {
        assert_eq!(times("00:09.000 --> 00:02.000"), None);
        assert_eq!(times("aa:09.000 --> 00:12.000"), None);
        assert_eq!(times("-1:00 --> 00:12.000"), None);
        assert_eq!(times("01:00:00.5 --> 01:00:01,5"), Some((3600.5, 3601.5)));
    }
}

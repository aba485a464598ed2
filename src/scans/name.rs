//! What the names of a roll's scans say, taken together.

use std::collections::HashMap;

use crate::facts::RollName;
use crate::trip::natural_cmp;

use super::columns::{FRAME_WORDS, Layout, layout, strip_letter};
use super::pattern::NamePattern;
use super::tokens::{Token, Tokens};
use super::{KnownFrom, ScanKind, ScanNumber, Side};

/// Words of files that show the whole roll.
const INDEX_WORDS: [&str; 10] =
    ["index", "indexprint", "contact", "contacts", "contactsheet", "proof", "proofs", "overview", "thumbs", "kontakt"];
/// Words of files that show no frame.
const TEST_WORDS: [&str; 10] =
    ["test", "testscan", "calibration", "calib", "target", "chart", "graycard", "greycard", "prescan", "preview"];
/// Words at the end of a name that tell scans of one frame apart.
const VERSION_WORDS: [&str; 40] = [
    "copy",
    "kopie",
    "ir",
    "infrared",
    "raw",
    "edit",
    "edited",
    "small",
    "web",
    "lowres",
    "hires",
    "lr",
    "hr",
    "low",
    "high",
    "crop",
    "cropped",
    "bw",
    "pos",
    "positive",
    "neg",
    "negative",
    "dust",
    "clean",
    "cleaned",
    "left",
    "right",
    "top",
    "bottom",
    "front",
    "back",
    "recto",
    "verso",
    "final",
    "rescan",
    "rescanned",
    "full",
    "bit",
    "v",
    "version",
];

/// What one name says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NameSays {
    /// What the file is.
    pub kind: ScanKind,
    /// The number it carries.
    pub number: Option<ScanNumber>,
    /// Which picture it shows, from 0 in the order of the names.
    pub picture: usize,
}

struct Name<'a> {
    stem: &'a str,
    tokens: Tokens,
    kind: ScanKind,
    number: Option<ScanNumber>,
}

/// Reads the names of one roll's files, each relative to the roll's folder
/// with `/` between folders. `capacity` is how many frames the film holds; on sheets, letters are the
/// sides of their holders.
///
/// Never fails: a name that says nothing has no number and is a picture of its
/// own, in natural order.
pub fn names_say(
    files: &[&str],
    roll: &RollName,
    capacity: u16,
    is_sheet: bool,
    patterns: &[NamePattern],
) -> Vec<NameSays> {
    let mut names: Vec<Name<'_>> = files.iter().map(|f| named(f)).collect();
    mark_other_kinds(&mut names);
    for name in &mut names {
        name.number = patterns.iter().find_map(|p| p.read(name.stem)).map(|found| ScanNumber {
            value: found.value,
            side: found.a.then_some(Side::A),
            known: KnownFrom::Pattern,
        });
        cut_version(&mut name.tokens);
    }
    let roll_number = roll.key().parse().ok();
    number_by_columns(&mut names, capacity, is_sheet, roll_number);
    let pictures = pictures(files, &names);
    names.into_iter().zip(pictures).map(|(n, picture)| NameSays { kind: n.kind, number: n.number, picture }).collect()
}

fn named(file: &str) -> Name<'_> {
    let base = file.rsplit('/').next().unwrap_or(file);
    let (stem, ext) = base.rsplit_once('.').filter(|(s, _)| !s.is_empty()).unwrap_or((base, ""));
    let raw = crate::trip::is_raw(ext);
    let kind = if raw { ScanKind::Raw } else { ScanKind::Frame };
    Name { stem, tokens: Tokens::of(stem), kind, number: None }
}

/// A word that most names carry is decoration; in a few it tells what they are.
fn mark_other_kinds(names: &mut [Name<'_>]) {
    for (words, kind) in [(&INDEX_WORDS, ScanKind::Index), (&TEST_WORDS, ScanKind::Test)] {
        let carry: Vec<usize> = (0..names.len())
            .filter(|&i| names[i].kind == ScanKind::Frame && names[i].tokens.words().any(|w| words.contains(&w)))
            .collect();
        if carry.len() * 3 <= names.len() || carry.len() == 1 {
            for i in carry {
                names[i].kind = kind;
            }
        }
    }
}

/// Takes the marks off the end that tell scans of one frame apart:
/// `_ir`, `-copy`, `_v2`, ` copy 2`. A number must be left.
fn cut_version(tokens: &mut Tokens) {
    loop {
        let n = tokens.all.len();
        let numbers = tokens.numbers().count();
        let version = |i: usize| tokens.word(i).is_some_and(|w| VERSION_WORDS.contains(&w));
        match tokens.all.last() {
            Some(Token::Word(_)) if numbers > 0 && version(n - 1) => {
                // `16bit`: its number goes with it.
                let bit = tokens.word(n - 1) == Some("bit") && tokens.joined[n - 1];
                if bit && numbers == 1 {
                    return;
                }
                tokens.cut(if bit { 2 } else { 1 });
            }
            Some(Token::Number(d)) if numbers > 1 && n > 1 && d.value <= 9 && version(n - 2) => tokens.cut(2),
            _ => return,
        }
    }
}

fn number_by_columns(names: &mut [Name<'_>], capacity: u16, is_sheet: bool, roll: Option<u32>) {
    let open: Vec<usize> = (0..names.len())
        .filter(|&i| {
            let n = &names[i];
            matches!(n.kind, ScanKind::Frame | ScanKind::Raw) && n.number.is_none() && n.tokens.numbers().count() > 0
        })
        .collect();
    let Some(width) = usual_width(names, &open) else { return };
    let class: Vec<usize> = open.iter().copied().filter(|&i| names[i].tokens.numbers().count() == width).collect();
    let tokens: Vec<&Tokens> = class.iter().map(|&i| &names[i].tokens).collect();
    let Some(found) = layout(&tokens, width, capacity, roll) else { return };
    match found {
        Layout::One(column) => {
            let first: Vec<u32> = constant_head(&tokens, column);
            let cells: Vec<(usize, usize)> =
                open.iter().filter_map(|&i| Some((i, piece_of(&names[i].tokens, column, width, &first)?))).collect();
            number_one(names, &cells, capacity, is_sheet);
        }
        Layout::Strip(strip, place) => {
            let key = |t: &Tokens| {
                let value = |c| t.numbers().nth(c).map_or(0, |(_, d): (usize, _)| d.value);
                (String::new(), value(strip), value(place))
            };
            number_by_rank(names, &class, key);
        }
        Layout::Lettered(place) => {
            let key = |t: &Tokens| {
                let value = t.numbers().nth(place).map_or(0, |(_, d)| d.value);
                (strip_letter(t, place).unwrap_or_default().to_owned(), 0, value)
            };
            number_by_rank(names, &class, key);
        }
    }
}

/// The commonest count of numbers in a name; the smaller of equals.
fn usual_width(names: &[Name<'_>], open: &[usize]) -> Option<usize> {
    let mut counts: HashMap<usize, usize> = HashMap::new();
    for &i in open {
        *counts.entry(names[i].tokens.numbers().count()).or_default() += 1;
    }
    counts.into_iter().max_by_key(|&(width, n)| (n, std::cmp::Reverse(width))).map(|(width, _)| width)
}

/// The numbers left of a column, when they never change; else none.
fn constant_head(tokens: &[&Tokens], column: usize) -> Vec<u32> {
    let head = |t: &Tokens| t.numbers().take(column).map(|(_, d)| d.value).collect::<Vec<_>>();
    let first = tokens.first().map(|t| head(t)).unwrap_or_default();
    if tokens.iter().all(|t| head(t) == first) { first } else { Vec::new() }
}

/// The piece of a name that stands in the frame's column. A name with more
/// numbers than usual has a version at its end, one with fewer lacks the head.
fn piece_of(tokens: &Tokens, column: usize, width: usize, head: &[u32]) -> Option<usize> {
    let numbers: Vec<_> = tokens.numbers().collect();
    let from_right = || (numbers.len() + column).checked_sub(width);
    let same_head = numbers.iter().zip(head).all(|((_, d), h)| d.value == *h);
    let at = if numbers.len() == width || (numbers.len() > width && same_head) { Some(column) } else { from_right() };
    numbers.get(at?).map(|(piece, _)| *piece)
}

fn number_one(names: &mut [Name<'_>], cells: &[(usize, usize)], capacity: u16, is_sheet: bool) {
    let letters: Vec<Option<char>> = cells.iter().map(|&(i, piece)| names[i].tokens.letter_after(piece)).collect();
    let value = |&(i, piece): &(usize, usize)| match names[i].tokens.all[piece] {
        Token::Number(d) => d.value,
        Token::Word(_) => unreachable!("a column holds numbers"),
    };
    let values: Vec<u32> = cells.iter().map(value).collect();
    let sides = is_sheet && letters.iter().all(|l| matches!(l, Some('a' | 'b')));
    let real_a = sides || a_is_real(&values, &letters, capacity);
    for ((&(i, piece), value), letter) in cells.iter().zip(&values).zip(&letters) {
        let word = piece.checked_sub(1).and_then(|p| names[i].tokens.word(p));
        let known = match word {
            Some(w) if FRAME_WORDS[..7].contains(&w) && w.len() > 1 => KnownFrom::Word,
            _ => KnownFrom::Counter,
        };
        let side = match letter {
            Some('a') if real_a => Some(Side::A),
            Some('b') if sides => Some(Side::B),
            _ => None,
        };
        names[i].number = Some(ScanNumber { value: *value, side, known });
    }
}

/// Whether a letter A after the number is part of it. On every name it is
/// decoration; beside B or beside the plain number it tells scans apart,
/// unless the film carries half frames.
fn a_is_real(values: &[u32], letters: &[Option<char>], capacity: u16) -> bool {
    let with_a: Vec<u32> = values.iter().zip(letters).filter(|(_, l)| **l == Some('a')).map(|(v, _)| *v).collect();
    if letters.iter().flatten().any(|l| ('b'..='d').contains(l)) {
        return false;
    }
    if with_a.len() == values.len() && values.len() > 1 {
        return false;
    }
    let plain = |v: &u32| values.iter().zip(letters).any(|(w, l)| w == v && l.is_none());
    capacity >= 48 || !with_a.iter().all(plain)
}

fn number_by_rank<K: Ord + Clone>(names: &mut [Name<'_>], class: &[usize], key: impl Fn(&Tokens) -> K) {
    let mut keys: Vec<K> = class.iter().map(|&i| key(&names[i].tokens)).collect();
    let own = keys.clone();
    keys.sort();
    keys.dedup();
    for (&i, k) in class.iter().zip(&own) {
        let rank = keys.binary_search(k).expect("every key is in the list");
        names[i].number = Some(ScanNumber { value: rank as u32 + 1, side: None, known: KnownFrom::Counter });
    }
}

/// Which picture each file shows: files with one number, or with one stem, show
/// the same.
fn pictures(files: &[&str], names: &[Name<'_>]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..names.len()).collect();
    let all_numbered = names.iter().all(|n| n.number.is_some() || !matches!(n.kind, ScanKind::Frame | ScanKind::Raw));
    order.sort_by(|&a, &b| {
        let by_name = || natural_cmp(names[a].stem, names[b].stem).then_with(|| natural_cmp(files[a], files[b]));
        let number = |i: usize| names[i].number.map(|n: ScanNumber| (n.value, n.side));
        if all_numbered { number(a).cmp(&number(b)).then_with(by_name) } else { by_name() }
    });
    type Shown = (Option<(u32, Option<Side>)>, String);
    let mut seen: HashMap<Shown, usize> = HashMap::new();
    let mut picture = vec![0; names.len()];
    for i in order {
        let n = &names[i];
        let frame = matches!(n.kind, ScanKind::Frame | ScanKind::Raw);
        let number = n.number.filter(|_| frame).map(|n| (n.value, n.side));
        let stem = if number.is_some() { String::new() } else { n.stem.to_lowercase() };
        let next = seen.len();
        picture[i] = *seen.entry((number, stem)).or_insert(next);
    }
    picture
}

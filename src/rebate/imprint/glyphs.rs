//! Shapes of characters as cameras print them: 5 × 7 dots, and seven segments.
//! Drawn for this program after the common look of such displays.

/// A way to shape characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::rebate) enum Face {
    /// 5 × 7 dots, the rounder forms.
    Dots,
    /// 5 × 7 dots, the squarer forms; zero with a stroke.
    SquareDots,
    /// 5 × 7 dots, what neither of them has: block digits, open fours, ones and capitals as plain as can be.
    BlockDots,
    /// Seven segments, upright.
    Segments,
    /// Seven segments, leaning to the right.
    LeaningSegments,
    /// What segments write otherwise on some displays, upright and leaning: nothing but that.
    OpenSegments,
    /// The same, leaning.
    OpenLeaningSegments,
    /// Three that no look was made of, to measure with: rounded dots, angular dots, segments that lean a little.
    #[cfg(test)]
    HeldRound,
    #[cfg(test)]
    HeldAngular,
    #[cfg(test)]
    HeldSegments,
    /// A further set of the same: dots with serifs, dots four across, segments that lean much.
    #[cfg(test)]
    HeldSerif,
    #[cfg(test)]
    HeldNarrow,
    #[cfg(test)]
    HeldSlanted,
}

impl Face {
    /// Every face.
    #[cfg(test)]
    pub const ALL: [Self; 4] = [Self::Dots, Self::SquareDots, Self::Segments, Self::LeaningSegments];
    /// The faces to measure with.
    #[cfg(test)]
    pub const HELD: [Self; 3] = [Self::HeldRound, Self::HeldAngular, Self::HeldSegments];
    /// The same, drawn later.
    #[cfg(test)]
    pub const HELD_LATER: [Self; 3] = [Self::HeldSerif, Self::HeldNarrow, Self::HeldSlanted];

    /// Whether it is made of segments; a decimal point then has no place of
    /// its own, it stands in the gap after a digit.
    #[cfg(test)]
    pub fn is_segments(self) -> bool {
        matches!(self, Self::Segments | Self::LeaningSegments | Self::HeldSegments | Self::HeldSlanted)
    }

    /// Whether no look was made of it.
    #[cfg(test)]
    pub fn is_held(self) -> bool {
        Self::HELD.contains(&self) || Self::HELD_LATER.contains(&self)
    }

    /// Characters that it can show.
    pub fn characters(self) -> impl Iterator<Item = char> {
        (' '..='_').filter(move |c| self.ink(*c).is_some())
    }

    /// The shapes that a character may have where a camera writes in a face like this one: faces of dots differ most
    /// in whether a stroke that turns does so with a dot in the corner or without.
    pub fn forms(self, c: char) -> Vec<Ink> {
        let Some(ink) = self.ink(c) else { return Vec::new() };
        let Ink::Dots(own) = ink else { return vec![ink] };
        let more = if self == Self::BlockDots { others(c) } else { &[] };
        let all = std::iter::once(own).chain(more.iter().map(|text| rows(text)));
        all.flat_map(|r| [r, with_corners(r, true), with_corners(r, false)]).map(Ink::Dots).collect()
    }

    /// The shape of a character.
    pub fn ink(self, c: char) -> Option<Ink> {
        match self {
            Self::Dots => dots(c).map(Ink::Dots),
            Self::SquareDots => square(c).or_else(|| dots(c)).map(Ink::Dots),
            Self::BlockDots => block(c).map(Ink::Dots),
            Self::Segments => segments(c).map(|s| Ink::Segments(s, 0.0)),
            Self::LeaningSegments => segments(c).map(|s| Ink::Segments(s, 0.15)),
            Self::OpenSegments => open_segments(c).map(|s| Ink::Segments(s, 0.0)),
            Self::OpenLeaningSegments => open_segments(c).map(|s| Ink::Segments(s, 0.15)),
            #[cfg(test)]
            Self::HeldRound => held_round(c).or_else(|| dots(c)).map(Ink::Dots),
            #[cfg(test)]
            Self::HeldAngular => held_angular(c).or_else(|| dots(c)).map(Ink::Dots),
            #[cfg(test)]
            Self::HeldSegments => {
                let open = if c == '6' { None } else { open_segments(c) };
                open.or_else(|| segments(c)).map(|s| Ink::Segments(s, 0.11))
            }
            #[cfg(test)]
            Self::HeldSerif => held_serif(c).or_else(|| dots(c)).map(Ink::Dots),
            #[cfg(test)]
            Self::HeldNarrow => held_narrow(c).or_else(|| dots(c)).map(Ink::Dots),
            #[cfg(test)]
            Self::HeldSlanted => {
                let open = if c == '6' { open_segments(c) } else { None };
                open.or_else(|| segments(c)).map(|s| Ink::Segments(s, 0.21))
            }
        }
    }
}

/// A shape on a field of 5 × 7 units, x to the right, y down.
#[derive(Debug, Clone, Copy)]
pub(in crate::rebate) enum Ink {
    /// Rows from the top; the highest of five bits is the left dot.
    Dots([u8; 7]),
    /// Segments a to g as bits 0 to 6, and the lean in units of x for a unit of y.
    Segments(u8, f32),
}

/// Half the thickness of a segment, in units.
const HALF: f32 = 0.42;

impl Ink {
    /// Whether there is ink at a point; `dot` is half the width of a dot.
    pub fn covers(self, x: f32, y: f32, dot: f32) -> bool {
        match self {
            Self::Dots(rows) => {
                let (column, row) = (x.floor(), y.floor());
                if !(0.0..5.0).contains(&column) || !(0.0..7.0).contains(&row) {
                    return false;
                }
                let lit = rows[row as usize] >> (4 - column as u32) & 1 == 1;
                lit && (x - column - 0.5).abs() <= dot && (y - row - 0.5).abs() <= dot
            }
            Self::Segments(on, lean) => {
                let x = x - lean * (3.5 - y);
                let (left, right, top, middle, bottom) = (0.5, 4.5, 0.5, 3.5, 6.5);
                let across = |at: f32| (y - at).abs() <= HALF && (left..=right).contains(&x);
                let down = |at: f32, from: f32, to: f32| (x - at).abs() <= HALF && (from..=to).contains(&y);
                [
                    across(top),
                    down(right, top, middle),
                    down(right, middle, bottom),
                    across(bottom),
                    down(left, middle, bottom),
                    down(left, top, middle),
                    across(middle),
                ]
                .into_iter()
                .enumerate()
                .any(|(i, inside)| inside && on >> i & 1 == 1)
            }
        }
    }
}

/// Every corner between two dots and more across and one and more down, lit or not.
fn with_corners(rows: [u8; 7], lit: bool) -> [u8; 7] {
    let on = |x: i32, y: i32| (0..5).contains(&x) && (0..7).contains(&y) && rows[y as usize] >> (4 - x) & 1 == 1;
    let mut turned = rows;
    for (y, row) in turned.iter_mut().enumerate() {
        for x in 0..5 {
            let y = y as i32;
            let across = |step: i32| on(x + step, y) && on(x + 2 * step, y) && !on(x - step, y);
            let down = |step: i32| on(x, y + step) && (lit || !on(x, y - step));
            if (across(1) || across(-1)) && (down(1) || down(-1)) {
                let bit = 1 << (4 - x);
                *row = if lit { *row | bit } else { *row & !bit };
            }
        }
    }
    turned
}

/// The decimal point of a segment display: in the gap at the lower right.
#[cfg(test)]
pub(in crate::rebate) fn point_covers(x: f32, y: f32) -> bool {
    (x - 5.5).abs() <= 0.4 && (y - 6.5).abs() <= 0.45
}

fn rows(text: &str) -> [u8; 7] {
    let mut rows = [0; 7];
    for (row, line) in rows.iter_mut().zip(text.split(' ')) {
        *row = line.bytes().fold(0, |n, b| n << 1 | u8::from(b == b'#'));
    }
    rows
}

fn dots(c: char) -> Option<[u8; 7]> {
    Some(rows(match c {
        ' ' => "..... ..... ..... ..... ..... ..... .....",
        '0' => ".###. #...# #...# #...# #...# #...# .###.",
        '1' => "..#.. .##.. ..#.. ..#.. ..#.. ..#.. .###.",
        '2' => ".###. #...# ....# ...#. ..#.. .#... #####",
        '3' => ".###. #...# ....# ..##. ....# #...# .###.",
        '4' => "...#. ..##. .#.#. #..#. ##### ...#. ...#.",
        '5' => "##### #.... ####. ....# ....# #...# .###.",
        '6' => "..##. .#... #.... ####. #...# #...# .###.",
        '7' => "##### ....# ...#. ..#.. .#... .#... .#...",
        '8' => ".###. #...# #...# .###. #...# #...# .###.",
        '9' => ".###. #...# #...# .#### ....# ...#. .##..",
        'A' => ".###. #...# #...# ##### #...# #...# #...#",
        'B' => "####. #...# #...# ####. #...# #...# ####.",
        'C' => ".###. #...# #.... #.... #.... #...# .###.",
        'D' => "####. #...# #...# #...# #...# #...# ####.",
        'E' => "##### #.... #.... ####. #.... #.... #####",
        'F' => "##### #.... #.... ####. #.... #.... #....",
        'G' => ".###. #...# #.... #.### #...# #...# .####",
        'H' => "#...# #...# #...# ##### #...# #...# #...#",
        'I' => ".###. ..#.. ..#.. ..#.. ..#.. ..#.. .###.",
        'J' => "..### ...#. ...#. ...#. ...#. #..#. .##..",
        'K' => "#...# #..#. #.#.. ##... #.#.. #..#. #...#",
        'L' => "#.... #.... #.... #.... #.... #.... #####",
        'M' => "#...# ##.## #.#.# #.#.# #...# #...# #...#",
        'N' => "#...# #...# ##..# #.#.# #..## #...# #...#",
        'O' => ".###. #...# #...# #...# #...# #...# .###.",
        'P' => "####. #...# #...# ####. #.... #.... #....",
        'Q' => ".###. #...# #...# #...# #.#.# #..#. .##.#",
        'R' => "####. #...# #...# ####. #.#.. #..#. #...#",
        'S' => ".#### #.... #.... .###. ....# ....# ####.",
        'T' => "##### ..#.. ..#.. ..#.. ..#.. ..#.. ..#..",
        'U' => "#...# #...# #...# #...# #...# #...# .###.",
        'V' => "#...# #...# #...# #...# #...# .#.#. ..#..",
        'W' => "#...# #...# #...# #.#.# #.#.# #.#.# .#.#.",
        'X' => "#...# #...# .#.#. ..#.. .#.#. #...# #...#",
        'Y' => "#...# #...# #...# .#.#. ..#.. ..#.. ..#..",
        'Z' => "##### ....# ...#. ..#.. .#... #.... #####",
        '/' => "..... ....# ...#. ..#.. .#... #.... .....",
        '.' => "..... ..... ..... ..... ..... .##.. .##..",
        ',' => "..... ..... ..... ..... .##.. ..#.. .#...",
        ':' => "..... .##.. .##.. ..... .##.. .##.. .....",
        '-' => "..... ..... ..... ##### ..... ..... .....",
        '+' => "..... ..#.. ..#.. ##### ..#.. ..#.. .....",
        '\'' => ".##.. ..#.. .#... ..... ..... ..... .....",
        '"' => ".#.#. .#.#. .#.#. ..... ..... ..... .....",
        '=' => "..... ..... ##### ..... ##### ..... .....",
        '(' => "...#. ..#.. .#... .#... .#... ..#.. ...#.",
        ')' => ".#... ..#.. ...#. ...#. ...#. ..#.. .#...",
        '#' => ".#.#. .#.#. ##### .#.#. ##### .#.#. .#.#.",
        '*' => "..... ..#.. #.#.# .###. #.#.# ..#.. .....",
        _ => return None,
    }))
}

/// Where the squarer face differs.
fn square(c: char) -> Option<[u8; 7]> {
    Some(rows(match c {
        '0' => ".###. #...# #..## #.#.# ##..# #...# .###.",
        '1' => "..#.. .##.. #.#.. ..#.. ..#.. ..#.. #####",
        '2' => "####. ....# ....# .###. #.... #.... #####",
        '3' => "##### ...#. ..#.. ...#. ....# #...# .###.",
        '4' => "#...# #...# #...# ##### ....# ....# ....#",
        '5' => "##### #.... #.... ####. ....# ....# ####.",
        '6' => ".###. #.... #.... ####. #...# #...# .###.",
        '7' => "##### ....# ....# ...#. ..#.. ..#.. ..#..",
        '9' => ".###. #...# #...# .#### ....# ....# .###.",
        'G' => ".###. #...# #.... #..## #...# #...# .###.",
        'I' => "..#.. ..#.. ..#.. ..#.. ..#.. ..#.. ..#..",
        'M' => "#...# ##.## #.#.# #...# #...# #...# #...#",
        'N' => "#...# ##..# ##..# #.#.# #..## #..## #...#",
        'S' => ".###. #...# #.... .###. ....# #...# .###.",
        '/' => "....# ....# ...#. ..#.. .#... #.... #....",
        '.' => "..... ..... ..... ..... ..... ..... ..#..",
        ':' => "..... ..#.. ..... ..... ..... ..#.. .....",
        '\'' => "..#.. ..#.. ..... ..... ..... ..... .....",
        _ => return None,
    }))
}

/// Forms that the other two do not have.
fn block(c: char) -> Option<[u8; 7]> {
    Some(rows(match c {
        '0' => "..#.. .#.#. #...# #...# #...# .#.#. ..#..",
        '1' => "..#.. ..#.. ..#.. ..#.. ..#.. ..#.. ..#..",
        '2' => ".###. #...# ....# ..##. .#... #.... #####",
        '3' => "##### ....# ....# .#### ....# ....# #####",
        '4' => "#..#. #..#. #..#. ##### ...#. ...#. ...#.",
        '5' => "##### #.... #.##. ##..# ....# #...# .###.",
        '6' => ".###. #...# #.... #.##. ##..# #...# .###.",
        '7' => "##### #...# ....# ....# ....# ....# ....#",
        '9' => ".###. #...# #..## .##.# ....# #...# .###.",
        'B' => "####. #...# #...# ##### #...# #...# ####.",
        'I' => "##### ..#.. ..#.. ..#.. ..#.. ..#.. #####",
        'M' => "#...# ##.## #.#.# #.#.# #.#.# #...# #...#",
        'S' => ".#### #.... #.... ##### ....# ....# ####.",
        '.' => "..... ..... ..... ..... ..... ..##. ..##.",
        '/' => "....# ...#. ...#. ..#.. .#... .#... #....",
        _ => return None,
    }))
}

/// More forms of one character than a face has.
fn others(c: char) -> &'static [&'static str] {
    match c {
        '1' => &[
            ".##.. ..#.. ..#.. ..#.. ..#.. ..#.. ..#..",
            "..##. ...#. ...#. ...#. ...#. ...#. ...#.",
            ".##.. ..#.. ..#.. ..#.. ..#.. ..#.. .###.",
            "...#. ..##. .#.#. ...#. ...#. ...#. ...#.",
            "###.. ..#.. ..#.. ..#.. ..#.. ..#.. #####",
        ],
        '4' => &[
            "....# ...## ..#.# .#..# ##### ....# ....#",
            "#.... #..#. #..#. #..#. ##### ...#. ...#.",
            "..#.. .#... #..#. #..#. ##### ...#. ...#.",
            "#.#.. #.#.. #.#.. ##### ..#.. ..#.. ..#..",
        ],
        'M' => &["##### #.#.# #.#.# #.#.# #.#.# #...# #...#"],
        '7' => &["##### ....# ....# ...#. ...#. ..#.. ..#..", "##### ....# ....# ....# ....# ....# ....#"],
        '.' => &["..... ..... ..... ..... ..... ..... .##..", "..... ..... ..... ..... ..... .#... .#..."],
        _ => &[],
    }
}

/// Where the rounded face to measure with differs.
#[cfg(test)]
fn held_round(c: char) -> Option<[u8; 7]> {
    Some(rows(match c {
        '0' => ".###. #..## #.#.# #.#.# #.#.# ##..# .###.",
        '1' => "...#. ..##. .#.#. ...#. ...#. ...#. ...#.",
        '2' => ".###. #...# ....# ...#. .##.. #.... #####",
        '3' => "####. ....# ....# .###. ....# ....# ####.",
        '4' => "...#. ..##. .#.#. #..#. #..#. ##### ...#.",
        '5' => "##### #.... #.... ####. ....# ....# ####.",
        '6' => "...#. ..#.. .#... ####. #...# #...# .###.",
        '7' => "##### #...# ...#. ...#. ..#.. ..#.. ..#..",
        '8' => ".###. #...# .#.#. .###. #...# #...# .###.",
        '9' => ".###. #...# #...# .#### ...#. ..#.. .#...",
        'M' => "#...# ##.## ##.## #.#.# #...# #...# #...#",
        'S' => ".###. #...# .#... ..#.. ...#. #...# .###.",
        '/' => "....# ....# ...#. ..#.. ..#.. .#... #....",
        '.' => "..... ..... ..... ..... ..... ..#.. ..#..",
        _ => return None,
    }))
}

/// Where the angular face to measure with differs.
#[cfg(test)]
fn held_angular(c: char) -> Option<[u8; 7]> {
    Some(rows(match c {
        '0' => "##### #...# #...# #.#.# #...# #...# #####",
        '1' => "###.. ..#.. ..#.. ..#.. ..#.. ..#.. #####",
        '2' => "##### ....# ....# ...#. ..#.. .#... #####",
        '3' => "##### ....# ...#. .###. ....# ....# #####",
        '4' => "#.#.. #.#.. #.#.. ##### ..#.. ..#.. ..#..",
        '5' => "##### #.... #.... ##### ....# #...# #####",
        '6' => "####. #.... #.... ##### #...# #...# #####",
        '7' => "##### ....# ...#. ...#. ..#.. ..#.. .#...",
        '8' => "##### #...# #...# .###. #...# #...# #####",
        '9' => "##### #...# #...# ##### ....# ....# .####",
        'M' => "##### #.#.# #.#.# #.#.# #.#.# #...# #...#",
        'S' => "##### #.... #.... ##### ....# ....# #####",
        '.' => "..... ..... ..... ..... ..... ##... ##...",
        _ => return None,
    }))
}

/// Where the face with serifs differs.
#[cfg(test)]
fn held_serif(c: char) -> Option<[u8; 7]> {
    Some(rows(match c {
        '0' => ".###. #...# #...# #.#.# #...# #...# .###.",
        '1' => "..#.. ###.. ..#.. ..#.. ..#.. ..#.. #####",
        '2' => ".###. #...# #...# ...#. ..#.. .#..# #####",
        '3' => "##### #...# ...#. ..##. ....# #...# .###.",
        '4' => "...#. ..##. .#.#. #..#. ##### ...#. ..###",
        '5' => "##### #.... ####. #...# ....# #...# .###.",
        '6' => ".###. #...# #.... ####. #...# #...# .###.",
        '7' => "##### #...# ....# ...#. ..#.. ..#.. ..#..",
        '9' => ".###. #...# #...# .#### ....# #...# .###.",
        'B' => "####. .#..# .#..# .###. .#..# .#..# ####.",
        'F' => "##### .#..# .#... .###. .#... .#... ###..",
        'L' => "###.. .#... .#... .#... .#... .#..# #####",
        'M' => "##.## ##.## #.#.# #.#.# #...# #...# #...#",
        'S' => ".###. #...# #.... .###. ....# #...# .###.",
        '/' => "....# ....# ...#. ..#.. .#... #.... #....",
        '.' => "..... ..... ..... ..... ..... ..... ..##.",
        _ => return None,
    }))
}

/// Where the narrow face differs.
#[cfg(test)]
fn held_narrow(c: char) -> Option<[u8; 7]> {
    Some(rows(match c {
        '0' | 'O' => ".##.. #..#. #..#. #..#. #..#. #..#. .##..",
        '1' => ".#... ##... .#... .#... .#... .#... ###..",
        '2' => ".##.. #..#. ...#. ..#.. .#... #.... ####.",
        '3' => "###.. ...#. ...#. .##.. ...#. ...#. ###..",
        '4' => "..#.. .##.. #.#.. #.#.. ####. ..#.. ..#..",
        '5' => "####. #.... ###.. ...#. ...#. #..#. .##..",
        '6' => ".##.. #.... #.... ###.. #..#. #..#. .##..",
        '7' => "####. ...#. ...#. ..#.. ..#.. .#... .#...",
        '8' => ".##.. #..#. #..#. .##.. #..#. #..#. .##..",
        '9' => ".##.. #..#. #..#. .###. ...#. ...#. .##..",
        'B' => "###.. #..#. #..#. ###.. #..#. #..#. ###..",
        'F' => "####. #.... #.... ###.. #.... #.... #....",
        'I' => "###.. .#... .#... .#... .#... .#... ###..",
        'L' => "#.... #.... #.... #.... #.... #.... ####.",
        'M' => "#..#. ####. ####. #..#. #..#. #..#. #..#.",
        'S' => ".###. #.... #.... .##.. ...#. ...#. ###..",
        'U' => "#..#. #..#. #..#. #..#. #..#. #..#. .##..",
        '/' => "...#. ...#. ..#.. ..#.. .#... .#... #....",
        '.' => "..... ..... ..... ..... ..... ..... .#...",
        _ => return None,
    }))
}

/// Digits as some displays of segments write them: no outer bars on 6 and 9, a hook on 7. From memory of such displays.
fn open_segments(c: char) -> Option<u8> {
    let on = match c {
        '6' => "cdefg",
        '7' => "abcf",
        '9' => "abcfg",
        _ => return None,
    };
    Some(on.bytes().fold(0, |n, b| n | 1 << (b - b'a')))
}

/// Segments a (top), b, c (right), d (bottom), e, f (left), g (middle).
fn segments(c: char) -> Option<u8> {
    let on = match c {
        ' ' => "",
        '0' | 'O' => "abcdef",
        '1' | 'I' => "bc",
        '2' | 'Z' => "abdeg",
        '3' => "abcdg",
        '4' | 'Y' => "bcfg",
        '5' | 'S' => "acdfg",
        '6' | 'G' => "acdefg",
        '7' => "abc",
        '8' => "abcdefg",
        '9' => "abcdfg",
        'A' => "abcefg",
        'B' => "cdefg",
        'C' => "adef",
        'D' => "bcdeg",
        'E' => "adefg",
        'F' => "aefg",
        'H' => "bcefg",
        'J' => "bcde",
        'L' => "def",
        'P' => "abefg",
        'R' => "eg",
        'T' => "defg",
        'U' => "bcdef",
        '-' => "g",
        '\'' => "f",
        '"' => "bf",
        '_' => "d",
        '=' => "dg",
        _ => return None,
    };
    Some(on.bytes().fold(0, |n, b| n | 1 << (b - b'a')))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_face_shows_what_settings_are_made_of() {
        for face in Face::ALL {
            let shown: String = face.characters().collect();
            assert!("0123456789 F-BUL".chars().all(|c| shown.contains(c)), "{face:?}: {shown}");
        }
        assert!("/.:+'\"ABCDEFGHIJKLMNOPQRSTUVWXYZ".chars().all(|c| Face::Dots.characters().any(|d| d == c)));
    }

    #[test]
    fn a_stroke_may_turn_with_or_without_a_dot_in_the_corner() {
        let (round, block) = (dots('0').unwrap(), rows("##### #...# #...# #...# #...# #...# #####"));
        assert_eq!(with_corners(round, true), block);
        assert_eq!(with_corners(block, false), round);
        assert_eq!(with_corners(dots('+').unwrap(), true), dots('+').unwrap());
    }

    #[test]
    fn digits_differ_from_each_other_in_every_face() {
        for face in Face::ALL {
            let bits = |c: char| match face.ink(c) {
                Some(Ink::Dots(rows)) => rows.to_vec(),
                Some(Ink::Segments(on, _)) => vec![on],
                None => Vec::new(),
            };
            for a in '0'..='9' {
                for b in ('0'..='9').filter(|b| *b != a) {
                    assert_ne!(bits(a), bits(b), "{face:?} {a} {b}");
                }
            }
        }
    }

    #[test]
    fn dots_fill_five_columns() {
        for face in [Face::Dots, Face::SquareDots] {
            for c in face.characters() {
                let Some(Ink::Dots(rows)) = face.ink(c) else { panic!("{c}") };
                assert!(rows.iter().all(|r| *r < 32), "{c}");
                assert_eq!(c == ' ', rows.iter().all(|r| *r == 0));
            }
        }
    }
}

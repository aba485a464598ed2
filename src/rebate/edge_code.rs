//! The film maker's code along the edge of 135 film: its bits and their meaning.
//!
//! ```text
//! clock   1111101010…1010111      31 modules with a frame number, 23 without
//! data    101010 part1:7 0 part2:4 [frame:6 half:1 0] parity 0101
//! ```
//!
//! A bar is a one: dark on a negative. Both tracks start and end together; the
//! clock lies towards the perforations. Parity makes the number of ones from
//! part 1 up to it even.
//! Source: the layout as read by zxing-cpp (`ODDXFilmEdgeReader.cpp`) and
//! written by zint (`dxfilmedge.c`, manual 6.4.5); one code every half frame,
//! US patent 4,965,628.

use std::fmt;

use crate::facts::FrameNumber;

/// Modules of a code with a frame number.
pub(super) const LONG: usize = 31;
/// Modules of a code without.
pub(super) const SHORT: usize = 23;

/// What one code says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct EdgeNumber {
    /// First part of the film code, 1 to 127.
    pub part1: u8,
    /// Second part, 0 to 15.
    pub part2: u8,
    /// Number in half frames, `2 × frame + half`, 0 to 127; none in the short code.
    pub half_frames: Option<u8>,
}

impl EdgeNumber {
    /// Film code, such as `115-4`.
    pub fn film(self) -> String {
        format!("{}-{}", self.part1, self.part2)
    }

    /// Frame number that it stands for. 63 means `00`; 62 stands before the
    /// first frame and is none.
    pub fn frame(self) -> Option<FrameNumber> {
        let n = self.half_frames?;
        let number = match n / 2 {
            63 => FrameNumber::DOUBLE_ZERO,
            62 => return None,
            frame => FrameNumber::new(u16::from(frame)),
        };
        Some(if n % 2 == 1 { number.with_a() } else { number })
    }

    /// Place along the film in half frames, for comparing with neighbours:
    /// `00` and `62` lie before 0.
    pub fn place(self) -> Option<i32> {
        self.half_frames.map(|n| if n >= 124 { i32::from(n) - 128 } else { i32::from(n) })
    }
}

impl fmt::Display for EdgeNumber {
    /// As barcode readers write it: `115-4/12A`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.part1, self.part2)?;
        match self.half_frames {
            Some(n) => write!(f, "/{}{}", n / 2, if n % 2 == 1 { "A" } else { "" }),
            None => Ok(()),
        }
    }
}

/// Reads `115-4/12A`, as barcode readers write it.
pub(super) fn parse(text: &str) -> Option<EdgeNumber> {
    let (film, frame) = match text.split_once('/') {
        Some((film, frame)) => (film, Some(frame)),
        None => (text, None),
    };
    let (a, b) = film.split_once('-')?;
    let part1 = a.parse().ok().filter(|n| (1..=127).contains(n))?;
    let part2 = b.parse().ok().filter(|n| *n <= 15)?;
    let half_frames = match frame {
        None => None,
        Some(t) => {
            let (n, half) = t.strip_suffix('A').map_or((t, 0), |n| (n, 1));
            Some(n.parse::<u8>().ok().filter(|n| *n <= 63)? * 2 + half)
        }
    };
    Some(EdgeNumber { part1, part2, half_frames })
}

/// The clock of a code of this many modules.
pub(super) fn clock(modules: usize) -> Vec<bool> {
    (0..modules).map(|i| i < 5 || i >= modules - 3 || i % 2 == 0).collect()
}

/// The data bits of a code.
#[cfg(test)]
pub(super) fn encode(code: EdgeNumber) -> Vec<bool> {
    let mut bits = Vec::new();
    let mut push = |value: u8, width: u32| bits.extend((0..width).rev().map(|i| value >> i & 1 == 1));
    push(0b10_1010, 6);
    push(code.part1, 7);
    push(0, 1);
    push(code.part2, 4);
    if let Some(n) = code.half_frames {
        push(n, 7);
        push(0, 1);
    }
    let ones = bits[6..].iter().filter(|b| **b).count();
    bits.push(ones % 2 == 1);
    bits.extend([false, true, false, true]);
    bits
}

/// What data bits say; none when start, stop, a fixed bit or the parity is wrong.
pub(super) fn decode(bits: &[bool]) -> Option<EdgeNumber> {
    let long = match bits.len() {
        LONG => true,
        SHORT => false,
        _ => return None,
    };
    let number = |from: usize, width: usize| bits[from..from + width].iter().fold(0_u8, |n, b| n << 1 | u8::from(*b));
    let end = bits.len() - 5;
    let framed = number(0, 6) == 0b10_1010 && bits[end + 1..] == [false, true, false, true];
    let fixed = bits[13] || (long && bits[25]);
    let even = bits[6..=end].iter().filter(|b| **b).count() % 2 == 0;
    let part1 = number(6, 7);
    if !framed || fixed || !even || part1 == 0 {
        return None;
    }
    Some(EdgeNumber { part1, part2: number(14, 4), half_frames: long.then(|| number(18, 7)) })
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Data tracks that zxing-cpp 3.1.1 reads as the text beside them.
    pub(in crate::rebate) const VECTORS: [(&str, &str); 19] = [
        ("115-4", "10101011100110010000101"),
        ("115-4/0", "1010101110011001000000000000101"),
        ("115-4/0A", "1010101110011001000000001010101"),
        ("115-4/1", "1010101110011001000000010010101"),
        ("115-4/1A", "1010101110011001000000011000101"),
        ("115-4/12", "1010101110011001000011000000101"),
        ("115-4/12A", "1010101110011001000011001010101"),
        ("115-4/24", "1010101110011001000110000000101"),
        ("115-4/36", "1010101110011001001001000000101"),
        ("115-4/36A", "1010101110011001001001001010101"),
        ("115-4/62", "1010101110011001001111100010101"),
        ("115-4/63", "1010101110011001001111110000101"),
        ("115-4/63A", "1010101110011001001111111010101"),
        ("36-2/20A", "1010100100100000100101001000101"),
        ("36-2/21", "1010100100100000100101010000101"),
        ("80-11/23", "1010101010000010110101110010101"),
        ("10-3", "10101000010100001100101"),
        ("1-0", "10101000000010000010101"),
        ("127-15/63A", "1010101111111011111111111000101"),
    ];

    pub(in crate::rebate) fn bits(text: &str) -> Vec<bool> {
        text.bytes().map(|b| b == b'1').collect()
    }

    #[test]
    fn bits_and_texts_go_together() {
        for (text, track) in VECTORS {
            let code = decode(&bits(track)).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(code.to_string(), text);
            assert_eq!(encode(code), bits(track), "{text}");
            assert_eq!(parse(text), Some(code));
        }
    }

    #[test]
    fn the_clock_is_that_of_the_readers() {
        let shown = |n| clock(n).into_iter().map(|b| if b { '1' } else { '0' }).collect::<String>();
        assert_eq!(shown(LONG), "1111101010101010101010101010111");
        assert_eq!(shown(SHORT), "11111010101010101010111");
    }

    #[test]
    fn numbers_on_the_film() {
        let frame = |t: &str| parse(t).unwrap().frame().map(|n| n.to_string());
        assert_eq!(frame("115-4/63").as_deref(), Some("00"));
        assert_eq!(frame("115-4/63A").as_deref(), Some("00A"));
        assert_eq!(frame("115-4/12A").as_deref(), Some("12A"));
        assert_eq!(frame("115-4/62"), None);
        assert_eq!(frame("115-4"), None);
        assert!(parse("115-4/63A").unwrap().place() < parse("115-4/0").unwrap().place());
    }

    #[test]
    fn damaged_codes_are_refused() {
        let good = bits("1010101110011001000011001010101");
        let mut parity = good.clone();
        parity[26] = !parity[26];
        assert_eq!(decode(&parity), None);
        assert_eq!(decode(&encode(EdgeNumber { part1: 0, part2: 4, half_frames: Some(25) })), None);
        assert_eq!(decode(&good[1..]), None);
    }

    #[test]
    fn a_quarter_of_all_codes_read_backwards_too() {
        // The trap: 115-4/12A read from the right is a valid 76-4/51A.
        let mut back = bits("1010101110011001000011001010101");
        back.reverse();
        assert_eq!(decode(&back).unwrap().to_string(), "76-4/51A");
        let (mut all, mut both) = (0, 0);
        for part1 in 1..=127 {
            for part2 in 0..16 {
                for n in 0..128 {
                    let mut track = encode(EdgeNumber { part1, part2, half_frames: Some(n) });
                    track.reverse();
                    all += 1;
                    both += usize::from(decode(&track).is_some());
                }
            }
        }
        assert_eq!(all, 260_096);
        // The one exception in a thousand: a backward part 1 of zero.
        let share = f64::from(both as u32) / f64::from(all);
        assert!((0.24..0.26).contains(&share), "{share}");
    }

    proptest! {
        #[test]
        fn any_single_wrong_bit_is_noticed(part1 in 1u8..128, part2 in 0u8..16, n in proptest::option::of(0u8..128), at in 0usize..31) {
            let code = EdgeNumber { part1, part2, half_frames: n };
            let mut track = encode(code);
            prop_assert_eq!(decode(&track), Some(code));
            let at = at % track.len();
            track[at] = !track[at];
            prop_assert_eq!(decode(&track), None);
        }
    }
}

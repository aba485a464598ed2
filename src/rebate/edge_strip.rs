//! The codes along a strip, weighed against each other: one code alone is weak
//! evidence, neighbours that count on are strong.

use image::GrayImage;

use crate::facts::{Confidence, FrameNumber};

use super::barcode::{Sight, sights};
use super::edge_code::EdgeNumber;

/// A code whose second look confirmed it, with no neighbour to compare.
const ALONE: f64 = 0.85;
/// A code that only the barcode reader saw.
const UNCONFIRMED: f64 = 0.5;
/// A code that a neighbour agrees with.
const BACKED: f64 = 0.99;
/// A code of another film, or out of the sequence.
const CONTRADICTED: f64 = 0.1;
/// How far a neighbour may be from its place, in half frames.
const OFF: f64 = 0.25;

/// A code on the edge.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeCode {
    /// What it says.
    pub number: EdgeNumber,
    /// Frame number, where it is one.
    pub frame: Option<FrameNumber>,
    /// Centre in the picture, fractions of its width and height from the upper left.
    pub centre: (f64, f64),
    /// Place along the film, pixels of the picture from its middle, growing
    /// with the frame numbers.
    pub along: f64,
    /// How sure.
    pub confidence: Confidence,
}

/// What the edge in one picture says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EdgeReading {
    /// Codes in film order.
    pub codes: Vec<EdgeCode>,
    /// Film code, such as `115-4`, with its confidence.
    pub film: Option<(String, Confidence)>,
    /// The picture shows the film from the wrong side.
    pub mirrored: bool,
    /// The picture shows the film as it is, exposed parts dark.
    pub negative: bool,
    /// Direction in which the frame numbers grow in the picture: a unit vector
    /// in pixels, x to the right, y down.
    pub direction: (f64, f64),
    /// Pixels of the picture in half a frame, 19 mm of film, when two codes give it.
    pub half_frame: Option<f64>,
}

impl EdgeReading {
    /// The number of the frame at the picture's middle: that of the nearest
    /// code. Where a code is printed relative to the camera's frame is set
    /// when the film is loaded; the offset is nearly constant along a roll.
    pub fn middle(&self) -> Option<(FrameNumber, Confidence)> {
        let nearest =
            self.codes.iter().filter(|c| c.frame.is_some()).min_by(|a, b| a.along.abs().total_cmp(&b.along.abs()))?;
        Some((nearest.frame?, nearest.confidence))
    }
}

/// Reads every film code in a picture.
///
/// Looks for codes in any orientation, direction and polarity. A picture
/// without codes gives an empty reading.
pub fn edge_codes(picture: &GrayImage) -> EdgeReading {
    weigh(sights(picture), picture.dimensions())
}

/// Commonest of a list, with its count.
fn commonest<T: PartialEq + Copy>(list: impl Iterator<Item = T> + Clone) -> Option<(T, usize)> {
    list.clone().map(|a| (a, list.clone().filter(|b| *b == a).count())).max_by_key(|(_, n)| *n)
}

fn weigh(sights: Vec<Sight>, (w, h): (u32, u32)) -> EdgeReading {
    let film_of = |s: &Sight| (s.code.part1, s.code.part2);
    let trusted = || sights.iter().filter(|s| s.confirmed || sights.iter().all(|t| !t.confirmed));
    let Some(((part1, part2), votes)) = commonest(trusted().map(film_of)) else { return EdgeReading::default() };
    // A strip lies one way only.
    let way = |s: &Sight| ((s.direction.0.round() as i8, s.direction.1.round() as i8), s.mirrored, s.negative);
    let of_film = || trusted().filter(|s| film_of(s) == (part1, part2));
    let Some(((_, mirrored, negative), _)) = commonest(of_film().map(way)) else { return EdgeReading::default() };
    let direction =
        of_film().find(|s| (s.mirrored, s.negative) == (mirrored, negative)).map_or((1.0, 0.0), |s| s.direction);
    let along =
        |s: &Sight| (s.centre.0 - 0.5) * f64::from(w) * direction.0 + (s.centre.1 - 0.5) * f64::from(h) * direction.1;
    let fits =
        |s: &Sight| film_of(s) == (part1, part2) && way(s).0 == (direction.0.round() as i8, direction.1.round() as i8);
    let half_frame = pitch(
        &sights
            .iter()
            .filter(|s| fits(s))
            .filter_map(|s| Some((along(s), s.code.place()?, s.length)))
            .collect::<Vec<_>>(),
    );

    let mut codes: Vec<EdgeCode> = sights
        .iter()
        .map(|s| {
            let agrees = |t: &Sight| match (half_frame, s.code.place(), t.code.place()) {
                (Some(p), Some(a), Some(b)) => a != b && ((along(t) - along(s)) / p - f64::from(b - a)).abs() < OFF,
                // Codes without a number only tell the film.
                (_, None, None) => (along(t) - along(s)).abs() > s.length,
                _ => false,
            };
            let others = || sights.iter().filter(|t| !std::ptr::eq(*t, s) && fits(t));
            let confidence = if !fits(s) {
                CONTRADICTED
            } else if others().any(agrees) {
                BACKED
            } else if half_frame.is_some() && s.code.place().is_some() {
                CONTRADICTED
            } else if s.confirmed {
                ALONE
            } else {
                UNCONFIRMED
            };
            EdgeCode {
                number: s.code,
                frame: s.code.frame(),
                centre: s.centre,
                along: along(s),
                confidence: Confidence::new(confidence),
            }
        })
        .collect();
    codes.sort_by(|a, b| a.along.total_cmp(&b.along));
    let film_confidence = match (votes, trusted().any(|s| s.confirmed)) {
        (1, true) => ALONE,
        (1, false) => UNCONFIRMED,
        _ => BACKED,
    };
    EdgeReading {
        codes,
        film: Some((format!("{part1}-{part2}"), Confidence::new(film_confidence))),
        mirrored,
        negative,
        direction,
        half_frame,
    }
}

/// Pixels in half a frame, from the pairs of codes that count on; none when no
/// two do. A code is shorter than half a frame and longer than a quarter.
fn pitch(seen: &[(f64, i32, f64)]) -> Option<f64> {
    let mut pitches = Vec::new();
    for (i, (x, n, length)) in seen.iter().enumerate() {
        for (y, m, _) in &seen[i + 1..] {
            let p = (y - x) / f64::from(m - n);
            if m != n && p > *length && p < 4.0 * length {
                pitches.push(p);
            }
        }
    }
    pitches.sort_by(f64::total_cmp);
    // The commonest pitch within a few percent; the median when all agree.
    let near = |p: f64| pitches.iter().filter(|q| (*q / p - 1.0).abs() < 0.05).count();
    pitches.iter().copied().max_by_key(|p| near(*p))
}

#[cfg(test)]
mod tests {
    use super::super::draw::{Dice, code_strip, inverted, turned, worn};
    use super::super::edge_code::{SHORT, decode, encode, parse, tests::VECTORS};
    use super::*;

    /// One code by itself with unlike margins.
    fn alone(track: &str) -> GrayImage {
        let bits = super::super::edge_code::tests::bits(track);
        let modules = bits.len() as f64;
        code_strip(&[(bits, 6.0)], 5.0, ((modules + 15.0) * 5.0) as u32, 160)
    }

    #[track_caller]
    fn only(reading: &EdgeReading, text: &str, how: &str) {
        let seen: Vec<String> = reading.codes.iter().map(|c| c.number.to_string()).collect();
        assert_eq!(seen, [text], "{how}");
    }

    /// Every way a strip can lie on the scanner, in both polarities.
    fn every_way(picture: &GrayImage, mut check: impl FnMut(&GrayImage, &str, bool, bool)) {
        for quarters in 0..4 {
            for mirrored in [false, true] {
                let lying = turned(picture, quarters, mirrored);
                check(&lying, &format!("{quarters} quarters, mirrored {mirrored}, negative"), mirrored, true);
                check(
                    &inverted(&lying),
                    &format!("{quarters} quarters, mirrored {mirrored}, positive"),
                    mirrored,
                    false,
                );
            }
        }
    }

    #[test]
    fn every_vector_reads_every_way() {
        for (text, track) in VECTORS {
            every_way(&alone(track), |picture, how, mirrored, negative| {
                let reading = edge_codes(picture);
                only(&reading, text, how);
                assert_eq!((reading.mirrored, reading.negative), (mirrored, negative), "{text} {how}");
                assert_eq!(reading.film.as_ref().map(|f| f.0.as_str()), text.split('/').next(), "{text} {how}");
            });
        }
    }

    #[test]
    fn equal_margins_do_not_turn_a_code_round() {
        // With equal margins the barcode reader alone gives 76-4/51A for some of these.
        for text in ["115-4/12A", "1-0", "36-2/20A"] {
            let bits = encode(parse(text).unwrap());
            let width = ((bits.len() as f64 + 16.0) * 5.0) as u32;
            every_way(&code_strip(&[(bits, 8.0)], 5.0, width, 160), |picture, how, _, _| {
                only(&edge_codes(picture), text, how);
            });
        }
    }

    #[test]
    fn what_must_fail_fails() {
        let mut parity = encode(parse("115-4/12A").unwrap());
        parity[26] = !parity[26];
        let zero = encode(EdgeNumber { part1: 0, part2: 4, half_frames: Some(25) });
        for bits in [parity, zero] {
            assert_eq!(decode(&bits), None);
            every_way(&code_strip(&[(bits, 6.0)], 5.0, 230, 160), |picture, how, _, _| {
                assert_eq!(edge_codes(picture), EdgeReading::default(), "{how}");
            });
        }
        // Data without a clock: the clock painted over.
        let mut bare = alone(VECTORS[6].1);
        for y in 0..160 - 7 - 15 {
            for x in 0..bare.width() {
                bare.put_pixel(x, y, image::Luma([205]));
            }
        }
        assert_eq!(edge_codes(&bare), EdgeReading::default());
        assert_eq!(edge_codes(&GrayImage::new(3, 3)), EdgeReading::default());
    }

    /// Codes of half frames `from..`, a half frame being 45 modules.
    fn strip(film: &str, from: u8, count: u8, module: f64) -> GrayImage {
        let codes: Vec<(Vec<bool>, f64)> = (0..count)
            .map(|i| {
                let n = from + i;
                let code = EdgeNumber { half_frames: Some(n), ..parse(film).unwrap() };
                (encode(code), 9.0 + 45.0 * f64::from(i))
            })
            .collect();
        code_strip(&codes, module, ((9.0 + 45.0 * f64::from(count)) * module) as u32, (75.0 * module) as u32)
    }

    #[test]
    fn a_strip_counts_on_and_is_believed() {
        let picture = strip("115-4", 23, 6, 4.0);
        every_way(&picture, |picture, how, mirrored, _| {
            let reading = edge_codes(picture);
            let frames: Vec<String> = reading.codes.iter().filter_map(|c| c.frame).map(|f| f.to_string()).collect();
            assert_eq!(frames, ["11A", "12", "12A", "13", "13A", "14"], "{how}");
            assert!(reading.codes.iter().all(|c| c.confidence.get() > 0.95), "{how}");
            assert_eq!(reading.mirrored, mirrored, "{how}");
            assert!((reading.half_frame.unwrap() / 180.0 - 1.0).abs() < 0.02, "{how}");
        });
    }

    #[test]
    fn the_middle_takes_the_nearest_code() {
        let reading = edge_codes(&strip("80-11", 40, 3, 4.0));
        assert_eq!(reading.middle().map(|m| m.0.to_string()).as_deref(), Some("20A"));
        assert_eq!(EdgeReading::default().middle(), None);
    }

    #[test]
    fn a_code_out_of_sequence_is_not_believed() {
        let mut codes: Vec<(Vec<bool>, f64)> = (0..5)
            .map(|i| {
                (encode(EdgeNumber { part1: 115, part2: 4, half_frames: Some(20 + i) }), 9.0 + 45.0 * f64::from(i))
            })
            .collect();
        codes[2].0 = encode(parse("115-4/30").unwrap());
        let reading = edge_codes(&code_strip(&codes, 4.0, 940, 300));
        let doubted: Vec<String> =
            reading.codes.iter().filter(|c| c.confidence.get() < 0.5).map(|c| c.number.to_string()).collect();
        assert_eq!(doubted, ["115-4/30"]);
    }

    #[test]
    fn the_reading_agrees_with_an_outside_writer() {
        // zint, inside zxing-cpp, draws the code by its own table.
        let numbers =
            (0..128).step_by(5).map(|n| format!("{}-{}/{}{}", 1 + n, n % 16, n / 2, if n % 2 == 1 { "A" } else { "" }));
        for text in numbers.chain(["115-4".into(), "127-15".into()]) {
            let drawn = zxingcpp::create(zxingcpp::BarcodeFormat::DXFilmEdge).from_str(&text).unwrap();
            let symbol = drawn.to_image_with(&zxingcpp::write().scale(6).add_quiet_zones(true)).unwrap();
            let (w, h) = (symbol.width() as u32, symbol.height() as u32);
            let symbol = GrayImage::from_raw(w, h, symbol.data()).unwrap();
            assert!(w >= 6 * SHORT as u32);
            only(&edge_codes(&symbol), &text, "as drawn");
            only(&edge_codes(&turned(&inverted(&symbol), 2, true)), &text, "turned, mirrored, positive");
        }
    }

    /// What zxing-cpp reads by itself, told to try everything.
    fn reference(picture: &GrayImage) -> Vec<String> {
        let reader = zxingcpp::BarcodeReader::new()
            .formats(zxingcpp::BarcodeFormat::DXFilmEdge)
            .try_harder(true)
            .try_rotate(true)
            .try_invert(true);
        let (w, h) = picture.dimensions();
        let view = zxingcpp::ImageView::from_slice(picture.as_raw(), w, h, zxingcpp::ImageFormat::Lum).unwrap();
        reader.from(view).unwrap().iter().filter(|c| c.is_valid()).map(|c| c.text()).collect()
    }

    #[test]
    fn what_the_reference_reader_reads_is_read() {
        use imageproc::geometric_transformations::{Border, Interpolation, rotate_about_center};
        let (mut theirs, mut ours, mut lost) = (0, 0, Vec::new());
        for scale in [0.5, 0.7, 1.0, 1.5, 3.0] {
            for tilt in [-5.0_f32, -3.0, -1.0, 0.0, 2.0, 4.0, 5.0] {
                for positive in [false, true] {
                    let strip = strip("115-4", 24, 2, 5.0 * scale);
                    let ground = image::Luma([205]);
                    let strip = rotate_about_center(
                        &strip,
                        tilt.to_radians(),
                        Interpolation::Bilinear,
                        Border::Constant(ground),
                    );
                    let picture = if positive { inverted(&strip) } else { strip };
                    let read = edge_codes(&picture);
                    let seen: Vec<String> = read.codes.iter().map(|c| c.number.to_string()).collect();
                    let right = |t: &&String| ["115-4/12", "115-4/12A"].contains(&t.as_str());
                    ours += seen.iter().filter(right).count();
                    for text in reference(&picture).iter().filter(right) {
                        theirs += 1;
                        if !seen.contains(text) {
                            lost.push(format!("{text} at {scale}, {tilt} degrees, positive {positive}: {seen:?}"));
                        }
                    }
                }
            }
        }
        println!("the reference reads {theirs}, spooltalk {ours} of 140");
        assert!(theirs > 20 && lost.is_empty(), "of {theirs}:\n{}", lost.join("\n"));
    }

    #[test]
    fn grain_and_blur_lose_codes_but_do_not_change_them() {
        let (mut seen, mut all) = (0, 0);
        for seed in 0..12 {
            let mut dice = Dice::new(seed);
            let from = dice.below(60) as u8;
            let picture =
                worn(&strip("115-4", from, 6, 5.0), dice.between(0.5, 1.4), dice.between(4.0, 14.0), &mut dice);
            let lying = turned(&picture, dice.below(4) as u8, dice.below(2) == 1);
            let reading = edge_codes(&lying);
            for code in reading.codes.iter().filter(|c| c.confidence.get() > 0.5) {
                let n = code.number.half_frames.unwrap();
                assert!(code.number.film() == "115-4" && (from..from + 6).contains(&n), "seed {seed}: {}", code.number);
                seen += 1;
            }
            all += 6;
        }
        assert!(seen * 10 >= all * 8, "{seen} of {all}");
    }
}

//! Frame numbers and film code from the film maker's barcode, on scans that
//! show the edge of 35 mm film.

use std::f64::consts::TAU;
use std::path::Path;

use image::DynamicImage;
use image::imageops::FilterType;

use super::{KnownFrom, ScanError, ScanNumber, picture};
use crate::kit::Format;
use crate::rebate::{EdgeReading, edge_codes};

/// Longest side looked at, pixels: five and more to a bar, on a frame.
const SIDE: u32 = 2400;
/// Confidence from which a code is believed.
const BELIEVED: f64 = 0.8;
/// How far a frame may lie from where the others of its roll lie, in frames.
const OFF: f64 = 0.25;
/// Longest picture, in frames, that can be one frame.
const ONE_FRAME: f64 = 1.5;

/// How much of the film a frame takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Length {
    /// 38 mm, from one number on the edge to the next.
    Full,
    /// 19 mm, half of it: N is one picture, NA the next.
    Half,
}

impl Length {
    /// On this format; none where the film carries no code.
    pub fn of(format: Format) -> Option<Self> {
        match format {
            Format::F135 => Some(Self::Full),
            Format::Half => Some(Self::Half),
            _ => None,
        }
    }

    fn half_frames(self) -> f64 {
        match self {
            Self::Full => 2.0,
            Self::Half => 1.0,
        }
    }

    /// The number of the picture at this place in half frames. Edge numbers
    /// are the frames' own; of half frames, the one at 1 is the first.
    fn number(self, half_frames: f64) -> f64 {
        match self {
            Self::Full => half_frames / 2.0,
            Self::Half => half_frames - 1.0,
        }
    }

    /// Whether a picture of this shape reaches beyond the frame: 36 × 24 mm has
    /// 1.5, and 1.03 with both edges of the film; 18 × 24 has 1.33, and 1.84.
    fn may_show_edge(self, w: u32, h: u32) -> bool {
        let ratio = f64::from(w.max(h)) / f64::from(w.min(h).max(1));
        match self {
            Self::Full => ratio <= 1.42,
            Self::Half => ratio >= 1.42,
        }
    }
}

/// What the edge beside one frame says.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FrameEdge {
    /// Film code, such as `115-4`.
    pub film: String,
    /// Place of the picture's middle on the film in frames of its length, as the
    /// edge numbers them: 12.5 lies at 12A, or, of half frames, 24 does.
    pub place: Option<f64>,
}

/// Reads the edge on a scan of a frame of this length; none when it shows none.
///
/// # Errors
/// [`ScanError`] when the file cannot be read or is no whole picture.
pub(super) fn frame_edge(path: &Path, frame: Length) -> Result<Option<FrameEdge>, ScanError> {
    let Ok((w, h)) = image::image_dimensions(path) else { return Ok(None) };
    if !frame.may_show_edge(w, h) {
        return Ok(None);
    }
    let grey = picture::decoded(path, |picture| {
        let grey = DynamicImage::ImageLuma8(picture.into_luma8());
        if w.max(h) > SIDE { grey.resize(SIDE, SIDE, FilterType::Triangle) } else { grey }
    })?;
    let picture = grey.into_luma8();
    Ok(at_the_middle(&edge_codes(&picture), picture.dimensions(), frame))
}

fn at_the_middle(edge: &EdgeReading, (w, h): (u32, u32), frame: Length) -> Option<FrameEdge> {
    let (film, sure) = edge.film.clone()?;
    if sure.get() < BELIEVED {
        return None;
    }
    let (dx, dy) = edge.direction;
    let length = f64::from(w) * dx.abs() + f64::from(h) * dy.abs();
    // One code alone does not tell how long half a frame is; the picture, of one frame, does.
    let half_frame = edge.half_frame.unwrap_or(length / frame.half_frames());
    let believed = edge.codes.iter().filter(|c| c.confidence.get() >= BELIEVED && c.number.film() == film);
    let nearest = believed
        .filter_map(|c| Some((c, c.number.place()?)))
        .min_by(|(a, _), (b, _)| a.along.abs().total_cmp(&b.along.abs()))
        .filter(|_| length < ONE_FRAME * frame.half_frames() * half_frame);
    let place = nearest.map(|(code, half_frames)| frame.number(f64::from(half_frames) - code.along / half_frame));
    Some(FrameEdge { film, place })
}

/// The film code of a roll: what most of its scans say.
fn film_of(edges: &[Option<FrameEdge>]) -> Option<&str> {
    let films = || edges.iter().flatten().map(|e| e.film.as_str());
    films().max_by_key(|film| (films().filter(|f| f == film).count(), std::cmp::Reverse(*film)))
}

/// Numbers for the scans of a roll, one for each picture of `pictures`.
///
/// Where frames lie between the edge's numbers is set when the film is loaded
/// and stays; so the places of all frames together settle which number each
/// takes. All scans get none when the edge tells less than half of them, as
/// numbers of two series do not go together.
pub(super) fn numbers(edges: &[Option<FrameEdge>], pictures: &[usize]) -> Vec<Option<ScanNumber>> {
    let film = film_of(edges);
    let places: Vec<Option<f64>> =
        edges.iter().map(|e| e.as_ref().filter(|e| Some(e.film.as_str()) == film)?.place).collect();
    let (sin, cos) =
        places.iter().flatten().map(|p| (TAU * p).sin_cos()).fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
    let offset = sin.atan2(cos) / TAU;
    let mut found: Vec<Option<u32>> = places
        .iter()
        .map(|place| {
            let on_grid = (*place)? - offset;
            let number = on_grid.round();
            ((on_grid - number).abs() <= OFF && number >= 0.0).then_some(number as u32)
        })
        .collect();
    // A number on two pictures is wrong on one of them.
    let twice: Vec<bool> = (0..found.len())
        .map(|i| (0..found.len()).any(|j| found[i].is_some() && found[i] == found[j] && pictures[i] != pictures[j]))
        .collect();
    for (number, twice) in found.iter_mut().zip(twice) {
        *number = number.filter(|_| !twice);
    }
    let known = found.iter().flatten().count();
    // A single code is weak evidence.
    if known < 2 || known * 2 <= edges.len() {
        return vec![None; edges.len()];
    }
    found.into_iter().map(|n| n.map(|value| ScanNumber { value, side: None, known: KnownFrom::EdgeCode })).collect()
}

#[cfg(test)]
#[allow(clippy::disallowed_methods)] // tests set the scene
mod tests {
    use image::{GrayImage, Luma, imageops};

    use super::*;

    /// A frame with the film's edge, 30 pixels a millimetre: the code of its
    /// number a quarter in, that of the half frame 19 mm on. Drawn by zint,
    /// inside zxing-cpp.
    fn frame(n: u32) -> GrayImage {
        picture(1140, &[(format!("115-4/{n}"), 60), (format!("115-4/{n}A"), 630)])
    }

    fn picture(width: u32, codes: &[(String, i64)]) -> GrayImage {
        let mut picture = GrayImage::from_fn(width, 1050, |x, y| {
            Luma([if (100..850).contains(&y) { 90 + (x / 10 % 60) as u8 } else { 205 }])
        });
        for (text, x) in codes {
            let drawn = zxingcpp::create(zxingcpp::BarcodeFormat::DXFilmEdge).from_str(text).unwrap();
            let symbol = drawn.to_image_with(&zxingcpp::write().scale(12)).unwrap();
            let (w, h) = (symbol.width() as u32, symbol.height() as u32);
            let code = GrayImage::from_raw(w, h, symbol.data()).unwrap();
            imageops::replace(&mut picture, &code, *x, i64::from(1030 - h));
        }
        picture
    }

    fn edge(film: &str, place: f64) -> Option<FrameEdge> {
        Some(FrameEdge { film: film.into(), place: Some(place) })
    }

    fn values(edges: &[Option<FrameEdge>]) -> Vec<Option<u32>> {
        let pictures: Vec<usize> = (0..edges.len()).collect();
        numbers(edges, &pictures).into_iter().map(|n| n.map(|n| n.value)).collect()
    }

    #[test]
    fn a_scan_with_its_edge_tells_its_place_however_it_lies() {
        let folder = tempfile::tempdir().unwrap();
        let picture = frame(12);
        let ways = [picture.clone(), imageops::rotate180(&picture), imageops::rotate90(&picture)];
        for (i, mut lying) in ways.into_iter().enumerate() {
            if i == 1 {
                imageops::invert(&mut lying);
            }
            let path = folder.path().join(format!("{i}.png"));
            lying.save(&path).unwrap();
            let read = frame_edge(&path, Length::Full).unwrap().unwrap();
            assert_eq!(read.film, "115-4");
            let place = read.place.unwrap();
            assert!((12.0..13.0).contains(&place), "way {i}: {place}");
        }
        let path = folder.path().join("no-edge.png");
        imageops::crop_imm(&picture, 0, 100, 1140, 750).to_image().save(&path).unwrap();
        assert_eq!(frame_edge(&path, Length::Full).unwrap(), None);
    }

    #[test]
    fn half_frames_count_every_code() {
        let folder = tempfile::tempdir().unwrap();
        let edges: Vec<_> = ["1", "1A", "12", "12A", "13"]
            .iter()
            .map(|n| {
                let path = folder.path().join(format!("{n}.png"));
                picture(570, &[(format!("115-4/{n}"), 90)]).save(&path).unwrap();
                frame_edge(&path, Length::Half).unwrap()
            })
            .collect();
        assert_eq!(values(&edges), [1, 2, 23, 24, 25].map(Some));
        assert!(Length::Half.may_show_edge(1050, 570) && !Length::Half.may_show_edge(720, 540));
    }

    #[test]
    fn frames_between_two_numbers_are_counted_alike() {
        // Just around the half: by themselves they would be rounded both ways.
        let edges: Vec<_> =
            (3..9).map(|n| edge("115-4", f64::from(n) + if n % 2 == 0 { 0.48 } else { 0.52 })).collect();
        let found: Vec<u32> = values(&edges).into_iter().flatten().collect();
        assert_eq!(found.len(), 6);
        assert!(found.windows(2).all(|w| w[1] == w[0] + 1), "{found:?}");
    }

    #[test]
    fn what_does_not_fit_the_roll_has_no_number() {
        let edges =
            [edge("115-4", 1.1), edge("115-4", 2.1), edge("76-4", 51.1), edge("115-4", 4.1), edge("115-4", 5.6)];
        assert_eq!(values(&edges), [Some(1), Some(2), None, Some(4), None]);
        let twice = [edge("1-0", 1.0), edge("1-0", 2.0), edge("1-0", 2.0), edge("1-0", 4.0), edge("1-0", 5.0)];
        assert_eq!(values(&twice), [Some(1), None, None, Some(4), Some(5)]);
        assert_eq!(values(&[edge("1-0", 7.0), None, None]), [None; 3]);
    }
}

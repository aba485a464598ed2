//! A roll's film edge from its files, typed off or pictures. The only file
//! here that touches disk.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use image::{GrayImage, imageops};

use crate::facts::RollName;
use crate::kit::{Camera, Kit};
use crate::pictures;

use super::edge_strip::{EdgeReading, edge_codes};
use super::frame::{ImprintFrame, RebateError, RebateFault, RebateRoll};
use super::imprint::{ImprintPicture, read_picture};
use super::limits::{MOST_BYTES, at_most};
use super::typed;

/// Pictures whose longer side is twice this and more are made smaller by a whole number, before the room looks
/// at them closely: it looks at no more than half of this, and a strip scanned at 4000 dpi has 36,000 pixels.
const LONGEST_SIDE: u32 = 9000;

/// What one picture of a film edge says.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgePicture {
    /// The file's name.
    pub image: String,
    /// The camera's print.
    pub imprint: ImprintPicture,
    /// The film maker's codes.
    pub edge: EdgeReading,
}

/// Reads one file of a roll's film edge: a table, lines in the kit's pattern, or
/// a picture of strips or of frames with their edge.
///
/// `camera` is the kit name of the camera that the roll was in, when known; a
/// name that the kit does not have counts as unknown. The second part of the
/// answer names lines, cells and pictures that were left out.
///
/// # Errors
/// [`RebateError`] when nothing of it can be read; the caller adds the path.
pub fn read_file(
    path: &Path,
    roll: &RollName,
    kit: &Kit,
    camera: Option<&str>,
) -> Result<(Vec<ImprintFrame>, Vec<RebateFault>), RebateError> {
    let camera = camera_of(kit, camera);
    let file = path.display().to_string();
    if is_picture(path) {
        let lines = read_picture(&open(path)?, &typed::readers(kit, camera, false)?, &name_of(path)).lines;
        let none = RebateFault { file, line: None, what: NO_PRINT.to_owned() };
        let faults = if lines.is_empty() { vec![none] } else { Vec::new() };
        return Ok((lines.into_iter().map(|l| l.frame).collect(), faults));
    }
    let read = match extension(path).as_str() {
        "csv" | "tsv" => typed::table(&file, &text(path)?, roll, kit, camera)?,
        "txt" => typed::lines(&file, &text(path)?, kit, camera)?,
        _ => return Err(RebateError::Kind),
    };
    Ok((read.frames, read.faults))
}

/// Reads what lies under one roll's name: a file, or a folder with several. A
/// file in it that cannot be read is named among the faults.
///
/// # Errors
/// As [`read_file`], and when the name gives no roll.
pub fn read_roll(path: &Path, kit: &Kit, camera: Option<&str>) -> Result<(RebateRoll, Vec<RebateFault>), RebateError> {
    if !path.is_dir() {
        let roll = RollName::new(&path.file_stem().unwrap_or_default().to_string_lossy())?;
        let (frames, faults) = read_file(path, &roll, kit, camera)?;
        return Ok((RebateRoll { roll, frames }, faults));
    }
    let roll = RollName::new(&name_of(path))?;
    let (mut frames, mut faults) = (Vec::new(), Vec::new());
    for file in files_in(path)? {
        match read_file(&file, &roll, kit, camera) {
            Ok((more, bad)) => {
                frames.extend(more);
                faults.extend(bad);
            }
            Err(e) => faults.push(RebateFault { file: file.display().to_string(), line: None, what: e.to_string() }),
        }
    }
    frames.iter_mut().enumerate().for_each(|(order, frame)| frame.order = order);
    Ok((RebateRoll { roll, frames }, faults))
}

/// Reads one picture: the camera's prints under the kit's patterns, and the
/// film codes. Without a pattern in the kit there are no prints to read.
///
/// # Errors
/// [`RebateError::Unreadable`] and [`RebateError::Picture`] when it is no picture.
pub fn read_image(path: &Path, kit: &Kit, camera: Option<&str>) -> Result<EdgePicture, RebateError> {
    let readers = match typed::readers(kit, camera_of(kit, camera), false) {
        Ok(readers) => readers,
        Err(RebateError::NoPattern) => Vec::new(),
        Err(e) => return Err(e),
    };
    let picture = open(path)?;
    let image = name_of(path);
    let imprint = read_picture(&picture, &readers, &image);
    Ok(EdgePicture { imprint, edge: edge_codes(&picture), image })
}

fn camera_of<'a>(kit: &'a Kit, name: Option<&str>) -> Option<&'a Camera> {
    match name {
        Some(name) => kit.camera(name),
        None if kit.cameras.len() == 1 => kit.cameras.first(),
        None => None,
    }
}

/// Whether a file's name says that it is a picture.
pub fn is_picture(path: &Path) -> bool {
    matches!(extension(path).as_str(), "jpg" | "jpeg" | "png" | "tif" | "tiff")
}

fn extension(path: &Path) -> String {
    path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}

const NO_PRINT: &str = "no print in the kit's pattern was found on it";

fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn open(path: &Path) -> Result<GrayImage, RebateError> {
    let grey = pictures::decoded(path, |picture, _| {
        let grey = picture.into_luma8();
        let factor = grey.width().max(grey.height()) / LONGEST_SIDE;
        if factor < 2 {
            return grey;
        }
        imageops::thumbnail(&grey, (grey.width() / factor).max(1), (grey.height() / factor).max(1))
    })?;
    Ok(grey)
}

/// The text of a file that is not too large.
fn text(path: &Path) -> Result<String, RebateError> {
    let mut bytes = Vec::new();
    let mut file = std::fs::File::open(path)?;
    file.by_ref().take(MOST_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    let whole = file.metadata().map_or(bytes.len(), |m| usize::try_from(m.len()).unwrap_or(usize::MAX));
    at_most(MOST_BYTES, bytes.len().max(whole), "bytes")?;
    Ok(typed::text_of(&bytes))
}

/// The files of a folder that a film edge may be read from, in order.
fn files_in(folder: &Path) -> Result<Vec<PathBuf>, RebateError> {
    let known = |p: &PathBuf| is_picture(p) || matches!(extension(p).as_str(), "csv" | "tsv" | "txt");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)?
        .filter_map(|e| e.ok().map(|e| e.path()))
        .filter(|p| known(p) && !name_of(p).starts_with('.'))
        .collect();
    files.sort_by_key(|p| natural(&name_of(p)));
    Ok(files)
}

/// Names sort by their numbers: `strip 2` before `strip 10`.
fn natural(name: &str) -> Vec<(u64, String)> {
    let mut parts = vec![(0, String::new())];
    let mut digits = String::new();
    for c in name.chars().chain(['\0']) {
        if c.is_ascii_digit() {
            digits.push(c);
            continue;
        }
        if !digits.is_empty() {
            parts.push((digits.parse().unwrap_or(u64::MAX), String::new()));
            digits.clear();
        }
        if let Some((_, text)) = parts.last_mut() {
            text.extend(c.to_lowercase());
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    const KIT: &str = r#"
[[camera]]
name = "box six"
format = "6x4.5"
imprint = "{shutter} F{aperture}"
"#;

    #[test]
    fn names_sort_by_their_numbers() {
        let mut names = ["strip 10.png", "strip 2.png", "Strip 1.png", "a.png"];
        names.sort_by_key(|n| natural(n));
        assert_eq!(names, ["a.png", "Strip 1.png", "strip 2.png", "strip 10.png"]);
    }

    #[test]
    fn the_file_names_the_roll() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("roll-07.txt");
        std::fs::write(&path, "1/125 F8\n").unwrap();
        let kit = Kit::parse(KIT).unwrap();
        let (roll, faults) = read_roll(&path, &kit, None).unwrap();
        assert_eq!((roll.roll.key(), roll.frames.len(), faults.len()), ("7", 1, 0));
        assert_eq!(roll.frames[0].image, None);
    }

    #[test]
    fn what_cannot_be_read_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let kit = Kit::parse(KIT).unwrap();
        let none = read_roll(&folder.path().join("8.csv"), &kit, None);
        assert!(matches!(none, Err(RebateError::Unreadable(_))));
        std::fs::write(folder.path().join("8.doc"), "x").unwrap();
        assert!(matches!(read_roll(&folder.path().join("8.doc"), &kit, None), Err(RebateError::Kind)));
        let roll = folder.path().join("9");
        std::fs::create_dir(&roll).unwrap();
        std::fs::write(roll.join("1.png"), "no picture").unwrap();
        GrayImage::new(100, 50).save(roll.join("2.png")).unwrap();
        let (read, faults) = read_roll(&roll, &kit, None).unwrap();
        assert_eq!((read.frames.len(), faults.len()), (0, 2));
        assert!(faults[0].to_string().contains("1.png: no picture"), "{}", faults[0]);
        assert!(faults[1].to_string().contains("2.png: no print"), "{}", faults[1]);
    }
}

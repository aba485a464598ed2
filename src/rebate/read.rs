//! A roll's film edge from its file or its folder of images. The only file
//! here that touches disk.

use std::path::{Path, PathBuf};

use image::GrayImage;

use crate::facts::RollName;
use crate::kit::{Camera, Kit};

use super::edge_strip::{EdgeReading, edge_codes};
use super::frame::{RebateError, RebateFault, RebateRoll};
use super::imprint::{ImprintPicture, read_picture};
use super::line::LineReader;
use super::typed::{self, TypedOff};

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

/// Reads what a roll's edge holds: `ROLL.csv`, `ROLL.txt`, or the folder
/// `ROLL/` with images of strips or of frames with their edge, or one such image.
///
/// `camera` is the kit name of the camera that the roll was in, when known; a
/// name that the kit does not have counts as unknown. The second part of the
/// answer names lines, cells and images that were left out.
///
/// # Errors
/// [`RebateError`] when nothing of it can be read; the caller adds the path.
pub fn read_roll(path: &Path, kit: &Kit, camera: Option<&str>) -> Result<(RebateRoll, Vec<RebateFault>), RebateError> {
    let camera = camera_of(kit, camera);
    if path.is_dir() {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let read = folder(path, &typed::readers(kit, camera, false)?)?;
        return Ok((RebateRoll { roll: RollName::new(&name)?, frames: read.frames }, read.faults));
    }
    let roll = RollName::new(&path.file_stem().unwrap_or_default().to_string_lossy())?;
    let file = path.display().to_string();
    let kind = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    if is_picture(path) {
        let lines = read_picture(&open(path)?, &typed::readers(kit, camera, false)?, &name_of(path)).lines;
        let mut faults = Vec::new();
        if lines.is_empty() {
            faults.push(RebateFault { file, line: None, what: NO_PRINT.to_owned() });
        }
        return Ok((RebateRoll { roll, frames: lines.into_iter().map(|l| l.frame).collect() }, faults));
    }
    let text = || -> Result<String, RebateError> { Ok(typed::text_of(&std::fs::read(path)?)) };
    let read = match kind.as_deref() {
        Some("csv") => typed::table(&file, &text()?, &roll, kit, camera)?,
        Some("txt") => typed::lines(&file, &text()?, kit, camera)?,
        _ => return Err(RebateError::Kind),
    };
    Ok((RebateRoll { roll, frames: read.frames }, read.faults))
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
    let kind = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    matches!(kind.as_deref(), Some("jpg" | "jpeg" | "png" | "tif" | "tiff"))
}

const NO_PRINT: &str = "no print in the kit's pattern was found on it";

fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn open(path: &Path) -> Result<GrayImage, RebateError> {
    let picture = image::ImageReader::open(path)?.with_guessed_format()?.decode()?;
    Ok(picture.into_luma8())
}

fn folder(path: &Path, readers: &[LineReader]) -> Result<TypedOff, RebateError> {
    let mut images: Vec<PathBuf> = std::fs::read_dir(path)?
        .filter_map(|e| e.ok().map(|e| e.path()))
        .filter(|p| is_picture(p) && !name_of(p).starts_with('.'))
        .collect();
    images.sort_by_key(|p| natural(&name_of(p)));
    let mut read = TypedOff::default();
    for path in images {
        let fault = |what| RebateFault { file: path.display().to_string(), line: None, what };
        match open(&path) {
            Err(e) => read.faults.push(fault(e.to_string())),
            Ok(picture) => {
                let lines = read_picture(&picture, readers, &name_of(&path)).lines;
                if lines.is_empty() {
                    read.faults.push(fault(NO_PRINT.to_owned()));
                }
                for mut line in lines {
                    line.frame.order = read.frames.len();
                    read.frames.push(line.frame);
                }
            }
        }
    }
    Ok(read)
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

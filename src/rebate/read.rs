//! A roll's film edge from its file. The only file here that touches disk.

use std::path::Path;

use crate::facts::RollName;
use crate::kit::Kit;

use super::frame::{RebateError, RebateFault, RebateRoll};
use super::typed;

/// Reads what a roll's edge holds: `ROLL.csv` or `ROLL.txt`.
///
/// `camera` is the kit name of the camera that the roll was in, when known; a
/// name that the kit does not have counts as unknown. The second part of the
/// answer names lines and cells that were left out.
///
/// # Errors
/// [`RebateError`] when nothing of it can be read; the caller adds the path.
pub fn read_roll(path: &Path, kit: &Kit, camera: Option<&str>) -> Result<(RebateRoll, Vec<RebateFault>), RebateError> {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let roll = RollName::new(&stem)?;
    let camera = match camera {
        Some(name) => kit.camera(name),
        None if kit.cameras.len() == 1 => kit.cameras.first(),
        None => None,
    };
    let file = path.display().to_string();
    let kind = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    let text = || -> Result<String, RebateError> { Ok(typed::text_of(&std::fs::read(path)?)) };
    let read = match kind.as_deref() {
        Some("csv") => typed::table(&file, &text()?, &roll, kit, camera)?,
        Some("txt") => typed::lines(&file, &text()?, kit, camera)?,
        _ => return Err(RebateError::Kind),
    };
    Ok((RebateRoll { roll, frames: read.frames }, read.faults))
}

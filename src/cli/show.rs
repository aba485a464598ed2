//! A page in the browser.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use super::failure::Failure;
use super::places::Places;
use super::{Exit, print};

/// Keeps a page among what can be made again, and opens it with what the system opens pages with.
pub fn show(page: &[u8], name: &str, places: &Places) -> Result<Exit, Failure> {
    let folder = places.cache().ok_or_else(|| Failure::usage("no place for the page: set HOME"))?;
    let path = folder.join(name);
    let written = std::fs::create_dir_all(&folder).and_then(|()| {
        let mut file = tempfile::NamedTempFile::new_in(&folder)?;
        file.write_all(page)?;
        file.persist(&path).map_err(|e| e.error).map(drop)
    });
    written.map_err(|e| Failure::at(&path, e))?;
    if let Err(why) = open(&path) {
        tracing::warn!("no browser could be started ({why}): open the page yourself");
    }
    print::text(&format!("{}\n", path.display()))
}

/// The system's own opener: the desktop's on Linux (xdg-utils), `open` on a Mac, `explorer` on Windows.
fn open(path: &Path) -> std::io::Result<()> {
    let opener = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    let mut child =
        Command::new(opener).arg(path).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn()?;
    // The opener hands over and ends; a failure of it is told, a page shown late is none.
    let status = child.wait()?;
    if status.success() || cfg!(windows) { Ok(()) } else { Err(std::io::Error::other(format!("{opener}: {status}"))) }
}

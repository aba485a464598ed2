//! A picture out of a phone's video, by way of ffmpeg when it is installed.

use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};

/// Kinds of clips that may hold pictures.
const VIDEOS: [&str; 6] = ["mp4", "mov", "m4v", "webm", "mkv", "3gp"];
/// No still of this edge is larger; what is, is none.
const LARGEST: u64 = 4 << 20;

/// Whether a clip of this name may hold pictures.
pub fn may_show(name: &str) -> bool {
    let extension = name.rsplit('.').next().unwrap_or_default().to_lowercase();
    VIDEOS.contains(&extension.as_str())
}

/// What the clip shows at so many seconds, as a JPEG of at most `edge` pixels a side. None where
/// it shows nothing then, or ffmpeg is not there.
pub fn still(path: &Path, at_s: f64, edge: u32) -> Option<Vec<u8>> {
    // `file:` and the list of protocols keep a name or a playlist from reaching anything but this disk.
    let mut name = std::ffi::OsString::from("file:");
    name.push(std::path::absolute(path).ok()?);
    let scale = format!("scale='min({edge},iw)':'min({edge},ih)':force_original_aspect_ratio=decrease");
    let mut child = Command::new("ffmpeg")
        .args([
            "-nostdin",
            "-v",
            "error",
            "-protocol_whitelist",
            "file,pipe",
            "-ss",
            &format!("{:.2}", at_s.max(0.0)),
            "-i",
        ])
        .arg(name)
        .args(["-an", "-frames:v", "1", "-vf", &scale, "-c:v", "mjpeg", "-q:v", "4", "-f", "image2pipe", "pipe:1"])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    let mut jpeg = Vec::new();
    let read = child.stdout.take()?.take(LARGEST).read_to_end(&mut jpeg);
    let _ = child.kill();
    let _ = child.wait();
    (read.is_ok() && (jpeg.len() as u64) < LARGEST && jpeg.starts_with(&[0xFF, 0xD8])).then_some(jpeg)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_videos_are_asked() {
        assert!(may_show("day 1/IMG_1.MOV") && may_show("a.3gp"));
        assert!(!may_show("a.m4a") && !may_show("a.wav"));
        assert_eq!(still(Path::new("no/such.mp4"), 1.0, 100), None);
    }
}

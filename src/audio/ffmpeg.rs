//! The program ffmpeg, when it is installed, for what is not decoded here
//! (3gp with AMR, AAC of the newer kinds, and other oddities).

use std::fs::File;
use std::io::{BufRead, BufReader, ErrorKind, Read, Seek};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use super::decode::Lost;
use super::patient::Patient;
use super::sound::mended;
use super::{AudioError, Blocks, RATE};

/// How long ffmpeg may keep us waiting for a clip in all, in seconds. It decodes an hour of sound in some ten.
const PATIENCE_S: u64 = 600;

/// A running ffmpeg that writes 32-bit samples into a pipe.
pub(super) struct Ffmpeg {
    child: Child,
    pipe: Patient,
    /// What it complains of, a line a fault.
    complaints: File,
    first: Vec<f32>,
    given: usize,
    no_numbers: u64,
}

impl Ffmpeg {
    /// Starts it; `None` when it is not installed.
    pub fn open(path: &Path) -> Result<Option<Self>, AudioError> {
        // `file:` and the list of protocols keep a name or a playlist from reaching anything but this disk.
        let mut name = std::ffi::OsString::from("file:");
        name.push(std::path::absolute(path)?);
        let complaints = tempfile::tempfile()?;
        let child = Command::new("ffmpeg")
            .args(["-nostdin", "-v", "error", "-protocol_whitelist", "file,pipe", "-i"])
            .arg(name)
            .args(["-vn", "-ac", "1", "-ar", "16000", "-f", "f32le", "pipe:1"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(complaints.try_clone()?)
            .spawn();
        let mut child = match child {
            Ok(c) => c,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(e.into()),
        };
        // The first sample tells whether it is a recording at all.
        let Some(pipe) = child.stdout.take() else { return Ok(None) };
        let pipe = Patient::of(pipe, Duration::from_secs(PATIENCE_S));
        let mut this = Self { child, pipe, complaints, first: Vec::new(), given: 0, no_numbers: 0 };
        this.first = this.read(1)?;
        if this.first.is_empty() {
            return Err(AudioError::NotAudio("ffmpeg finds no sound in it either".to_owned()));
        }
        Ok(Some(this))
    }

    /// What was lost so far.
    pub fn lost(&mut self) -> Lost {
        let faults = self.complaints.rewind().map_or(0, |()| BufReader::new(&self.complaints).lines().count());
        Lost { no_numbers: self.no_numbers, faults, ..Lost::default() }
    }

    /// Up to `want` samples; none at the end.
    fn read(&mut self, want: usize) -> Result<Vec<f32>, AudioError> {
        let mut bytes = Vec::with_capacity(want * 4);
        let read = (&mut self.pipe).take(want as u64 * 4).read_to_end(&mut bytes);
        read.map_err(|e| match e.kind() {
            ErrorKind::TimedOut => AudioError::Waited { limit_s: PATIENCE_S },
            _ => e.into(),
        })?;
        Ok(bytes.chunks_exact(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect())
    }
}

impl Blocks for Ffmpeg {
    fn next(&mut self) -> Result<Option<Vec<f32>>, AudioError> {
        let mut block = std::mem::take(&mut self.first);
        block.extend(self.read(RATE)?);
        self.no_numbers += mended(&mut block);
        self.given += block.len();
        if !block.is_empty() {
            return Ok(Some(block));
        }
        if self.child.wait()?.success() {
            return Ok(None);
        }
        Err(AudioError::CutShort { at_s: self.given as f64 / RATE as f64, of_s: None })
    }
}

impl Drop for Ffmpeg {
    /// A clip that is not wanted any more leaves no process behind.
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

//! A pipe of another program that does not keep us waiting for ever.

use std::io::{self, ErrorKind, Read};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

/// Bytes that are passed on at a time.
const BLOCK: usize = 64 << 10;
/// Blocks that may lie ready.
const READY: usize = 4;

/// What comes out of a pipe, as long as waiting for it takes no more than a time in all. How long the reader
/// itself takes between two reads does not count.
pub(super) struct Patient {
    blocks: Receiver<io::Result<Vec<u8>>>,
    block: Vec<u8>,
    at: usize,
    left: Duration,
}

impl Patient {
    /// Reads `pipe` in a thread of its own, which ends with the pipe.
    pub fn of(mut pipe: impl Read + Send + 'static, patience: Duration) -> Self {
        let (to, blocks) = sync_channel(READY);
        thread::spawn(move || {
            loop {
                let mut block = vec![0; BLOCK];
                let read = pipe.read(&mut block).map(|n| {
                    block.truncate(n);
                    block
                });
                let ended = !matches!(&read, Ok(block) if !block.is_empty());
                if to.send(read).is_err() || ended {
                    break;
                }
            }
        });
        Self { blocks, block: Vec::new(), at: 0, left: patience }
    }
}

impl Read for Patient {
    /// # Errors
    /// `TimedOut` when the patience is at its end; those of the pipe.
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        if self.at == self.block.len() {
            let since = Instant::now();
            self.block = match self.blocks.recv_timeout(self.left) {
                Ok(block) => block?,
                Err(RecvTimeoutError::Timeout) => return Err(ErrorKind::TimedOut.into()),
                Err(RecvTimeoutError::Disconnected) => Vec::new(),
            };
            self.at = 0;
            self.left = self.left.saturating_sub(since.elapsed());
        }
        let n = to.len().min(self.block.len() - self.at);
        to[..n].copy_from_slice(&self.block[self.at..self.at + n]);
        self.at += n;
        Ok(n)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_of_a_pipe_comes_through_in_order() {
        let bytes: Vec<u8> = (0..300_000_u32).map(|n| (n / 7) as u8).collect();
        let mut read = Vec::new();
        Patient::of(io::Cursor::new(bytes.clone()), Duration::from_secs(60)).read_to_end(&mut read).unwrap();
        assert!(read == bytes);
    }

    #[test]
    fn a_pipe_that_says_no_more_is_given_up() {
        let (reader, writer) = io::pipe().unwrap();
        let mut patient = Patient::of(reader, Duration::from_millis(20));
        assert_eq!(patient.read(&mut [0; 8]).unwrap_err().kind(), ErrorKind::TimedOut);
        drop(writer);
    }
}

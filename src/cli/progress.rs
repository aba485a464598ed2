//! The line on the terminal. In a pipe there is none.

use std::io::{self, IsTerminal, Write, stderr};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use tracing_subscriber::fmt::MakeWriter;

use crate::pipeline::{Stage, Watch};

/// A bar on a terminal, nothing elsewhere.
#[derive(Debug, Clone)]
pub struct Bar(ProgressBar);

impl Bar {
    /// A bar that shows only on a terminal, and only unless `quiet`.
    pub fn new(quiet: bool) -> Self {
        let target = if quiet || !stderr().is_terminal() {
            ProgressDrawTarget::hidden()
        } else {
            ProgressDrawTarget::stderr_with_hz(8)
        };
        Self(ProgressBar::with_draw_target(Some(0), target))
    }

    /// Takes the bar away.
    pub fn clear(&self) {
        self.0.finish_and_clear();
    }
}

impl Watch for Bar {
    fn begin(&self, stage: Stage, steps: usize) {
        let style = ProgressStyle::with_template("{msg:>18} {bar:30} {pos}/{len} {eta}");
        self.0.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        self.0.set_message(stage.to_string());
        self.0.set_length(steps as u64);
        self.0.set_position(0);
        self.0.reset_eta();
        self.0.enable_steady_tick(Duration::from_millis(250));
    }

    fn step(&self) {
        self.0.inc(1);
    }
}

/// Log lines go above the bar.
impl<'a> MakeWriter<'a> for Bar {
    type Writer = Above;

    fn make_writer(&'a self) -> Above {
        Above(self.0.clone())
    }
}

/// Standard error, with the bar out of the way while something is written.
pub struct Above(ProgressBar);

impl Write for Above {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.suspend(|| stderr().write(bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        stderr().flush()
    }
}

//! Doubts settled by ear, in the browser, on one's own machine.
//!
//! From a settled trip comes a list of questions, gravest first; an answer is an
//! edit like one made in a table, kept at once; the trip is settled again with it,
//! and the list made anew. What is served stands on this machine's loopback alone,
//! behind a key that nobody can guess. Judges nothing itself.

mod answer;
mod choice;
mod choices;
mod doubt;
mod meaning;
mod page;
mod question;
mod serve;
mod session;
mod show;
#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "tests set the scene")]
mod tests;
mod undo;
mod view;

pub use answer::{Answer, Refused};
pub use choice::Choice;
pub use doubt::{Doubt, Gravity, doubts};
pub use question::{Question, ask};
pub use serve::{Ended, Server, Stop};
pub use session::{Session, SessionError};

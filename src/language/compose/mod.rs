//! Mentions to frames: what the reader tells apart, put together by the rules of
//! exposure and of counting. Says for every value how sure it is; drops nothing
//! silently: numbers and trade words that served no frame are listed as unread.

mod fact;
mod group;
mod in_turn;
mod note;
mod parsed;
mod pick;
mod said;
mod sentences;
mod shift;
mod unread;

pub use fact::{Fact, FactSaid};
pub use in_turn::in_turn;
pub use note::{compose, told_alone};
pub use parsed::parsed;
pub use said::{FrameSaid, Moved, MovedDial, NoteSaid, RollSaid, Sure};

//! Mentions to frames: what the reader tells apart, put together by the rules of
//! exposure and of counting. Says for every value how sure it is; drops nothing
//! silently: numbers and trade words that served no frame are listed as unread.

mod change;
mod fact;
mod gear_on;
mod group;
mod in_turn;
mod note;
mod pick;
mod roll_said;
mod said;
mod sentences;
mod shift;
mod sure;
mod text;
mod unread;

pub use in_turn::in_turn;
pub use note::{compose, told_alone};
pub use said::{Fact, FactSaid, FrameSaid, Moved, MovedDial, NoteSaid, RollSaid, Stretches};
pub use sure::Sure;

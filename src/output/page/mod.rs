//! Pages to open in a browser: a contact sheet for each roll, and the trip.
//!
//! A page needs no network and no other file but the clips it links to; its
//! pictures are in it. It reads without the script, which adds filters, search,
//! keys and a player. Whatever was said or named by anybody is escaped, set
//! apart from the direction of the text around it, and never becomes markup:
//! only the page's own script, named by a number that nobody could know
//! beforehand, may run.

mod frame;
mod lab;
mod links;
mod parts;
mod pictures;
mod plot;
mod roll;
mod shared;
mod trip;

pub use lab::lab_html;
pub use links::{Links, file_url};
pub use parts::{clean, clock, foreign, page};
pub use pictures::{Pictures, data_url};
pub use roll::roll_html;
pub use trip::trip_html;

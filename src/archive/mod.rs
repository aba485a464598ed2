//! The archive: every frame of one trip or of all, in one database file that is
//! searched by words and conditions. Storing a trip again replaces its rows.
//! Does not judge a frame; it keeps what was settled.

mod accuracy;
mod aside;
mod catalogue;
mod clauses;
mod clock;
mod compare;
mod developing;
mod error;
mod export;
mod fields;
mod found;
mod geo;
mod habits;
mod habits_svg;
mod habits_text;
mod health;
mod land;
mod migrate;
mod overview;
mod overview_page;
mod page;
mod query;
mod relocate;
mod rule;
mod search;
mod searches;
mod sort;
mod store;
mod table;
mod value;
mod worked;

#[cfg(test)]
mod samples;
#[cfg(test)]
mod tests;

pub use accuracy::{Accuracy, accuracy_text};
pub use catalogue::{RollEntry, TripEntry, rolls_text, trips_text};
pub use compare::Span;
pub use error::ArchiveError;
pub use export::reader_gone;
pub use fields::Field;
pub use found::{Clock, Found, Rest};
pub use geo::km_between;
pub use habits::{By, Habit, Habits};
pub use habits_svg::habits_svg;
pub use habits_text::habits_text;
pub use migrate::Archive;
pub use overview::{Dot, Overview};
pub use overview_page::overview_html;
pub use page::found_html;
pub use query::{Query, QueryError, Term, Test};
pub use search::Page;
pub use sort::Sort;
pub use store::TripKey;
pub use worked::{Worked, worked_text};

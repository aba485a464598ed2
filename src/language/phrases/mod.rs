//! Which phrases of the lexicon may cover which tokens. Gives all that may be read, and the cover that is likeliest by
//! words alone; what a phrase is for, and whether what it says was done, is the reader's to tell.

mod film_name;
mod find;
mod passage;
mod passes;
mod sense;
mod slots;
mod term;

pub use find::find;
pub use passage::{Passage, Whole};
pub use term::{Arg, Found, Named, Quantity, Term};

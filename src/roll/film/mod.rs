//! Notes, scans and edge prints of one roll, laid on its film: which is which frame, and how sure that is. Looks at no
//! setting but as evidence, and changes none.

pub mod account;
mod align;
mod evidence;
mod hypotheses;
pub mod misfit;
mod pairing;
mod product;
mod solve;

pub use account::Unaccounted;
pub use evidence::{Evidence, counted_on, same_aperture, same_shutter};
pub use misfit::{flag_unplaced, is_unplaced};
pub use pairing::{RollParts, pair_rolls};
pub use solve::{Place, solve};

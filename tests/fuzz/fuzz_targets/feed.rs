//! One target for each feed; it is called as the feed is. `scripts/fuzz` runs them.
#![no_main]

#[path = "../feeds.rs"]
mod feeds;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| (feeds::feed(env!("CARGO_BIN_NAME")).eats)(bytes));

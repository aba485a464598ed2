//! Feeds one reader of foreign bytes, the one named by FEED, with what the fuzzer makes up, from its sound input on,
//! which it first writes into the folder SEEDS. `scripts/fuzz` runs it.
#![no_main]

mod feeds;

use std::env;
use std::path::PathBuf;
use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;

static FEED: LazyLock<&feeds::Feed> = LazyLock::new(|| feeds::feed(&env::var("FEED").expect("FEED names a feed")));

fn write_seeds() {
    let folder = PathBuf::from(env::var_os("SEEDS").expect("SEEDS names a folder"));
    for (i, seed) in (FEED.seeds)().into_iter().enumerate() {
        std::fs::write(folder.join(format!("seed-{i}")), seed).expect("a file");
    }
}

fuzz_target!(init: write_seeds(), |bytes: &[u8]| (FEED.eats)(bytes));

//! Feeds one reader of foreign bytes, the one named by FEED, with what the fuzzer makes up, from its sound input on,
//! which it first writes into the folder SEEDS. `scripts/fuzz` runs it.
#![no_main]

mod feeds;

use std::env;
use std::path::PathBuf;
use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;

static FEED: LazyLock<&feeds::Feed> = LazyLock::new(|| feeds::feed(&env::var("FEED").expect("FEED names a feed")));

/// Writes the sound inputs; or, where FEED is `list`, every feed's name and most bytes, and ends.
fn write_seeds() {
    if env::var_os("FEED").is_some_and(|f| f == "list") {
        feeds::FEEDS.iter().for_each(|feed| println!("{} {}", feed.name, feed.longest));
        std::process::exit(0);
    }
    let folder = PathBuf::from(env::var_os("SEEDS").expect("SEEDS names a folder"));
    for (i, seed) in (FEED.seeds)().into_iter().enumerate() {
        std::fs::write(folder.join(format!("seed-{i}")), seed).expect("a file");
    }
}

fuzz_target!(init: write_seeds(), |bytes: &[u8]| (FEED.eats)(bytes));

//! Every reader of foreign bytes, fed with sound input, damaged input and noise. `scripts/fuzz` feeds the same
//! readers for longer.

#[path = "../fuzz/feeds.rs"]
mod feeds;

use std::cell::Cell;

use feeds::{FEEDS, Feed};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

/// Inputs for each reader; CASES in the environment asks for more.
const CASES: u32 = 150;

/// One way to damage bytes, at a share of their length.
#[derive(Debug, Clone)]
enum Harm {
    Set(f64, u8),
    Flip(f64, u8),
    Cut(f64),
    Insert(f64, Vec<u8>),
    Repeat(f64, f64),
}

fn harmed(mut bytes: Vec<u8>, harms: &[Harm]) -> Vec<u8> {
    for harm in harms {
        let at = |share: &f64| (share * bytes.len() as f64) as usize;
        match harm {
            Harm::Set(share, value) => {
                let i = at(share);
                bytes.get_mut(i).into_iter().for_each(|b| *b = *value);
            }
            Harm::Flip(share, bit) => {
                let i = at(share);
                bytes.get_mut(i).into_iter().for_each(|b| *b ^= 1 << bit);
            }
            Harm::Cut(share) => bytes.truncate(at(share)),
            Harm::Insert(share, more) => drop(bytes.splice(at(share)..at(share), more.iter().copied())),
            Harm::Repeat(a, b) => {
                let (from, to) = (at(a).min(at(b)), at(a).max(at(b)));
                let more = bytes[from..to].to_vec();
                bytes.splice(to..to, more);
            }
        }
    }
    bytes
}

fn harm() -> impl Strategy<Value = Harm> {
    let extreme = prop_oneof![Just(0_u8), Just(0xFF), Just(0x7F), Just(0x80), any::<u8>()];
    prop_oneof![
        3 => (0.0..1.0, extreme).prop_map(|(at, v)| Harm::Set(at, v)),
        3 => (0.0..1.0, 0_u8..8).prop_map(|(at, bit)| Harm::Flip(at, bit)),
        1 => (0.0..1.0).prop_map(Harm::Cut),
        1 => (0.0..1.0, proptest::collection::vec(any::<u8>(), 0..12)).prop_map(|(at, more)| Harm::Insert(at, more)),
        1 => (0.0..1.0, 0.0..1.0).prop_map(|(a, b)| Harm::Repeat(a, b)),
    ]
}

/// Sound input, the same with up to eight harms, or noise.
fn input(feed: &Feed) -> impl Strategy<Value = Vec<u8>> + use<> {
    let damaged = (proptest::sample::select((feed.seeds)()), proptest::collection::vec(harm(), 0..8));
    let damaged = damaged.prop_map(|(seed, harms)| harmed(seed, &harms));
    prop_oneof![4 => damaged, 1 => proptest::collection::vec(any::<u8>(), 0..400)]
}

#[test]
fn no_bytes_break_a_reader_of_foreign_bytes() {
    let cases = std::env::var("CASES").ok().and_then(|t| t.parse().ok()).unwrap_or(CASES);
    let tried = Cell::new(0);
    for feed in FEEDS {
        (feed.seeds)().iter().for_each(|seed| (feed.eats)(seed));
        let config = Config { cases, failure_persistence: None, ..Config::default() };
        let mut runner =
            TestRunner::new_with_rng(config, proptest::test_runner::TestRng::deterministic_rng(Default::default()));
        let eaten = runner.run(&input(&feed), |bytes| {
            tried.set(tried.get() + 1);
            (feed.eats)(&bytes);
            Ok(())
        });
        eaten.unwrap_or_else(|why| panic!("{}: {why}", feed.name));
    }
    assert!(tried.get() >= cases as usize * FEEDS.len());
}

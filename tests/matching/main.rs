//! Notes and scans of made-up rolls, matched.

mod account;
mod simulator;

use proptest::prelude::*;
use simulator::{Dice, Faults, Naming, Outcome, folder, matched, noted, roll, run};
use spooltalk::facts::RollName;

/// Drops, extras, wrong numbers, numbers not said: where the bars are set.
const BAR: (f64, f64, f64, f64) = (0.1, 0.05, 0.05, 0.0);

#[test]
fn the_table_over_faults_is_printed() {
    println!("drops extras wrong unsaid | right  wrong flagged  with a trace  needless | numbers right");
    for (drops, extras, wrong, unsaid) in [
        (0.0, 0.0, 0.0, 0.0),
        (0.05, 0.0, 0.0, 0.0),
        (0.1, 0.0, 0.0, 0.0),
        (0.1, 0.05, 0.0, 0.0),
        (0.1, 0.05, 0.05, 0.0),
        (0.1, 0.05, 0.05, 0.2),
        (0.1, 0.05, 0.05, 0.5),
        (0.2, 0.1, 0.1, 0.0),
        (0.2, 0.1, 0.1, 0.5),
        (0.05, 0.0, 0.0, 1.0),
    ] {
        let o = run(60, 1, Faults { drops, extras, wrong, unsaid, ..Faults::NONE });
        println!(
            "{drops:5} {extras:6} {wrong:5} {unsaid:6} | {:.4}  {:13.3}  {:12.3}  {:8.3} | {:.4}",
            o.accuracy(),
            o.flagged(),
            o.flagged_with_trace(),
            o.needless(),
            o.numbers_right as f64 / o.numbers as f64
        );
        if drops == 0.0 {
            assert_eq!((o.accuracy(), o.needless()), (1.0, 0.0));
        }
    }
    for naming in [Naming::Film, Naming::Count, Naming::Offset, Naming::Backwards] {
        let faults = Faults { drops: 0.1, extras: 0.05, wrong: 0.05, naming: Some(naming), ..Faults::NONE };
        let o = run(100, 2, faults);
        println!(
            "{naming:?}: {:.4} {:.3} {:.3} {:.3}",
            o.accuracy(),
            o.flagged(),
            o.flagged_with_trace(),
            o.needless()
        );
        // A count of the scans alone leaves most links to chance, and says so.
        assert!(naming != Naming::Count || o.flagged() >= 0.95, "{}", o.flagged());
    }
}

/// The bars, where the line below which a link is flagged was drawn, and whether "97 % sure" means that. A thousand rolls
/// tell little: one that is a whole frame off, and sure of it, holds a tenth of their silent errors.
#[test]
fn the_bars_hold_and_links_are_as_sure_as_they_say() {
    let (drops, extras, wrong, unsaid) = BAR;
    let faults = Faults { drops, extras, wrong, unsaid, ..Faults::NONE };
    let sets: Vec<_> = (3..=12).map(|seed| std::thread::spawn(move || run(1000, seed, faults))).collect();
    let o = sets.into_iter().map(|set| set.join().expect("a set is matched")).reduce(Outcome::and).expect("ten sets");
    println!("right {:.4}, wrong flagged {:.3}, needless {:.3}", o.accuracy(), o.flagged(), o.needless());
    assert!(o.accuracy() >= 0.97, "{}", o.accuracy());
    assert!(o.flagged() >= 0.90, "{}", o.flagged());
    assert!(o.flagged_with_trace() >= 0.95, "{}", o.flagged_with_trace());
    println!("given          links  right");
    for edges in [0.0, 0.5, 0.7, 0.85, 0.95, 0.97, 0.98, 0.99, 1.01].windows(2) {
        let (links, right) = o.given(edges[0], edges[1]);
        println!("{:.2} to {:.2}  {links:7}  {right:.3}", edges[0], edges[1]);
    }
    println!("below  of the wrong  of the right");
    for least in [0.8, 0.9, 0.95, 0.96, 0.97, 0.98, 0.99] {
        let (wrong, right) = o.below(least);
        println!("{least:.2}  {wrong:12.3}  {right:12.3}");
    }
    // In each band of some hundred links the share that is right lies in the band, or close to it.
    for (from, to) in [(0.5, 0.7), (0.7, 0.9), (0.9, 0.97), (0.97, 1.01)] {
        let (links, right) = o.given(from, to);
        assert!(links > 200, "{links} links from {from} to {to}");
        assert!((from - 0.06..to + 0.06).contains(&right), "{right} of {links} from {from} to {to}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Rows stand in film order, notes in the order they were made, and every
    /// note and every file stands in one row exactly.
    #[test]
    fn nothing_is_lost_and_nothing_crosses(
        seed in 0u64..1_000_000, drops in 0.0..0.5f64, extras in 0.0..0.5f64, wrong in 0.0..0.5f64, unsaid in 0.0..1.0f64,
    ) {
        let s = roll(seed, Faults { drops, extras, wrong, unsaid, wasted: 0.1, naming: None });
        let rows = matched(&s).frames;
        let words: Vec<&str> = rows.iter().filter_map(|f| f.said.first()).map(|q| q.text.as_str()).collect();
        let made: Vec<&str> = s.noted.frames.iter().map(|n| n.frame.said[0].text.as_str()).collect();
        prop_assert_eq!(words, made);
        let mut shown: Vec<&str> = rows.iter().flat_map(|f| &f.scans).map(String::as_str).collect();
        let mut files: Vec<&str> = s.folder.scans.iter().map(|s| s.path.as_str()).collect();
        let place = |path: &str| s.folder.scans.iter().find(|s| s.path == path).map(|s| s.picture);
        let order: Vec<usize> = rows.iter().filter_map(|f| place(f.scans.first()?)).collect();
        prop_assert!(order.windows(2).all(|w| w[0] < w[1]) || order.windows(2).all(|w| w[0] > w[1]), "{order:?}");
        shown.sort_unstable();
        files.sort_unstable();
        prop_assert_eq!(shown, files);
        prop_assert!(rows.windows(2).all(|w| w[0].number <= w[1].number));
    }

    /// A roll scanned from its end, and said to be, matches as the same roll
    /// scanned from its beginning.
    #[test]
    fn a_reversed_roll_matches_as_it_lies(seed in 0u64..1_000_000, frames in 20u32..=36) {
        let mut dice = Dice::new(seed);
        let name = || RollName::new("5").unwrap();
        let left_out: Vec<bool> = (0..=frames).map(|i| i > 1 && i < frames && dice.chance(0.1)).collect();
        let kept = |i: &u32| !left_out[*i as usize];
        let ahead: Vec<_> = (1..=frames).filter(kept).map(|i| (format!("{i:02}.tif"), false)).collect();
        let back: Vec<_> = (1..=frames).filter(kept).map(|i| (format!("{:02}.tif", frames + 1 - i), false)).collect();
        let mut s = roll(seed, Faults { wasted: 0.0, naming: Some(Naming::Film), ..Faults::NONE });
        s.noted.frames.truncate(frames as usize);
        let notes = s.noted.frames.clone();
        let run = |files, reversed| {
            let one = simulator::Simulated {
                noted: noted(name(), notes.clone(), reversed),
                folder: folder(name(), files),
                truth: Default::default(),
                numbers: Default::default(),
            };
            let turned = |p: &String| {
                let n: u32 = p[..2].parse().unwrap();
                if reversed { frames + 1 - n } else { n }
            };
            let rows = matched(&one).frames;
            rows.iter().map(|f| (f.number, f.scans.iter().map(turned).collect::<Vec<_>>())).collect::<Vec<_>>()
        };
        if notes.len() == frames as usize {
            prop_assert_eq!(run(&ahead, false), run(&back, true));
        }
    }
}

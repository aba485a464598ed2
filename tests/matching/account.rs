//! Whatever numbers notes, scans and edge prints carry, each of them stands in one row.

use proptest::collection::vec;
use proptest::prelude::*;
use spooltalk::exposure::{Aperture, Shutter};
use spooltalk::facts::{Confidence, FrameNumber, RollName, Settled, Source};
use spooltalk::kit::Kit;
use spooltalk::rebate::{ImprintFrame, RebateRoll};
use spooltalk::roll::{Frame, MatchSettings, NotedFrame, Quote, Status, match_roll};

use crate::simulator::{folder, kit, noted};

/// Numbers from 1 up with gaps, some of them long, and now and then one that is far off.
fn numbers(most: usize, last: u32) -> impl Strategy<Value = Vec<u32>> {
    let gap = prop_oneof![20 => Just(1_u32), 4 => 2..5_u32, 1 => 20..400_u32];
    let far = proptest::option::weighted(0.05, 1..=last);
    vec((gap, far), 0..most).prop_map(move |steps| {
        let mut at = 0;
        let number = |(gap, far): (u32, Option<u32>)| {
            at += gap;
            far.unwrap_or(at).min(last)
        };
        steps.into_iter().map(number).collect()
    })
}

fn note(i: usize, said: Option<u32>) -> NotedFrame {
    let number = |n: u32| FrameNumber::new(n as u16);
    let mut frame = Frame::blank(number(said.unwrap_or(i as u32 + 1)), Status::Ok);
    let at = spooltalk::facts::Moment { clip: "a.m4a".into(), at_s: 0.0, end_s: 1.0 };
    frame.said.push(Quote::new(format!("note {i}"), at));
    NotedFrame { frame, said_numbers: said.map(|n| (number(n), 1.0)).into_iter().collect(), lost_before: false }
}

/// A print whose focal length is like no other's.
fn print(order: usize, number: Option<u32>) -> ImprintFrame {
    fn read<T>(value: T) -> Option<Settled<T>> {
        Some(Settled::from_one(value, Confidence::new(0.95), Source::Rebate))
    }
    ImprintFrame {
        shutter: read(Shutter::fraction(60)),
        aperture: Aperture::new(8.0).and_then(read),
        focal_mm: read(order as f64 + 1.0),
        ..ImprintFrame::blank(number.map(|n| FrameNumber::new(n as u16)), order)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn notes_scans_and_prints_in_are_notes_scans_and_prints_out(
        said in numbers(40, 999), scanned in numbers(80, 9999), printed in numbers(60, 999),
        unsaid in vec(any::<bool>(), 40), bare in vec(any::<bool>(), 60),
    ) {
        let name = || RollName::new("5").unwrap();
        let notes: Vec<_> =
            said.iter().zip(&unsaid).enumerate().map(|(i, (n, no))| note(i, (!no).then_some(*n))).collect();
        let files: Vec<_> = scanned.iter().enumerate().map(|(i, n)| (format!("{n:04}_{i}.tif"), false)).collect();
        let frames: Vec<_> =
            printed.iter().zip(&bare).enumerate().map(|(i, (n, no))| print(i, (!no).then_some(*n))).collect();
        let (notes, prints) = (noted(name(), notes, false), RebateRoll { roll: name(), frames });
        let folder = folder(name(), &files);
        let kit: Kit = kit();
        let settings = MatchSettings { unsure_below: 0.8 };
        let roll = match_roll(Some(notes), Some(&folder), Some(&prints), &kit, &|_| None, &settings).unwrap();
        let quotes: Vec<&str> = roll.frames.iter().flat_map(|f| &f.said).map(|q| q.text.as_str()).collect();
        prop_assert_eq!(quotes, (0..said.len()).map(|i| format!("note {i}")).collect::<Vec<_>>());
        let mut shown: Vec<&String> = roll.frames.iter().flat_map(|f| &f.scans).chain(&roll.other_scans).collect();
        let mut given: Vec<&String> = files.iter().map(|(f, _)| f).collect();
        shown.sort();
        given.sort();
        prop_assert_eq!(shown, given);
        let mut lengths: Vec<f64> = roll.frames.iter().filter_map(|f| Some(f.focal_mm.as_ref()?.value)).collect();
        lengths.sort_by(f64::total_cmp);
        prop_assert_eq!(lengths, (1..=printed.len()).map(|n| n as f64).collect::<Vec<_>>());
    }
}

//! What holds for any text at all.

use std::sync::LazyLock;

use proptest::prelude::*;
use spooltalk::exposure::{ApertureStep, Shutter, ShutterStep};
use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;

fn language() -> &'static Language {
    static LANGUAGE: LazyLock<Language> =
        LazyLock::new(|| Language::english(Kit::parse(include_str!("../phrases/kit-square.toml")).unwrap()));
    &LANGUAGE
}

/// Words that mean something, in any order, with anything between.
fn wordy() -> impl Strategy<Value = String> {
    let words = [
        "frame",
        "frames",
        "f",
        "8",
        "11",
        "5.6",
        "1/125",
        "a",
        "sixtieth",
        "one",
        "twenty",
        "fifth",
        "at",
        "and",
        "to",
        "no",
        "wait",
        "same",
        "again",
        "next",
        "opened",
        "up",
        "stop",
        "a stop",
        "down",
        "bracketed",
        "over",
        "under",
        "orange",
        "filter",
        "off",
        "roll",
        "seven",
        "rated",
        "two",
        "hundred",
        "bulb",
        "seconds",
        "meter",
        "says",
        "but",
        "scratch",
        "that",
        ",",
        ".",
        "the",
        "sixty",
        "wide",
        "open",
        "three",
        "of",
        "those",
        "-",
        "'s",
        "all",
        "or",
    ];
    prop::collection::vec(prop::sample::select(words.to_vec()), 0..40).prop_map(|w| w.join(" "))
}

/// What recognisers write for numbers, whole, torn and run together.
fn mangled() -> impl Strategy<Value = String> {
    let pieces = [
        "frame",
        "a",
        "A-100",
        "an",
        "and",
        "at",
        "to",
        "that",
        "if",
        "fit",
        "of",
        "f",
        "F/",
        "F/A",
        "-",
        ".",
        ",",
        "/",
        "0",
        "00",
        "2",
        "8",
        "8th",
        "11",
        "60",
        "60th",
        "100",
        "125",
        "250th",
        "660",
        "1150",
        "5635",
        "1.5",
        "8.22",
        "125.8",
        "1/4",
        "2/8",
        "4/500s",
        "I.6",
        "I",
        "6",
        "F1160th",
        "9999999999",
        "12,800",
        "mil",
        "10. Stop",
        "stop",
        "on",
        "Polarizeron",
        "both",
        "rate",
        "date",
        "cheat",
        "N-D-3.0",
        "Plover-400",
        "sick",
        "steenth",
        "um",
        "the",
        "lovin",
        "mate",
        "thirty-th",
        "roll 4",
        "rated",
        "Leonard Pan",
        "\u{2019}",
        "\u{e9}",
        "\u{2014}",
    ];
    let piece = (prop::sample::select(pieces.to_vec()), prop::sample::select(vec![" ", " ", " ", "", "-"]));
    prop::collection::vec(piece, 0..12).prop_map(|all| all.into_iter().flat_map(|(p, gap)| [p, gap]).collect())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn mangled_numbers_are_read(text in mangled()) {
        let language = language();
        prop_assert!(note::read(language, &text, 0.8, 1)["frames"].is_array());
        for token in language.told(&text).tokens {
            prop_assert!(text.get(token.span.clone()).is_some(), "{:?} lies outside", token.span);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_text_is_read(text in any::<String>()) {
        let language = language();
        let got = note::read(language, &text, 0.8, 1);
        prop_assert!(got["frames"].is_array());
        let told = language.told(&text);
        for token in &told.tokens {
            prop_assert!(text.get(token.span.clone()).is_some(), "{:?} lies outside", token.span);
        }
        for fact in &told.said.facts {
            prop_assert!((0.0..=1.0).contains(&fact.sure) && fact.tokens.end <= told.tokens.len());
        }
    }

    #[test]
    fn values_are_marks_or_close_to_them(text in wordy()) {
        let language = language();
        for frame in language.told(&text).said.frames {
            if let Some(s) = frame.shutter {
                prop_assert!((0.0..=1.0).contains(&s.sure));
                let seconds = s.value.seconds().unwrap_or(1.0);
                prop_assert!(seconds > 0.0 && seconds <= 1e7);
            }
            if let Some(a) = frame.aperture {
                prop_assert!((0.0..=1.0).contains(&a.sure));
                prop_assert!((0.5..=1024.0).contains(&a.value.number()));
            }
        }
    }

    #[test]
    fn a_record_is_sure_only_of_what_the_gear_can_do(text in wordy()) {
        let got = note::read(language(), &text, 0.8, 1);
        for frame in got["frames"].as_array().unwrap() {
            let flagged = |f: &str| frame["flags"].as_array().is_some_and(|a| a.iter().any(|x| x.as_str().unwrap().ends_with(f)));
            if let Some(s) = frame.get("shutter").and_then(|s| s.as_str())
                && let Ok(Shutter::Timed(speed)) = s.parse::<Shutter>()
            {
                prop_assert!(ShutterStep::Full.has(speed) || flagged(":shutter"), "{s} in {frame}");
            }
            if let Some(a) = frame.get("aperture").and_then(|a| a.as_str()) {
                let mark = a.parse().unwrap();
                let known = ApertureStep::Full.has(mark) || ApertureStep::Half.has(mark) || ApertureStep::Third.has(mark);
                prop_assert!(known || flagged(":aperture"), "{a} in {frame}");
            }
        }
    }

    #[test]
    fn notes_do_not_leak_into_each_other(a in wordy(), b in wordy()) {
        let language = language();
        let alone = note::read(language, &b, 0.8, 1);
        let _ = note::read(language, &a, 0.8, 1);
        prop_assert_eq!(alone, note::read(language, &b, 0.8, 1));
    }
}

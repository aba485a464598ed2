//! Whole notes and the stages they go through, as `parse --explain` shows them.

use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;

fn shown(text: &str) -> String {
    let language = Language::english(Kit::parse(include_str!("../phrases/kit-square.toml")).unwrap());
    serde_json::to_string_pretty(&note::read(&language, text, 0.8, 1)).unwrap()
}

#[test]
fn a_plain_note() {
    insta::assert_snapshot!(shown("Frame three, one twenty-fifth at f eleven, the slipway, full sun, handheld."));
}

#[test]
fn a_bracket() {
    insta::assert_snapshot!(shown("Frame five, a sixtieth at f8, one over, one under."));
}

#[test]
fn metered_and_changed() {
    insta::assert_snapshot!(shown("Meter says 1/60 at f8 but I'm going with 1/30."));
}

#[test]
fn corrected_and_repeated() {
    insta::assert_snapshot!(shown("Frame one, 1/250 at f8, no wait, f11. Frame two same again."));
}

#[test]
fn stages_are_readable() {
    let language = Language::english(Kit::parse(include_str!("../phrases/kit-square.toml")).unwrap());
    let text = note::explain(&language, "Roughly a sixtieth, f11.", 0.8, 1);
    for stage in ["phrases", "mentions", "record", "Shutter", "unsure:shutter"] {
        assert!(text.contains(stage), "{stage} in\n{text}");
    }
}

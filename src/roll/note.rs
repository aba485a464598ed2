//! One note read on its own, as `spooltalk parse` shows it.

use std::fmt::Write as _;

use serde_json::Value;

use crate::language::Language;
use crate::language::compose::parsed;

/// Reads one note; nothing is carried from any other. A JSON object of the contract.
pub fn read(language: &Language, text: &str, unsure_below: f64, number: usize) -> Value {
    parsed(&language.told(text), text, language.kit(), unsure_below, number)
}

/// The stages of reading a note, for a person: phrases, mentions, record.
pub fn explain(language: &Language, text: &str, unsure_below: f64, number: usize) -> String {
    let told = language.told(text);
    let mut out = format!("{number}: {text}\n  phrases\n{}  mentions\n", told.phrases());
    for (i, m) in told.read.mentions.iter().enumerate() {
        let words = &text[told.tokens[m.tokens.start].span.start..told.tokens[m.tokens.end - 1].span.end];
        let goes: Vec<String> = told.read.together[i].iter().map(|p| format!("{p:.2}")).collect();
        let _ = writeln!(
            out,
            "    {words:?}: {:?} {:.2}, done {:.2} metered {:.2} withdrawn {:.2}, begins {:.2}, again {:.2}, {:?} {:.2}, with {}",
            m.role,
            m.sure,
            m.standing[0],
            m.standing[1],
            m.standing[2],
            m.opens,
            m.again,
            m.effect.0,
            m.effect.1,
            goes.join(" ")
        );
    }
    let _ = write!(out, "  record\n    {}", parsed(&told, text, language.kit(), unsure_below, number));
    out
}

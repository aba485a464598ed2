//! What the learned reader sees of a text, written down for training.

use std::ops::Range;

use serde_json::{Value, json};

use super::note::Language;
use crate::language::phrases::find;
use crate::language::readings::{Opening, Values};
use crate::language::tag::{Pieces, features};
use crate::language::text::fold;

impl Language {
    /// Tokens, word pieces and features of a text, and for each mark the tokens it covers and
    /// the values that they can mean in every role.
    pub fn seen(&self, text: &str, pieces: &Pieces, marks: &[(String, String)]) -> Value {
        let folded = fold(text);
        let tokens = self.lexicon().tokens(&folded);
        let found = find(&folded, &tokens, self.lexicon());
        let reading = self.reading(&folded, text, &tokens, &found);
        let values = Values::of(&reading);
        let mut at = 0;
        let marks: Vec<Value> = marks
            .iter()
            .map(|(words, _)| {
                let Some(from) = text[at..].find(words.as_str()).map(|i| i + at) else { return Value::Null };
                at = from + words.len();
                let start = tokens.partition_point(|t| t.span.end <= from);
                let end = tokens.partition_point(|t| t.span.start < at);
                if start >= end {
                    return Value::Null;
                }
                json!({"from": start, "to": end, "values": every_value(&values, &(start..end))})
            })
            .collect();
        json!({
            "tokens": tokens.iter().map(|t| [t.span.start, t.span.end]).collect::<Vec<_>>(),
            "pieces": tokens.iter().map(|t| pieces.of(&folded[t.span.clone()])).collect::<Vec<_>>(),
            "features": features(&reading),
            "marks": marks,
        })
    }
}

/// The values of a stretch in every role, as text with their weights.
fn every_value(v: &Values<'_>, span: &Range<usize>) -> Value {
    let glass = v.glass(span);
    let aperture = match v.aperture(span) {
        Some(Opening::Number(ways)) => json!(ways.iter().map(|w| (w.value.to_string(), w.weight)).collect::<Vec<_>>()),
        Some(Opening::Widest) => json!([("widest", 1.0)]),
        Some(Opening::Smallest) => json!([("smallest", 1.0)]),
        None => json!([]),
    };
    json!({
        "s": v.shutter(span).iter().map(|w| (w.value.to_string(), w.weight)).collect::<Vec<_>>(),
        "a": aperture,
        "lens": glass.lens.iter().map(|w| (w.value, w.weight)).collect::<Vec<_>>(),
        "mm": glass.focal.iter().map(|w| (w.value, w.weight)).collect::<Vec<_>>(),
        "end": glass.end,
        "l": v.filters(span).iter().map(|w| (w.value, w.weight)).collect::<Vec<_>>(),
        "none": v.bare(span),
        "n": v.frame(span).iter().map(|w| (w.value.to_string(), w.weight)).collect::<Vec<_>>(),
        "i": v.plain(span).iter().map(|w| (w.value, w.weight)).collect::<Vec<_>>(),
        "b": v.film(span).iter().map(|w| (w.value, w.weight)).collect::<Vec<_>>(),
        "c": v.camera(span).iter().map(|w| (w.value, w.weight)).collect::<Vec<_>>(),
        "r": v.roll(span),
        "e": v.shift(span).map(|s| json!({"amount": s.amount, "clicks": s.clicks, "more": s.more})),
        "k": v.count(span),
        "g": v.light(span),
        "p": v.support(span),
        "o": v.process(span),
    })
}

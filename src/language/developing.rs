//! Sentences that tell how a roll was developed: "Roll seven developed in …, one to fifty, eleven minutes at twenty
//! degrees, sleeve fourteen." They hold figures that would else be read as settings.

use super::note::Language;
use crate::language::beside::{Aside, AsideKind};
use crate::language::compose::Fact;
use crate::language::grammar::Class;
use crate::language::phrases::{Quantity, Whole, find};
use crate::language::text::{Kind, fold, tokens};

/// What one sentence tells.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DevelopingSaid {
    /// The roll's name, where the sentence says it.
    pub roll: Option<String>,
    /// The developer, as said.
    pub developer: Option<String>,
    /// Parts of developer and of water.
    pub dilution: Option<(f64, f64)>,
    /// Seconds.
    pub time_s: Option<f64>,
    /// Degrees Celsius.
    pub celsius: Option<f64>,
    /// The sleeve's number.
    pub sleeve: Option<f64>,
    /// What was asked of the development: `N+1`, `push 1`.
    pub process: Option<String>,
    /// How sure that is, 0 to 1.
    pub sure: f64,
}

/// Most words of a developer's name.
const LONGEST_NAME: usize = 4;

impl Language {
    /// What a sentence tells of developing; none where it tells of something else.
    pub fn developing(&self, sentence: &str) -> Option<DevelopingSaid> {
        let folded = fold(sentence);
        // Cheap first: most sentences hold none of the words.
        if !self.asides().may_tell_of_developing(&folded) {
            return None;
        }
        let all = self.lexicon().known(&folded, tokens(&folded).collect());
        let found = find(&folded, &all, self.lexicon());
        let found = [(0, found)];
        let text = Whole { folded: &folded, tokens: &all, found: &found };
        let asides = self.asides().of(text, self.lexicon());
        let of = |kind: AsideKind| asides.iter().find(|a| a.kind == kind);
        let developed = of(AsideKind::Developed);
        if developed.is_none() && of(AsideKind::Sleeve).is_none() {
            return None;
        }
        // "One to fifty eleven minutes": what the dilution has is no part of the time.
        let dilution = of(AsideKind::Dilution).map_or(0..0, |a| a.tokens.clone());
        let apart = |q: &&Quantity| usize::from(q.start) >= dilution.end || usize::from(q.end) <= dilution.start;
        let celsius = of(AsideKind::Celsius).and_then(|a| a.value);
        let fahrenheit = of(AsideKind::Fahrenheit).and_then(|a| a.value);
        let process = self.told(sentence).said.facts.into_iter().find_map(|f| match f.fact {
            Fact::Process(process) => Some((process, f.sure)),
            _ => None,
        });
        Some(DevelopingSaid {
            roll: of(AsideKind::RollNamed).map(|a| roll_name(text, a)),
            developer: developed.and_then(|a| name_behind(text, &asides, a)),
            dilution: of(AsideKind::Dilution).and_then(|a| a.value.zip(a.second)),
            time_s: text.found[0]
                .1
                .quantities
                .iter()
                .filter(|q| q.class == Class::Duration)
                .filter(apart)
                .map(|q| q.value)
                .reduce(f64::max),
            celsius: celsius.or(fahrenheit.map(|f| (f - 32.0) / 1.8)),
            sleeve: of(AsideKind::Sleeve).and_then(|a| a.value),
            process: process.as_ref().map(|p| p.0.clone()),
            sure: process.map_or(0.0, |p| p.1),
        })
    }
}

/// The words behind "developed in", up to a mark, a number or another thing said.
fn name_behind(text: Whole<'_>, asides: &[Aside], developed: &Aside) -> Option<String> {
    let at = developed.tokens.end;
    let end = asides.iter().map(|a| a.tokens.start).filter(|s| *s >= at).min().unwrap_or(text.tokens.len());
    let number = |i: usize| text.numbers().any(|(n, _)| n == i);
    let words: Vec<&str> = (at..end)
        .take(LONGEST_NAME)
        .take_while(|i| text.tokens[*i].kind == Kind::Word && !number(*i))
        .map(|i| &text.folded[text.tokens[i].span.clone()])
        .collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// A roll's name as it stands behind its word: a letter before its number is kept.
fn roll_name(text: Whole<'_>, aside: &Aside) -> String {
    let mut letter =
        aside.tokens.clone().filter(|i| text.tokens[*i].kind == Kind::Word && text.tokens[*i].span.len() == 1);
    let letter =
        letter.next_back().map(|i| text.folded[text.tokens[i].span.clone()].to_uppercase()).unwrap_or_default();
    format!("{letter}{}", aside.value.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Kit;

    #[test]
    fn a_sentence_of_developing_is_taken_apart() {
        let language = Language::english(Kit::default());
        let said = language
            .developing(
                "Roll seven developed in halcyon, one to fifty, eleven minutes at twenty degrees, sleeve fourteen.",
            )
            .unwrap();
        assert_eq!(
            said,
            DevelopingSaid {
                roll: Some("7".to_owned()),
                developer: Some("halcyon".to_owned()),
                dilution: Some((1.0, 50.0)),
                time_s: Some(660.0),
                celsius: Some(20.0),
                sleeve: Some(14.0),
                process: None,
                sure: 0.0,
            }
        );
        // Recognisers leave out commas.
        for (words, parts, minutes) in
            [("fifty eleven", 50.0, 11.0), ("fifty eight", 50.0, 8.0), ("one hundred for nine", 100.0, 9.0)]
        {
            let text = format!("developed in halcyon one to {words} minutes at twenty degrees");
            let said = language.developing(&text).unwrap();
            let told = (said.dilution, said.time_s, said.celsius);
            assert_eq!(told, (Some((1.0, parts)), Some(minutes * 60.0), Some(20.0)), "{text}");
        }
        let said = language.developing("Roll A 4 is in sleeve 22").unwrap();
        assert_eq!((said.roll.as_deref(), said.sleeve), (Some("A4"), Some(22.0)));
        for other in [
            "Frame two, a sixtieth at eight, his sleeve in the light.",
            "The fog developed in ten minutes flat, frame 3",
        ] {
            assert_eq!(
                language.developing(other).filter(|s| s.developer.is_some() || s.sleeve.is_some()),
                None,
                "{other}"
            );
        }
    }
}

//! From what was said, with how sure it is, to a value of a row.

use crate::facts::{Confidence, Reading, Settled, Source, Terms};
use crate::language::compose::Sure;

/// How sure a plain word is at most: nothing heard is certain.
const PLAIN: f64 = 0.99;

/// A value that was said.
pub(super) fn settled<T: Clone>(said: &Sure<T>) -> Settled<T> {
    let confidence = Confidence::new(said.sure.min(PLAIN));
    let mut out = Settled::from_one(said.value.clone(), confidence, Source::Voice);
    let wording = |p: f64| Terms { wording: p.max(f64::MIN_POSITIVE).ln(), ..Terms::default() };
    out.others = said
        .others
        .iter()
        .filter(|(_, p)| *p > 0.0)
        .map(|(v, p)| Reading { terms: wording(*p), ..Reading::new(v.clone(), Confidence::new(*p), Source::Voice) })
        .collect();
    if !out.others.is_empty() {
        out.terms = wording(said.sure);
    }
    out
}

/// A value that was plainly said, so sure.
pub(super) fn plain<T>(value: T, sure: f64) -> Settled<T> {
    Settled::from_one(value, Confidence::new(sure.min(PLAIN)), Source::Voice)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_heard_is_certain_and_what_else_it_may_be_stays() {
        let mut said = Sure::new(8, 1.0, 0..1);
        assert_eq!(settled(&said).confidence.get(), PLAIN);
        said.sure = 0.7;
        said.others = vec![(11, 0.3), (16, 0.0)];
        let both = settled(&said);
        assert_eq!((both.value, both.others.len(), both.others[0].value), (8, 1, 11));
        assert!(both.terms.wording > both.others[0].terms.wording);
        assert_eq!(plain(8, 1.0).confidence.get(), PLAIN);
    }
}

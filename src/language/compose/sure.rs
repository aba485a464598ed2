//! A value with how sure it is, and the words that it rests on.

use std::ops::Range;

/// A value, how likely it is, and what else the words could mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Sure<T> {
    /// The likeliest.
    pub value: T,
    /// How likely it is, 0 to 1.
    pub sure: f64,
    /// Others, likeliest first, with their shares.
    pub others: Vec<(T, f64)>,
    /// Tokens that it rests on.
    pub tokens: Range<usize>,
}

impl<T> Sure<T> {
    /// A value that words give in one way only.
    pub const fn new(value: T, sure: f64, tokens: Range<usize>) -> Self {
        Self { value, sure, others: Vec::new(), tokens }
    }

    /// The same with another value.
    pub fn map<U>(self, f: impl Fn(T) -> U) -> Sure<U> {
        Sure {
            value: f(self.value),
            sure: self.sure,
            others: self.others.into_iter().map(|(v, p)| (f(v), p)).collect(),
            tokens: self.tokens,
        }
    }
}

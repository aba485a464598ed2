//! How a condition compares, and the stretch of values that meets it.

/// A span of values; an open end is `None`, and each end says whether it belongs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span<T> {
    /// Lower end and whether it belongs.
    pub low: Option<(T, bool)>,
    /// Upper end and whether it belongs.
    pub high: Option<(T, bool)>,
}

/// How a condition compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Op {
    Is,
    Not,
    Below,
    AtMost,
    Above,
    AtLeast,
}

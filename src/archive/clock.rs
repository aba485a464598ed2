//! Local clock time as whole seconds, the way the archive stores it.

use jiff::civil::{DateTime, date};

/// Seconds from 1970-01-01T00:00:00 on the same clock; no zone comes into it.
pub(super) fn seconds(local: DateTime) -> i64 {
    local.duration_since(date(1970, 1, 1).at(0, 0, 0, 0)).as_secs()
}

/// The clock time of [`seconds`]; none outside the years −9999 to 9999.
pub(super) fn local(seconds: i64) -> Option<DateTime> {
    date(1970, 1, 1).at(0, 0, 0, 0).checked_add(jiff::SignedDuration::from_secs(seconds)).ok()
}

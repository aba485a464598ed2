//! Memory that is shared: who wants some waits until there is enough.

use std::sync::{Condvar, Mutex, PoisonError};

/// An amount of memory, in bytes, of which parts are taken and given back.
pub(super) struct Budget {
    whole: u64,
    taken: Mutex<u64>,
    given_back: Condvar,
}

/// A part of a budget; given back when it goes.
pub(super) struct Part<'a> {
    of: &'a Budget,
    bytes: u64,
}

impl Budget {
    pub const fn new(whole: u64) -> Self {
        Self { whole, taken: Mutex::new(0), given_back: Condvar::new() }
    }

    /// Takes so many bytes once they are there. Who wants more than the whole gets it alone.
    pub fn take(&self, bytes: u64) -> Part<'_> {
        let bytes = bytes.min(self.whole);
        let taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        let full = |taken: &mut u64| *taken + bytes > self.whole;
        let mut taken = self.given_back.wait_while(taken, full).unwrap_or_else(PoisonError::into_inner);
        *taken += bytes;
        Part { of: self, bytes }
    }
}

impl Drop for Part<'_> {
    fn drop(&mut self) {
        *self.of.taken.lock().unwrap_or_else(PoisonError::into_inner) -= self.bytes;
        self.of.given_back.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU64, Ordering::SeqCst};

    use super::*;

    #[test]
    fn no_more_is_taken_than_there_is() {
        let (budget, held, most) = (Budget::new(10), AtomicU64::new(0), AtomicU64::new(0));
        std::thread::scope(|scope| {
            for bytes in [4, 7, 3, 10, 99, 1, 6, 5] {
                let (budget, held, most) = (&budget, &held, &most);
                scope.spawn(move || {
                    for _ in 0..50 {
                        let part = budget.take(bytes);
                        let now = held.fetch_add(part.bytes, SeqCst) + part.bytes;
                        most.fetch_max(now, SeqCst);
                        std::thread::yield_now();
                        held.fetch_sub(part.bytes, SeqCst);
                    }
                });
            }
        });
        assert!(most.load(SeqCst) <= 10, "{}", most.load(SeqCst));
        assert_eq!(*budget.taken.lock().unwrap(), 0);
    }
}

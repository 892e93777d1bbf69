//! The last commits of `office`, whose records every project looks up by time.

use std::collections::{HashSet, VecDeque};

/// When each of the last commits was, and marks of what it wrote.
#[derive(Default)]
pub(super) struct Office {
    commits: VecDeque<(i64, Vec<u64>)>,
    names: usize,
    /// Time from which on every commit is there.
    whole_from_ms: i64,
}

impl Office {
    pub(super) fn add(&mut self, time_ms: i64, wrote: Vec<u64>) {
        self.names += wrote.len();
        self.commits.push_back((time_ms, wrote));
    }

    /// Names kept of all commits.
    pub(super) fn names(&self) -> usize {
        self.names
    }

    /// The oldest commit, taken out, while more than so many names are kept.
    pub(super) fn forget(&mut self, most: usize) -> Option<(i64, Vec<u64>)> {
        if self.names <= most {
            return None;
        }
        let (time_ms, wrote) = self.commits.pop_front()?;
        self.names -= wrote.len();
        self.whole_from_ms = self.whole_from_ms.max(time_ms + 1);
        Some((time_ms, wrote))
    }

    /// Whether every commit since a time is there.
    pub(super) fn is_whole_from(&self, time_ms: i64) -> bool {
        time_ms >= self.whole_from_ms
    }

    /// Whether a commit from one time to another wrote one of these. Of the same millisecond nobody
    /// knows which was first.
    pub(super) fn wrote_between(&self, from_ms: i64, to_ms: i64, names: &HashSet<u64>) -> bool {
        let between = |time: i64| time >= from_ms && time <= to_ms;
        let mut came = self.commits.iter().filter(|(time, _)| between(*time));
        came.any(|(_, wrote)| wrote.iter().any(|name| names.contains(name)))
    }
}

//! Decoded commits in memory, in two generations: what is used again outlives what is not.

use super::Position;
use obvert_proto::common::v1::Commit;
use std::collections::HashMap;
use std::sync::Arc;

/// Memory a decoded commit takes beyond its encoded size, roughly.
const OVERHEAD_BYTES: usize = 600;

pub(crate) struct Cache {
    limit: usize,
    young_bytes: usize,
    young: HashMap<Position, (Arc<Commit>, usize)>,
    old: HashMap<Position, (Arc<Commit>, usize)>,
}

impl Cache {
    pub(crate) fn new(limit_bytes: u64) -> Cache {
        let limit = usize::try_from(limit_bytes).unwrap_or(usize::MAX) / 2;
        Cache {
            limit,
            young_bytes: 0,
            young: HashMap::new(),
            old: HashMap::new(),
        }
    }

    pub(crate) fn get(&mut self, at: Position) -> Option<Arc<Commit>> {
        if let Some((commit, _)) = self.young.get(&at) {
            return Some(Arc::clone(commit));
        }
        let (commit, size) = self.old.remove(&at)?;
        self.put(at, Arc::clone(&commit), size);
        Some(commit)
    }

    pub(crate) fn put(&mut self, at: Position, commit: Arc<Commit>, size: usize) {
        if self.young_bytes > self.limit {
            self.old = std::mem::take(&mut self.young);
            self.young_bytes = 0;
        }
        self.young_bytes += size + OVERHEAD_BYTES;
        self.young.insert(at, (commit, size));
    }
}

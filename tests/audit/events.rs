//! Reads the access log of a store, as an auditor's program would.

use obvert_ledger::tools::{ACCESS_LOG, commits};
use obvert_proto::common::v1::{AccessEvent, AccessEvents};
use prost::Message;
use std::path::Path;

/// All events of a store, in order.
pub(crate) fn events(store: &Path) -> Vec<AccessEvent> {
    let mut found = Vec::new();
    let read = commits(&store.join(ACCESS_LOG), &mut |commit, _| {
        for entry in &commit.entries {
            found.extend(AccessEvents::decode(entry.body.clone()).unwrap().events);
        }
        Ok(())
    });
    read.unwrap();
    found
}

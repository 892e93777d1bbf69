//! Refusals of the running second, one event for each caller.

use std::collections::HashMap;

use obvert_proto::common::v1::AccessEvent;

/// Callers told apart within a second; further ones share an event, so that a flood from many
/// addresses cannot fill the disk.
const CALLERS: usize = 256;
/// Different methods and projects that an event names.
const NAMED: usize = 8;

/// Refusals that wait to be written.
#[derive(Default)]
pub(super) struct Gathered {
    events: HashMap<Who, AccessEvent>,
}

/// Whose refusals are counted together.
#[derive(PartialEq, Eq, Hash)]
struct Who {
    principal: String,
    key_id: String,
    peer_address: String,
    reason: String,
}

impl Gathered {
    pub(super) fn add(&mut self, event: AccessEvent) {
        let who = Who {
            principal: event.principal.clone(),
            key_id: event.key_id.clone(),
            peer_address: event.peer_address.clone(),
            reason: event.reason.clone(),
        };
        if let Some(known) = self.events.get_mut(&who) {
            return count(known, event);
        }
        if self.events.len() < CALLERS {
            self.events.insert(who, event);
            return;
        }
        let shared = AccessEvent {
            principal: "several".to_owned(),
            key_id: String::new(),
            role: String::new(),
            peer_address: String::new(),
            ..event
        };
        let who = Who {
            principal: shared.principal.clone(),
            key_id: String::new(),
            peer_address: String::new(),
            reason: shared.reason.clone(),
        };
        match self.events.get_mut(&who) {
            Some(known) => count(known, shared),
            None => drop(self.events.insert(who, shared)),
        }
    }

    /// All that waits; nothing waits afterwards.
    pub(super) fn take(&mut self) -> Vec<AccessEvent> {
        self.events.drain().map(|(_, event)| event).collect()
    }

    /// Puts back what could not be written.
    pub(super) fn put_back(&mut self, events: Vec<AccessEvent>) {
        for event in events {
            self.add(event);
        }
    }
}

fn count(known: &mut AccessEvent, event: AccessEvent) {
    let AccessEvent {
        count,
        first_time,
        last_time,
        methods,
        projects,
        ..
    } = event;
    let order = |time: &Option<prost_types::Timestamp>| time.as_ref().map(|t| (t.seconds, t.nanos));
    known.count += count;
    if order(&first_time) < order(&known.first_time) {
        known.first_time = first_time;
    }
    if order(&last_time) > order(&known.last_time) {
        known.last_time = last_time;
    }
    for (named, new) in [
        (&mut known.methods, methods),
        (&mut known.projects, projects),
    ] {
        for text in new {
            if named.len() < NAMED && !named.contains(&text) {
                named.push(text);
            }
        }
    }
}

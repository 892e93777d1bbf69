//! Events of the access log, made from what is known of a call.

use std::net::IpAddr;

use obvert_proto::{
    Problem,
    common::v1::{AccessEvent, AccessEventKind},
    dates::from_unix_ms,
    reason_word,
};
use tonic::Request;

use crate::Caller;

/// Longest text of an event that a caller chose, in bytes.
const TEXT_BYTES: usize = 120;

/// Network address of a caller, put on each request by the accept loop.
#[derive(Debug, Clone, Copy)]
pub struct Peer(pub IpAddr);

impl Peer {
    /// Address of a request as text; empty when the call did not come through a port.
    pub fn of<T>(request: &Request<T>) -> String {
        let peer = request.extensions().get::<Self>();
        peer.map(|Self(address)| address.to_string())
            .unwrap_or_default()
    }
}

/// A call or page that was refused. Who called and what was asked for come from the problem's facts,
/// where it has them.
pub fn denied(
    problem: &Problem,
    method: &str,
    project: &str,
    peer_address: &str,
    now_ms: i64,
) -> AccessEvent {
    let fact = |name: &str| problem.facts.get(name).map_or("", String::as_str);
    let or = |text: &str, other: &str| short(if text.is_empty() { other } else { text });
    let project = or(fact("project"), project);
    AccessEvent {
        kind: AccessEventKind::Denied.into(),
        principal: or(fact("principal"), "unknown"),
        key_id: short(fact("key_id")),
        role: short(fact("roles_held")),
        methods: vec![short(method)],
        projects: if project.is_empty() {
            Vec::new()
        } else {
            vec![project]
        },
        reason: reason_word(problem.reason).to_owned(),
        ..at(now_ms, peer_address)
    }
}

/// Personal data of a parcel that is about to be opened.
pub fn opened(
    caller: &Caller,
    role: &str,
    (method, parcel): (&str, &str),
    peer_address: &str,
    now_ms: i64,
) -> AccessEvent {
    AccessEvent {
        kind: AccessEventKind::PersonalDataRead.into(),
        principal: caller.principal.clone(),
        key_id: caller.key_id.clone(),
        role: role.to_owned(),
        methods: vec![method.to_owned()],
        projects: parcel.split('/').nth(1).map(short).into_iter().collect(),
        record: short(parcel),
        ..at(now_ms, peer_address)
    }
}

/// A package that a link is about to open.
pub fn by_link(principal: &str, package: &str, peer_address: &str, now_ms: i64) -> AccessEvent {
    AccessEvent {
        kind: AccessEventKind::LinkDownload.into(),
        principal: short(principal),
        methods: vec!["/links/{link}/packages/{package}".to_owned()],
        projects: package.split('/').nth(1).map(short).into_iter().collect(),
        record: short(package),
        ..at(now_ms, peer_address)
    }
}

fn at(now_ms: i64, peer_address: &str) -> AccessEvent {
    AccessEvent {
        first_time: Some(from_unix_ms(now_ms)),
        last_time: Some(from_unix_ms(now_ms)),
        count: 1,
        peer_address: peer_address.to_owned(),
        ..AccessEvent::default()
    }
}

/// The start of a text, cut where a character ends.
fn short(text: &str) -> String {
    text[..text.floor_char_boundary(TEXT_BYTES)].to_owned()
}

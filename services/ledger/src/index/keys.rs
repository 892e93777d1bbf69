//! Keys and values of the index. One letter, then text parts with a zero byte between them.
//!
//! | key | value |
//! | --- | --- |
//! | `n` name | latest state |
//! | `v` name 0 revision, newest first | an earlier state |
//! | `e` target 0 source | intervals of revisions in which source refers to target |
//! | `c` project 0 claim | name of the record that holds it |
//! | `q` project 0 principal 0 request id | revision |
//! | `m` project 0 (revision - 1) / 64 | positions of up to 64 commits |
//! | `h` project | head |
//! | `s` | stamp: how far the index has read the journal |

use crate::journal::Position;
use crate::overlay::Layer;
use crate::stored::Head;

/// Where one state of a record lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct State {
    pub(crate) revision: i64,
    pub(crate) create_revision: i64,
    pub(crate) at: Position,
    pub(crate) entry: u32,
}

/// Revisions of a source, from the first that refers to the last before it stopped; 0 means now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Interval {
    pub(crate) began: i64,
    pub(crate) ended: i64,
}

/// Commits lie in rows, since a row that is written once for many commits is cheap.
const COMMITS_PER_KEY: u64 = 64;

pub(crate) const STAMP: &[u8] = b"s";

pub(crate) fn latest(name: &str) -> Vec<u8> {
    parts(b'n', &[name])
}

pub(crate) fn versions(name: &str) -> Vec<u8> {
    ended(parts(b'v', &[name]))
}

pub(crate) fn version(name: &str, revision: i64) -> Vec<u8> {
    with(versions(name), u64::MAX - revision as u64)
}

pub(crate) fn edges(target: &str) -> Vec<u8> {
    ended(parts(b'e', &[target]))
}

pub(crate) fn edge(target: &str, source: &str) -> Vec<u8> {
    parts(b'e', &[target, source])
}

pub(crate) fn claim(project: &str, claim: &str) -> Vec<u8> {
    parts(b'c', &[project, claim])
}

pub(crate) fn request(project: &str, principal: &str, request_id: &str) -> Vec<u8> {
    parts(b'q', &[project, principal, request_id])
}

pub(crate) fn commits(project: &str) -> Vec<u8> {
    ended(parts(b'm', &[project]))
}

/// Key that holds the position of a commit, and its place in the value.
pub(crate) fn commit(project: &str, revision: i64) -> (Vec<u8>, usize) {
    let before = revision.saturating_sub(1).max(0) as u64;
    let key = with(commits(project), before / COMMITS_PER_KEY);
    (key, (before % COMMITS_PER_KEY) as usize)
}

pub(crate) fn head(project: &str) -> Vec<u8> {
    parts(b'h', &[project])
}

/// The heads that a layer changes.
pub(crate) fn heads(layer: &Layer) -> impl Iterator<Item = (String, Head)> {
    let changed = layer.range(vec![b'h']..vec![b'i']);
    changed.filter_map(|(key, value)| Some((text(key, 1), decode_head(value.as_ref()?)?)))
}

/// The text after the first `skip` bytes of a key.
pub(crate) fn text(key: &[u8], skip: usize) -> String {
    String::from_utf8_lossy(key.get(skip..).unwrap_or_default()).into_owned()
}

impl State {
    pub(crate) fn encode(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(28);
        out.extend_from_slice(&self.revision.to_be_bytes());
        out.extend_from_slice(&self.create_revision.to_be_bytes());
        out.extend_from_slice(&self.at.0.to_be_bytes());
        out.extend_from_slice(&self.entry.to_be_bytes());
        out
    }

    pub(crate) fn decode(bytes: &[u8]) -> Option<State> {
        let (words, rest) = bytes.as_chunks::<8>();
        let [revision, create_revision, at] = words else {
            return None;
        };
        Some(State {
            revision: i64::from_be_bytes(*revision),
            create_revision: i64::from_be_bytes(*create_revision),
            at: Position(u64::from_be_bytes(*at)),
            entry: u32::from_be_bytes(rest.try_into().ok()?),
        })
    }
}

impl Interval {
    pub(crate) fn holds_at(&self, at: i64) -> bool {
        self.began <= at && (self.ended == 0 || at < self.ended)
    }
}

pub(crate) fn encode_intervals(intervals: &[Interval]) -> Vec<u8> {
    let numbers = intervals
        .iter()
        .flat_map(|interval| [interval.began, interval.ended]);
    numbers.flat_map(i64::to_be_bytes).collect()
}

pub(crate) fn decode_intervals(bytes: &[u8]) -> Vec<Interval> {
    let (pairs, _) = bytes.as_chunks::<16>();
    let number = |pair: &[u8; 16], at: usize| {
        pair[at..]
            .first_chunk::<8>()
            .map_or(0, |bytes| i64::from_be_bytes(*bytes))
    };
    pairs
        .iter()
        .map(|pair| Interval {
            began: number(pair, 0),
            ended: number(pair, 8),
        })
        .collect()
}

pub(crate) fn encode_head(head: &Head) -> Vec<u8> {
    let mut out = Vec::with_capacity(48);
    out.extend_from_slice(&head.revision.to_be_bytes());
    out.extend_from_slice(&head.commit_time_ms.to_be_bytes());
    out.extend_from_slice(&head.hash);
    out
}

pub(crate) fn decode_head(bytes: &[u8]) -> Option<Head> {
    let (revision, rest) = bytes.split_first_chunk::<8>()?;
    let (time, hash) = rest.split_first_chunk::<8>()?;
    Some(Head {
        revision: i64::from_be_bytes(*revision),
        commit_time_ms: i64::from_be_bytes(*time),
        hash: hash.try_into().ok()?,
    })
}

pub(crate) fn encode_number(number: u64) -> Vec<u8> {
    number.to_be_bytes().to_vec()
}

pub(crate) fn decode_number(bytes: &[u8]) -> Option<u64> {
    bytes.try_into().ok().map(u64::from_be_bytes)
}

pub(crate) fn decode_positions(bytes: &[u8]) -> impl Iterator<Item = Position> {
    bytes
        .as_chunks::<8>()
        .0
        .iter()
        .map(|number| Position(u64::from_be_bytes(*number)))
}

fn parts(letter: u8, parts: &[&str]) -> Vec<u8> {
    let length: usize = parts.iter().map(|part| part.len() + 1).sum();
    let mut key = Vec::with_capacity(length + 9);
    key.push(letter);
    for (place, part) in parts.iter().enumerate() {
        if place > 0 {
            key.push(0);
        }
        key.extend_from_slice(part.as_bytes());
    }
    key
}

fn ended(mut key: Vec<u8>) -> Vec<u8> {
    key.push(0);
    key
}

fn with(mut key: Vec<u8>, number: u64) -> Vec<u8> {
    key.extend_from_slice(&number.to_be_bytes());
    key
}

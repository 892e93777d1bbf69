//! A volume taken apart and laid out again, as somebody would who can write the file and knows its
//! form. Written without the ledger's own code.

use obvert_proto::common::v1::Commit;
use prost::Message;
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

const MARK: [u8; 4] = [0xf5, b'o', b'b', 0x8a];
pub(crate) const HEADER_BYTES: usize = 28;
const COMMIT: u8 = 1;
const GROUP_END: u8 = 2;
const CLOSED: u8 = 3;

/// A volume of groups of one commit each.
#[derive(Clone)]
pub(crate) struct Volume {
    header: Vec<u8>,
    /// Stored bytes of each commit.
    pub(crate) commits: Vec<Vec<u8>>,
}

impl Volume {
    /// Takes a volume apart that was stopped in order.
    pub(crate) fn read(bytes: &[u8]) -> Self {
        let mut commits = Vec::new();
        for (kind, payload) in frames(bytes) {
            if kind == COMMIT {
                commits.push(bytes[payload].to_vec());
            }
        }
        let header = bytes[..HEADER_BYTES].to_vec();
        Self { header, commits }
    }

    /// What can be made out in a volume that may be damaged: payloads that seem to be commits.
    pub(crate) fn of_damaged(bytes: &[u8]) -> Self {
        let mut header = bytes[..bytes.len().min(HEADER_BYTES)].to_vec();
        header.resize(HEADER_BYTES, 0);
        let crc = crc32c(&header[..HEADER_BYTES - 4]);
        header[HEADER_BYTES - 4..].copy_from_slice(&crc.to_le_bytes());
        let (mut at, mut commits) = (HEADER_BYTES, Vec::new());
        while let Some(head) = bytes.get(at..at + 13) {
            let length = u32::from_le_bytes(head[4..8].try_into().unwrap()) as usize;
            let end = bytes.len().min(at + 13 + length);
            if head[12] == COMMIT {
                commits.push(bytes[at + 13..end].to_vec());
            }
            at = end;
        }
        Self { header, commits }
    }

    /// Lays the volume out with every number and checksum right, and the mark of a clean stop.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        let mut out = self.header.clone();
        for (commits, commit) in (1_u64..).zip(&self.commits) {
            let start = out.len() as u64;
            push(&mut out, COMMIT, commit);
            push(
                &mut out,
                GROUP_END,
                [1, start, commits].map(u64::to_le_bytes).as_flattened(),
            );
        }
        let count = self.commits.len() as u64;
        push(&mut out, CLOSED, &count.to_le_bytes());
        out
    }

    pub(crate) fn decoded(&self, place: usize) -> Commit {
        Commit::decode(self.commits[place].as_slice()).unwrap()
    }

    /// Writes another commit at a place and chains all that follow in its project anew.
    pub(crate) fn forge(&mut self, place: usize, change: impl FnOnce(&mut Commit)) {
        let mut commit = self.decoded(place);
        change(&mut commit);
        let project = commit.project.clone();
        self.commits[place] = commit.encode_to_vec();
        let mut hash = Sha256::digest(&self.commits[place]).to_vec();
        for later in place + 1..self.commits.len() {
            let mut commit = self.decoded(later);
            if commit.project == project {
                commit.previous_hash = hash;
                self.commits[later] = commit.encode_to_vec();
                hash = Sha256::digest(&self.commits[later]).to_vec();
            }
        }
    }
}

/// Kind and place of the payload of each frame.
pub(crate) fn frames(bytes: &[u8]) -> Vec<(u8, std::ops::Range<usize>)> {
    let (mut at, mut found) = (HEADER_BYTES, Vec::new());
    while at < bytes.len() {
        assert_eq!(bytes[at..at + 4], MARK, "a frame at byte {at}");
        let length = u32::from_le_bytes(bytes[at + 4..at + 8].try_into().unwrap()) as usize;
        found.push((bytes[at + 12], at + 13..at + 13 + length));
        at += 13 + length;
    }
    found
}

fn push(out: &mut Vec<u8>, kind: u8, payload: &[u8]) {
    let at = (1_u64 << 40) | out.len() as u64;
    let length = (payload.len() as u32).to_le_bytes();
    let covered = [&at.to_le_bytes()[..], &length, &[kind], payload].concat();
    out.extend_from_slice(&MARK);
    out.extend_from_slice(&length);
    out.extend_from_slice(&crc32c(&covered).to_le_bytes());
    out.push(kind);
    out.extend_from_slice(payload);
}

static TABLE: LazyLock<[u32; 256]> = LazyLock::new(|| {
    std::array::from_fn(|byte| {
        (0..8).fold(byte as u32, |crc, _| (crc >> 1) ^ ((crc & 1) * 0x82f6_3b78))
    })
});

/// CRC-32C with a table of its own.
fn crc32c(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc: u32, byte| {
        (crc >> 8) ^ TABLE[usize::from(crc as u8 ^ byte)]
    })
}

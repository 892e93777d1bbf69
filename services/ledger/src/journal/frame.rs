//! One frame: a mark to find it by, length, CRC-32C, kind, payload.
//!
//! The checksum covers length, kind, payload and the frame's own position, so that a block that
//! the disk wrote elsewhere, or left over from an earlier file, is not taken for a frame.

use super::Position;

/// First bytes of every frame; damaged volumes are searched for it.
pub(crate) const MARK: [u8; 4] = [0xf5, b'o', b'b', 0x8a];
/// Bytes before the payload.
pub(crate) const HEAD_BYTES: usize = 13;
/// Largest payload.
pub(crate) const MAX_PAYLOAD_BYTES: u64 = 48 << 20;

/// What a frame is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Payload: a commit as encoded.
    Commit = 1,
    /// Payload: number of commits, offset of the group's first frame, running number of commits.
    GroupEnd = 2,
    /// A clean stop. Payload: running number of commits.
    Closed = 3,
    /// The volume is full and another follows. Payload: running number of commits.
    Sealed = 4,
}

/// What a reader finds before the payload.
pub(crate) struct FrameHead {
    pub(crate) length: usize,
    checksum: u32,
    pub(crate) kind: Kind,
}

/// Appends a frame whose payload is `payload` and which will stand at `at`.
pub(crate) fn push(out: &mut Vec<u8>, at: Position, kind: Kind, payload: &[u8]) {
    let length = payload.len() as u32;
    out.extend_from_slice(&MARK);
    out.extend_from_slice(&length.to_le_bytes());
    out.extend_from_slice(&checksum(at, kind as u8, length, payload).to_le_bytes());
    out.push(kind as u8);
    out.extend_from_slice(payload);
}

/// Reads the fixed part; says in words what is wrong with it.
pub(crate) fn head(bytes: &[u8; HEAD_BYTES]) -> Result<FrameHead, String> {
    let [m0, m1, m2, m3, l0, l1, l2, l3, c0, c1, c2, c3, kind] = *bytes;
    if [m0, m1, m2, m3] != MARK {
        return Err("no frame begins here".to_string());
    }
    let length = u32::from_le_bytes([l0, l1, l2, l3]);
    if u64::from(length) > MAX_PAYLOAD_BYTES {
        return Err(format!(
            "the frame says it has {length} bytes, the limit is 50331648"
        ));
    }
    let kind = match kind {
        1 => Kind::Commit,
        2 => Kind::GroupEnd,
        3 => Kind::Closed,
        4 => Kind::Sealed,
        other => return Err(format!("the frame has the unknown kind {other}")),
    };
    let checksum = u32::from_le_bytes([c0, c1, c2, c3]);
    Ok(FrameHead {
        length: length as usize,
        checksum,
        kind,
    })
}

impl FrameHead {
    /// Compares the payload with the checksum.
    pub(crate) fn check(&self, at: Position, payload: &[u8]) -> Result<(), String> {
        let found = checksum(at, self.kind as u8, self.length as u32, payload);
        if found == self.checksum {
            return Ok(());
        }
        let expected = self.checksum;
        Err(format!(
            "the frame's CRC-32C is {found:08x}, written was {expected:08x}"
        ))
    }
}

/// Reads a whole frame that lies in memory; none unless every byte of it is right.
pub(crate) fn whole(at: Position, bytes: &[u8]) -> Option<(Kind, &[u8])> {
    let (fixed, rest) = bytes.split_first_chunk::<HEAD_BYTES>()?;
    let head = head(fixed).ok()?;
    let payload = rest.get(..head.length)?;
    head.check(at, payload).ok()?;
    Some((head.kind, payload))
}

/// Reads the numbers of a mark's payload.
pub(crate) fn numbers<const N: usize>(payload: &[u8]) -> Option<[u64; N]> {
    let (chunks, rest) = payload.as_chunks::<8>();
    let chunks: &[[u8; 8]; N] = chunks.try_into().ok()?;
    rest.is_empty().then(|| chunks.map(u64::from_le_bytes))
}

fn checksum(at: Position, kind: u8, length: u32, payload: &[u8]) -> u32 {
    let mut fixed = [0; HEAD_BYTES];
    fixed[..8].copy_from_slice(&at.0.to_le_bytes());
    fixed[8..12].copy_from_slice(&length.to_le_bytes());
    fixed[12] = kind;
    crc32c::crc32c_append(crc32c::crc32c(&fixed), payload)
}

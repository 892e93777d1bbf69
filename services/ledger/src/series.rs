//! Sealed columns of numbers, such as a cure log: small, exact, checked.
//!
//! A value is an integer times a power of ten that the column names: 71.3 with scale -1 is 713.
//! Per column: name, scale, count, a bitmap of present values if any is absent, then the present
//! values as zigzag varints of their differences. All columns together are compressed with zstd.

use bytes::Bytes;
use thiserror::Error;

const PACKED: &[u8; 4] = b"OBS1";
const PLAIN: &[u8; 4] = b"OBS0";
const HEAD_BYTES: usize = 12;
const ZSTD_LEVEL: i32 = 1;
/// Columns of one chunk at most.
pub const MAX_COLUMNS: usize = 256;
/// Unpacked size of one chunk at most; a bomb is refused before it is unpacked.
pub const MAX_RAW_BYTES: usize = 256 << 20;

/// One channel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Name with its unit, such as `head_3_temperature_celsius`.
    pub name: String,
    /// Power of ten the values are multiplied with: -1 for tenths.
    pub scale: i32,
    /// One value per sample; none where the channel has none.
    pub values: Vec<Option<i64>>,
}

/// Why a chunk cannot be unpacked.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[error("the series chunk cannot be read: {what}")]
pub struct SeriesError {
    /// What is wrong with it.
    pub what: String,
}

/// Packs columns into one chunk; beyond [`MAX_COLUMNS`] or [`MAX_RAW_BYTES`] none can unpack it.
pub fn encode(columns: &[Column]) -> Bytes {
    let samples = columns
        .iter()
        .map(|column| column.values.len())
        .sum::<usize>();
    let mut raw = Vec::with_capacity(samples * 2 + 64 * columns.len());
    put(&mut raw, columns.len() as u64);
    for column in columns {
        encode_column(&mut raw, column);
    }
    let length = raw.len() as u32;
    // Without memory for zstd the chunk is merely larger.
    let (magic, packed) = match zstd::bulk::compress(&raw, ZSTD_LEVEL) {
        Ok(packed) => (PACKED, packed),
        Err(_) => (PLAIN, raw),
    };
    let mut out = Vec::with_capacity(HEAD_BYTES + packed.len());
    out.extend_from_slice(magic);
    out.extend_from_slice(&length.to_le_bytes());
    out.extend_from_slice(&crc32c::crc32c(&packed).to_le_bytes());
    out.extend_from_slice(&packed);
    out.into()
}

/// Unpacks a chunk.
///
/// # Errors
/// The bytes are not exactly a chunk that [`encode`] made.
pub fn decode(chunk: &[u8]) -> Result<Vec<Column>, SeriesError> {
    let (head, packed) = chunk
        .split_first_chunk::<HEAD_BYTES>()
        .filter(|(head, _)| head.starts_with(PACKED) || head.starts_with(PLAIN))
        .ok_or_else(|| wrong("it does not begin as a series chunk"))?;
    let word = |at: usize| u32::from_le_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    let length = word(4) as usize;
    if length > MAX_RAW_BYTES {
        return Err(wrong(format!("it says it unpacks to {length} bytes")));
    }
    if crc32c::crc32c(packed) != word(8) {
        return Err(wrong("its checksum does not fit"));
    }
    let raw = match head.starts_with(PLAIN) {
        true => packed.to_vec(),
        false => {
            zstd::bulk::decompress(packed, length).map_err(|error| wrong(error.to_string()))?
        }
    };
    if raw.len() != length {
        return Err(wrong("it unpacks to fewer bytes than it says"));
    }
    let mut rest = raw.as_slice();
    let columns = decode_columns(&mut rest).ok_or_else(|| wrong("a column ends too early"))?;
    if !rest.is_empty() {
        return Err(wrong("bytes follow the last column"));
    }
    Ok(columns)
}

/// Puts chunks into one blob, each behind its length in four bytes.
pub fn join(chunks: &[Bytes]) -> Bytes {
    let mut blob = Vec::with_capacity(chunks.iter().map(|chunk| chunk.len() + 4).sum());
    for chunk in chunks {
        blob.extend_from_slice(&(chunk.len() as u32).to_le_bytes());
        blob.extend_from_slice(chunk);
    }
    blob.into()
}

/// Chunks of a blob that [`join`] made, in order.
///
/// # Errors
/// The blob ends inside a chunk.
pub fn chunks(blob: &[u8]) -> Result<Vec<&[u8]>, SeriesError> {
    let (mut rest, mut found) = (blob, Vec::new());
    while !rest.is_empty() {
        let framed = rest.split_first_chunk::<4>();
        let framed = framed.and_then(|(length, after)| {
            after.split_at_checked(u32::from_le_bytes(*length) as usize)
        });
        let (chunk, after) = framed.ok_or_else(|| wrong("the blob ends inside a chunk"))?;
        found.push(chunk);
        rest = after;
    }
    Ok(found)
}

fn encode_column(raw: &mut Vec<u8>, column: &Column) {
    put(raw, column.name.len() as u64);
    raw.extend_from_slice(column.name.as_bytes());
    put(raw, zigzag(i64::from(column.scale)));
    put(raw, column.values.len() as u64);
    let has_absent = column.values.contains(&None);
    raw.push(u8::from(has_absent));
    if has_absent {
        let bits = column.values.chunks(8).map(|eight| {
            let bit = |(place, value): (usize, &Option<i64>)| u8::from(value.is_some()) << place;
            eight.iter().enumerate().map(bit).sum::<u8>()
        });
        raw.extend(bits);
    }
    let mut last = 0;
    for value in column.values.iter().flatten() {
        put(raw, zigzag(value.wrapping_sub(last)));
        last = *value;
    }
}

fn decode_columns(rest: &mut &[u8]) -> Option<Vec<Column>> {
    let count = usize::try_from(take(rest)?).ok()?;
    if count > MAX_COLUMNS {
        return None;
    }
    (0..count).map(|_| decode_column(rest)).collect()
}

fn decode_column(rest: &mut &[u8]) -> Option<Column> {
    let length = usize::try_from(take(rest)?).ok()?;
    let name = String::from_utf8(cut(rest, length)?.to_vec()).ok()?;
    let scale = i32::try_from(unzigzag(take(rest)?)).ok()?;
    let count = usize::try_from(take(rest)?).ok()?;
    let bitmap = match cut(rest, 1)? {
        [0] => None,
        [1] => Some(cut(rest, count.div_ceil(8))?),
        _ => return None,
    };
    if bitmap.is_none() && count > rest.len() {
        return None;
    }
    let mut values = Vec::with_capacity(count);
    let mut last: i64 = 0;
    for place in 0..count {
        if bitmap.is_none_or(|bits| bits[place / 8] >> (place % 8) & 1 == 1) {
            last = last.wrapping_add(unzigzag(take(rest)?));
            values.push(Some(last));
        } else {
            values.push(None);
        }
    }
    Some(Column {
        name,
        scale,
        values,
    })
}

fn cut<'a>(rest: &mut &'a [u8], length: usize) -> Option<&'a [u8]> {
    let (part, after) = rest.split_at_checked(length)?;
    *rest = after;
    Some(part)
}

fn zigzag(value: i64) -> u64 {
    ((value << 1) ^ (value >> 63)) as u64
}

fn unzigzag(value: u64) -> i64 {
    (value >> 1) as i64 ^ -((value & 1) as i64)
}

fn put(out: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        out.push(value as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

fn take(rest: &mut &[u8]) -> Option<u64> {
    let mut value = 0;
    for shift in (0..64).step_by(7) {
        let (&byte, after) = rest.split_first()?;
        *rest = after;
        value |= u64::from(byte & 0x7f) << shift;
        if byte < 0x80 {
            return Some(value);
        }
    }
    None
}

fn wrong(what: impl Into<String>) -> SeriesError {
    SeriesError { what: what.into() }
}

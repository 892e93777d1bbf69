//! A reader of the one form of ZIP that packages have, strict about each byte.
//!
//! Form: APPNOTE 6.3.10 without ZIP64, data descriptors, extra fields, comments or encryption;
//! names are plain ASCII in rising order, times are 1980-01-01; entries are stored or deflated. The
//! central directory is made again from the entries and compared: nothing hides between the two.

use std::{collections::HashSet, io::Read};

use flate2::{Crc, bufread::DeflateDecoder};

use super::Damage;

/// Most that a package may unpack to.
pub(super) const UNPACKED_BYTES: usize = 200_000_000;
/// Most entries.
const ENTRIES: usize = 1_000;
/// Most bytes that one packed byte may become.
const RATIO: usize = 100;
/// Longest name.
const NAME_BYTES: usize = 240;
/// Bytes of a local header without its name.
const LOCAL_BYTES: usize = 30;
const LOCAL: u32 = 0x0403_4b50;
const CENTRAL: u32 = 0x0201_4b50;
const END: u32 = 0x0605_4b50;
const VERSION: u16 = 20;
/// 1980-01-01 in the form of DOS.
const DATE: u16 = 0x0021;
const STORED: u16 = 0;
const DEFLATED: u16 = 8;

/// One unpacked entry.
#[derive(Debug)]
pub(super) struct Entry {
    /// Name with the top folder.
    pub(super) name: String,
    /// Where its local header begins.
    pub(super) offset: usize,
    /// Unpacked content.
    pub(super) data: Vec<u8>,
    head: Head,
}

/// All entries in the order of the file.
#[derive(Debug)]
pub(super) struct Archive {
    pub(super) entries: Vec<Entry>,
}

#[derive(Debug, Clone, Copy)]
struct Head {
    method: u16,
    crc: u32,
    packed: u32,
    size: u32,
}

/// Reads a package from its first byte to its last.
pub(super) fn read(bytes: &[u8]) -> Result<Archive, Damage> {
    let mut entries: Vec<Entry> = Vec::new();
    let (mut at, mut unpacked) = (0, 0);
    while bytes[at..].starts_with(&LOCAL.to_le_bytes()) {
        if entries.len() == ENTRIES {
            return Err(Damage::new(
                at,
                "",
                format!("it has more than {ENTRIES} entries"),
            ));
        }
        let (entry, end) = entry(bytes, at, UNPACKED_BYTES - unpacked)?;
        unpacked += entry.data.len();
        entries.push(entry);
        at = end;
    }
    if entries.is_empty() {
        return Err(Damage::new(0, "", "it does not begin as a package"));
    }
    check_names(&entries)?;
    let expected = directory(&entries, at);
    let found = &bytes[at..];
    if found != expected {
        let same = found
            .iter()
            .zip(&expected)
            .take_while(|(a, b)| a == b)
            .count();
        let what = "the directory does not say what the entries say";
        return Err(Damage::new(at + same, "", what));
    }
    Ok(Archive { entries })
}

fn entry(bytes: &[u8], at: usize, left: usize) -> Result<(Entry, usize), Damage> {
    let short = |name: &str| Damage::new(at, name, "the file ends inside this entry");
    let head = bytes.get(at..at + LOCAL_BYTES).ok_or_else(|| short(""))?;
    let half = |place: usize| u16::from_le_bytes([head[place], head[place + 1]]);
    let word = |place: usize| u32::from(half(place)) | u32::from(half(place + 2)) << 16;
    let (packed, size, name_length) = (word(18), word(22), usize::from(half(26)));
    let found = Head {
        method: half(8),
        crc: word(14),
        packed,
        size,
    };
    let start = at + LOCAL_BYTES + name_length;
    let name = bytes
        .get(at + LOCAL_BYTES..start)
        .ok_or_else(|| short(""))?;
    let name = plain(name).map_err(|what| Damage::new(at + LOCAL_BYTES, "", what))?;
    let expected = local_header(&name, found);
    if head != &expected[..LOCAL_BYTES] {
        let same = head
            .iter()
            .zip(&expected)
            .take_while(|(a, b)| a == b)
            .count();
        return Err(Damage::new(
            at + same,
            name,
            "its header is not in the form of a package",
        ));
    }
    let end = start.saturating_add(packed as usize);
    let content = bytes.get(start..end).ok_or_else(|| short(&name))?;
    let wrong = |what: String| Damage::new(start, name.as_str(), what);
    if size as usize > left {
        return Err(wrong(format!(
            "it unpacks to more than {UNPACKED_BYTES} bytes in all"
        )));
    }
    let data = unpacked(content, found).map_err(wrong)?;
    let mut crc = Crc::new();
    crc.update(&data);
    if crc.sum() != found.crc {
        return Err(wrong("its content does not fit its checksum".to_owned()));
    }
    Ok((
        Entry {
            name,
            offset: at,
            data,
            head: found,
        },
        end,
    ))
}

fn unpacked(content: &[u8], head: Head) -> Result<Vec<u8>, String> {
    let size = head.size as usize;
    match head.method {
        STORED if content.len() == size => Ok(content.to_vec()),
        STORED => Err("it is stored and its two sizes differ".to_owned()),
        DEFLATED if size > content.len().saturating_mul(RATIO) => {
            Err(format!("it unpacks to more than {RATIO} times its size"))
        }
        DEFLATED => {
            let mut decoder = DeflateDecoder::new(content);
            let mut data = Vec::with_capacity(size);
            // One byte more than said is enough to see that there is more.
            let read = decoder
                .by_ref()
                .take(size as u64 + 1)
                .read_to_end(&mut data);
            read.map_err(|error| format!("it cannot be unpacked: {error}"))?;
            if data.len() != size || decoder.total_in() != content.len() as u64 {
                return Err("it does not unpack to the size it says".to_owned());
            }
            Ok(data)
        }
        method => Err(format!(
            "it is packed by method {method}, packages use 0 and 8"
        )),
    }
}

/// A name that every system unpacks to the same place below the current folder.
fn plain(name: &[u8]) -> Result<String, String> {
    let text = String::from_utf8_lossy(name).into_owned();
    let allowed = |b: &u8| b.is_ascii_alphanumeric() || b"._-+@/".contains(b);
    let part = |part: &str| !part.is_empty() && !part.ends_with('.') && part.len() <= 120;
    if !name.iter().all(allowed) || name.len() > NAME_BYTES || !text.split('/').all(part) {
        return Err(format!(
            "an entry has the name {text:?}, which packages do not use"
        ));
    }
    Ok(text)
}

/// Names rise, so that no two are the same; the signature over the rest comes last.
fn check_names(entries: &[Entry]) -> Result<(), Damage> {
    let sorted = &entries[..entries.len() - 1];
    for pair in sorted.windows(2) {
        if pair[0].name >= pair[1].name {
            let what = "its name does not follow the one before";
            return Err(Damage::new(pair[1].offset, &pair[1].name, what));
        }
    }
    let mut seen = HashSet::new();
    for entry in entries {
        if !seen.insert(entry.name.to_ascii_lowercase()) {
            let what = "another entry has the same name but for capitals";
            return Err(Damage::new(entry.offset, &entry.name, what));
        }
    }
    Ok(())
}

fn local_header(name: &str, head: Head) -> Vec<u8> {
    let mut out = LOCAL.to_le_bytes().to_vec();
    put_common(&mut out, name, head);
    out.extend_from_slice(name.as_bytes());
    out
}

/// What a local header and a row of the directory have in common: version to extra length.
fn put_common(out: &mut Vec<u8>, name: &str, head: Head) {
    for value in [VERSION, 0, head.method, 0, DATE] {
        out.extend_from_slice(&value.to_le_bytes());
    }
    for value in [head.crc, head.packed, head.size] {
        out.extend_from_slice(&value.to_le_bytes());
    }
    for value in [name.len() as u16, 0] {
        out.extend_from_slice(&value.to_le_bytes());
    }
}

/// The directory and its end, as the entries imply them.
fn directory(entries: &[Entry], start: usize) -> Vec<u8> {
    let mut out = Vec::new();
    for entry in entries {
        out.extend_from_slice(&CENTRAL.to_le_bytes());
        out.extend_from_slice(&VERSION.to_le_bytes());
        put_common(&mut out, &entry.name, entry.head);
        out.extend_from_slice(&[0; 10]);
        out.extend_from_slice(&(entry.offset as u32).to_le_bytes());
        out.extend_from_slice(entry.name.as_bytes());
    }
    let (size, count) = (out.len() as u32, entries.len() as u16);
    out.extend_from_slice(&END.to_le_bytes());
    out.extend_from_slice(&[0; 4]);
    out.extend_from_slice(&count.to_le_bytes());
    out.extend_from_slice(&count.to_le_bytes());
    out.extend_from_slice(&size.to_le_bytes());
    out.extend_from_slice(&(start as u32).to_le_bytes());
    out.extend_from_slice(&[0; 2]);
    out
}

//! A package is taken as it was signed, or not at all.

use std::{
    io::{Cursor, Write},
    sync::LazyLock,
};

use obvert_cli::Exit;
use rand::{RngExt, SeedableRng, rngs::SmallRng};

use super::sample::{files, package, signer, verified};

static PACKAGE: LazyLock<Vec<u8>> = LazyLock::new(package);

#[test]
fn a_package_is_intact_and_its_signer_is_checked_only_when_asked() {
    let open = verified(&PACKAGE, None).unwrap();
    assert!(!open.signer_checked);
    assert!(
        open.to_string().ends_with("intact; signer not checked"),
        "{open}"
    );
    assert_eq!(open.signer_fingerprint, signer().fingerprint());
    let known = verified(&PACKAGE, Some(signer().fingerprint())).unwrap();
    assert!(
        known.signer_checked && known.verdict.starts_with("accepted: "),
        "{known}"
    );
}

#[test]
fn another_fingerprint_is_refused() {
    let other = verified(&PACKAGE, Some(&"0".repeat(64))).unwrap_err();
    assert_eq!(other.exit, Exit::VerificationFailed);
    assert!(other.places[0].1.contains("you asked for 0000"), "{other}");
}

#[test]
fn a_byte_flipped_anywhere_is_refused() {
    let size = PACKAGE.len();
    let mut random = SmallRng::seed_from_u64(20_260_504);
    let mut places: Vec<usize> = (0..3_000).map(|_| random.random_range(0..size)).collect();
    places.extend(headers().into_iter().step_by(5));
    let directory = size - 22 - directory_bytes();
    places.extend((directory..size).step_by(5));
    places.extend(size - 22..size);
    let (left, right) = places.split_at(places.len() / 2);
    std::thread::scope(|scope| {
        for half in [left, right] {
            scope.spawn(move || {
                let mut bytes = PACKAGE.clone();
                for &place in half {
                    let kept = bytes[place];
                    bytes[place] ^= 1 << (place % 8);
                    let refused = verified(&bytes, None).map(|_| place).unwrap_err();
                    assert_eq!(refused.exit, Exit::VerificationFailed, "byte {place}");
                    assert!(refused.places[0].0.contains(" at byte "), "{refused}");
                    bytes[place] = kept;
                }
            });
        }
    });
}

#[test]
fn a_short_or_a_long_file_is_refused() {
    let size = PACKAGE.len();
    for short in [0, 1, 29, 30, size / 3, size - 23, size - 22, size - 1] {
        assert!(
            verified(&PACKAGE[..short], None).is_err(),
            "{short} of {size} bytes"
        );
    }
    let mut long = PACKAGE.clone();
    long.push(0);
    assert!(verified(&long, None).is_err());
    let mut before = b"x".to_vec();
    before.extend_from_slice(&PACKAGE);
    assert!(verified(&before, None).is_err());
}

#[test]
fn a_name_that_leaves_the_folder_is_refused() {
    for name in [
        "../a",
        "/a",
        "top/../../a",
        "c:/a",
        "top\\a",
        "top//a",
        "top/a.",
    ] {
        let refused = verified(&zipped(name, b"a"), None).unwrap_err();
        assert!(
            refused.places[0].1.contains("packages do not use"),
            "{name}: {refused}"
        );
    }
}

#[test]
fn a_package_packed_again_by_another_program_is_refused() {
    let mut again = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (path, data) in files(&PACKAGE) {
        again.start_file(format!("s-1/{path}"), stored).unwrap();
        again.write_all(&data).unwrap();
    }
    let again = again.finish().unwrap().into_inner();
    assert!(verified(&again, None).is_err());
}

/// Every byte of every local header with its name.
fn headers() -> Vec<usize> {
    let mut places = Vec::new();
    let mut archive = zip::ZipArchive::new(Cursor::new(PACKAGE.as_slice())).unwrap();
    for place in 0..archive.len() {
        let entry = archive.by_index_raw(place).unwrap();
        let start = usize::try_from(entry.header_start()).unwrap();
        places.extend(start..start + 30 + entry.name().unwrap().len());
    }
    places
}

fn directory_bytes() -> usize {
    let end = &PACKAGE[PACKAGE.len() - 22..];
    u32::from_le_bytes([end[12], end[13], end[14], end[15]]) as usize
}

/// A file of one stored entry in the form of packages.
fn zipped(name: &str, data: &[u8]) -> Vec<u8> {
    let length = u16::try_from(name.len()).unwrap().to_le_bytes();
    let size = u32::try_from(data.len()).unwrap().to_le_bytes();
    let crc = 0xe8b7_be43_u32.to_le_bytes();
    let head = [
        &[20, 0, 0, 0, 0, 0, 0, 0, 0x21, 0][..],
        &crc,
        &size,
        &size,
        &length,
        &[0, 0],
    ];
    let mut out = b"PK\x03\x04".to_vec();
    out.extend(head.concat());
    out.extend_from_slice(name.as_bytes());
    out.extend_from_slice(data);
    out
}

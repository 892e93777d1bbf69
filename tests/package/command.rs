//! `obvert package verify` as a person runs it: bad files are refused by exit code 8 and by name.

use std::{fs, process::Command};

use super::{
    assembling::stored,
    forging::{Entry, packed, signed_again},
    sample::{files, package, signed},
};
use crate::{
    audit::copied_store,
    closeout::fixture::SEGMENT,
    server::{
        files::obvert,
        support::{Server, prepared, program},
    },
};

/// Exit code and what was printed on standard error.
fn verify(bytes: &[u8]) -> (Option<i32>, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s-1-r80.zip");
    fs::write(&path, bytes).unwrap();
    let ended = Command::new(program("obvert"))
        .args(["package", "verify"])
        .arg(&path)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&ended.stderr).into_owned();
    (ended.status.code(), said)
}

#[track_caller]
fn refused(bytes: &[u8], says: &str) {
    let (code, said) = verify(bytes);
    assert_eq!(code, Some(8), "{said}");
    assert!(said.contains(says), "{said}");
    assert!(said.contains("s-1-r80.zip"), "{said}");
}

#[test]
fn a_whole_package_passes() {
    assert_eq!(verify(&package()), (Some(0), String::new()));
}

/// What bag-info.txt of the sample says, changed.
pub(super) fn info_with(was: &str, is: &str) -> String {
    let info = String::from_utf8(files(&package())["bag-info.txt"].clone()).unwrap();
    let changed = info.replace(was, is);
    assert_ne!(info, changed);
    changed
}

#[test]
fn a_package_of_a_newer_form_is_called_newer_and_never_forged() {
    let info = info_with("Obvert-Package-Format: 1", "Obvert-Package-Format: 2");
    let signed = signed_again("bag-info.txt", info.as_bytes());
    // A newer form may also have files that this program does not know.
    let parts = [("bag-info.txt", info.as_str()), ("tag-of-later.txt", "x")];
    let strange = parts.map(|(path, text)| Entry::stored(&format!("s-1/{path}"), text.as_bytes()));
    for bytes in [signed, packed(&strange)] {
        let (code, said) = verify(&bytes);
        assert_eq!(code, Some(8), "{said}");
        let first = said.lines().next().unwrap();
        assert!(first.contains("verify it with a newer obvert"), "{said}");
        assert!(said.contains("format 2, this program knows 1"), "{said}");
        assert!(!said.contains("ask for it again"), "{said}");
    }
}

#[test]
fn a_form_that_no_version_has_is_no_newer_one() {
    for form in ["0", "-2", "two"] {
        let info = info_with("Package-Format: 1", &format!("Package-Format: {form}"));
        refused(
            &signed_again("bag-info.txt", info.as_bytes()),
            "which no package has",
        );
    }
}

#[test]
fn a_changed_byte_in_a_file_is_named_with_its_place() {
    let mut bytes = package();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    refused(&bytes, " at byte ");
}

#[test]
fn a_path_that_leaves_the_bag_is_named() {
    let climbing = [Entry::stored("s-1/data/../../outside", b"x")];
    refused(&packed(&climbing), "s-1/data/../../outside");
}

#[test]
fn a_list_that_names_a_file_outside_the_bag_is_refused_though_it_is_signed() {
    let whole = files(&package());
    let manifest = String::from_utf8(whole["manifest-sha256.txt"].clone()).unwrap();
    let longer = format!("{manifest}{}  ../../outside\n", "0".repeat(64));
    refused(
        &signed_again("manifest-sha256.txt", longer.as_bytes()),
        "../../outside",
    );
}

#[test]
fn a_thousand_and_one_entries_are_refused() {
    let entries: Vec<_> = (0..1_001)
        .map(|number| Entry::stored(&format!("s-1/data/{number:04}"), b"x"))
        .collect();
    refused(&packed(&entries), "it has more than 1000 entries");
}

#[test]
fn more_than_two_hundred_megabytes_are_refused() {
    let wide = Entry {
        size: 200_000_001,
        method: 8,
        ..Entry::stored("s-1/data/wide", &[0; 64])
    };
    refused(
        &packed(&[wide]),
        "it unpacks to more than 200000000 bytes in all",
    );
    let whole = vec![0; 70_000_000];
    let three = ["a", "b", "c"].map(|name| Entry::stored(&format!("s-1/data/{name}"), &whole));
    refused(&packed(&three), "a package has at most 201048576");
}

#[test]
fn more_than_a_hundredfold_is_refused() {
    let bomb = Entry::zeros("s-1/data/zeros", 10_000_000);
    refused(
        &packed(&[bomb]),
        "it unpacks to more than 100 times its size",
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_package_that_is_only_asked_for_is_no_failure_when_it_could_be_made() {
    let store = stored(&signed()).await;
    store.ledger.close().await;
    let folder = prepared("");
    copied_store(store.folder.path(), folder.path());
    let server = Server::start_in(folder);
    server.write_office_key();
    let words = format!("package assemble {SEGMENT} --validate-only");
    let (code, printed) = obvert(&server, &words);
    assert_eq!(code, 0, "{printed}");
    assert_eq!(printed.trim(), "every point is past; nothing was assembled");
    let (_, listed) = obvert(&server, "--json package list --project quillfern");
    assert!(!listed.contains("/packages/"), "{listed}");
}

//! Names from outside that reach the disk: none leaves its folder.

use std::fs;
use std::path::{Path, PathBuf};

use obvert_cli::plain_file_name;
use obvert_ledger::{Ledger, LedgerConfig};
use tempfile::tempdir;

use crate::ledger::support::run;
use crate::server::support::Server;

const CLIMBING: [&str; 8] = [
    "../../outside",
    "..",
    "/tmp/outside",
    "a/../../../outside",
    "a\\..\\..\\outside",
    "%2e%2e%2foutside",
    "outside\0.zip",
    "~/outside",
];

/// Every file below a folder.
fn tree(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for file in fs::read_dir(folder).unwrap() {
        let path = file.unwrap().path();
        if path.is_dir() {
            found.extend(tree(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}

#[test]
fn a_name_of_an_upload_or_a_sheet_becomes_digits_before_it_is_a_path() {
    let outer = tempdir().unwrap();
    let folder = outer.path().join("store");
    run(async {
        let ledger = Ledger::open(LedgerConfig::new(&folder)).await.unwrap();
        for name in CLIMBING {
            ledger.blobs().begin(name.to_owned()).await.unwrap();
            let sheets = ledger.sheets();
            let sealed = sheets.put(name.into(), b"x".into(), [1; 32], [2; 32], [3; 12]);
            sealed.await.unwrap();
        }
        ledger.close().await;
    });
    for path in tree(outer.path()) {
        let inside = path.strip_prefix(&folder).unwrap();
        let text = inside.to_str().unwrap();
        assert!(!text.contains("outside"), "{text}");
    }
}

#[test]
fn the_program_writes_a_download_under_no_name_that_leaves_its_folder() {
    assert_eq!(
        plain_file_name("s-ql-04-r212.zip").unwrap(),
        "s-ql-04-r212.zip"
    );
    for name in CLIMBING
        .iter()
        .chain(&["", ".zip", "a.zip/", "x\n.zip", "../a.zip", "a b.zip"])
    {
        let refused = plain_file_name(name).unwrap_err();
        assert!(
            refused.message.contains("no name of a package"),
            "{refused}"
        );
    }
}

#[test]
fn a_page_s_address_reads_no_file() {
    let server = Server::start("");
    let key = server.key();
    for path in [
        "/../../etc/passwd",
        "/style.css/../../etc/passwd",
        "/projects/..%2f..%2fstore%2fmaster.key",
        "/projects/a/packages/..%2f..%2f..%2fstore%2fbootstrap.key",
        "/projects/office/packages/..",
        "/projects/a/segments/%00",
    ] {
        let head = format!("GET {path} HTTP/1.1\r\nauthorization: Bearer {key}");
        let answer = server.http(&head, "");
        let status = answer.lines().next().unwrap_or_default();
        assert!(
            status.contains(" 404 ") || status.contains(" 400 "),
            "{path}: {answer}"
        );
        assert!(
            !answer.contains("root:") && !answer.contains("obv_"),
            "{answer}"
        );
    }
}

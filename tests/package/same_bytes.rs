//! One store, copied: servers in other folders, zones, languages, years and users make the same package.

use std::{fs, os::unix::process::CommandExt, path::Path, process::Command};

use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::{
    closeout::v1::{
        AssemblePackageRequest, DownloadPackageRequest, Package,
        closeout_service_client::CloseoutServiceClient,
    },
    common::v1::Write,
};
use tempfile::TempDir;

use super::{
    assembling::file,
    sample::{signed, verified},
};
use crate::{
    closeout::fixture::SEGMENT,
    server::support::{Server, prepared, write_config},
};

/// A user of every Debian with no rights at all.
const NOBODY: u32 = 65_534;
/// Debian's library that shows a program another time.
const FAKETIME: &str = "/usr/lib/x86_64-linux-gnu/faketime/libfaketime.so.1";

/// What a server is started with besides.
type Change<'a> = &'a dyn Fn(&mut Command);

/// A folder with a copy of everything in another.
fn copied(original: &Path, parent: &Path) -> TempDir {
    let copy = TempDir::new_in(parent).unwrap();
    let from = format!("{}/.", original.display());
    let done = Command::new("cp")
        .args(["-a", &from])
        .arg(copy.path())
        .status();
    assert!(done.unwrap().success());
    write_config(copy.path(), "127.0.0.1:0", "");
    copy
}

/// Has a running server make the package of the segment.
pub(super) async fn assembled(server: &Server) -> (Package, Vec<u8>) {
    let mut client = CloseoutServiceClient::new(server.keyed().await);
    let request = AssemblePackageRequest {
        write: Some(Write {
            request_id: "one".into(),
            ..Write::default()
        }),
        segment: SEGMENT.into(),
        with_people: false,
    };
    let mut steps = client.assemble_package(request).await.unwrap().into_inner();
    let (mut name, mut package) = (String::new(), None);
    while let Some(step) = steps.message().await.unwrap() {
        if let (Some(meta), Some(made)) = (step.meta, step.package) {
            (name, package) = (meta.name, Some(made));
        }
    }
    let request = DownloadPackageRequest {
        name,
        offset_bytes: 0,
    };
    let mut parts = client.download_package(request).await.unwrap().into_inner();
    let mut bytes = Vec::new();
    while let Some(part) = parts.message().await.unwrap() {
        bytes.extend_from_slice(&part.data);
    }
    (package.unwrap(), bytes)
}

fn is_root() -> bool {
    let id = Command::new("id").arg("-u").output().unwrap();
    id.stdout == b"0\n"
}

#[tokio::test(flavor = "multi_thread")]
async fn folder_zone_language_clock_and_user_change_no_byte_of_a_package() {
    let original = prepared("");
    let store = original.path().join("store");
    fs::create_dir(&store).unwrap();
    let ledger = Ledger::open(LedgerConfig::new(&store)).await.unwrap();
    file(&ledger, &signed()).await;
    ledger.close().await;
    let elsewhere = TempDir::new().unwrap();
    fs::create_dir(elsewhere.path().join("a folder with spaces")).unwrap();
    let first = Server::start_in(copied(original.path(), &std::env::temp_dir()));
    let (package, bytes) = assembled(&first).await;
    verified(&bytes, Some(&package.signer_fingerprint)).unwrap();
    let other = |what: &str, change: Change<'_>| {
        let folder = copied(
            original.path(),
            &elsewhere.path().join("a folder with spaces"),
        );
        if what == "user" && is_root() {
            let mut chown = Command::new("chown");
            chown
                .args(["-R", &NOBODY.to_string()])
                .arg(elsewhere.path());
            assert!(chown.status().unwrap().success());
        }
        Server::start_under(folder, "info", change)
    };
    // Without root there is no other user, and without the library only the later second.
    let changes: [(&str, Change<'_>); 4] = [
        ("zone", &|command| {
            command.env("TZ", "Pacific/Kiritimati").current_dir("/");
        }),
        ("language", &|command| {
            command
                .env("LC_ALL", "tr_TR.UTF-8")
                .env("LANG", "de_DE.UTF-8");
        }),
        ("clock", &|command| {
            if Path::new(FAKETIME).exists() {
                command.env("LD_PRELOAD", FAKETIME).env("FAKETIME", "+400d");
                command.env("DONT_FAKE_MONOTONIC", "1");
            }
        }),
        ("user", &|command| {
            if is_root() {
                command.uid(NOBODY).gid(NOBODY);
            }
        }),
    ];
    for (what, change) in changes {
        let server = other(what, change);
        let (again, same) = assembled(&server).await;
        assert_eq!(again.sha256, package.sha256, "another {what}");
        assert!(same == bytes, "another {what}");
    }
}

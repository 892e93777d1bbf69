//! The auditor's commands on the store of a real server.

use super::events::events;
use super::frames::Volume;
use crate::closeout::fixture::SEGMENT;
use crate::ledger::support::first_volume;
use crate::package::assembling::{assembled, stored};
use crate::package::sample::{press, signed};
use crate::server::support::{Server, program};
use obvert_closeout::Closeout;
use obvert_proto::project::v1::{
    ListKeysRequest, ListProjectsRequest, access_service_client::AccessServiceClient,
    project_service_client::ProjectServiceClient,
};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use tempfile::{TempDir, tempdir};

/// Runs `obvertd audit` to its end: exit code, standard output, standard error.
fn audit(words: &[&str]) -> (i32, String, String) {
    let ended = Command::new(program("obvertd"))
        .arg("audit")
        .args(words)
        .output()
        .unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let code = ended.status.code().unwrap();
    (code, text(&ended.stdout), text(&ended.stderr))
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// A server that refused some calls and pages and then stopped: its folder, and its first key.
async fn refused() -> (TempDir, String) {
    let mut server = Server::start("");
    let key = server.key();
    let mut client = ProjectServiceClient::new(server.channel().await);
    for _ in 0..50 {
        client
            .list_projects(ListProjectsRequest {})
            .await
            .unwrap_err();
    }
    let unknown = obvert_access::fresh_key([7; 32]);
    let head = format!("GET /projects/quillfern HTTP/1.1\r\nauthorization: Bearer {unknown}");
    assert!(server.http(&head, "").starts_with("HTTP/1.1 303"));
    let origin = format!("http://{}", server.address);
    let form = "content-type: application/x-www-form-urlencoded";
    let head = format!("POST /sign-in HTTP/1.1\r\norigin: {origin}\r\n{form}");
    assert!(
        server
            .http(&head, "key=obv_wrong")
            .starts_with("HTTP/1.1 401")
    );
    let head = format!("POST /{key} HTTP/1.1\r\ncontent-type: application/grpc");
    assert!(server.http(&head, "").contains("grpc-status: 12"));
    let mut keys = AccessServiceClient::new(server.keyed().await);
    keys.list_keys(ListKeysRequest {}).await.unwrap();
    drop((client, keys));
    server.terminate();
    assert!(server.ended().success());
    let moved = tempdir().unwrap();
    crate::ledger::support::copy_folder(&server.folder.path().join("store"), moved.path());
    (moved, key)
}

#[tokio::test(flavor = "multi_thread")]
async fn refusals_of_calls_and_pages_are_written_down_and_never_a_key() {
    let (store, key) = refused().await;
    let found = events(store.path());
    assert_eq!(
        found.iter().map(|event| event.count).sum::<i64>(),
        52,
        "{found:#?}"
    );
    let of = |method: &str| {
        let named = found
            .iter()
            .filter(|e| e.methods.iter().any(|m| m == method));
        named.map(|event| event.count).sum::<i64>()
    };
    assert!(of("/obvert.project.v1.ProjectService/ListProjects") >= 50);
    for method in ["/projects/{project}", "/sign-in"] {
        assert!(of(method) >= 1, "{method}: {found:#?}");
    }
    assert!(found.iter().any(|event| event.projects == ["quillfern"]));
    for event in &found {
        assert_eq!(event.peer_address, "127.0.0.1");
        assert_eq!(
            (event.principal.as_str(), event.reason.as_str()),
            ("unknown", "NOT_AUTHENTICATED")
        );
    }
    let secret = &key[4..40];
    let (code, out, _) = audit(&["export", text(store.path())]);
    assert_eq!(code, 0);
    let rows: Vec<Value> = out
        .lines()
        .map(|row| serde_json::from_str(row).unwrap())
        .collect();
    let commits: Vec<_> = rows.iter().filter(|row| row["kind"] == "commit").collect();
    assert!(
        commits
            .iter()
            .any(|row| row["project"] == "office" && row["revision"] == 1)
    );
    assert!(
        rows.iter()
            .any(|row| row["kind"] == "denied" && row["count"].as_i64() > Some(0))
    );
    assert!(!out.contains(secret) && !out.contains("\"body\""));
    let log = fs::read(first_volume(&store.path().join("access-log"))).unwrap();
    assert!(
        !log.windows(secret.len())
            .any(|part| part == secret.as_bytes())
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_store_is_held_against_a_checkpoint_and_each_part_that_differs_is_named() {
    let (store, _) = refused().await;
    let folder = text(store.path());
    let (code, heads, _) = audit(&["checkpoint", folder]);
    assert_eq!(code, 0);
    assert!(heads.contains("\"project\":\"office\"") && heads.contains("@access-log"));
    let kept = tempdir().unwrap();
    let kept = kept.path().join("heads.jsonl");
    fs::create_dir_all(kept.parent().unwrap()).unwrap();
    fs::write(&kept, &heads).unwrap();
    let (code, out, _) = audit(&["verify", folder, "--against", text(&kept)]);
    assert_eq!(code, 0, "{out}");
    assert!(out.contains("against 2 commits kept elsewhere"), "{out}");
    let parts = [
        ("journal", store.path().to_owned()),
        ("access log", store.path().join("access-log")),
    ];
    for (part, folder) in parts {
        let path = first_volume(&folder);
        let whole = fs::read(&path).unwrap();
        let mut volume = Volume::read(&whole);
        volume.forge(0, |commit| commit.reason = "never given".into());
        fs::write(&path, volume.bytes()).unwrap();
        let words = ["verify", text(store.path()), "--against", text(&kept)];
        let (code, out, said) = audit(&words);
        assert_eq!(code, 8, "{out}{said}");
        assert!(out.starts_with(&format!("{part}, volume 1 byte ")), "{out}");
        assert!(out.contains("the checkpoint knows"), "{out}");
        let mut bent = whole.clone();
        bent[60] ^= 1;
        fs::write(&path, bent).unwrap();
        let (code, out, _) = audit(&["verify", text(store.path())]);
        assert_eq!(code, 8, "{out}");
        assert!(
            out.starts_with(&format!("{part}, volume 1 byte 28 ")),
            "{out}"
        );
        fs::write(&path, whole).unwrap();
    }
    assert_eq!(audit(&["verify", folder]).0, 0);
}

#[test]
fn what_is_no_store_and_no_checkpoint_is_said() {
    let empty = tempdir().unwrap();
    let (code, _, said) = audit(&["verify", text(empty.path())]);
    assert_eq!(code, 1);
    assert!(said.contains("holds no store"), "{said}");
    fs::create_dir_all(empty.path().join("journal")).unwrap();
    for (file, words) in [
        ("", "it names no commit"),
        ("{\"project\":\"a\"}", "row 1 is no row of a checkpoint"),
        ("PK\u{3}\u{4}nothing", "no package"),
    ] {
        let path = empty.path().join("given");
        fs::write(&path, file).unwrap();
        let (code, _, said) = audit(&["verify", text(empty.path()), "--against", text(&path)]);
        assert_eq!(code, 1, "{said}");
        assert!(said.contains(words), "{said}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn any_issued_package_is_a_checkpoint_of_its_project() {
    let store = stored(&signed()).await;
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(press())));
    let answers = assembled(&service, "one").await.unwrap();
    let package = answers.last().unwrap().package.clone().unwrap();
    let sha256 = obvert_ledger::unhex(&package.sha256).unwrap();
    let size = package.size_bytes as u64;
    let bytes = store
        .ledger
        .blobs()
        .read_range(sha256, 0, size)
        .await
        .unwrap();
    store.ledger.close().await;
    let kept = tempdir().unwrap();
    let file = kept.path().join("package.zip");
    fs::write(&file, &bytes).unwrap();
    let folder = text(store.folder.path());
    let words = ["verify", folder, "--against", text(&file)];
    let (code, out, said) = audit(&words);
    assert_eq!(code, 0, "{out}{said}");
    assert!(out.contains("against 1 commit kept elsewhere"), "{out}");
    let path = first_volume(store.folder.path());
    let mut volume = Volume::read(&fs::read(&path).unwrap());
    let project = SEGMENT.split('/').nth(1).unwrap();
    let first = (0..).find(|place| volume.decoded(*place).project == project);
    volume.forge(first.unwrap(), |commit| {
        commit.reason = "never given".into()
    });
    fs::write(&path, volume.bytes()).unwrap();
    assert_eq!(
        audit(&["verify", folder]).0,
        0,
        "the forgery is consistent in itself"
    );
    let (code, out, _) = audit(&words);
    assert_eq!(code, 8, "{out}");
    let named = format!("({project}@{})", package.project_revision);
    assert!(
        out.contains(&named) && out.contains("written anew"),
        "{out}"
    );
}

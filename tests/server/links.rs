//! Links that open packages without a key: until a time, until revoked, and only as they were made.

use std::{
    io::{Read, Write as _},
    net::TcpStream,
    time::Duration,
};

use bytes::Bytes;
use obvert_access::{Link as Told, LinkSigner};
use obvert_ledger::{Caller, Draft, NewEntry, hex};
use obvert_proto::{
    closeout::v1::Package,
    common::v1::Write,
    project::v1::{
        CreateLinkRequest, CreateLinkResponse, ListLinksRequest, RevokeLinkRequest, Segment,
        access_service_client::AccessServiceClient,
    },
};
use prost::{Message, Name};
use sha2::{Digest, Sha256};

use super::{
    matrix::world::{keyed, write},
    support::{PATIENCE, Server, prepared},
};
use crate::{audit::copied_store, services::store::Store};

const BYTES: &[u8] = b"bytes of an issued package";
/// More than a connection holds on its way to a reader who waits.
const LARGE: usize = 24 << 20;
const PACKAGES: [&str; 2] = ["p-1", "p-2"];

/// A server whose project has two packages.
async fn server() -> Server {
    server_with(Bytes::from_static(BYTES), "").await
}

/// A server whose project has two packages of these bytes.
async fn server_with(bytes: Bytes, limits: &str) -> Server {
    let store = Store::with_project().await;
    let (size_bytes, sha256) = (bytes.len() as i64, hex(&Sha256::digest(&bytes)));
    store.ledger.blobs().put(bytes).await.unwrap();
    let package = |(id, project_revision): (&&str, i64)| {
        let package = Package {
            segment: "projects/quillfern/segments/s-1".into(),
            project_revision,
            file_name: format!("{id}.zip"),
            size_bytes,
            sha256: sha256.clone(),
            ..Package::default()
        };
        NewEntry {
            name: format!("projects/quillfern/packages/{id}"),
            type_name: Package::full_name(),
            body: package.encode_to_vec().into(),
            refers: Vec::new(),
            claims: Vec::new(),
        }
    };
    let pipe = Segment {
        owner_segment_id: "Q-001".into(),
        ..Segment::default()
    };
    let segment = NewEntry {
        name: "projects/quillfern/segments/s-1".into(),
        type_name: Segment::full_name(),
        body: pipe.encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    };
    let draft = Draft {
        project: "quillfern".into(),
        caller: Caller::default(),
        request_id: String::new(),
        request_digest: [0; 32],
        reason: String::new(),
        commit_time_ms: 1_770_000_000_000,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries: PACKAGES
            .iter()
            .zip(1..)
            .map(package)
            .chain([segment])
            .collect(),
    };
    store.ledger.commit(draft).await.unwrap();
    store.ledger.close().await;
    let folder = prepared(limits);
    copied_store(store.folder.path(), folder.path());
    Server::start_in(folder)
}

async fn link(server: &Server, id: &str, target: &str) -> CreateLinkResponse {
    let request = CreateLinkRequest {
        write: write(id),
        link_id: id.into(),
        target: target.into(),
        note: "the district's office".into(),
        valid_days: None,
    };
    let mut client = AccessServiceClient::new(server.channel().await);
    let made = client.create_link(keyed(&server.key(), request)).await;
    made.unwrap().into_inner()
}

fn page(server: &Server, path: &str) -> String {
    server.http(&format!("GET {path} HTTP/1.1"), "")
}

#[tokio::test]
async fn a_link_shows_and_opens_the_packages_of_its_project_without_a_key() {
    let server = server().await;
    let path = link(&server, "district", "projects/quillfern").await.path;
    let shown = page(&server, &path);
    assert!(shown.starts_with("HTTP/1.1 200"), "{shown}");
    for id in PACKAGES {
        assert!(shown.contains(&format!("{path}/packages/{id}")), "{shown}");
        let fetched = page(&server, &format!("{path}/packages/{id}"));
        assert!(fetched.ends_with("bytes of an issued package"), "{fetched}");
    }
    assert!(shown.contains("<th scope=\"row\">Q-001</th>"), "{shown}");
    // The later package of the segment stands first, and the earlier says that it is replaced.
    let later = shown.find("p-2.zip").unwrap();
    let (_, below) = shown.split_at(later);
    let earlier = below.find("p-1.zip").unwrap();
    assert!(!below[..earlier].contains("replaced by"), "{below}");
    assert!(below[earlier..].contains("replaced by"), "{below}");
}

#[tokio::test]
async fn a_link_to_one_package_opens_no_other() {
    let server = server().await;
    let path = link(&server, "one", "projects/quillfern/packages/p-1")
        .await
        .path;
    let shown = page(&server, &path);
    assert!(
        shown.contains("p-1.zip") && !shown.contains("p-2.zip"),
        "{shown}"
    );
    let own = page(&server, &format!("{path}/packages/p-1"));
    assert!(own.starts_with("HTTP/1.1 200"), "{own}");
    for other in ["p-2", "p-3"] {
        let refused = page(&server, &format!("{path}/packages/{other}"));
        assert!(refused.starts_with("HTTP/1.1 404"), "{refused}");
    }
}

#[tokio::test]
async fn a_revoked_an_altered_and_an_expired_link_get_the_same_plain_page() {
    let server = server().await;
    let made = link(&server, "district", "projects/quillfern").await;
    let (name, path) = (made.meta.unwrap().name, made.path);
    let mut altered = path.clone();
    let last = if altered.ends_with('0') { "1" } else { "0" };
    altered.replace_range(altered.len() - 1.., last);
    let foreign = LinkSigner::new(&[9; 32]).text(&Told {
        purpose: "packages".into(),
        project: "quillfern".into(),
        id: "district".into(),
        expire_time_ms: i64::MAX,
    });
    revoke(&server, &name).await;
    let body = |path: &str| {
        let answer = page(&server, path);
        assert!(answer.starts_with("HTTP/1.1 404"), "{answer}");
        answer.split("\r\n\r\n").nth(1).unwrap().to_owned()
    };
    let revoked = body(&path);
    assert!(revoked.contains("This link opens nothing"), "{revoked}");
    assert_eq!(body(&altered), revoked);
    assert_eq!(body(&format!("/links/{foreign}")), revoked);
    assert_eq!(body(&format!("{path}/packages/p-1")), revoked);
    let mut client = AccessServiceClient::new(server.channel().await);
    let list = ListLinksRequest {
        project: "quillfern".into(),
    };
    let listed = client.list_links(keyed(&server.key(), list)).await.unwrap();
    let listed = listed.into_inner().links;
    assert_eq!(listed.len(), 1);
    assert_eq!(listed[0].meta.as_ref().unwrap().name, name);
    assert!(listed[0].link.as_ref().unwrap().revoke_time.is_some());
}

#[tokio::test]
async fn a_download_by_a_link_breaks_off_when_the_link_is_revoked() {
    let server = server_with(vec![7; LARGE].into(), "").await;
    let made = link(&server, "district", "projects/quillfern").await;
    let mut stream = begun(&server, &made.path);
    revoke(&server, &made.meta.unwrap().name).await;
    // The reader waits, so that the sender cannot have sent all before it looks at the link again.
    tokio::time::sleep(Duration::from_secs(3)).await;
    let mut rest = Vec::new();
    let _ = stream.read_to_end(&mut rest);
    assert!(
        rest.len() < LARGE,
        "the whole package came: {} bytes",
        rest.len()
    );
}

#[tokio::test]
async fn a_reader_who_stops_in_the_middle_of_a_package_does_not_keep_the_server_up() {
    let mut server = server_with(vec![7; LARGE].into(), "[limits]\nshutdown_s = 1").await;
    let path = link(&server, "district", "projects/quillfern").await.path;
    let stuck = begun(&server, &path);
    server.terminate();
    assert_eq!(server.ended().code(), Some(0));
    drop(stuck);
}

/// A download of a package whose reader has read the first row and waits.
fn begun(server: &Server, path: &str) -> TcpStream {
    let mut stream = TcpStream::connect(server.address).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    let head = format!("GET {path}/packages/p-1 HTTP/1.1\r\nhost: x\r\n\r\n");
    stream.write_all(head.as_bytes()).unwrap();
    let mut first = [0; 12];
    stream.read_exact(&mut first).unwrap();
    assert_eq!(&first, b"HTTP/1.1 200");
    stream
}

#[tokio::test]
async fn a_link_ends_at_its_time() {
    let store = Store::with_project().await;
    let links = obvert_project::Links::new(store.ledger.clone(), LinkSigner::new(&[7; 32]));
    let keys = obvert_access::Keys::new(store.ledger.clone());
    let access = obvert_project::Access::new(store.ledger.clone(), keys, links.clone());
    let request = CreateLinkRequest {
        write: write("l-1"),
        link_id: "l-1".into(),
        target: "projects/quillfern".into(),
        note: "the district's office".into(),
        valid_days: Some(2),
    };
    let mut request = tonic::Request::new(request);
    request
        .extensions_mut()
        .insert(crate::services::store::office());
    use obvert_proto::project::v1::access_service_server::AccessService;
    let made = access.create_link(request).await.unwrap().into_inner();
    let end = made.link.unwrap().expire_time.unwrap();
    let end_ms = obvert_proto::dates::unix_ms(&end);
    let text = made.path.trim_start_matches("/links/");
    let open = links.open(text, end_ms - 1).await.unwrap().unwrap();
    assert_eq!(open.principal, "link/l-1");
    assert!(links.open(text, end_ms).await.unwrap().is_none());
}

async fn revoke(server: &Server, name: &str) {
    let request = RevokeLinkRequest {
        write: write("end").map(|write| Write {
            reason: "the contract is closed".into(),
            ..write
        }),
        name: name.into(),
    };
    let mut client = AccessServiceClient::new(server.channel().await);
    client
        .revoke_link(keyed(&server.key(), request))
        .await
        .unwrap();
}

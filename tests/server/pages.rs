//! Pages: sign-in, escaping, headers.

use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::{
    common::v1::{LengthBasis, Write},
    design::v1::AsBuiltCheck,
    project::v1::{
        CreateRecordRequest, Project, Record, project_service_client::ProjectServiceClient,
        record::Body,
    },
};

use super::support::{self, Server};
use crate::closeout::fixture::{
    SEGMENT,
    asked::{STRICT, clean_under},
    store,
};

#[test]
fn a_page_without_a_session_leads_to_the_sign_in() {
    let server = Server::start("");
    let answer = server.http("GET /projects/any HTTP/1.1", "");
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    assert!(answer.contains("location: /sign-in"));
}

#[test]
fn signing_in_sets_a_cookie_that_no_script_and_no_other_site_gets() {
    let server = Server::start("");
    let answer = sign_in(
        &server,
        &server.key(),
        &format!("http://{}", server.address),
    );
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    let cookie = cookie_of(&answer);
    for part in [
        "__Host-obvert=",
        "Path=/",
        "Secure",
        "HttpOnly",
        "SameSite=Strict",
    ] {
        assert!(cookie.contains(part), "{part} is missing in {cookie}");
    }
    assert!(!cookie.contains(&server.key()), "the cookie is not the key");
    let pair = pair_of(cookie);
    let page = server.http(&format!("GET / HTTP/1.1\r\ncookie: {pair}"), "");
    assert!(
        page.starts_with("HTTP/1.1 200") && page.contains("<h1>Projects</h1>"),
        "{page}"
    );
    let mut forged = pair.to_owned();
    let last = if forged.ends_with('0') { "1" } else { "0" };
    forged.replace_range(forged.len() - 1.., last);
    let refused = server.http(&format!("GET / HTTP/1.1\r\ncookie: {forged}"), "");
    assert!(refused.starts_with("HTTP/1.1 303"), "{refused}");
}

#[test]
fn a_form_from_another_site_is_refused() {
    let server = Server::start("");
    let answer = sign_in(&server, &server.key(), "http://other.invalid");
    assert!(answer.starts_with("HTTP/1.1 403"), "{answer}");
    assert!(!answer.contains("set-cookie"));
}

#[test]
fn a_wrong_key_is_told_without_a_session() {
    let server = Server::start("");
    let answer = sign_in(
        &server,
        "obv_nonsense",
        &format!("http://{}", server.address),
    );
    assert!(
        answer.starts_with("HTTP/1.1 401") && answer.contains("form obv_"),
        "{answer}"
    );
    assert!(!answer.contains("set-cookie"));
}

#[tokio::test]
async fn text_of_a_record_stays_text_on_a_page() {
    let server = Server::start("");
    let evil = "<script>alert(1)</script>";
    let project = Project {
        title: evil.into(),
        contract_number: "1".into(),
        owner: evil.into(),
        contractor: evil.into(),
        time_zone: "America/New_York".into(),
        pay_length_basis: LengthBasis::WallToWall.into(),
        ..Project::default()
    };
    let request = CreateRecordRequest {
        write: Some(Write {
            request_id: "r-1".into(),
            ..Write::default()
        }),
        project: "evil".into(),
        record_id: "evil".into(),
        record: Some(Record {
            meta: None,
            body: Some(Body::Project(project)),
        }),
    };
    let mut client = ProjectServiceClient::new(server.keyed().await);
    client.create_record(request).await.expect("written");
    for path in ["/", "/projects/evil"] {
        let head = format!(
            "GET {path} HTTP/1.1\r\nauthorization: Bearer {}",
            server.key()
        );
        let page = server.http(&head, "");
        assert!(page.starts_with("HTTP/1.1 200"), "{page}");
        assert!(
            page.contains("&lt;script&gt;") && !page.contains("<script"),
            "{page}"
        );
        assert!(page.contains("content-security-policy: default-src 'none'"));
    }
}

#[test]
fn a_page_that_does_not_exist_is_named_without_internals() {
    let server = Server::start("");
    let head = format!(
        "GET /projects/none HTTP/1.1\r\nauthorization: Bearer {}",
        server.key()
    );
    let page = server.http(&head, "");
    assert!(page.starts_with("HTTP/1.1 404"), "{page}");
    assert!(page.contains("projects/none does not exist"), "{page}");
}

#[tokio::test]
async fn the_page_of_a_segment_shows_each_row_of_the_list_of_evidence_and_days() {
    let folder = support::prepared("");
    let config = LedgerConfig::new(folder.path().join("store"));
    let ledger = Ledger::open(config).await.expect("a new store");
    let mut fixture = clean_under(STRICT);
    fixture.remove("documents/qualification-0");
    let installed = AsBuiltCheck {
        segment: SEGMENT.into(),
        ..AsBuiltCheck::default()
    };
    fixture.add("asBuiltChecks/a-1", installed);
    store::fill_under(&ledger, &mut fixture, STRICT).await;
    ledger.close().await;
    let server = Server::start_in(folder);
    let head = format!(
        "GET /projects/quillfern/segments/s-1 HTTP/1.1\r\nauthorization: Bearer {}",
        server.key()
    );
    let page = server.http(&head, "");
    assert!(page.starts_with("HTTP/1.1 200"), "{page}");
    let row = |row: &str| {
        let start = format!("<th scope=\"row\">{row}</th>");
        let (_, rest) = page.split_once(&start).expect("the row");
        rest.split_once("</tr>").expect("its end").0.to_owned()
    };
    assert!(row("E02").contains("</span> missing"), "{}", row("E02"));
    assert!(
        row("E02").contains("of the kind qualification"),
        "{}",
        row("E02")
    );
    assert!(row("E27").contains("</span> present"), "{}", row("E27"));
    assert!(page.contains("due 2026-05-25"), "21 days after pull-in");
    let sheet = "/projects/quillfern/sheets/asBuiltChecks/a-1/calculation.pdf";
    assert!(page.contains(sheet), "the sheet of what was installed");
    assert!(
        page.contains("held, ") && !page.contains("1 records"),
        "{page}"
    );
    let place = |state: &str| page.find(&format!("</span> {state}")).expect("the state");
    assert!(place("held") < place("awaits release"));
    assert!(place("awaits release") < place("released"));
    assert!(page.contains("<span class=\"hint\">by "), "who may release");
}

/// Cookie of a new session for a key, as a browser sends it.
pub(super) fn session(server: &Server, key: &str) -> String {
    let answer = sign_in(server, key, &format!("http://{}", server.address));
    pair_of(cookie_of(&answer)).to_owned()
}

fn cookie_of(answer: &str) -> &str {
    let mut rows = answer.lines();
    rows.find(|row| row.starts_with("set-cookie: "))
        .expect("a cookie")
}

fn pair_of(cookie: &str) -> &str {
    let cookie = cookie.trim_start_matches("set-cookie: ");
    cookie.split(';').next().expect("a pair")
}

fn sign_in(server: &Server, key: &str, origin: &str) -> String {
    let head = format!(
        "POST /sign-in HTTP/1.1\r\norigin: {origin}\r\ncontent-type: application/x-www-form-urlencoded"
    );
    server.http(&head, &format!("key={key}"))
}

//! A script in every text field of every kind of record: on every page, in the document and in every
//! file of a package it stays text.

use std::fs;

use obvert_closeout::package;
use obvert_proto::{
    pool,
    project::v1::{CreateLinkRequest, access_service_client::AccessServiceClient},
    rules,
};
use obvert_typeset::render;
use prost::Message;
use prost_reflect::{DynamicMessage, Kind, ReflectMessage, Value};

use crate::audit::copied_store;
use crate::closeout::fixture::{Fixture, PLAN, SEGMENT};
use crate::fuzz::schema::fill;
use crate::package::assembling::stored;
use crate::package::sample::{built, files, signed, signer, sources};
use crate::server::{
    matrix::world::{keyed, write},
    support::{Server, prepared},
};

const EVIL: &str = "<script>alert(1)</script>\"'&x7";
/// What a page must not hold: a tag, or a quote that ends an attribute.
const RAW: [&str; 2] = ["<script", "\"'&x7"];
/// Texts that must stay what they are for the record to be read at all.
const KEPT: [&str; 3] = ["time_zone", "source", "sha256"];

/// Adds the script to each text of a message, and fills the texts that are empty.
fn poison(message: &mut DynamicMessage) -> usize {
    let mut poisoned = 0;
    for field in message.descriptor().fields() {
        let is_text = field.kind() == Kind::String && !field.is_map();
        let kept = KEPT.iter().any(|kept| field.name().ends_with(kept));
        if is_text && (kept || rules::rule(&field).refers.is_some()) {
            continue;
        }
        if is_text && !field.is_list() && field.containing_oneof().is_none() {
            let text = message.get_field(&field).as_str().unwrap().to_owned();
            message.set_field(&field, Value::String(text + EVIL));
            poisoned += 1;
            continue;
        }
        if !message.has_field(&field) {
            continue;
        }
        match message.get_field_mut(&field) {
            Value::String(text) => text.push_str(EVIL),
            Value::Message(inner) => poisoned += poison(inner),
            Value::List(items) => {
                for item in items {
                    match item {
                        Value::Message(inner) => poisoned += poison(inner),
                        Value::String(text) if !text.starts_with("projects/") => {
                            text.push_str(EVIL);
                        }
                        _ => {}
                    }
                }
            }
            _ => {}
        }
    }
    poisoned
}

/// The clean segment with the script in each text, and one record of each kind that it lacks.
pub(super) fn poisoned() -> Fixture {
    let mut fixture = signed();
    let titles = PLAN.replace("title = \"", "title = \"<script>alert(1)</script>\\\"'&x7");
    fixture.plan = obvert_closeout::plan::parse(&titles).unwrap();
    let names: Vec<_> = fixture.records.keys().cloned().collect();
    let mut texts = 0;
    for name in names {
        let stored = fixture.records.get_mut(&name).unwrap();
        let kind = pool().get_message_by_name(&stored.type_name).unwrap();
        let mut body = DynamicMessage::decode(kind, stored.body.clone()).unwrap();
        texts += poison(&mut body);
        if stored.type_name == "obvert.closeout.v1.Plan" {
            body.set_field_by_name("source", Value::String(titles.clone()));
        }
        stored.body = body.encode_to_vec().into();
        stored.caller.principal = EVIL.into();
        stored.reason = EVIL.into();
    }
    assert!(texts > 100, "{texts} texts hold the script");
    for kind in rules::kinds().values() {
        if kind.office
            || fixture
                .records
                .values()
                .any(|s| s.type_name == kind.type_name)
        {
            continue;
        }
        let message = pool().get_message_by_name(&kind.type_name).unwrap();
        let mut body = fill(&message, 0, "", 3);
        for reference in rules::references(&body) {
            assert_eq!(reference.name, "", "{}", reference.field);
        }
        poison(&mut body);
        let mut like = fixture.records[SEGMENT].clone();
        like.name = format!("projects/quillfern/{}/script", kind.collection);
        like.type_name = kind.type_name.clone();
        like.body = body.encode_to_vec().into();
        like.refers = Vec::new();
        fixture.revision += 1;
        like.revision = fixture.revision;
        like.create_revision = fixture.revision;
        fixture.records.insert(like.name.clone(), like);
    }
    fixture
}

#[tokio::test(flavor = "multi_thread")]
async fn a_script_in_every_text_of_every_kind_stays_text_on_every_page() {
    let store = stored(&poisoned()).await;
    store.ledger.close().await;
    let folder = prepared("");
    copied_store(store.folder.path(), folder.path());
    let server = Server::start_in(folder);
    let mut shown = 0;
    for path in [
        "/",
        "/projects/quillfern",
        "/projects/quillfern/segments/s-1",
        "/projects/quillfern/segments/%3Cscript%3Ealert(1)%3C%2Fscript%3E%22%27%26x7",
        "/projects/%3Cscript%3Ealert(1)%3C%2Fscript%3E%22%27%26x7",
        "/projects/quillfern/packages/%3Cscript%3E%22%27%26x7",
        "/projects/quillfern/crew-day",
        "/projects/quillfern/designs/d-1",
        "/projects/quillfern/designs/%3Cscript%3E%22%27%26x7",
        "/links/%3Cscript%3E%22%27%26x7",
        "/issuer/%3Cscript%3E%22%27%26x7",
        "/%3Cscript%3E%22%27%26x7",
    ] {
        let head = format!(
            "GET {path} HTTP/1.1\r\nauthorization: Bearer {}",
            server.key()
        );
        let page = server.http(&head, "");
        for raw in RAW {
            assert!(!page.contains(raw), "{path} holds {raw}: {page}");
        }
        shown += usize::from(page.contains("&lt;script&gt;"));
    }
    assert!(shown >= 3, "only {shown} pages show what the records hold");
    let link = link(&server).await;
    let page = server.http(&format!("GET {link} HTTP/1.1"), "");
    assert!(page.contains("For &lt;script&gt;"), "{page}");
    let forms = [
        ("/sign-in", "key=EVIL"),
        (
            "/projects/quillfern/crew-day",
            "crew=EVIL&work_date=2026-05-04&ends_at=18:00",
        ),
        (
            "/projects/quillfern/crew-day",
            "crew=crew&work_date=EVIL&ends_at=EVIL",
        ),
    ];
    for (path, form) in forms {
        let head = format!(
            "POST {path} HTTP/1.1\r\norigin: http://{}\r\nauthorization: Bearer {}\r\n\
             content-type: application/x-www-form-urlencoded",
            server.address,
            server.key()
        );
        let form = form.replace("EVIL", "%3Cscript%3Ealert(1)%3C%2Fscript%3E%22%27%26x7");
        let answer = server.http(&head, &form);
        for raw in RAW {
            let script = answer.replace("<script src=\"/sign-in.js\"></script>", "");
            assert!(!script.contains(raw), "{path} holds {raw}: {answer}");
        }
    }
    for raw in RAW {
        assert!(!page.contains(raw), "{link} holds {raw}: {page}");
    }
}

/// Path of a link to the project's packages, for whom the script is.
async fn link(server: &Server) -> String {
    let request = CreateLinkRequest {
        write: write("link"),
        link_id: "link".into(),
        target: "projects/quillfern".into(),
        note: EVIL.into(),
        valid_days: Some(1),
    };
    let mut client = AccessServiceClient::new(server.channel().await);
    let made = client.create_link(keyed(&server.key(), request)).await;
    made.unwrap().into_inner().path
}

#[test]
fn a_script_in_every_text_stays_text_in_every_file_of_a_package() {
    let sources = sources(&poisoned());
    let built = built(&sources);
    let mut looked_at = 0;
    for (path, data) in files(&built.bytes) {
        let opened_by_browsers = [".svg", ".html", ".htm", ".xml", ".xhtml"];
        if opened_by_browsers.iter().any(|end| path.ends_with(end)) {
            let text = String::from_utf8(data).unwrap();
            assert!(!text.contains("<script"), "{path}: {text}");
            looked_at += 1;
        } else if path == "data/closeout.pdf" {
            for act in [
                &b"/JavaScript"[..],
                b"/JS",
                b"/Launch",
                b"/OpenAction",
                b"/AA",
            ] {
                assert!(!data.windows(act.len()).any(|part| part == act), "{path}");
            }
            looked_at += 1;
        }
    }
    assert!(looked_at >= 7, "{looked_at} files");
    let document = package::document(&sources, &signer()).unwrap();
    assert!(document.data.to_string().contains("<script>alert(1)"));
    render(&document).unwrap();
}

#[test]
fn every_template_escapes_what_it_prints() {
    let folder = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../services/server/src/templates"
    );
    let mut seen = 0;
    for file in fs::read_dir(folder).unwrap() {
        let path = file.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if name == "style.css" {
            continue;
        }
        assert!(name.ends_with(".html"), "{name} would not be escaped");
        let text = fs::read_to_string(&path).unwrap();
        // The one script, which the policy of its page alone lets run.
        let text = text.replace("<script src=\"/sign-in.js\"></script>", "");
        for word in [
            "| safe",
            "|safe",
            "autoescape",
            "<script",
            "javascript:",
            " on",
        ] {
            let found = text.match_indices(word).any(|(at, _)| {
                // An attribute such as onclick; the word "on" in a sentence has no sign behind it.
                let tail = text[at + word.len()..].trim_start_matches(|c: char| c.is_alphabetic());
                word != " on" || tail.starts_with('=')
            });
            assert!(!found, "{name} has {word}");
        }
        assert!(
            !text.contains("={{"),
            "{name} prints into an attribute without quotes"
        );
        seen += 1;
    }
    assert!(seen >= 7, "{seen} templates");
}

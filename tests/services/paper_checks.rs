//! Grades follow from who filed and who compared, links from a clock that tests hold.

use obvert_access::{Caller, Link, LinkError, LinkSigner};
use obvert_ledger::{Caller as Filer, Draft, NewEntry};
use obvert_project::{
    PaperRpcs, Papers,
    papers::{Opened, Shut},
};
use obvert_proto::{
    common::v1::PaperGrade,
    project::v1::{
        Attachment, CheckPaperRequest, Document, MakeIssuerLinkRequest, PaperAnswer, Record, Role,
        ShowPaperRequest, ShowPaperResponse, paper_service_client::PaperServiceClient,
        paper_service_server::PaperServiceServer, record::Body,
    },
};
use obvert_records::now_ms;
use prost::{Message, Name};
use tonic::{Response, Status, service::interceptor::InterceptedService};

use super::store::{
    self, As, PROJECT, Store, caller, create, fact, named, office, reason, violates, write,
    write_as,
};

type Rpcs = PaperServiceClient<InterceptedService<PaperServiceServer<PaperRpcs>, As>>;

const DAY_MS: i64 = 86_400_000;

fn papers(store: &Store) -> Papers {
    Papers::new(store.ledger.clone(), LinkSigner::new(&[7; 32]))
}

fn rpcs(store: &Store, caller: Caller) -> Rpcs {
    let server = PaperServiceServer::new(PaperRpcs::new(papers(store)));
    PaperServiceClient::new(InterceptedService::new(server, As(caller)))
}

pub(super) fn document() -> Document {
    Document {
        evidence_kind: "laboratory-accreditation".into(),
        subjects: vec![format!("projects/{PROJECT}")],
        attachments: vec![named("attachments", "scan")],
        title: "Accreditation".into(),
        issuer: "Fernmoss Materials Laboratory".into(),
        ..Document::default()
    }
}

/// A store with a stored scan.
pub(super) async fn with_scan() -> Store {
    let store = Store::with_project().await;
    let scan = Attachment {
        file_name: "scan.pdf".into(),
        media_type: "application/pdf".into(),
        size_bytes: 3,
        ..Attachment::default()
    };
    let entry = NewEntry {
        name: named("attachments", "scan"),
        type_name: Attachment::full_name(),
        body: scan.encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    };
    let draft = Draft {
        project: PROJECT.into(),
        caller: Filer::default(),
        request_id: String::new(),
        request_digest: [0; 32],
        reason: String::new(),
        commit_time_ms: 1,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries: vec![entry],
    };
    store.ledger.commit(draft).await.unwrap();
    store
}

pub(super) async fn file(store: &Store, who: Caller, document: Document) -> Result<Record, Status> {
    let mut client = store.projects(who);
    create(&mut client, PROJECT, "d-1", Body::Document(document)).await
}

pub(super) async fn show(store: &Store) -> ShowPaperResponse {
    let paper = named("documents", "d-1");
    let mut client = rpcs(store, office());
    let shown = client.show_paper(ShowPaperRequest { paper }).await;
    shown.unwrap().into_inner()
}

fn agreeing(paper_revision: i64) -> CheckPaperRequest {
    CheckPaperRequest {
        write: write(),
        paper: named("documents", "d-1"),
        paper_revision,
        answer: PaperAnswer::Agrees.into(),
        remark: String::new(),
    }
}

fn asking() -> MakeIssuerLinkRequest {
    MakeIssuerLinkRequest {
        write: write(),
        paper: named("documents", "d-1"),
        issuer: "Fernmoss Materials Laboratory".into(),
        valid_days: Some(14),
    }
}

fn grade_of(record: &Record) -> PaperGrade {
    match &record.body {
        Some(Body::Document(document)) => document.grade(),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn a_grade_follows_from_the_role_and_cannot_be_sent() {
    for (role, grade) in [
        (Role::Office, PaperGrade::Transcribed),
        (Role::Laboratory, PaperGrade::Direct),
        (Role::Owner, PaperGrade::Direct),
    ] {
        let store = with_scan().await;
        let filed = file(&store, caller(role, PROJECT), document()).await;
        assert_eq!(grade_of(&filed.unwrap()), grade, "{role:?}");
        assert_eq!(show(&store).await.grade(), grade);
    }
    let store = with_scan().await;
    let typed = Document {
        grade: PaperGrade::Direct.into(),
        ..document()
    };
    let refused = file(&store, office(), typed).await.unwrap_err();
    violates(
        &refused,
        &[("document.grade", "written by the server only")],
    );
}

#[tokio::test]
async fn a_direct_paper_that_the_office_revises_is_a_transcription() {
    let store = with_scan().await;
    let filed = file(&store, caller(Role::Laboratory, PROJECT), document()).await;
    let meta = filed.unwrap().meta.unwrap();
    let changed = Document {
        title: "Accreditation, all methods".into(),
        ..document()
    };
    let mut client = store.projects(office());
    let body = Body::Document(changed);
    let revised = store::revise(&mut client, &meta.name, &meta.etag, body).await;
    assert_eq!(grade_of(&revised.unwrap()), PaperGrade::Transcribed);
}

#[tokio::test]
async fn a_check_is_answered_alike_when_repeated_even_after_the_paper_moved_on() {
    let store = with_scan().await;
    let meta = file(&store, office(), document()).await.unwrap().meta;
    let meta = meta.unwrap();
    let mut engineer = rpcs(&store, caller(Role::Engineer, PROJECT));
    let request = agreeing(meta.revision);
    let first = engineer.check_paper(request.clone()).await.unwrap();
    let mut client = store.projects(office());
    let body = Body::Document(document());
    let revised = store::revise(&mut client, &meta.name, &meta.etag, body).await;
    revised.unwrap();
    let second = engineer.check_paper(request.clone()).await.unwrap();
    assert_eq!(first.into_inner(), second.into_inner());
    let other = CheckPaperRequest {
        answer: PaperAnswer::Differs.into(),
        remark: "number".into(),
        ..request
    };
    let refused = engineer.check_paper(other).await.unwrap_err();
    assert_eq!(reason(&refused), "REQUEST_ID_REUSED");
    let stale = engineer.check_paper(agreeing(meta.revision)).await;
    assert_eq!(reason(&stale.unwrap_err()), "ETAG_STALE");
    assert_eq!(show(&store).await.grade(), PaperGrade::Transcribed);
}

#[tokio::test]
async fn a_check_needs_an_original_a_paper_and_what_differs() {
    let store = with_scan().await;
    let bare = Document {
        attachments: Vec::new(),
        ..document()
    };
    let revision = file(&store, office(), bare)
        .await
        .unwrap()
        .meta
        .unwrap()
        .revision;
    let mut engineer = rpcs(&store, caller(Role::Engineer, PROJECT));
    let refused = engineer.check_paper(agreeing(revision)).await.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    assert!(refused.message().contains("no original"), "{refused}");
    assert_eq!(fact(&refused, "paper"), named("documents", "d-1"));
    let project = CheckPaperRequest {
        paper: format!("projects/{PROJECT}"),
        ..agreeing(1)
    };
    let refused = engineer.check_paper(project).await.unwrap_err();
    violates(&refused, &[("paper", "is no paper")]);
    let differs = CheckPaperRequest {
        answer: PaperAnswer::Differs.into(),
        ..agreeing(revision)
    };
    let refused = engineer.check_paper(differs).await.unwrap_err();
    violates(&refused, &[("remark", "say which value differs")]);
}

#[tokio::test]
async fn a_check_that_is_only_tried_writes_nothing() {
    let store = with_scan().await;
    let revision = file(&store, office(), document())
        .await
        .unwrap()
        .meta
        .unwrap()
        .revision;
    let mut request = agreeing(revision);
    request.write.as_mut().unwrap().validate_only = true;
    let mut engineer = rpcs(&store, caller(Role::Engineer, PROJECT));
    engineer.check_paper(request).await.unwrap();
    assert_eq!(store.revision().await, revision);
}

#[tokio::test]
async fn roles_that_only_read_neither_check_nor_ask() {
    let store = with_scan().await;
    file(&store, office(), document()).await.unwrap();
    for role in [Role::Auditor, Role::Integrator, Role::Subcontractor] {
        let mut client = rpcs(&store, caller(role, PROJECT));
        let refused = client.check_paper(agreeing(1)).await.unwrap_err();
        assert_eq!(reason(&refused), "NOT_ALLOWED", "{role:?}");
        let refused = client.make_issuer_link(asking()).await.unwrap_err();
        assert_eq!(reason(&refused), "NOT_ALLOWED", "{role:?}");
    }
    let mut stranger = rpcs(&store, caller(Role::Engineer, "another"));
    let paper = named("documents", "none");
    let refused = stranger.show_paper(ShowPaperRequest { paper }).await;
    assert_eq!(reason(&refused.unwrap_err()), "NOT_ALLOWED");
}

#[tokio::test]
async fn typed_values_come_with_their_units_and_without_what_the_server_adds() {
    let store = with_scan().await;
    file(&store, office(), document()).await.unwrap();
    let shown = show(&store).await;
    let fields: Vec<_> = shown.values.iter().map(|v| v.field.as_str()).collect();
    assert_eq!(
        fields,
        ["evidence_kind", "subjects[0]", "title", "issuer"],
        "neither the grade nor the attachments are typed"
    );
    assert_eq!(shown.originals[0].file_name, "scan.pdf");
    let wall = obvert_proto::material::v1::ReceivingCheck {
        wall: Some(obvert_proto::common::v1::Thickness {
            wall_thickness_mm: 4.5,
            basis: 2,
        }),
        ..Default::default()
    };
    let kind = obvert_proto::pool().get_message_by_name("obvert.material.v1.ReceivingCheck");
    let message =
        prost_reflect::DynamicMessage::decode(kind.unwrap(), wall.encode_to_vec().as_slice());
    let values = obvert_records::paper::values(&message.unwrap(), &Default::default());
    let of = |field: &str| values.iter().find(|v| v.field == field).unwrap();
    let thickness = of("wall.wall_thickness_mm");
    assert_eq!((thickness.value.as_str(), thickness.unit), ("4.5", "mm"));
    assert_eq!(thickness.label, "wall, wall thickness");
    assert_eq!(of("wall.basis").value, "composite");
}

/// Text of a link that a client made.
async fn link(store: &Store) -> String {
    let mut client = rpcs(store, office());
    let made = client.make_issuer_link(asking()).await;
    let path = made.map(Response::into_inner).unwrap().path;
    path.strip_prefix("/issuer/").unwrap().to_owned()
}

#[tokio::test]
async fn a_link_works_until_its_time_and_for_its_own_server_only() {
    let store = with_scan().await;
    file(&store, office(), document()).await.unwrap();
    let text = link(&store).await;
    let papers = papers(&store);
    let now = now_ms();
    let Opened { link, .. } = papers.open(&text, now + 13 * DAY_MS).await.unwrap();
    assert_eq!(link.issuer, "Fernmoss Materials Laboratory");
    let late = papers.open(&text, now + 15 * DAY_MS).await;
    assert!(matches!(late, Err(Shut::Expired)), "{late:?}");
    let elsewhere = Papers::new(store.ledger.clone(), LinkSigner::new(&[8; 32]));
    let unknown = elsewhere.open(&text, now).await;
    assert!(matches!(unknown, Err(Shut::Unknown)), "{unknown:?}");
}

#[tokio::test]
async fn an_answer_is_a_record_of_the_issuer_with_the_link_as_its_key() {
    let store = with_scan().await;
    file(&store, office(), document()).await.unwrap();
    let text = link(&store).await;
    let papers = papers(&store);
    let answer = (PaperAnswer::Agrees, "");
    let opened = papers.answer(&text, answer, now_ms()).await.unwrap();
    let id = obvert_records::names::id_of(&opened.name);
    let check = named("paperChecks", id);
    let stored = store.ledger.get(check, 0).await.unwrap().unwrap();
    assert_eq!(
        (
            stored.caller.principal.as_str(),
            stored.caller.role.as_str()
        ),
        ("issuer/fernmoss-materials-laboratory", "issuer")
    );
    assert_eq!(stored.caller.key_id, id);
    assert_eq!(show(&store).await.grade(), PaperGrade::ConfirmedByIssuer);
    let again = papers.answer(&text, answer, now_ms()).await;
    assert!(matches!(again, Err(Shut::Used)), "{again:?}");
}

#[tokio::test]
async fn a_repeated_request_for_a_link_gets_the_same_link() {
    let store = with_scan().await;
    file(&store, office(), document()).await.unwrap();
    let mut client = rpcs(&store, office());
    let request = MakeIssuerLinkRequest {
        write: write_as("same"),
        ..asking()
    };
    let first = client.make_issuer_link(request.clone()).await.unwrap();
    let second = client.make_issuer_link(request).await.unwrap();
    assert_eq!(first.into_inner(), second.into_inner());
}

#[tokio::test]
async fn nobody_is_asked_about_a_paper_that_its_issuer_filed() {
    let store = with_scan().await;
    let laboratory = caller(Role::Laboratory, PROJECT);
    file(&store, laboratory, document()).await.unwrap();
    let refused = rpcs(&store, office()).make_issuer_link(asking()).await;
    let refused = refused.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    assert!(
        refused.message().contains("nothing to confirm"),
        "{refused}"
    );
}

#[test]
fn a_link_of_one_purpose_opens_no_other_page_and_no_part_of_it_can_be_changed() {
    let signer = LinkSigner::new(&[7; 32]);
    let link = Link {
        purpose: "issuer".into(),
        project: PROJECT.into(),
        id: "x-1".into(),
        expire_time_ms: 1_000,
    };
    let text = signer.text(&link);
    assert_eq!(signer.read("issuer", &text, 999), Ok(link));
    assert_eq!(signer.read("issuer", &text, 1_000), Err(LinkError::Expired));
    assert_eq!(signer.read("owner", &text, 0), Err(LinkError::Unknown));
    for place in 0..text.len() {
        let mut changed = text.clone().into_bytes();
        changed[place] = if changed[place] == b'1' { b'2' } else { b'1' };
        let changed = String::from_utf8(changed).unwrap();
        let read = signer.read("issuer", &changed, 0);
        assert_eq!(read, Err(LinkError::Unknown), "{changed}");
    }
}

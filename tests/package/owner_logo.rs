//! The logo that an owner's plan names: found by its digest, or plainly said to be missing.

use std::{fs, os::unix::fs::PermissionsExt, time::Duration};

use obvert_access::Caller;
use obvert_closeout::{
    Closeout, load_segment,
    package::{Press, Sources, Terms, build, document},
    plan::parse,
};
use obvert_proto::{
    closeout::v1::{CheckPlanRequest, Plan, closeout_service_server::CloseoutService},
    project::v1::{Attachment, Role},
};
use obvert_typeset::{ChildLimits, Children, Typesetter};
use prost::Message;

use super::{
    assembling::{caller, request, stored},
    sample::{VERSION, files, hex, press, signed, signer},
};
use crate::{
    closeout::fixture::{Fixture, PLAN, SEGMENT, full},
    server::support::program,
};

const SVG: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">
<rect width="40" height="20" fill="#1f2a30"/></svg>"##;
/// Looks like a picture and cannot be drawn.
const BROKEN: &str = "<svg></g></svg>";

/// A segment whose plan names a picture that is filed as told.
struct Named {
    picture: &'static [u8],
    media_type: &'static str,
    subject: String,
    stored: bool,
}

impl Named {
    fn good() -> Self {
        Self {
            picture: SVG.as_bytes(),
            media_type: "image/svg+xml",
            subject: "projects/quillfern".into(),
            stored: true,
        }
    }

    fn fixture(&self) -> Fixture {
        let mut fixture = signed();
        let sha256 = hex(self.picture);
        let key = format!("[package.cover]\nlogo_sha256 = \"{sha256}\"");
        let source = PLAN.replacen("[package.cover]", &key, 1);
        fixture.plan = parse(&source).unwrap();
        let record = fixture.records.get_mut(&full("plans/itp")).unwrap();
        let mut plan = Plan::decode(record.body.clone()).unwrap();
        plan.source = source;
        record.body = plan.encode_to_vec().into();
        if !self.subject.is_empty() {
            let attachment = Attachment {
                file_name: "mark.svg".into(),
                media_type: self.media_type.into(),
                size_bytes: self.picture.len() as i64,
                sha256,
                subjects: vec![self.subject.clone()],
            };
            fixture.add("attachments/mark", attachment);
        }
        fixture
    }

    async fn sources(&self) -> Sources {
        let store = stored(&self.fixture()).await;
        if self.stored {
            store.ledger.blobs().put(self.picture.into()).await.unwrap();
        }
        let loaded = load_segment(&store.ledger, SEGMENT, 0).await.unwrap();
        let read = Sources::read(&store.ledger, loaded, Terms::default()).await;
        read.unwrap()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_plans_logo_is_printed_when_it_is_about_the_project_or_the_plan() {
    for subject in ["projects/quillfern".to_owned(), full("plans/itp")] {
        let named = Named {
            subject,
            ..Named::good()
        };
        let sources = named.sources().await;
        assert_eq!(sources.logo_missing, "");
        let document = document(&sources, &signer()).unwrap();
        assert!(document.files.values().any(|file| file == SVG.as_bytes()));
        assert_eq!(
            document.data["cover"]["logo"]["alt"],
            "Logo of Marrowby Sanitary District"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_logo_that_cannot_be_printed_is_said_to_be_missing_and_the_package_is_built() {
    let good = Named::good;
    let cases = [
        (
            Named {
                subject: String::new(),
                ..good()
            },
            "no attachment about the project or the plan has it",
        ),
        (
            Named {
                subject: SEGMENT.into(),
                ..good()
            },
            "no attachment about the project or the plan has it",
        ),
        (
            Named {
                media_type: "application/pdf",
                ..good()
            },
            "attachments/mark, which is filed as application/pdf",
        ),
        (
            Named {
                picture: b"no picture",
                ..good()
            },
            "attachments/mark, which is no SVG",
        ),
        (
            Named {
                stored: false,
                ..good()
            },
            "the file of projects/quillfern/attachments/mark is missing",
        ),
    ];
    for (named, says) in cases {
        let sources = named.sources().await;
        assert!(sources.logo.is_none(), "{says}");
        let why = &sources.logo_missing;
        assert!(why.contains(says), "{why}");
        let printed = document(&sources, &signer()).unwrap().data;
        assert!(
            printed["cover"]["notes"].to_string().contains(says),
            "{why}"
        );
        build(&sources, &press(), VERSION, |_| {}).unwrap();
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_plan_is_checked_for_its_logo_in_a_project_that_its_reader_may_see() {
    let named = Named::good();
    let fixture = named.fixture();
    let store = stored(&fixture).await;
    store
        .ledger
        .blobs()
        .put(SVG.as_bytes().into())
        .await
        .unwrap();
    let service = Closeout::new(store.ledger.clone(), None);
    let sha256 = hex(named.picture);
    let key = |sha256: &str| {
        let key = format!("[package.cover]\nlogo_sha256 = \"{sha256}\"");
        PLAN.replacen("[package.cover]", &key, 1)
    };
    let ask = async |source: String, project: &str, who: Caller| {
        let project = project.to_owned();
        let asked = request(CheckPlanRequest { source, project }, who);
        let answer = service.check_plan(asked).await;
        answer.map(|answer| answer.into_inner().findings)
    };
    let owner = || caller(Role::Owner);
    let found = ask(key(&sha256), "quillfern", owner()).await.unwrap();
    assert!(found.is_empty(), "{found:?}");
    let other = key(&"0".repeat(64));
    let found = ask(other.clone(), "quillfern", owner()).await.unwrap();
    assert!(
        found[0].contains("no attachment about the project"),
        "{found:?}"
    );
    let nowhere = ask(other.clone(), "", owner()).await.unwrap();
    assert!(nowhere.is_empty(), "nobody asked to look");
    let mut stranger = owner();
    stranger.bindings[0].project = "another".into();
    let told = ask(other, "quillfern", stranger).await.unwrap();
    assert!(
        told[0].starts_with("The logo was not looked for: "),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_picture_that_cannot_be_drawn_does_not_keep_the_package_back() {
    let named = Named {
        picture: BROKEN.as_bytes(),
        ..Named::good()
    };
    let sources = named.sources().await;
    assert!(sources.logo.is_some(), "it is filed as what it looks like");
    let package = build(&sources, &press(), VERSION, |_| {}).unwrap();
    assert!(files(&package.bytes)["data/closeout.pdf"].starts_with(b"%PDF"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_child_that_ends_without_an_answer_is_no_fault_of_the_picture() {
    let sources = Named::good().sources().await;
    let folder = tempfile::tempdir().unwrap();
    let (worker, died) = (folder.path().join("worker"), folder.path().join("died"));
    let script = format!(
        "#!/bin/sh\n[ -e {died:?} ] && exec {:?} \"$@\"\ntouch {died:?}\nexit 1\n",
        program("obvertd")
    );
    fs::write(&worker, script).unwrap();
    fs::set_permissions(&worker, fs::Permissions::from_mode(0o755)).unwrap();
    let limits = ChildLimits {
        deadline: Duration::from_secs(60),
        memory_bytes: 2 << 30,
        pdf_bytes: 64 << 20,
    };
    let by_children = Press {
        typesetter: Typesetter::Children(Children::new(worker, limits)),
        ..press()
    };
    let failed = build(&sources, &by_children, VERSION, |_| {}).map(|_| ());
    assert!(failed.is_err(), "the first child answered nothing");
    let again = build(&sources, &by_children, VERSION, |_| {}).unwrap();
    let here = build(&sources, &press(), VERSION, |_| {}).unwrap();
    assert_eq!(again.bytes, here.bytes);
}

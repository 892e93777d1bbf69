//! Papers that need no arithmetic: each way in which one can fall short.

use obvert_closeout::plan::parse;
use obvert_proto::{
    closeout::v1::PointState,
    common::v1::PaperGrade,
    project::v1::{Document, ParcelRelation, ParcelTie},
};

use super::{
    Fixture,
    fixture::{PLAN, SEGMENT, full, on},
    held_in, point,
};

const POINT: &str = "paper-on-file";
const PAPER: &str = "documents/w-1";

/// The clean segment under a plan that also asks for a paper of the kind `bypass-plan`.
fn asking(more: &str) -> Fixture {
    let mut fixture = Fixture::clean();
    let point = format!(
        "[[point]]\nid = \"{POINT}\"\ntitle = \"Paper on file\"\nstage = \"acceptance\"\n\
         class = \"review\"\nevaluator = \"evidence-present\"\n\
         parameters = {{ evidence_kind = \"bypass-plan\"{more} }}\n"
    );
    fixture.plan = parse(&format!("{PLAN}\n{point}")).unwrap();
    fixture
}

/// A signed paper of that kind, valid in May and June 2026.
fn paper(subjects: &[&str]) -> Document {
    Document {
        evidence_kind: "bypass-plan".into(),
        subjects: subjects.iter().map(|s| (*s).to_owned()).collect(),
        title: "Bypass plan".into(),
        issuer: "Copperbeck Utilities".into(),
        signed_by: "superintendent".into(),
        signed_date: on("2026-04-28"),
        valid_from_date: on("2026-05-01"),
        valid_until_date: on("2026-06-30"),
        grade: PaperGrade::Direct.into(),
        ..Document::default()
    }
}

/// A plan with these parameters over a paper so changed.
fn with(more: &str, change: impl FnOnce(&mut Document)) -> Fixture {
    let mut fixture = asking(more);
    let mut document = paper(&[SEGMENT]);
    change(&mut document);
    fixture.add(PAPER, document);
    fixture
}

#[track_caller]
fn released(fixture: &Fixture) {
    let status = fixture.status();
    let status = point(&status, POINT);
    let findings = &status.findings;
    assert_eq!(status.state(), PointState::Released, "{findings:?}");
    assert!(!status.evidence.is_empty());
}

#[track_caller]
fn insufficient(fixture: &Fixture, says: &str) {
    held_in(fixture, POINT, "document-not-sufficient", PAPER);
    let status = fixture.status();
    let said = &point(&status, POINT).findings;
    assert!(said.iter().any(|f| f.message.contains(says)), "{said:?}");
}

#[test]
fn a_signed_paper_of_the_kind_about_the_segment_releases() {
    released(&with("", |_| {}));
}

#[test]
fn no_paper_another_kind_and_another_subject_hold_as_missing() {
    held_in(&asking(""), POINT, "missing-document", "");
    let other_kind = with("", |paper| paper.evidence_kind = "cleaning-log".into());
    held_in(&other_kind, POINT, "missing-document", "");
    let elsewhere = with("", |paper| paper.subjects = vec![full("segments/s-2")]);
    held_in(&elsewhere, POINT, "missing-document", "");
    let of_project = with("", |paper| {
        paper.subjects = vec!["projects/quillfern".into()]
    });
    held_in(&of_project, POINT, "missing-document", "");
}

#[test]
fn an_unsigned_or_undated_paper_holds_unless_the_plan_takes_it() {
    for blank in ["", "  "] {
        let unsigned = with("", |paper| paper.signed_by = blank.into());
        insufficient(&unsigned, "is not signed and dated");
    }
    insufficient(
        &with("", |paper| paper.signed_date = None),
        "is not signed and dated",
    );
    released(&with(", signed = false", |paper| {
        paper.signed_by.clear();
        paper.signed_date = None;
    }));
}

#[test]
fn a_paper_without_its_original_holds_where_the_plan_asks_for_it() {
    insufficient(&with(", attached = true", |_| {}), "has no original");
    released(&with(", attached = true", |paper| {
        paper.attachments = vec![full("attachments/bypass-1")];
    }));
}

#[test]
fn a_paper_not_valid_on_the_day_of_pull_in_holds() {
    let asked = ", valid_on = \"pull-in\"";
    released(&with(asked, |paper| {
        paper.valid_from_date = on("2026-05-04");
        paper.valid_until_date = on("2026-05-04");
    }));
    insufficient(
        &with(asked, |paper| paper.valid_until_date = on("2026-05-03")),
        "is not valid on 2026-05-04",
    );
    insufficient(
        &with(asked, |paper| paper.valid_from_date = on("2026-05-05")),
        "is not valid on 2026-05-04",
    );
}

#[test]
fn a_paper_that_ran_out_after_pull_in_holds_where_it_must_be_valid_today() {
    let run_out = |paper: &mut Document| paper.valid_until_date = on("2026-06-09");
    released(&with(", valid_on = \"pull-in\"", run_out));
    released(&with("", run_out));
    insufficient(
        &with(", valid_on = \"evaluation\"", run_out),
        "is not valid on 2026-06-10",
    );
    released(&with(", valid_on = \"evaluation\"", |paper| {
        paper.valid_from_date = None;
        paper.valid_until_date = None;
    }));
}

#[test]
fn before_any_pull_in_the_day_asked_for_is_today() {
    let mut fixture = with(", valid_on = \"pull-in\"", |paper| {
        paper.valid_until_date = on("2026-06-09");
    });
    fixture.remove("runs/r-1");
    insufficient(&fixture, "is not valid on 2026-06-10");
}

#[test]
fn a_paper_below_the_least_grade_holds() {
    let typed = with("", |paper| paper.grade = PaperGrade::Transcribed.into());
    held_in(&typed, POINT, "paper-grade-too-low", PAPER);
}

#[test]
fn a_second_good_paper_makes_up_for_a_bad_one_and_all_faults_are_said_at_once() {
    let mut fixture = with(", attached = true", |paper| paper.signed_by.clear());
    let status = fixture.status();
    let faults = point(&status, POINT).findings.iter();
    let faults = faults.filter(|f| f.code == "document-not-sufficient");
    assert_eq!(faults.count(), 2, "no signature and no original");
    let good = Document {
        attachments: vec![full("attachments/bypass-2")],
        ..paper(&[SEGMENT])
    };
    fixture.add("documents/w-0", good);
    released(&fixture);
}

/// Subjects a plan may ask about, beside the records of the clean segment that they mean.
const SUBJECTS: &[(&str, &[&str])] = &[
    ("project", &["projects/quillfern"]),
    ("runs", &["projects/quillfern/runs/r-1"]),
    ("liners", &["projects/quillfern/liners/n-1"]),
    ("orders", &["projects/quillfern/orders/o-1"]),
    ("batches", &["projects/quillfern/batches/b-1"]),
    (
        "crossed-parcels",
        &[
            "projects/quillfern/parcels/p-1",
            "projects/quillfern/parcels/p-3",
        ],
    ),
    (
        "served-parcels",
        &[
            "projects/quillfern/parcels/p-1",
            "projects/quillfern/parcels/p-2",
        ],
    ),
];

#[test]
fn every_record_of_the_subject_needs_its_paper() {
    for (subject, records) in SUBJECTS {
        let mut fixture = asking(&format!(", subject = \"{subject}\""));
        for (number, record) in records.iter().enumerate() {
            held_in(&fixture, POINT, "missing-document", "");
            fixture.add(&format!("documents/w-{number}"), paper(&[record]));
        }
        released(&fixture);
    }
}

#[test]
fn a_paper_about_something_that_is_not_on_file_holds() {
    let gone: [(&str, &[&str]); 4] = [
        ("runs", &["runs/r-1"]),
        ("liners", &["runs/r-1", "liners/n-1"]),
        ("orders", &["liners/n-1", "orders/o-1"]),
        ("batches", &["certificates/c-1"]),
    ];
    for (subject, records) in gone {
        let mut fixture = asking(&format!(", subject = \"{subject}\""));
        for record in records {
            fixture.remove(record);
        }
        held_in(&fixture, POINT, &format!("missing-{subject}"), "");
    }
}

#[test]
fn no_lot_at_all_is_released_by_a_signed_paper_only() {
    let mut fixture = asking(", subject = \"crossed-parcels\"");
    for id in ["p-1", "p-2", "p-3"] {
        fixture.remove(&format!("parcelRelations/{id}"));
    }
    held_in(&fixture, POINT, "missing-parcel-relation", "");
    let mut none = Document {
        evidence_kind: "no-parcels-entered".into(),
        signed_by: " ".into(),
        ..paper(&[SEGMENT])
    };
    fixture.add(PAPER, none.clone());
    held_in(&fixture, POINT, "missing-parcel-relation", "");
    none.signed_by = "superintendent".into();
    fixture.add(PAPER, none);
    released(&fixture);
}

#[test]
fn lots_that_are_served_but_not_crossed_need_no_paper_about_crossing() {
    let mut fixture = asking(", subject = \"crossed-parcels\"");
    for id in ["p-1", "p-3"] {
        fixture.edit(
            &format!("parcelRelations/{id}"),
            |relation: &mut ParcelRelation| relation.ties = vec![ParcelTie::Served.into()],
        );
    }
    released(&fixture);
}

//! Points before pull-in.

use obvert_proto::{
    acceptance::v1::{Survey, SurveyPurpose},
    common::v1::PaperGrade,
    material::v1::{LinerCertificate, LinerMovement, ReceivingCheck},
    project::v1::{AccessPermit, Document, LateralRegister, Notice, ParcelRelation},
};

use super::{
    fixture::{Fixture, at, full, on},
    held,
    paper::wall,
    past,
    work::survey,
};

#[test]
fn a_certificate_or_delivery_that_differs_from_the_order_holds() {
    let paper =
        |f: &mut Fixture, change: fn(&mut LinerCertificate)| f.edit("certificates/c-1", change);
    held(
        |f| paper(f, |c| c.serial = "FM-0042".into()),
        "certified-wall",
        "certificate-serial-differs",
        "c-1",
    );
    held(
        |f| paper(f, |c| c.wall = wall(4.0)),
        "certified-wall",
        "certified-wall-too-thin",
        "o-1",
    );
    held(
        |f| paper(f, |c| c.length_m = 53.0),
        "certified-wall",
        "certified-length-too-short",
        "c-1",
    );
    held(
        |f| paper(f, |c| c.grade = PaperGrade::Transcribed.into()),
        "certified-wall",
        "paper-grade-too-low",
        "c-1",
    );
    past(|f| paper(f, |c| c.wall = wall(5.0)), "certified-wall");
    let check =
        |f: &mut Fixture, change: fn(&mut ReceivingCheck)| f.edit("receivingChecks/k-1", change);
    held(
        |f| check(f, |k| k.label_serial = "FM-0042".into()),
        "received-liner",
        "label-serial-differs",
        "k-1",
    );
    held(
        |f| check(f, |k| k.packing_intact = false),
        "received-liner",
        "packing-damaged",
        "k-1",
    );
    held(
        |f| check(f, |k| k.label_photos.clear()),
        "received-liner",
        "label-photo-missing",
        "k-1",
    );
    held(
        |f| check(f, |k| k.nominal_diameter_mm = 225.0),
        "received-liner",
        "received-diameter-differs",
        "k-1",
    );
}

#[test]
fn a_liner_past_its_date_or_kept_too_warm_holds() {
    let paper =
        |f: &mut Fixture, change: fn(&mut LinerCertificate)| f.edit("certificates/c-1", change);
    held(
        |f| paper(f, |c| c.expiry_date = on("2026-05-03")),
        "shelf-life",
        "liner-past-its-date",
        "c-1",
    );
    past(
        |f| paper(f, |c| c.expiry_date = on("2026-05-04")),
        "shelf-life",
    );
    held(
        |f| paper(f, |c| c.expiry_date = on("2026-11-30")),
        "shelf-life",
        "expiry-beyond-sheet",
        "ms-1",
    );
    let warm = |f: &mut Fixture| {
        f.edit("linerMovements/m-1", |m: &mut LinerMovement| {
            m.storage_max_celsius = Some(31.0)
        });
    };
    held(
        warm,
        "shelf-life",
        "storage-temperature-outside",
        "linerMovements/m-1",
    );
    let extended = |f: &mut Fixture| {
        paper(f, |c| c.expiry_date = on("2026-05-03"));
        f.edit("linerMovements/m-1", |m: &mut LinerMovement| {
            m.extension_document = full("documents/x-1");
        });
        let extension = Document {
            evidence_kind: "shelf-life-extension".into(),
            signed_by: "maker".into(),
            valid_until_date: on("2026-05-20"),
            grade: PaperGrade::Direct.into(),
            ..Document::default()
        };
        f.add("documents/x-1", extension);
    };
    past(extended, "shelf-life");
}

#[test]
fn a_lot_without_a_valid_permit_holds() {
    let permit =
        |f: &mut Fixture, change: fn(&mut AccessPermit)| f.edit("accessPermits/p-1", change);
    held(
        |f| permit(f, |p| p.valid_until_date = on("2026-05-03")),
        "right-of-entry",
        "permit-not-valid",
        "p-1",
    );
    held(
        |f| f.remove("accessPermits/p-3"),
        "right-of-entry",
        "missing-access-permit",
        "",
    );
    let dwelling = |f: &mut Fixture| {
        f.edit("parcelRelations/p-1", |r: &mut ParcelRelation| {
            r.passage_through_dwelling = true
        });
    };
    held(
        dwelling,
        "right-of-entry",
        "dwelling-not-covered",
        "parcelRelations/p-1",
    );
    let none = |f: &mut Fixture| {
        for id in ["p-1", "p-2", "p-3"] {
            f.remove(&format!("parcelRelations/{id}"));
        }
    };
    held(none, "right-of-entry", "missing-parcel-relation", "");
}

#[test]
fn lots_that_nobody_counted_or_counted_otherwise_hold() {
    let count = |f: &mut Fixture, count| {
        f.edit("lateralRegisters/g-1", |g: &mut LateralRegister| {
            g.entered_parcel_count = count
        });
    };
    let register = "lateralRegisters/g-1";
    held(
        |f| count(f, None),
        "right-of-entry",
        "lots-not-counted",
        register,
    );
    let lost_code = "missing-parcel-relation";
    held(
        |f| count(f, Some(1)),
        "right-of-entry",
        "lots-beyond-count",
        register,
    );
    held(|f| count(f, Some(3)), "right-of-entry", lost_code, register);
    let lost = |f: &mut Fixture| {
        f.remove("parcelRelations/p-3");
        f.remove("accessPermits/p-3");
    };
    held(lost, "right-of-entry", lost_code, register);
    let served = |f: &mut Fixture| f.remove("parcelRelations/p-2");
    past(served, "right-of-entry");
}

#[test]
fn a_home_told_too_late_or_of_another_day_holds() {
    let notice = |f: &mut Fixture, change: fn(&mut Notice)| f.edit("notices/p-2", change);
    held(
        |f| notice(f, |n| n.delivered_time = at("2026-05-03 18:00")),
        "resident-notice",
        "notice-too-late",
        "notices/p-2",
    );
    held(
        |f| notice(f, |n| n.delivered_time = at("2026-04-01 18:00")),
        "resident-notice",
        "notice-too-early",
        "notices/p-2",
    );
    held(
        |f| notice(f, |n| n.outage_start_time = at("2026-05-04 09:30")),
        "resident-notice",
        "outage-not-announced",
        "notices/p-2",
    );
    held(
        |f| f.remove("notices/p-2"),
        "resident-notice",
        "missing-resident-notice",
        "",
    );
    held(
        |f| f.remove("parcelRelations/p-2"),
        "resident-notice",
        "missing-parcel-relation",
        "",
    );
}

#[test]
fn a_pipe_that_was_not_seen_clean_and_fit_just_before_holds() {
    let ready = |f: &mut Fixture, change: fn(&mut Survey)| f.edit("surveys/v-ready", change);
    held(
        |f| ready(f, |s| s.ready_to_line = Some(false)),
        "ready-to-line",
        "not-ready-to-line",
        "v-ready",
    );
    held(
        |f| ready(f, |s| s.ready_to_line = None),
        "ready-to-line",
        "not-ready-to-line",
        "v-ready",
    );
    held(
        |f| ready(f, |s| s.complete = false),
        "ready-to-line",
        "survey-incomplete",
        "v-ready",
    );
    held(
        |f| ready(f, |s| s.start_time = at("2026-05-04 06:50")),
        "ready-to-line",
        "survey-before-cleaning",
        "v-ready",
    );
    held(
        |f| ready(f, |s| s.start_time = at("2026-04-29 06:50")),
        "ready-to-line",
        "ready-to-line-too-old",
        "v-ready",
    );
    held(
        |f| ready(f, |s| s.start_time = at("2026-05-04 08:10")),
        "ready-to-line",
        "missing-cctv-survey",
        "",
    );
    let twice = |f: &mut Fixture| {
        survey(
            f,
            "v-again",
            SurveyPurpose::ReadyToLine,
            "2026-05-04 07:30",
            Vec::new(),
        );
        f.edit("surveys/v-again", |s: &mut Survey| {
            s.ready_to_line = Some(false)
        });
    };
    held(twice, "ready-to-line", "not-ready-to-line", "v-again");
}

//! Points of the laboratory: identity, samples, stiffness, wall, batches.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Sample, SampleMethod},
    common::v1::{PaperGrade, ThicknessBasis},
    design::v1::WallDesign,
    installation::v1::Run,
    material::v1::LinerCertificate,
};

use super::{
    Fixture,
    fixture::{at, full, ms, on},
    held, holding, past, point, work,
};

fn sample(f: &mut Fixture, change: impl FnOnce(&mut Sample)) {
    f.edit("samples/a-1", change);
}

fn report(f: &mut Fixture, change: impl FnOnce(&mut LaboratoryReport)) {
    f.edit("laboratoryReports/y-1", change);
}

#[test]
fn one_serial_must_run_through_all_records() {
    let pulled = |f: &mut Fixture| {
        f.edit("runs/r-1", |r: &mut Run| {
            r.serial_at_pull_in = "FM-0042".into()
        })
    };
    held(pulled, "liner-identity", "serial-differs", "runs/r-1");
    let cut = |f: &mut Fixture| sample(f, |s| s.liner_serial = "FM-0042".into());
    held(cut, "liner-identity", "serial-differs", "samples/a-1");
    let printed = |f: &mut Fixture| report(f, |y| y.liner_serial_in_report = "FM-0042".into());
    held(
        printed,
        "liner-identity",
        "serial-differs",
        "laboratoryReports/y-1",
    );
    past(
        |f| report(f, |y| y.liner_serial_in_report.clear()),
        "liner-identity",
    );
}

#[test]
fn a_sample_that_cannot_be_traced_holds() {
    let echo = |f: &mut Fixture| report(f, |y| y.sample_number_in_report = "MB-2".into());
    held(echo, "sample-trace", "report-names-other-sample", "y-1");
    let elsewhere = |f: &mut Fixture| sample(f, |s| s.manhole = "MB-7".into());
    held(elsewhere, "sample-trace", "sample-at-other-manhole", "a-1");
    let unmarked = |f: &mut Fixture| sample(f, |s| s.hoop_direction_marked = false);
    held(unmarked, "sample-trace", "hoop-direction-not-marked", "a-1");
    let back = |f: &mut Fixture| sample(f, |s| s.custody[1].custody_time = at("2026-05-04 11:00"));
    held(back, "sample-trace", "custody-out-of-order", "a-1");
    let late = |f: &mut Fixture| {
        let stored = f.records.get_mut(&full("samples/a-1")).unwrap();
        stored.observed_time_ms = Some(ms("2026-05-04 15:00"));
    };
    held(late, "sample-trace", "sample-numbered-after-cut", "a-1");
    held(
        |f| f.remove("samples/a-1"),
        "sample-trace",
        "missing-sample",
        "",
    );
}

#[test]
fn a_liner_softer_than_its_design_holds_though_it_passes_the_floor() {
    let softer = |y: &mut LaboratoryReport| {
        y.specimens
            .iter_mut()
            .for_each(|s| s.flexural_modulus_mpa = 7000.0);
    };
    let mut fixture = Fixture::clean();
    report(&mut fixture, softer);
    let status = fixture.status();
    assert_eq!(
        holding(point(&status, "laboratory-report")),
        ["modulus-below-design"]
    );
    let weaker = |f: &mut Fixture| {
        report(f, |y| {
            y.specimens
                .iter_mut()
                .for_each(|s| s.flexural_strength_mpa = 149.0)
        });
    };
    held(
        weaker,
        "laboratory-report",
        "strength-below-design",
        "designs/d-1",
    );
    let below_floor = |f: &mut Fixture| {
        f.edit("designs/d-1", |d: &mut WallDesign| {
            d.inputs.as_mut().unwrap().short_term_flexural_modulus_mpa = 4000.0;
        });
        report(f, |y| {
            y.specimens
                .iter_mut()
                .for_each(|s| s.flexural_modulus_mpa = 4500.0)
        });
    };
    held(
        below_floor,
        "laboratory-report",
        "modulus-below-floor",
        "y-1",
    );
}

#[test]
fn a_report_that_is_missing_thin_or_poorly_filed_holds() {
    held(
        |f| f.remove("laboratoryReports/y-1"),
        "laboratory-report",
        "missing-laboratory-report",
        "",
    );
    let few = |f: &mut Fixture| report(f, |y| y.specimens.truncate(4));
    held(few, "laboratory-report", "too-few-specimens", "y-1");
    let leaky = |f: &mut Fixture| report(f, |y| y.laminate_tight = Some(false));
    held(leaky, "laboratory-report", "laminate-leaky", "y-1");
    let typed = |f: &mut Fixture| report(f, |y| y.grade = PaperGrade::Transcribed.into());
    held(typed, "laboratory-report", "paper-grade-too-low", "y-1");
}

#[test]
fn a_missing_report_says_whether_it_is_overdue() {
    let said = |time: &str| {
        let mut fixture = Fixture::clean();
        fixture.remove("laboratoryReports/y-1");
        fixture.time_ms = ms(time);
        let status = fixture.status();
        point(&status, "laboratory-report").findings[0]
            .message
            .clone()
    };
    assert!(said("2026-05-25 12:00").contains("it is due"));
    assert!(said("2026-05-26 12:00").contains("overdue, 22 days after pull-in"));
    let mut late = Fixture::clean();
    report(&mut late, |y| y.reported_date = on("2026-06-01"));
    let status = late.status();
    let late = point(&status, "laboratory-report");
    assert!(
        late.findings
            .iter()
            .any(|f| f.code == "laboratory-report-late" && !f.holds)
    );
}

#[test]
fn a_piece_cut_from_the_wall_decides_over_a_failed_sample() {
    let retested = |f: &mut Fixture| {
        report(f, |y| {
            y.specimens
                .iter_mut()
                .for_each(|s| s.flexural_modulus_mpa = 7000.0)
        });
        let mut cut: Sample =
            prost::Message::decode(f.records[&full("samples/a-1")].body.clone()).unwrap();
        cut.method = SampleMethod::CutFromWall.into();
        f.add("samples/a-2", cut);
        work::report(f, "y-2", "a-2");
    };
    past(retested, "laboratory-report");
    let failed_too = |f: &mut Fixture| {
        retested(f);
        f.edit("laboratoryReports/y-2", |y: &mut LaboratoryReport| {
            y.specimens
                .iter_mut()
                .for_each(|s| s.flexural_modulus_mpa = 7500.0);
        });
    };
    held(
        failed_too,
        "laboratory-report",
        "modulus-below-design",
        "y-2",
    );
}

#[test]
fn a_wall_that_is_thin_plate_or_on_another_basis_holds() {
    let thin = |f: &mut Fixture| report(f, |y| y.wall_readings_mm = vec![4.1, 4.2, 4.25]);
    held(thin, "measured-wall", "wall-mean-too-thin", "y-1");
    let films = |f: &mut Fixture| {
        report(f, |y| {
            y.thickness_basis = ThicknessBasis::TotalWithFilms.into()
        })
    };
    held(films, "measured-wall", "thickness-basis-differs", "y-1");
    let plate = |f: &mut Fixture| sample(f, |s| s.method = SampleMethod::Plate.into());
    held(plate, "measured-wall", "missing-wall-measurement", "");
    past(
        |f| report(f, |y| y.wall_readings_mm = vec![4.2, 4.2, 4.2]),
        "measured-wall",
    );
}

#[test]
fn a_batch_without_its_share_of_reports_holds() {
    held(
        |f| f.remove("laboratoryReports/y-1"),
        "batch-coverage",
        "missing-laboratory-report",
        "",
    );
    held(
        |f| f.remove("batches/b-1"),
        "batch-coverage",
        "missing-batch",
        "",
    );
    let neighbour = |f: &mut Fixture| {
        let paper = LinerCertificate {
            liner: full("liners/n-9"),
            batches: vec![full("batches/b-1")],
            length_m: 900.0,
            grade: PaperGrade::Direct.into(),
            ..LinerCertificate::default()
        };
        f.add("certificates/c-9", paper);
    };
    held(neighbour, "batch-coverage", "too-few-reports", "y-1");
}

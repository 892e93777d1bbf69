//! Twelve ways in which closeout loses money, each told on the clean segment and held by the check
//! that would have caught it, with the record named.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, LeakTest, Sample, Survey},
    common::v1::{Datum, ThicknessBasis},
    design::v1::WallDesign,
    installation::v1::{CureFigures, CureHeader, CureRecord, LateralOutcome, Run},
    material::v1::{Liner, LinerMovement, LinerOrder, OrderedSegment, ReceivingCheck},
    project::v1::{Document, Segment},
};

use super::{
    Fixture,
    fixture::{at, full, ms, on},
    held, past, point,
};

fn log(f: &mut Fixture, change: impl FnOnce(&mut CureHeader, &mut CureFigures)) {
    f.edit("cureRecords/u-1", |log: &mut CureRecord| {
        let (header, figures) = (log.header.as_mut(), log.figures.as_mut());
        change(header.unwrap(), figures.unwrap());
    });
}

fn report(f: &mut Fixture, change: impl FnOnce(&mut LaboratoryReport)) {
    f.edit("laboratoryReports/y-1", change);
}

#[test]
fn way_1_a_liner_of_another_segment_is_pulled_in() {
    let label = |f: &mut Fixture| {
        f.edit("receivingChecks/k-1", |k: &mut ReceivingCheck| {
            k.label_serial = "FM-0042".into();
        });
    };
    held(label, "received-liner", "label-serial-differs", "k-1");
    let at_pull_in = |f: &mut Fixture| {
        f.edit("runs/r-1", |r: &mut Run| {
            r.serial_at_pull_in = "FM-0042".into()
        });
    };
    held(at_pull_in, "liner-identity", "serial-differs", "runs/r-1");
    let in_log = |f: &mut Fixture| log(f, |header, _| header.liner_serial = "FM-0042".into());
    held(in_log, "liner-identity", "serial-differs", "u-1");
    let swapped = |f: &mut Fixture| {
        let order = LinerOrder {
            segments: vec![OrderedSegment {
                segment: full("segments/s-2"),
                ..OrderedSegment::default()
            }],
            ..LinerOrder::default()
        };
        f.add("orders/o-2", order);
        let liner = Liner {
            serial: "FM-0042".into(),
            order: full("orders/o-2"),
        };
        f.add("liners/n-2", liner);
        f.edit("runs/r-1", |r: &mut Run| r.liner = full("liners/n-2"));
    };
    held(swapped, "ordered-wall", "order-of-other-segment", "o-2");
}

#[test]
fn way_2_the_cure_log_of_another_run_is_filed() {
    let manholes = |f: &mut Fixture| log(f, |header, _| header.manholes.reverse());
    held(manholes, "cure-log", "cure-log-of-other-manholes", "u-1");
    let length = |f: &mut Fixture| log(f, |_, figures| figures.logged_length_m = 60.0);
    held(length, "cure-log", "cure-log-length-differs", "u-1");
    let window = |f: &mut Fixture| {
        log(f, |_, figures| {
            figures.last_lamp_time = at("2026-05-04 15:00")
        });
    };
    held(window, "cure-log", "cure-log-outside-window", "u-1");
}

#[test]
fn way_3_a_report_names_a_manhole_instead_of_the_sample() {
    let manhole = |f: &mut Fixture| report(f, |y| y.sample_number_in_report = "MH 12".into());
    held(manhole, "sample-trace", "report-names-other-sample", "y-1");
    let numbered_late = |f: &mut Fixture| {
        let sample = f.records.get_mut(&full("samples/a-1")).unwrap();
        sample.observed_time_ms = Some(ms("2026-05-04 12:00"));
    };
    held(
        numbered_late,
        "sample-trace",
        "sample-numbered-after-cut",
        "a-1",
    );
    let side = |f: &mut Fixture| {
        f.edit("samples/a-1", |a: &mut Sample| a.manhole = "MB-9".into());
    };
    held(side, "sample-trace", "sample-at-other-manhole", "a-1");
}

#[test]
fn way_4_a_result_is_missing_or_late() {
    let missing = |f: &mut Fixture| f.remove("laboratoryReports/y-1");
    held(
        missing,
        "laboratory-report",
        "missing-laboratory-report",
        "",
    );
    held(missing, "batch-coverage", "missing-laboratory-report", "");
    let late = |f: &mut Fixture| report(f, |y| y.reported_date = on("2026-05-26"));
    past(late, "laboratory-report");
    let mut told = Fixture::clean();
    late(&mut told);
    let status = told.status();
    let codes = point(&status, "laboratory-report").findings.iter();
    let codes: Vec<_> = codes.map(|finding| finding.code.as_str()).collect();
    assert_eq!(codes, ["laboratory-report-late"], "late, and told so");
}

#[test]
fn way_5_thicknesses_on_two_bases_are_compared() {
    let films = ThicknessBasis::TotalWithFilms;
    let measured = |f: &mut Fixture| report(f, |y| y.thickness_basis = films.into());
    held(measured, "measured-wall", "thickness-basis-differs", "y-1");
    let ordered = |f: &mut Fixture| {
        f.edit("orders/o-1", |o: &mut LinerOrder| {
            o.wall.as_mut().unwrap().basis = films.into();
        });
    };
    held(ordered, "ordered-wall", "thickness-basis-differs", "o-1");
}

#[test]
fn way_6_openings_are_counted_from_another_zero() {
    let shifted = |datum: Datum| {
        move |f: &mut Fixture| {
            f.edit("surveys/v-post", |s: &mut Survey| {
                s.datum = datum.into();
                for seen in &mut s.observations {
                    seen.station_from_m += 0.6;
                }
            });
        }
    };
    let inside = shifted(Datum::InsideWall);
    held(inside, "lateral-stations", "datum-offset", "v-post");
    past(shifted(Datum::ManholeCentre), "lateral-stations");
}

#[test]
fn way_7_a_lateral_is_never_opened() {
    let nothing = |f: &mut Fixture| f.remove("lateralOutcomes/l-2");
    held(nothing, "laterals-reopened", "missing-lateral-outcome", "");
    let outcome = |f: &mut Fixture, change: fn(&mut LateralOutcome)| {
        f.edit("lateralOutcomes/l-2", change);
    };
    let next_day = |f: &mut Fixture| {
        outcome(f, |o| o.flow_seen_time = at("2026-05-05 08:00"));
    };
    held(
        next_day,
        "laterals-reopened",
        "lateral-shut-over-night",
        "l-2",
    );
    let unproven = |f: &mut Fixture| outcome(f, |o| o.flow_seen_time = None);
    held(unproven, "laterals-reopened", "missing-flow-seen", "");
    let unseen = |f: &mut Fixture| {
        f.edit("surveys/v-post", |s: &mut Survey| {
            s.observations.truncate(1)
        });
    };
    held(
        unseen,
        "laterals-reopened",
        "opening-not-seen",
        "laterals/l-2",
    );
    let unticked = |f: &mut Fixture| {
        f.edit("surveys/v-pre", |s: &mut Survey| s.sightings.truncate(1));
    };
    let code = "lateral-not-ticked";
    held(unticked, "pre-cure-cctv", code, "laterals/l-2");
}

#[test]
fn way_8_the_design_is_issued_again_after_the_order() {
    let again = |f: &mut Fixture| {
        f.former.push(f.records[&full("designs/d-1")].clone());
        f.edit("designs/d-1", |d: &mut WallDesign| {
            d.result.as_mut().unwrap().required_wall_thickness_mm = 5.0;
        });
    };
    held(again, "ordered-wall", "order-on-old-design", "orders/o-1");
    held(
        again,
        "ordered-wall",
        "ordered-wall-too-thin",
        "designs/d-1",
    );
}

#[test]
fn way_9_two_lengths_of_one_segment_are_on_file() {
    let centre_to_centre = |f: &mut Fixture| {
        f.edit("segments/s-1", |s: &mut Segment| {
            s.length_wall_to_wall_m = 51.2
        });
    };
    held(centre_to_centre, "length-closure", "length-differs", "s-1");
}

#[test]
fn way_10_an_old_or_warm_liner_is_pulled_in() {
    let late = |f: &mut Fixture| {
        f.edit(
            "certificates/c-1",
            |c: &mut obvert_proto::material::v1::LinerCertificate| c.expiry_date = on("2026-05-03"),
        );
    };
    held(late, "shelf-life", "liner-past-its-date", "c-1");
    let warm = |f: &mut Fixture| {
        f.edit("linerMovements/m-1", |m: &mut LinerMovement| {
            m.storage_max_celsius = Some(31.0);
        });
    };
    held(warm, "shelf-life", "storage-temperature-outside", "m-1");
}

#[test]
fn way_11_the_leak_test_is_late_or_timed_by_a_wrong_table() {
    let test = |f: &mut Fixture, change: fn(&mut LeakTest)| f.edit("leakTests/t-1", change);
    let late = |f: &mut Fixture| test(f, |t| t.end_time = at("2026-05-04 12:20"));
    held(late, "leak-test", "leak-test-after-reopening", "t-1");
    let short = |f: &mut Fixture| test(f, |t| t.timed_s = 440.0);
    held(short, "leak-test", "leak-test-failed", "t-1");
    let smaller = |f: &mut Fixture| test(f, |t| t.diameter_mm = 150.0);
    held(smaller, "leak-test", "leak-test-diameter-differs", "t-1");
}

#[test]
fn way_12_a_yard_release_or_a_permit_is_missing() {
    let release = "documents/property-release-p-3";
    let unreleased = |f: &mut Fixture| f.remove(release);
    let code = "missing-property-release";
    held(unreleased, "property-release", code, "");
    let early = |f: &mut Fixture| {
        f.edit(release, |release: &mut Document| {
            release.signed_date = on("2026-05-01");
        });
    };
    let code = "property-release-not-sufficient";
    held(early, "property-release", code, release);
    let no_permit = |f: &mut Fixture| f.remove("accessPermits/p-3");
    held(no_permit, "right-of-entry", "missing-access-permit", "");
}

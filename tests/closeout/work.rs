//! Records of the clean segment from the day of lining to the laboratory.

use obvert_proto::{
    acceptance::v1::{
        CustodyStep, LaboratoryReport, LeakMethod, LeakTest, Observation, Sample, SampleMethod,
        Specimen, Survey, SurveyPurpose,
    },
    common::v1::{Datum, Direction, PaperGrade, ThicknessBasis},
    installation::v1::{
        CureFigures, CureHeader, CureRecord, CureVerdict, LateralOutcome, ReopeningOutcome, Run,
        RunOutcome, RunStep, StepKind,
    },
    material::v1::{LinerOrder, OrderedSegment},
};

use super::{
    fixture::{Fixture, SEGMENT, at, full, ms, on},
    paper::segment,
};

pub(crate) fn file(fixture: &mut Fixture) {
    run(fixture);
    survey(
        fixture,
        "v-ready",
        SurveyPurpose::ReadyToLine,
        "2026-05-04 07:05",
        Vec::new(),
    );
    let seen = vec![opening(10.05, 2.0), opening(30.1, 10.0)];
    survey(
        fixture,
        "v-post",
        SurveyPurpose::PostLining,
        "2026-05-04 13:30",
        seen,
    );
    cure_log(fixture);
    laterals(fixture);
    laboratory(fixture);
    let test = LeakTest {
        segment: SEGMENT.into(),
        run: full("runs/r-1"),
        method: LeakMethod::LowPressureAir.into(),
        start_time: at("2026-05-04 11:38"),
        end_time: at("2026-05-04 11:48"),
        diameter_mm: 200.0,
        length_m: 49.4,
        start_pressure_kpa: Some(24.13),
        end_pressure_kpa: Some(17.25),
        required_time_s: Some(446.0),
        timed_s: 600.0,
        ..LeakTest::default()
    };
    fixture.add("leakTests/t-1", test);
}

/// Times of the steps on 4 May.
const STEPS: &[(StepKind, &str, &str)] = &[
    (StepKind::Cleaning, "06:00", "07:00"),
    (StepKind::FlowControl, "07:20", "13:10"),
    (StepKind::SlipSheet, "07:30", "07:40"),
    (StepKind::PullIn, "08:00", "08:30"),
    (StepKind::Inflation, "08:40", "09:10"),
    (StepKind::PreCureCctv, "09:10", "09:25"),
    (StepKind::Cure, "09:30", "10:30"),
    (StepKind::CoolDown, "10:30", "11:00"),
    (StepKind::FilmRemoval, "11:00", "11:10"),
    (StepKind::EndCut, "11:15", "11:30"),
    (StepKind::LeakTest, "11:35", "11:50"),
    (StepKind::Reopening, "12:00", "12:40"),
    (StepKind::Brushing, "12:45", "13:00"),
    (StepKind::EndSeal, "13:05", "13:10"),
];

fn run(fixture: &mut Fixture) {
    let step = |(kind, from, to): &(StepKind, &str, &str)| RunStep {
        step: (*kind).into(),
        start_time: at(&format!("2026-05-04 {from}")),
        end_time: at(&format!("2026-05-04 {to}")),
        ..RunStep::default()
    };
    let run = Run {
        segments: vec![SEGMENT.into()],
        manholes: vec!["MB-1".into(), "MB-2".into()],
        liner: full("liners/n-1"),
        serial_at_pull_in: "FM-0041".into(),
        outcome: RunOutcome::Complete.into(),
        steps: STEPS.iter().map(step).collect(),
        pull_force_max_kn: Some(11.0),
        pull_force_allowed_kn: Some(18.0),
        elongation_percent: Some(0.7),
        ends_beyond_walls_m: 1.8,
        ..Run::default()
    };
    fixture.add("runs/r-1", run);
}

pub(crate) fn opening(station_from_m: f64, clock_h: f64) -> Observation {
    Observation {
        station_from_m,
        circumference_from_h: Some(clock_h),
        observation_class: "lateral-open".into(),
        ..Observation::default()
    }
}

pub(crate) fn survey(
    fixture: &mut Fixture,
    id: &str,
    purpose: SurveyPurpose,
    time: &str,
    observations: Vec<Observation>,
) {
    let survey = Survey {
        segment: SEGMENT.into(),
        purpose: purpose.into(),
        start_time: at(time),
        from_manhole: "MB-1".into(),
        direction: Direction::WithFlow.into(),
        datum: Datum::InsideWall.into(),
        surveyed_length_m: 50.2,
        complete: true,
        observations,
        media: vec![full("attachments/film")],
        ready_to_line: (purpose == SurveyPurpose::ReadyToLine).then_some(true),
        ..Survey::default()
    };
    fixture.add(&format!("surveys/{id}"), survey);
}

fn cure_log(fixture: &mut Fixture) {
    let log = CureRecord {
        run: full("runs/r-1"),
        header: Some(CureHeader {
            manholes: vec!["MB-1".into(), "MB-2".into()],
            liner_serial: "FM-0041".into(),
            ..CureHeader::default()
        }),
        figures: Some(CureFigures {
            first_lamp_time: at("2026-05-04 09:32"),
            last_lamp_time: at("2026-05-04 10:28"),
            logged_length_m: 51.6,
            ..CureFigures::default()
        }),
        verdict: CureVerdict::WithinTolerance.into(),
        file_sha256: "ab".repeat(32),
        ..CureRecord::default()
    };
    fixture.add("cureRecords/u-1", log);
}

fn laterals(fixture: &mut Fixture) {
    for (id, opened, flow) in [("l-1", "12:10", "12:15"), ("l-2", "12:30", "12:35")] {
        let outcome = LateralOutcome {
            lateral: full(&format!("laterals/{id}")),
            run: full("runs/r-1"),
            outcome: ReopeningOutcome::Open.into(),
            opened_time: at(&format!("2026-05-04 {opened}")),
            opening_percent: Some(98.0),
            brushed: true,
            disc_recovered: true,
            flow_seen_time: at(&format!("2026-05-04 {flow}")),
            flow_media: vec![full("attachments/flow")],
            ..LateralOutcome::default()
        };
        fixture.add(&format!("lateralOutcomes/{id}"), outcome);
    }
}

fn laboratory(fixture: &mut Fixture) {
    let custody = |time, received_by: &str| CustodyStep {
        custody_time: at(time),
        received_by: received_by.into(),
        ..CustodyStep::default()
    };
    let sample = Sample {
        sample_number: "Q-001".into(),
        run: full("runs/r-1"),
        segment: SEGMENT.into(),
        liner_serial: "FM-0041".into(),
        manhole: "MB-2".into(),
        method: SampleMethod::Restrained.into(),
        cut_time: at("2026-05-04 11:20"),
        hoop_direction_marked: true,
        custody: vec![
            custody("2026-05-04 11:25", "crew lead"),
            custody("2026-05-06 09:00", "Fernmoss Materials Laboratory"),
        ],
        ..Sample::default()
    };
    fixture.add("samples/a-1", sample);
    let stored = fixture.records.get_mut(&full("samples/a-1")).unwrap();
    stored.observed_time_ms = Some(ms("2026-05-04 06:30"));
    report(fixture, "y-1", "a-1");
}

/// A good report on a sample.
pub(crate) fn report(fixture: &mut Fixture, id: &str, sample: &str) {
    let specimen = |(number, modulus): (usize, f64)| Specimen {
        specimen_number: (number + 1).to_string(),
        hoop_direction: true,
        width_mm: 50.0,
        depth_mm: 4.6,
        flexural_modulus_mpa: modulus,
        flexural_strength_mpa: 190.0,
    };
    let moduli = [8900.0, 9100.0, 9000.0, 9050.0, 8950.0];
    let report = LaboratoryReport {
        sample: full(&format!("samples/{sample}")),
        sample_number_in_report: "Q-001".into(),
        liner_serial_in_report: "FM-0041".into(),
        report_number: "FML-88".into(),
        received_date: on("2026-05-06"),
        tested_date: on("2026-05-12"),
        reported_date: on("2026-05-14"),
        specimens: moduli.into_iter().enumerate().map(specimen).collect(),
        wall_readings_mm: vec![4.5, 4.6, 4.4, 4.7, 4.5, 4.6],
        thickness_basis: ThicknessBasis::Composite.into(),
        laminate_tight: Some(true),
        grade: PaperGrade::Direct.into(),
        ..LaboratoryReport::default()
    };
    fixture.add(&format!("laboratoryReports/{id}"), report);
}

/// Lets the run go on through MB-2 to MB-3.
pub(crate) fn share_run(fixture: &mut Fixture) {
    fixture.add("segments/s-2", segment("MB-2", "MB-3"));
    fixture.edit::<LinerOrder>("orders/o-1", |order| {
        order.segments.push(OrderedSegment {
            segment: full("segments/s-2"),
            design: full("designs/d-2"),
            design_revision: 1,
        });
        order.intermediate_manholes_m = 1.2;
        order.ordered_length_m = 105.0;
    });
    let long = |length_m: &mut f64| *length_m = 105.5;
    fixture.edit(
        "certificates/c-1",
        |c: &mut obvert_proto::material::v1::LinerCertificate| {
            long(&mut c.length_m);
        },
    );
    fixture.edit(
        "receivingChecks/k-1",
        |k: &mut obvert_proto::material::v1::ReceivingCheck| {
            long(&mut k.length_m);
        },
    );
    fixture.edit::<Run>("runs/r-1", |run| {
        run.segments.push(full("segments/s-2"));
        run.manholes.push("MB-3".into());
        run.intermediate_manholes_m = 1.2;
    });
    fixture.edit::<CureRecord>("cureRecords/u-1", |log| {
        log.header.as_mut().unwrap().manholes.push("MB-3".into());
        log.figures.as_mut().unwrap().logged_length_m = 102.7;
    });
}

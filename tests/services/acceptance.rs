//! Samples, reports, surveys and nonconformances as they are written.

use obvert_acceptance::Acceptance;
use obvert_engineering::units::{mpa_from_psi, psi_from_mpa};
use obvert_proto::{
    acceptance::v1::{
        CreateRecordRequest, CustodyStep, Disposition, LaboratoryReport, Nonconformance,
        Observation, Record, Sample, SampleMethod, Specimen, Survey, SurveyPurpose,
        acceptance_service_client::AcceptanceServiceClient,
        acceptance_service_server::AcceptanceServiceServer, record::Body,
    },
    common::v1::{Datum, Direction, ThicknessBasis},
};
use tonic::{Response, Status, service::interceptor::InterceptedService};

use super::{
    papers::day,
    pipe::{at, with_run},
    store::{self, As, PROJECT, Store, fact, named, office, violates},
};

/// US EPA, EPA/600/R-12/004, 2012, Table 4-18: bending stress and modulus of five specimens, psi.
const TABLE_4_18_PSI: [(f64, f64); 5] = [
    (5012.0, 276_920.0),
    (6027.0, 187_218.0),
    (7486.0, 369_998.0),
    (6159.0, 270_265.0),
    (5900.0, 214_134.0),
];

pub(super) type Acceptances =
    AcceptanceServiceClient<InterceptedService<AcceptanceServiceServer<Acceptance>, As>>;

pub(super) async fn with_lined_pipe() -> (Store, Acceptances) {
    let (store, _) = with_run().await;
    let server = AcceptanceServiceServer::new(Acceptance::new(store.ledger.clone()));
    let client = AcceptanceServiceClient::new(InterceptedService::new(server, As(office())));
    (store, client)
}

pub(super) async fn create(client: &mut Acceptances, id: &str, body: Body) -> Result<Body, Status> {
    let request = CreateRecordRequest {
        write: store::write(),
        project: PROJECT.into(),
        record_id: id.into(),
        record: Some(Record {
            meta: None,
            body: Some(body),
        }),
    };
    let record = client
        .create_record(request)
        .await
        .map(Response::into_inner)?;
    Ok(record.body.unwrap())
}

fn sample() -> Sample {
    let custody = |minutes, received_by: &str| CustodyStep {
        custody_time: at(minutes),
        received_by: received_by.into(),
        condition: "dry".into(),
    };
    Sample {
        sample_number: "QL-31".into(),
        run: named("runs", "r-1"),
        segment: named("segments", "s-014"),
        liner_serial: "FM-0041".into(),
        manhole: "MH-8".into(),
        method: SampleMethod::Restrained.into(),
        cut_time: at(120),
        custody: vec![
            custody(130, "carrier"),
            custody(900, "Fernmoss Materials Laboratory"),
        ],
        ..Sample::default()
    }
}

fn report() -> LaboratoryReport {
    let specimen = |(index, (strength, modulus)): (usize, (f64, f64))| Specimen {
        specimen_number: (index + 1).to_string(),
        hoop_direction: false,
        width_mm: 12.0,
        depth_mm: 14.0,
        flexural_modulus_mpa: mpa_from_psi(modulus),
        flexural_strength_mpa: mpa_from_psi(strength),
    };
    LaboratoryReport {
        sample: named("samples", "p-1"),
        sample_number_in_report: "QL-13".into(),
        report_number: "F/26-118".into(),
        laboratory: "Fernmoss Materials Laboratory".into(),
        accreditation_number: "invented 4711".into(),
        method: "three-point bending".into(),
        received_date: day(3, 4),
        tested_date: day(3, 6),
        reported_date: day(3, 9),
        specimens: TABLE_4_18_PSI
            .into_iter()
            .enumerate()
            .map(specimen)
            .collect(),
        wall_readings_mm: vec![14.0, 14.4, 14.2],
        thickness_basis: ThicknessBasis::Structural.into(),
        ..LaboratoryReport::default()
    }
}

#[track_caller]
pub(super) fn near(found: f64, printed: f64, digit: f64) {
    assert!(
        (found - printed).abs() <= digit,
        "{found} is not {printed} within {digit}"
    );
}

#[tokio::test]
async fn a_report_gets_the_means_and_deviations_of_epa_table_4_18() {
    let (_store, mut client) = with_lined_pipe().await;
    create(&mut client, "p-1", Body::Sample(sample()))
        .await
        .unwrap();
    let filed = create(&mut client, "b-1", Body::LaboratoryReport(report()))
        .await
        .unwrap();
    let Body::LaboratoryReport(filed) = filed else {
        panic!("{filed:?}")
    };
    // The report prints 6117 ± 888 psi and 263 707 ± 70 398 psi.
    near(psi_from_mpa(filed.mean_flexural_strength_mpa), 6117.0, 0.5);
    near(psi_from_mpa(filed.sd_flexural_strength_mpa), 888.0, 0.5);
    near(
        psi_from_mpa(filed.mean_flexural_modulus_mpa),
        263_707.0,
        0.5,
    );
    near(psi_from_mpa(filed.sd_flexural_modulus_mpa), 70_398.0, 0.5);
    near(filed.mean_wall_mm, 14.2, 1e-9);
    assert_eq!(filed.min_wall_mm, 14.0);
    // It names another sample number, and is stored all the same.
    assert_eq!(filed.sample_number_in_report, "QL-13");
}

#[tokio::test]
async fn hoop_specimens_alone_count_where_there_are_any() {
    let (_store, mut client) = with_lined_pipe().await;
    create(&mut client, "p-1", Body::Sample(sample()))
        .await
        .unwrap();
    let mut mixed = report();
    mixed.specimens[..2]
        .iter_mut()
        .for_each(|specimen| specimen.hoop_direction = true);
    let refused = create(&mut client, "b-1", Body::LaboratoryReport(mixed.clone())).await;
    violates(
        &refused.unwrap_err(),
        &[("laboratory_report.specimens", "2 specimens in the hoop")],
    );
    mixed.specimens[2].hoop_direction = true;
    let filed = create(&mut client, "b-1", Body::LaboratoryReport(mixed))
        .await
        .unwrap();
    let Body::LaboratoryReport(filed) = filed else {
        panic!("{filed:?}")
    };
    near(
        psi_from_mpa(filed.mean_flexural_strength_mpa),
        (5012.0 + 6027.0 + 7486.0) / 3.0,
        0.01,
    );
}

#[tokio::test]
async fn a_reports_dates_follow_one_another_and_it_is_filed_once() {
    let (_store, mut client) = with_lined_pipe().await;
    create(&mut client, "p-1", Body::Sample(sample()))
        .await
        .unwrap();
    let early = LaboratoryReport {
        tested_date: day(3, 3),
        reported_date: day(3, 2),
        ..report()
    };
    let refused = create(&mut client, "b-1", Body::LaboratoryReport(early))
        .await
        .unwrap_err();
    let expected = [
        (
            "laboratory_report.tested_date",
            "is 2026-03-03, before received_date 2026-03-04",
        ),
        (
            "laboratory_report.reported_date",
            "is 2026-03-02, before tested_date",
        ),
    ];
    violates(&refused, &expected);
    create(&mut client, "b-1", Body::LaboratoryReport(report()))
        .await
        .unwrap();
    let again = create(&mut client, "b-2", Body::LaboratoryReport(report()))
        .await
        .unwrap_err();
    assert_eq!(fact(&again, "holder"), named("laboratoryReports", "b-1"));
}

#[tokio::test]
async fn a_sample_is_of_its_run_and_handed_over_in_order_of_time() {
    let (_store, mut client) = with_lined_pipe().await;
    let mut late = sample();
    late.custody.reverse();
    let refused = create(&mut client, "p-1", Body::Sample(late))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[(
            "sample.custody[1].custody_time",
            "lies before the step above",
        )],
    );
    let mut elsewhere = sample();
    elsewhere.segment = named("segments", "s-015");
    elsewhere.manhole = "MH-9".into();
    let refused = create(&mut client, "p-1", Body::Sample(elsewhere))
        .await
        .unwrap_err();
    let expected = [
        ("sample.segment", "is s-015, which run r-1 does not line"),
        ("sample.manhole", "is MH-9, run r-1 passes MH-7, MH-8"),
    ];
    violates(&refused, &expected);
    create(&mut client, "p-1", Body::Sample(sample()))
        .await
        .unwrap();
    let again = create(&mut client, "p-2", Body::Sample(sample()))
        .await
        .unwrap_err();
    assert_eq!(fact(&again, "claim"), "sample-number/QL-31");
}

#[tokio::test]
async fn a_survey_begins_where_its_direction_says_and_sees_only_where_it_went() {
    let (_store, mut client) = with_lined_pipe().await;
    let seen = |from, to| Observation {
        station_from_m: from,
        station_to_m: to,
        observation_class: "wrinkle-longitudinal".into(),
        ..Observation::default()
    };
    let survey = Survey {
        segment: named("segments", "s-014"),
        purpose: SurveyPurpose::PostLining.into(),
        start_time: at(300),
        from_manhole: "MH-7".into(),
        direction: Direction::AgainstFlow.into(),
        datum: Datum::InsideWall.into(),
        surveyed_length_m: 90.2,
        operator: "BR".into(),
        observations: vec![seen(91.0, None), seen(91.3, None), seen(20.0, Some(19.0))],
        ..Survey::default()
    };
    let refused = create(&mut client, "v-1", Body::Survey(survey.clone()))
        .await
        .unwrap_err();
    let expected = [
        (
            "survey.observations[1].station_from_m",
            "is 91.3 m, beyond the surveyed 90.2 m",
        ),
        (
            "survey.observations[2].station_to_m",
            "before station_from_m 20 m",
        ),
    ];
    violates(&refused, &expected);
    let survey = Survey {
        observations: Vec::new(),
        ..survey
    };
    let refused = create(&mut client, "v-1", Body::Survey(survey.clone()))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("survey.from_manhole", "begins segment s-014 at MH-8")],
    );
    let survey = Survey {
        from_manhole: "MH-8".into(),
        ..survey
    };
    create(&mut client, "v-1", Body::Survey(survey))
        .await
        .unwrap();
}

/// A deviation of the lined pipe, as it is written up.
pub(super) fn wrinkle() -> Nonconformance {
    Nonconformance {
        subjects: vec![named("segments", "s-014"), named("runs", "r-1")],
        description: "wrinkle of 12 mm, limit 10 mm".into(),
        rule_source: "contract, part 4".into(),
        found_time: at(310),
        found_by: "inspector".into(),
        ..Nonconformance::default()
    }
}

#[tokio::test]
async fn a_nonconformance_is_disposed_of_before_it_is_closed_and_says_by_whom_and_why() {
    let (_store, mut client) = with_lined_pipe().await;
    let found = wrinkle();
    let body = Body::Nonconformance;
    let decided = Nonconformance {
        disposition: Disposition::Repair.into(),
        close_time: at(310),
        ..found.clone()
    };
    let refused = create(&mut client, "n-1", body(decided)).await.unwrap_err();
    let expected = [
        ("nonconformance.disposed_by", "is missing"),
        ("nonconformance.disposed_time", "is missing"),
        ("nonconformance.justification", "is missing"),
        ("nonconformance.closed_by", "is missing"),
        ("nonconformance.close_time", "does not lie after found_time"),
    ];
    violates(&refused, &expected);
    let closed = Nonconformance {
        close_time: at(400),
        closed_by: "owner".into(),
        ..found.clone()
    };
    let refused = create(&mut client, "n-1", body(closed)).await.unwrap_err();
    violates(
        &refused,
        &[("nonconformance.disposition", "cannot be closed")],
    );
    create(&mut client, "n-1", body(found)).await.unwrap();
}

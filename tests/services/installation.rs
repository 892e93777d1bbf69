//! Cure logs as they are filed: stored whenever they can be read, with what is wrong as findings.

use futures::StreamExt;
use obvert_proto::installation::v1::{
    CureColumns, CureRecord, CureVerdict, ReadCureSamplesRequest, import_cure_log_request::Part,
};
use sha2::{Digest, Sha256};

use super::{
    cure_log::{TRAVEL_M, columns, csv, file, head, header, send},
    pipe::{Installations, with_run},
    store::{fact, named, reason, violates},
};

fn codes(record: &CureRecord) -> Vec<&str> {
    record
        .findings
        .iter()
        .map(|finding| finding.code.as_str())
        .collect()
}

async fn samples(client: &mut Installations, id: &str) -> CureColumns {
    let request = ReadCureSamplesRequest {
        name: named("cureRecords", id),
    };
    let mut stream = client
        .read_cure_samples(request)
        .await
        .unwrap()
        .into_inner();
    let mut all = CureColumns::default();
    while let Some(answer) = stream.next().await {
        let part = answer.unwrap().columns.unwrap();
        all.time_ms.extend(part.time_ms);
        all.position_m.extend(part.position_m);
        all.speed_m_per_min.extend(part.speed_m_per_min);
        all.lamp_mask.extend(part.lamp_mask);
        all.pressure_kpa.extend(part.pressure_kpa);
        all.infrared_1_celsius.extend(part.infrared_1_celsius);
        all.infrared_2_celsius.extend(part.infrared_2_celsius);
        all.infrared_3_celsius.extend(part.infrared_3_celsius);
        all.air_celsius.extend(part.air_celsius);
    }
    all
}

#[tokio::test]
async fn a_log_that_keeps_every_limit_is_filed_within_the_entered_tolerance() {
    let (store, mut client) = with_run().await;
    let text = csv(TRAVEL_M);
    let filed = file(&mut client, "c-1", &text, 100_000).await.unwrap();
    let record = filed.cure_record.unwrap();
    assert_eq!(codes(&record), Vec::<&str>::new(), "{:#?}", record.findings);
    assert_eq!(
        record.verdict(),
        CureVerdict::WithinTolerance,
        "{:#?}",
        record.deviations
    );
    let figures = record.figures.unwrap();
    // Swept by lamps: the travel and the train's own 1.28 m.
    assert!(
        (figures.logged_length_m - (TRAVEL_M + 1.28)).abs() < 0.1,
        "{figures:#?}"
    );
    assert!(
        (figures.pressure_min_kpa - 29.0).abs() < 1e-9,
        "{figures:#?}"
    );
    assert_eq!(figures.below_reference_length_m, Some(0.0));
    assert_eq!(
        (record.maker_sheet, record.band_index),
        (named("makerSheets", "m-1"), 0)
    );
    let sha256: [u8; 32] = Sha256::digest(text.as_bytes()).into();
    let native = store.ledger.blobs().get(sha256).await.unwrap();
    assert_eq!(native.as_deref(), Some(text.as_bytes()));
    assert_eq!(record.file_size_bytes, text.len() as i64);
    assert_eq!(samples(&mut client, "c-1").await, columns(TRAVEL_M));
}

#[tokio::test]
async fn a_log_cut_into_parts_of_seven_bytes_is_the_same_log() {
    let (_store, mut whole_client) = with_run().await;
    let text = csv(3.0).replace('\n', "\r\n");
    let whole = file(&mut whole_client, "c-1", &text, text.len())
        .await
        .unwrap();
    let (_store, mut parts_client) = with_run().await;
    let parts = file(&mut parts_client, "c-1", &text, 7).await.unwrap();
    assert!(whole.cure_record.as_ref().unwrap().last_row > 90);
    assert_eq!(parts.cure_record, whole.cure_record);
}

#[tokio::test]
async fn samples_sent_as_columns_give_the_figures_of_the_same_file() {
    let (_store, mut client) = with_run().await;
    let from_file = file(&mut client, "c-1", &csv(TRAVEL_M), 1 << 16)
        .await
        .unwrap();
    let sent = vec![
        Part::Header(head("c-2", Some(header()))),
        Part::Columns(columns(TRAVEL_M)),
    ];
    let from_columns = send(&mut client, sent).await.unwrap();
    let (file, columns) = (
        from_file.cure_record.unwrap(),
        from_columns.cure_record.unwrap(),
    );
    assert_eq!(columns.figures, file.figures);
    assert_eq!(
        (columns.verdict, columns.deviations.len()),
        (file.verdict, file.deviations.len())
    );
    assert_eq!(codes(&columns), ["no-native-file"]);
    assert_eq!(columns.file_size_bytes, 0);
    assert_eq!(
        samples(&mut client, "c-2").await,
        samples(&mut client, "c-1").await
    );
}

#[tokio::test]
async fn a_log_five_percent_short_is_stored_and_its_length_is_a_finding() {
    let (_store, mut client) = with_run().await;
    let filed = file(&mut client, "c-1", &csv(TRAVEL_M * 0.95), 1 << 16)
        .await
        .unwrap();
    let record = filed.cure_record.unwrap();
    let found = record
        .findings
        .iter()
        .find(|finding| finding.code == "length-differs")
        .unwrap();
    assert!(found.holds);
    assert_eq!(
        found.facts["run_length_m"].parse::<f64>().unwrap().round(),
        93.0
    );
    let difference: f64 = found.facts["difference_m"].parse().unwrap();
    assert!((difference + 0.05 * TRAVEL_M).abs() < 0.1, "{found:#?}");
    assert_eq!(record.verdict(), CureVerdict::OutsideTolerance);
    assert!(filed.meta.unwrap().revision > 0);
}

#[tokio::test]
async fn a_file_filed_twice_is_refused_naming_the_first() {
    let (_store, mut client) = with_run().await;
    let text = csv(5.0);
    file(&mut client, "c-1", &text, 1 << 16).await.unwrap();
    let refused = file(&mut client, "c-2", &text, 1 << 16).await.unwrap_err();
    assert_eq!(reason(&refused), "CLAIM_TAKEN");
    assert_eq!(fact(&refused, "holder"), named("cureRecords", "c-1"));
    let renamed = columns(5.0);
    let sent = |id| {
        vec![
            Part::Header(head(id, Some(header()))),
            Part::Columns(renamed.clone()),
        ]
    };
    send(&mut client, sent("c-3")).await.unwrap();
    assert_eq!(
        reason(&send(&mut client, sent("c-4")).await.unwrap_err()),
        "CLAIM_TAKEN"
    );
}

#[tokio::test]
async fn every_bad_cell_of_a_file_is_named_with_row_column_value_and_unit() {
    let (_store, mut client) = with_run().await;
    let bad = "1,2026-03-02T14:00:00Z,,zero,1,9,0x1ff,0.5,100,100,100,40,,\n\
               2,02.03.2026 14:00,,0.1,1,9,511,0.5,100,100,100,40,,\n\
               3,2026-03-02T14:00:04Z,,0.2,1,9,0x1ff,0.5\n\
               4,2026-03-02T14:00:06Z,,0.3,1,9,0x1ff,NaN,100,100,100,40,lunch,a\"b\n";
    let text = format!("{}{}{bad}", super::cure_log::HEADER, super::cure_log::NAMES);
    let refused = file(&mut client, "c-1", &text, 1 << 16).await.unwrap_err();
    assert_eq!(reason(&refused), "TABLE_INVALID");
    let expected = [
        (
            "log.csv row 15 column position_m",
            "is \"zero\": a number in m",
        ),
        (
            "log.csv row 16 column t_utc",
            "is \"02.03.2026 14:00\": a time with Z",
        ),
        ("log.csv row 16 column lamp_mask", "is \"511\": hexadecimal"),
        ("log.csv row 17", "has 8 cells, the row of names has 14"),
        (
            "log.csv row 18 column pressure_bar_g",
            "is \"NaN\": a number in bar",
        ),
        ("log.csv row 18 column event", "is \"lunch\": an event"),
        ("log.csv row 18 column note", "quotes as in RFC 4180"),
    ];
    violates(&refused, &expected);
}

#[tokio::test]
async fn a_column_of_its_own_begins_with_x_and_any_other_unknown_one_is_refused() {
    let (_store, mut client) = with_run().await;
    let named_x = csv(3.0).replace("t_air_c", "x_blower_m3_per_h");
    file(&mut client, "c-1", &named_x, 1 << 16).await.unwrap();
    assert_eq!(
        samples(&mut client, "c-1").await.air_celsius,
        Vec::<f64>::new()
    );
    let unknown = csv(3.0).replace("t_air_c", "blower");
    let refused = file(&mut client, "c-2", &unknown, 1 << 16)
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("log.csv row 14 column blower", "is no column")],
    );
}

#[tokio::test]
async fn an_empty_cell_is_not_measured_and_never_zero() {
    let (_store, mut client) = with_run().await;
    let text = csv(TRAVEL_M).replace(",0.29,", ",,");
    let record = file(&mut client, "c-1", &text, 1 << 16)
        .await
        .unwrap()
        .cure_record
        .unwrap();
    assert!(
        samples(&mut client, "c-1")
            .await
            .pressure_kpa
            .iter()
            .all(|kpa| kpa.is_nan())
    );
    assert_eq!(record.verdict(), CureVerdict::DataUnfit);
    assert!(codes(&record).contains(&"data-unfit"));
    assert!(
        !record
            .deviations
            .iter()
            .any(|deviation| deviation.kind == "pressure-below")
    );
}

#[tokio::test]
async fn another_light_train_has_no_tolerance_and_none_is_taken_instead() {
    let (_store, mut client) = with_run().await;
    let text = csv(TRAVEL_M).replace("lamp_power_w: 500", "lamp_power_w: 510");
    let record = file(&mut client, "c-1", &text, 1 << 16)
        .await
        .unwrap()
        .cure_record
        .unwrap();
    assert_eq!(record.verdict(), CureVerdict::NoToleranceGiven);
    assert_eq!((record.band_index, record.maker_sheet.as_str()), (-1, ""));
    assert_eq!(codes(&record), ["no-tolerance-given"]);
}

#[tokio::test]
async fn a_log_of_another_run_is_stored_with_what_gives_it_away() {
    let (_store, mut client) = with_run().await;
    let text = csv(TRAVEL_M)
        .replace("manholes: MH-7;MH-8", "manholes: MH-8;MH-7")
        .replace("FM-0041", "FM-0042")
        .replace("segment_ids: Q-014", "segment_ids: Q-015")
        .replace("clock_offset_s: 0", "clock_offset_s: 7200");
    let record = file(&mut client, "c-1", &text, 1 << 16)
        .await
        .unwrap()
        .cure_record
        .unwrap();
    let expected = [
        "segments-differ",
        "manholes-reversed",
        "liner-differs",
        "lamps-before-pull-in",
        "lamps-before-cure-step",
    ];
    assert_eq!(codes(&record), expected);
    assert!(record.findings.iter().all(|finding| finding.holds));
}

#[tokio::test]
async fn a_log_with_more_rows_than_the_limit_is_refused() {
    let (store, _) = with_run().await;
    let limits = obvert_installation::cure::CureLimits {
        rows: 50,
        ..Default::default()
    };
    let service = obvert_installation::Installation::with_limits(store.ledger.clone(), limits);
    let server =
        obvert_proto::installation::v1::installation_service_server::InstallationServiceServer::new(
            service,
        );
    let caller = super::store::As(super::store::office());
    let mut client =
        obvert_proto::installation::v1::installation_service_client::InstallationServiceClient::new(
            tonic::service::interceptor::InterceptedService::new(server, caller),
        );
    let refused = file(&mut client, "c-1", &csv(3.0), 1 << 16)
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "TOO_LARGE");
}

#[tokio::test]
async fn the_same_request_sent_again_gets_the_same_answer() {
    let (store, mut client) = with_run().await;
    let sent = vec![
        Part::Header(head("c-1", Some(header()))),
        Part::Columns(columns(3.0)),
    ];
    let first = send(&mut client, sent.clone()).await.unwrap();
    let revision = store.revision().await;
    assert_eq!(send(&mut client, sent).await.unwrap(), first);
    assert_eq!(store.revision().await, revision);
}

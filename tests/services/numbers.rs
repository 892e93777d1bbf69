//! Numbers that the server counts: one for each record of a kind, without gaps.

use std::collections::BTreeSet;

use obvert_ledger::Stored;
use obvert_proto::acceptance::v1::{Nonconformance, Record, ReviseRecordRequest, record::Body};
use prost::Message;
use tonic::Status;

use super::{
    acceptance::{Acceptances, create, with_lined_pipe},
    pipe::at,
    store::{PROJECT, Store, named, reason, revising, violates},
};

fn deviation(description: &str) -> Nonconformance {
    Nonconformance {
        subjects: vec![named("segments", "s-014")],
        description: description.into(),
        rule_source: "contract, part 4".into(),
        found_time: at(310),
        found_by: "inspector".into(),
        ..Nonconformance::default()
    }
}

fn number(body: &Body) -> i64 {
    match body {
        Body::Nonconformance(found) => found.nonconformance_number,
        _ => 0,
    }
}

async fn stored(store: &Store) -> Vec<Stored> {
    let of = (PROJECT.into(), "nonconformances".into());
    store
        .ledger
        .list(of.0, of.1, None, 100, 0)
        .await
        .unwrap()
        .items
}

#[tokio::test]
async fn each_deviation_gets_the_next_number_and_keeps_it_when_it_is_revised() {
    let (_store, mut client) = with_lined_pipe().await;
    for (id, expected) in [("n-b", 1), ("n-a", 2), ("n-c", 3)] {
        let body = Body::Nonconformance(deviation("wrinkle of 12 mm"));
        let answer = create(&mut client, id, body).await.unwrap();
        assert_eq!(number(&answer), expected, "{id}");
    }
    let revised = revise(&mut client, "n-a", "wrinkle of 14 mm").await;
    assert_eq!(number(&revised), 2);
    let body = Body::Nonconformance(deviation("lift of 20 mm"));
    assert_eq!(number(&create(&mut client, "n-d", body).await.unwrap()), 4);
}

#[tokio::test]
async fn a_number_that_a_caller_sends_is_refused() {
    let (_store, mut client) = with_lined_pipe().await;
    let own = Nonconformance {
        nonconformance_number: 7,
        ..deviation("wrinkle of 12 mm")
    };
    let refused = create(&mut client, "n-1", Body::Nonconformance(own))
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "FIELDS_INVALID");
    violates(
        &refused,
        &[("nonconformance.nonconformance_number", "by the server only")],
    );
}

#[tokio::test]
async fn deviations_written_at_once_are_counted_without_a_gap() {
    let (store, client) = with_lined_pipe().await;
    let writers = (0..12).map(|writer| {
        let mut client = client.clone();
        tokio::spawn(async move {
            for turn in 0..3 {
                let body = Body::Nonconformance(deviation("wrinkle of 12 mm"));
                create(&mut client, &format!("n-{writer}-{turn}"), body)
                    .await
                    .unwrap();
            }
        })
    });
    for writer in writers.collect::<Vec<_>>() {
        writer.await.unwrap();
    }
    let found = stored(&store).await;
    let numbers: BTreeSet<i64> = found
        .iter()
        .map(|s| {
            Nonconformance::decode(s.body.clone())
                .unwrap()
                .nonconformance_number
        })
        .collect();
    assert_eq!(numbers, (1..=36).collect());
    for stored in found {
        let number = Nonconformance::decode(stored.body)
            .unwrap()
            .nonconformance_number;
        assert_eq!(stored.claims, [format!("nonconformance-number/{number}")]);
    }
}

async fn revise(client: &mut Acceptances, id: &str, description: &str) -> Body {
    revised(client, id, deviation(description)).await.unwrap()
}

/// Revises a nonconformance to another state.
pub(super) async fn revised(
    client: &mut Acceptances,
    id: &str,
    to: Nonconformance,
) -> Result<Body, Status> {
    let name = named("nonconformances", id);
    let request = obvert_proto::common::v1::GetRecordRequest {
        name: name.clone(),
        revision: 0,
    };
    let now = client.get_record(request).await?.into_inner();
    let request = ReviseRecordRequest {
        write: revising(&now.meta.unwrap().etag),
        name,
        record: Some(Record {
            meta: None,
            body: Some(Body::Nonconformance(to)),
        }),
    };
    let revised = client.revise_record(request).await?;
    Ok(revised.into_inner().body.unwrap())
}

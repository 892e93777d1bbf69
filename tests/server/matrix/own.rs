//! A subcontractor reaches its own records only; people are shown to roles that see them.

use obvert_proto::{
    common::v1::{
        GetRecordRequest, ListRecordsRequest, ListRevisionsRequest, WatchRecordsRequest, Write,
    },
    project::v1::{
        DiameterPlace, DiameterReading, FieldSurvey, Record, ReviseRecordRequest, Role,
        project_service_client::ProjectServiceClient, record::Body,
    },
};
use tonic::{Code, Status};

use super::world::{PROJECT, World, keyed};

pub(super) const THEIRS: &str = "projects/quillfern/fieldSurveys/theirs";
const MINE: &str = "projects/quillfern/fieldSurveys/cutter-mine";
pub(super) const NONE: &str = "projects/quillfern/fieldSurveys/none";

#[tokio::test]
async fn a_subcontractor_reads_and_revises_what_it_wrote_and_nothing_else() {
    let world = world().await;
    let key = world.key("cutter", &[(PROJECT, Role::Subcontractor)]).await;
    let mine = world.write(&key, "cutter-mine", survey("K. L.")).await;
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let read = get(&world, &key, MINE).await.unwrap();
    assert_eq!(surveyor(&read), "K. L.", "its own people are its own");
    let theirs = get(&world, &key, THEIRS).await.unwrap_err();
    let none = get(&world, &key, NONE).await.unwrap_err();
    same(&theirs, THEIRS, &none, NONE);
    let list = ListRecordsRequest {
        project: PROJECT.into(),
        collection: "fieldSurveys".into(),
        ..ListRecordsRequest::default()
    };
    let listed = client.list_records(keyed(&key, list)).await.unwrap();
    let names: Vec<_> = listed.into_inner().records.into_iter().map(name).collect();
    assert_eq!(names, [MINE]);
    let states = |name: &str| ListRevisionsRequest {
        name: name.into(),
        ..ListRevisionsRequest::default()
    };
    let theirs = client.list_revisions(keyed(&key, states(THEIRS))).await;
    let none = client.list_revisions(keyed(&key, states(NONE))).await;
    same(&theirs.unwrap_err(), THEIRS, &none.unwrap_err(), NONE);
    let theirs = revise(&world, &key, THEIRS, "r1").await.unwrap_err();
    let none = revise(&world, &key, NONE, "r1").await.unwrap_err();
    same(&theirs, THEIRS, &none, NONE);
    let etag = mine.meta.unwrap().etag;
    let revised = revise(&world, &key, MINE, &etag).await.unwrap();
    // What the office corrects stays the subcontractor's.
    let office = world.server.key();
    let etag = revised.meta.unwrap().etag;
    revise(&world, &office, MINE, &etag).await.unwrap();
    get(&world, &key, MINE).await.unwrap();
}

#[tokio::test]
async fn a_subcontractor_s_stream_holds_its_own_records_only() {
    let world = world().await;
    let key = world.key("cutter", &[(PROJECT, Role::Subcontractor)]).await;
    world.write(&key, "cutter-mine", survey("K. L.")).await;
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let watch = WatchRecordsRequest {
        project: PROJECT.into(),
        after_revision: 0,
    };
    let mut stream = client
        .watch_records(keyed(&key, watch))
        .await
        .unwrap()
        .into_inner();
    let mut seen = Vec::new();
    let head = 4;
    loop {
        let touched = stream.message().await.unwrap().unwrap();
        seen.extend(touched.records.into_iter().map(name));
        if touched.revision >= head {
            break;
        }
    }
    assert_eq!(seen, [MINE]);
}

#[tokio::test]
async fn who_took_part_is_left_out_for_roles_that_do_not_see_people() {
    let world = world().await;
    let integrator = world.key("sync", &[(PROJECT, Role::Integrator)]).await;
    let read = get(&world, &integrator, THEIRS).await.unwrap();
    assert_eq!(surveyor(&read), "");
    let Some(Body::FieldSurvey(survey)) = &read.body else {
        panic!("{read:?}")
    };
    assert_eq!(survey.diameters.len(), 3, "the rest of the record is there");
    let inspector = world.key("inspector", &[(PROJECT, Role::Inspector)]).await;
    let read = get(&world, &inspector, THEIRS).await.unwrap();
    assert_eq!(surveyor(&read), "A. B.");
}

/// World in which somebody else has filed a survey.
pub(super) async fn world() -> World {
    let world = World::start().await;
    world
        .write(&world.server.key(), "theirs", survey("A. B."))
        .await;
    world
}

pub(super) fn survey(surveyor: &str) -> Body {
    let reading = |place: DiameterPlace| DiameterReading {
        place: place.into(),
        max_diameter_mm: 202.0,
        min_diameter_mm: 199.0,
    };
    Body::FieldSurvey(FieldSurvey {
        segment: "projects/quillfern/segments/s-1".into(),
        survey_time: Some(obvert_proto::dates::from_unix_ms(1_770_000_000_000)),
        diameters: vec![
            reading(DiameterPlace::UpstreamEnd),
            reading(DiameterPlace::Inside),
            reading(DiameterPlace::DownstreamEnd),
        ],
        length_wall_to_wall_m: 80.0,
        groundwater_above_crown_m: None,
        surveyor: surveyor.into(),
    })
}

async fn get(world: &World, key: &str, name: &str) -> Result<Record, Status> {
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let request = GetRecordRequest {
        name: name.into(),
        revision: 0,
    };
    Ok(client.get_record(keyed(key, request)).await?.into_inner())
}

async fn revise(world: &World, key: &str, name: &str, etag: &str) -> Result<Record, Status> {
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let request = ReviseRecordRequest {
        write: Some(Write {
            request_id: format!("revise-{name}-{etag}"),
            reason: "read again".into(),
            etag: etag.into(),
            ..Write::default()
        }),
        name: name.into(),
        record: Some(Record {
            meta: None,
            body: Some(survey("K. L.")),
        }),
    };
    Ok(client
        .revise_record(keyed(key, request))
        .await?
        .into_inner())
}

fn same(one: &Status, name: &str, other: &Status, other_name: &str) {
    assert_eq!(one.code(), Code::PermissionDenied, "{one}");
    assert_eq!(one.code(), other.code());
    assert_eq!(one.message().replace(name, other_name), other.message());
}

pub(super) fn name(record: Record) -> String {
    record.meta.unwrap_or_default().name
}

fn surveyor(record: &Record) -> &str {
    match &record.body {
        Some(Body::FieldSurvey(survey)) => &survey.surveyor,
        other => panic!("{other:?}"),
    }
}

//! A whole obvertd among plug-ins that misbehave: it serves on, and nothing but their points knows.

use obvert_proto::{
    closeout::v1::{PointState, SegmentStatus},
    project::v1::{
        ReviseRecordRequest, Segment, project_service_client::ProjectServiceClient, record::Body,
    },
};

use super::{
    process::Process,
    server::{create, filed, segment, status, until, write},
    site::{is_held_by, point},
};
use crate::{
    closeout::fixture::{SEGMENT, point_of},
    server::support::{Server, prepared, write_config},
};

/// Each way to misbehave, with the codes of which one is found.
const WAYS: [(&str, &[&str]); 13] = [
    ("hanging", &["plug-in-late"]),
    ("silent", &["plug-in-late"]),
    ("crashing", &["plug-in-unreachable", "plug-in-failed"]),
    (
        "babbling",
        &["plug-in-unreachable", "plug-in-failed", "plug-in-late"],
    ),
    ("failing", &["plug-in-failed"]),
    ("long", &["plug-in-too-large"]),
    ("endless", &["plug-in-breaks-contract"]),
    ("trickling", &["plug-in-late"]),
    ("other-schema", &["plug-in-breaks-contract"]),
    ("other-segment", &["plug-in-other-segment"]),
    ("other-evidence", &["plug-in-other-evidence"]),
    ("unknown-evidence", &["plug-in-unknown-evidence"]),
    ("other-contract", &["plug-in-other-contract"]),
];

/// A server with these plug-ins and a segment whose plan has a point for each.
async fn serving(processes: &[Process], points: &str) -> Server {
    let folder = prepared("");
    let rows: String = processes.iter().map(Process::rows).collect();
    write_config(folder.path(), "127.0.0.1:0", &rows);
    let server = Server::start_in(folder);
    filed(&server, points).await;
    server
}

fn is_told(status: &SegmentStatus, id: &str, codes: &[&str]) -> bool {
    let point = point_of(status, id);
    codes.iter().any(|code| is_held_by(point, code))
}

#[tokio::test(flavor = "multi_thread")]
async fn every_misbehaviour_at_once_holds_its_own_point_and_nothing_else() {
    let mut processes: Vec<_> = WAYS
        .iter()
        .map(|(how, _)| Process::that_is(how, &format!("check-{how}")))
        .collect();
    processes.push(Process::that_is("honest", "check-honest"));
    let ids = WAYS.iter().map(|(how, _)| format!("check-{how}"));
    let points: String = ids.map(|id| point(&id, "")).collect();
    let points = format!("{points}{}", point("check-honest", ""));
    let mut server = serving(&processes, &points).await;
    // The first status comes while some still hang: it does not wait for them.
    let before = status(&server).await;
    let after = until(&server, |status| {
        let mut ways = WAYS.iter();
        let told = ways.all(|(how, codes)| is_told(status, &format!("check-{how}"), codes));
        told && point_of(status, "check-honest").state() == PointState::Released
    })
    .await;
    assert!(!after.accepted);
    for (one, other) in before.points.iter().zip(&after.points) {
        if !one.point.starts_with("check-") {
            assert_eq!((&one.point, one.state()), (&other.point, other.state()));
        }
    }
    server.terminate();
    assert!(server.ended().success());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_verdict_outlives_server_and_plug_in_and_goes_stale_with_new_evidence() {
    let mut processes = [Process::that_is("honest", "check-honest")];
    let server = serving(&processes, &point("check-honest", "")).await;
    let is_released =
        |status: &SegmentStatus| point_of(status, "check-honest").state() == PointState::Released;
    let before = until(&server, is_released).await;
    processes[0].kill();
    let server = server.restarted();
    let after = status(&server).await;
    assert_eq!(after.points, before.points);
    revise(&server).await;
    let held = until(&server, |status| {
        is_told(status, "check-honest", &["plug-in-unreachable"])
    })
    .await;
    assert_eq!(point_of(&held, "check-honest").state(), PointState::Held);
    processes[0].start("honest");
    let judged = until(&server, is_released).await;
    assert!(judged.revision > held.revision);
}

/// Writes the segment's record anew, which every verdict rests on.
async fn revise(server: &Server) {
    let mut register = ProjectServiceClient::new(server.keyed().await);
    let request = obvert_proto::common::v1::GetRecordRequest {
        name: SEGMENT.into(),
        ..Default::default()
    };
    let read = register.get_record(request).await.unwrap().into_inner();
    let longer = Segment {
        length_wall_to_wall_m: 80.4,
        ..segment()
    };
    let revised = ReviseRecordRequest {
        write: write("longer", &read.meta.unwrap().etag),
        name: SEGMENT.into(),
        record: create("s-1", Body::Segment(longer)).record,
    };
    register.revise_record(revised).await.unwrap();
}

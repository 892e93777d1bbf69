//! A whole obvertd with a plug-in in its config.

use std::time::{Duration, Instant};

use obvert_plugin_example::WorkingHours;
use obvert_proto::{
    closeout::v1::{
        self as closeout, EvaluateSegmentRequest, Plan, SegmentStatus,
        closeout_service_client::CloseoutServiceClient,
    },
    common::v1::{LengthBasis, Write},
    plugin::v1::evaluator_service_server::EvaluatorServiceServer,
    project::v1::{
        CreateRecordRequest, Project, Record, ReviseRecordRequest, Segment,
        project_service_client::ProjectServiceClient, record::Body,
    },
};
use tonic::transport;

use super::{
    served::Served,
    site::{is_held_by, point},
};
use crate::{
    closeout::fixture::{PLAN, SEGMENT, point_of},
    server::support::{PATIENCE, Server, output, prepared, write_config},
};

/// What the config says of one plug-in.
fn row(rest: &str) -> String {
    format!("[[plugin]]\nid = \"working-hours\"\n{rest}")
}

fn refused(rest: &str) -> String {
    let folder = prepared("");
    write_config(folder.path(), "127.0.0.1:0", &row(rest));
    let (status, told) = output(folder.path(), &["config", "check"]);
    assert_eq!(status.code(), Some(64), "{told}");
    told
}

#[test]
fn a_wrong_row_is_refused_with_its_place_and_a_suggestion() {
    let told = refused("kinds = [\"evaluater\"]\naddress = \"unix:/run/s\"");
    assert!(
        told.contains("row 7") && told.contains("did you mean \"evaluator\"?"),
        "{told}"
    );
    let told = refused("kinds = [\"evaluator\"]\nadress = \"unix:/run/s\"");
    assert!(
        told.contains("has no address") && told.contains("adress"),
        "{told}"
    );
    let told = refused("kinds = []\naddress = \"somewhere\"\ndeadline_s = 0");
    for part in [
        "kinds says nothing",
        "neither a unix socket nor HOST:PORT",
        "1 to 600",
    ] {
        assert!(told.contains(part), "{told}");
    }
    let told = refused("kinds = [\"evaluator\"]\naddress = \"checks.example:7501\"");
    assert!(told.contains("plain_text_off_loopback"), "{told}");
}

#[test]
fn two_plug_ins_of_one_id_are_refused() {
    let one = row("kinds = [\"evaluator\"]\naddress = \"/run/s\"");
    let told = refused(&format!(
        "kinds = [\"evaluator\"]\naddress = \"/run/s\"\n{one}"
    ));
    assert!(told.contains("stands twice"), "{told}");
}

#[test]
fn the_config_in_force_shows_plug_ins_and_can_be_read_again() {
    let folder = prepared("");
    let rows = row("kinds = [\"log-reader\"]\naddress = \"127.0.0.1:7501\"\nprojects = [\"a\"]");
    write_config(folder.path(), "127.0.0.1:0", &rows);
    let shown = std::process::Command::new(crate::server::support::program("obvertd"))
        .args(["config", "show"])
        .arg(folder.path().join("server.toml"))
        .output()
        .unwrap();
    let shown = String::from_utf8(shown.stdout).unwrap();
    assert!(
        shown.contains("deadline_s = 10") && shown.contains("projects = [\"a\"]"),
        "{shown}"
    );
    std::fs::write(folder.path().join("server.toml"), &shown).unwrap();
    assert!(output(folder.path(), &["config", "check"]).0.success());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_asks_the_plug_in_of_its_config_and_stops_in_order() {
    let served = Served::of(
        transport::Server::builder().add_service(EvaluatorServiceServer::new(WorkingHours)),
    );
    let address = format!("address = \"unix:{}\"", served.path().display());
    let folder = prepared("");
    let rows = row(&format!(
        "kinds = [\"evaluator\"]\n{address}\ndeadline_s = 2"
    ));
    write_config(folder.path(), "127.0.0.1:0", &rows);
    let mut server = Server::start_in(folder);
    let settings = "\"begin=07:00\", \"end=19:00\", \"time_zone=America/New_York\"";
    filed(&server, &point("working-hours", settings)).await;
    until(&server, |status| {
        is_held_by(point_of(status, "working-hours"), "missing-run")
    })
    .await;
    server.terminate();
    assert!(server.ended().success());
}

/// A project with a plan of more points, and a segment without evidence.
pub(super) async fn filed(server: &Server, points: &str) {
    let source = format!("{PLAN}{points}");
    let text = obvert_closeout::plan::parse(&source).unwrap();
    let mut project = Project {
        title: "Quillfern Lane rear easements".into(),
        contract_number: "MSD-24".into(),
        owner: "Marrowby Sanitary District".into(),
        contractor: "Copperbeck Utilities".into(),
        time_zone: "America/New_York".into(),
        pay_length_basis: LengthBasis::WallToWall.into(),
        ..Project::default()
    };
    let mut register = ProjectServiceClient::new(server.keyed().await);
    let made = register
        .create_record(create("quillfern", Body::Project(project.clone())))
        .await;
    let etag = made.unwrap().into_inner().meta.unwrap().etag;
    let plan = closeout::CreateRecordRequest {
        write: write("plan", ""),
        project: "quillfern".into(),
        record_id: "itp".into(),
        record: Some(closeout::Record {
            meta: None,
            body: Some(closeout::record::Body::Plan(Plan {
                title: text.title,
                owner: text.owner,
                plan_revision: text.revision,
                source,
            })),
        }),
    };
    let mut client = CloseoutServiceClient::new(server.keyed().await);
    client.create_record(plan).await.unwrap();
    project.plan = "projects/quillfern/plans/itp".into();
    let revise = ReviseRecordRequest {
        write: write("revise", &etag),
        name: "projects/quillfern".into(),
        record: Some(Record {
            meta: None,
            body: Some(Body::Project(project)),
        }),
    };
    register.revise_record(revise).await.unwrap();
    register
        .create_record(create("s-1", Body::Segment(segment())))
        .await
        .unwrap();
}

pub(super) fn segment() -> Segment {
    Segment {
        owner_segment_id: "Q-1".into(),
        upstream_manhole: "MH-1".into(),
        downstream_manhole: "MH-2".into(),
        nominal_diameter_mm: 200.0,
        length_wall_to_wall_m: 80.0,
        length_centre_to_centre_m: 81.2,
        ..Segment::default()
    }
}

/// Where the segment stands.
pub(super) async fn status(server: &Server) -> SegmentStatus {
    let request = EvaluateSegmentRequest {
        segment: SEGMENT.into(),
        revision: 0,
    };
    let mut client = CloseoutServiceClient::new(server.keyed().await);
    client.evaluate_segment(request).await.unwrap().into_inner()
}

/// Where the segment stands once it is as wanted.
pub(super) async fn until(
    server: &Server,
    wanted: impl Fn(&SegmentStatus) -> bool,
) -> SegmentStatus {
    let begun = Instant::now();
    loop {
        let status = status(server).await;
        if wanted(&status) {
            return status;
        }
        assert!(begun.elapsed() < PATIENCE, "{:?}", status.points);
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

pub(super) fn create(id: &str, body: Body) -> CreateRecordRequest {
    CreateRecordRequest {
        write: write(id, ""),
        project: "quillfern".into(),
        record_id: id.into(),
        record: Some(Record {
            meta: None,
            body: Some(body),
        }),
    }
}

pub(super) fn write(request_id: &str, etag: &str) -> Option<Write> {
    Some(Write {
        request_id: request_id.into(),
        etag: etag.into(),
        reason: "The owner's plan is in.".into(),
        ..Write::default()
    })
}

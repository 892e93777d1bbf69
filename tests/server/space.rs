//! A disk that fills up under a running server, as its callers see it.

use std::{
    fs,
    io::Write,
    time::{Duration, Instant},
};

use obvert_proto::{
    common::v1::{LengthBasis, Write as Envelope},
    project::v1::{
        CreateRecordRequest, ListProjectsRequest, Project, Record,
        project_service_client::ProjectServiceClient, record::Body,
    },
};
use tempfile::TempDir;
use tonic::Code;
use tonic_types::StatusExt;

use super::support::{PATIENCE, Server, prepared_in};
use crate::ledger::space::SmallDisk;

/// Small records that the last pages of a full disk may still hold.
const STILL_FIT: usize = 500;

#[tokio::test]
async fn a_full_disk_is_resource_exhausted_to_writers_while_readers_go_on_until_there_is_room() {
    let disk = SmallDisk::mount("32m");
    let folder = TempDir::new_in(disk.path()).unwrap();
    let server = Server::start_in(prepared_in(folder, ""));
    let mut client = ProjectServiceClient::new(server.keyed().await);
    client.create_record(creation(0)).await.unwrap();
    let ballast = disk.path().join("ballast");
    let mut file = fs::File::create(&ballast).unwrap();
    while file.write_all(&[1; 4096]).is_ok() {}
    drop(file);
    let mut kept = 1;
    let refused = loop {
        match client.create_record(creation(kept)).await {
            Ok(_) => kept += 1,
            Err(refused) => break refused,
        }
        assert!(kept < STILL_FIT, "the disk never fills up");
    };
    assert_eq!(refused.code(), Code::ResourceExhausted, "{refused}");
    let reason = refused.get_details_error_info().unwrap().reason;
    assert_eq!(reason, "DISK_FULL");
    assert!(
        refused.message().contains("free space and repeat"),
        "{refused}"
    );
    let listed = client.list_projects(ListProjectsRequest {}).await.unwrap();
    assert_eq!(listed.into_inner().projects.len(), kept);
    fs::remove_file(&ballast).unwrap();
    let begun = Instant::now();
    while let Err(refused) = client.create_record(creation(kept)).await {
        assert!(begun.elapsed() < PATIENCE, "there is room again: {refused}");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let listed = client.list_projects(ListProjectsRequest {}).await.unwrap();
    assert_eq!(listed.into_inner().projects.len(), kept + 1);
}

fn creation(number: usize) -> CreateRecordRequest {
    let id = format!("p-{number}");
    let project = Project {
        title: id.clone(),
        contract_number: "1".into(),
        owner: "Marrowby Sanitary District".into(),
        contractor: "Copperbeck Utilities".into(),
        time_zone: "America/New_York".into(),
        pay_length_basis: LengthBasis::WallToWall.into(),
        ..Project::default()
    };
    let write = Envelope {
        request_id: id.clone(),
        ..Envelope::default()
    };
    CreateRecordRequest {
        write: Some(write),
        project: id.clone(),
        record_id: id,
        record: Some(Record {
            meta: None,
            body: Some(Body::Project(project)),
        }),
    }
}

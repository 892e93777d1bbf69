//! A server with one project, and a real key for each role in it.

use obvert_access::{matrix::ROLES, role_word};
use obvert_proto::{
    common::v1::{LengthBasis, Write},
    project::v1::{
        CreateKeyRequest, CreateRecordRequest, Project, Record, Role, RoleBinding, Segment,
        access_service_client::AccessServiceClient, project_service_client::ProjectServiceClient,
        record::Body,
    },
};
use tonic::{Request, transport::Channel};

use crate::server::support::Server;

/// Project of the roles.
pub(in crate::server) const PROJECT: &str = "quillfern";

/// A server and its keys.
pub(in crate::server) struct World {
    pub(in crate::server) server: Server,
    pub(in crate::server) channel: Channel,
}

impl World {
    /// Starts a server with the project and one segment, `s-1`.
    pub(in crate::server) async fn start() -> Self {
        Self::start_with("").await
    }

    /// Starts the same server with some limits set.
    pub(in crate::server) async fn start_with(limits: &str) -> Self {
        let server = Server::start(limits);
        let channel = server.channel().await;
        let world = Self { server, channel };
        let project = Project {
            title: "Quillfern Lane rear easements".into(),
            contract_number: "MSD-24".into(),
            owner: "Marrowby Sanitary District".into(),
            contractor: "Copperbeck Utilities".into(),
            time_zone: "America/New_York".into(),
            pay_length_basis: LengthBasis::WallToWall.into(),
            ..Project::default()
        };
        let office = world.server.key();
        world.write(&office, PROJECT, Body::Project(project)).await;
        let segment = Segment {
            owner_segment_id: "Q-1".into(),
            upstream_manhole: "MH-1".into(),
            downstream_manhole: "MH-2".into(),
            nominal_diameter_mm: 200.0,
            length_wall_to_wall_m: 80.0,
            length_centre_to_centre_m: 81.2,
            ..Segment::default()
        };
        world.write(&office, "s-1", Body::Segment(segment)).await;
        world
    }

    /// Writes a record of the register with a key.
    pub(in crate::server) async fn write(&self, key: &str, id: &str, body: Body) -> Record {
        self.try_write(key, id, body).await.expect("written")
    }

    /// Asks to write a record of the register with a key.
    pub(in crate::server) async fn try_write(
        &self,
        key: &str,
        id: &str,
        body: Body,
    ) -> Result<Record, tonic::Status> {
        let request = CreateRecordRequest {
            write: write(&format!("w-{id}")),
            project: PROJECT.into(),
            record_id: id.into(),
            record: Some(Record {
                meta: None,
                body: Some(body),
            }),
        };
        let mut client = ProjectServiceClient::new(self.channel.clone());
        let answer = client.create_record(keyed(key, request)).await?;
        Ok(answer.into_inner())
    }

    /// A fresh key with some roles.
    pub(in crate::server) async fn key(&self, id: &str, bindings: &[(&str, Role)]) -> String {
        let binding = |(project, role): &(&str, Role)| RoleBinding {
            project: (*project).to_owned(),
            role: (*role).into(),
        };
        let request = CreateKeyRequest {
            write: write(id),
            key_id: id.into(),
            principal: format!("person/{id}"),
            bindings: bindings.iter().map(binding).collect(),
            valid_days: 1,
        };
        let mut client = AccessServiceClient::new(self.channel.clone());
        let made = client.create_key(keyed(&self.server.key(), request)).await;
        made.expect("a key").into_inner().secret
    }

    /// A key of each role in a project.
    pub(in crate::server) async fn keys(&self, project: &str) -> Vec<(Role, String)> {
        let mut keys = Vec::new();
        for role in ROLES {
            let id = format!("{}-{project}", role_word(role));
            keys.push((role, self.key(&id, &[(project, role)]).await));
        }
        keys
    }
}

/// Envelope of a request.
pub(crate) fn write(request_id: &str) -> Option<Write> {
    Some(Write {
        request_id: request_id.into(),
        ..Write::default()
    })
}

/// A request with a key on it.
pub(crate) fn keyed<T>(key: &str, message: T) -> Request<T> {
    let mut request = Request::new(message);
    let bearer = format!("Bearer {key}").parse().expect("a key is ASCII");
    request.metadata_mut().insert("authorization", bearer);
    request
}

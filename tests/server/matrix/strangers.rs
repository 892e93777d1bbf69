//! A principal of another project sees nothing, not even whether something exists.

use obvert_access::matrix::{self, Needs, ROLES, RPCS};
use obvert_proto::project::v1::{
    Document, ListProjectsRequest, Role, project_service_client::ProjectServiceClient, record::Body,
};
use tonic::Code;

use super::{
    call::{asking, call, method},
    world::{PROJECT, World, keyed},
};

#[tokio::test]
async fn a_stranger_gets_the_same_answer_for_what_exists_and_what_does_not() {
    let world = World::start().await;
    let bindings = ROLES.map(|role| ("elm", role));
    let stranger = world.key("stranger", &bindings).await;
    let mut asked = 0;
    for (rpc, needs) in RPCS {
        let path = matrix::path(rpc);
        let of_project = matches!(needs, Needs::Act(_) | Needs::KindWrite);
        let Some(method) = method(&path).filter(|_| of_project) else {
            continue;
        };
        let mut answers = Vec::new();
        for (project, id) in [(PROJECT, "s-1"), (PROJECT, "none"), ("nowhere", "s-1")] {
            let request = asking(&method, project, "segments", id);
            let answer = call(&world.channel, &stranger, &path, &request).await;
            let told = answer.map_err(|status| {
                let text = status
                    .message()
                    .replace(project, "PROJECT")
                    .replace(id, "ID");
                (status.code(), text)
            });
            answers.push(told);
        }
        assert_eq!(answers[0], answers[1], "{rpc}");
        assert_eq!(answers[0], answers[2], "{rpc}");
        let lists_own_keys = *rpc == "project.v1.AccessService/ListKeys";
        let code = answers[0].as_ref().err().map(|(code, _)| *code);
        assert!(
            lists_own_keys || code == Some(Code::PermissionDenied),
            "{rpc}: {code:?}"
        );
        asked += 1;
    }
    assert!(asked > 60, "only {asked} RPCs were asked");
}

#[tokio::test]
async fn no_reference_tells_which_keys_the_office_has() {
    let world = World::start().await;
    let inspector = world.key("inspector", &[(PROJECT, Role::Inspector)]).await;
    let mut told = Vec::new();
    for key in ["bootstrap", "inspector", "none"] {
        let document = Document {
            evidence_kind: "laboratory-accreditation".into(),
            subjects: vec![format!("projects/office/keys/{key}")],
            title: "Accreditation".into(),
            issuer: "Fernmoss Materials Laboratory".into(),
            ..Document::default()
        };
        let id = format!("d-{key}");
        let refused = world
            .try_write(&inspector, &id, Body::Document(document))
            .await;
        let refused = refused.expect_err("a key is no subject");
        assert_eq!(refused.code(), Code::InvalidArgument, "{refused}");
        told.push(refused.message().replace(key, "KEY"));
    }
    assert!(
        told[0].contains("keys is no collection of records"),
        "{told:?}"
    );
    assert!(told.iter().all(|words| *words == told[0]), "{told:?}");
}

#[tokio::test]
async fn a_stranger_s_list_of_projects_and_pages_show_nothing_of_another_project() {
    let world = World::start().await;
    let stranger = world
        .key("stranger", &ROLES.map(|role| ("elm", role)))
        .await;
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let listed = client
        .list_projects(keyed(&stranger, ListProjectsRequest {}))
        .await;
    assert_eq!(listed.unwrap().into_inner().projects.len(), 0);
    let page = |path: &str| {
        let head = format!("GET {path} HTTP/1.1\r\nauthorization: Bearer {stranger}");
        let answer = world.server.http(&head, "");
        let body = answer.split("\r\n\r\n").nth(1).unwrap_or_default();
        (answer[..12].to_owned(), body.to_owned())
    };
    assert!(!page("/").1.contains("Quillfern"));
    for below in ["", "/segments/s-1", "/packages/p-1"] {
        let (status, text) = page(&format!("/projects/{PROJECT}{below}"));
        assert_eq!(status, "HTTP/1.1 403");
        let elsewhere = page(&format!("/projects/nowhere{below}")).1;
        assert_eq!(text.replace(PROJECT, "nowhere"), elsewhere);
    }
}

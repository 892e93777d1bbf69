//! Nonconformances stay with what they were found in, and are decided by who may.

use obvert_acceptance::Acceptance;
use obvert_proto::{
    acceptance::v1::{
        Disposition, Nonconformance, acceptance_service_client::AcceptanceServiceClient,
        acceptance_service_server::AcceptanceServiceServer, record::Body,
    },
    project::v1::Role,
};
use tonic::service::interceptor::InterceptedService;

use super::{
    acceptance::{Acceptances, create, wrinkle},
    numbers::revised,
    pipe::{at, with_run},
    store::{As, PROJECT, Store, caller, named, reason, violates},
};

fn closed(disposition: Disposition) -> Nonconformance {
    Nonconformance {
        disposition: disposition.into(),
        disposed_by: "engineer".into(),
        disposed_time: at(320),
        justification: "along the flow".into(),
        close_time: at(330),
        closed_by: "engineer".into(),
        ..wrinkle()
    }
}

fn client(store: &Store, role: Role, principal: &str) -> Acceptances {
    let server = AcceptanceServiceServer::new(Acceptance::new(store.ledger.clone()));
    let mut caller = caller(role, PROJECT);
    caller.principal = principal.into();
    AcceptanceServiceClient::new(InterceptedService::new(server, As(caller)))
}

#[tokio::test]
async fn no_revision_takes_a_nonconformance_off_what_it_was_found_in() {
    let (store, _) = with_run().await;
    let mut inspector = client(&store, Role::Inspector, "person/inspector");
    let body = Body::Nonconformance(wrinkle());
    create(&mut inspector, "n-1", body).await.unwrap();
    let mut crew = client(&store, Role::Crew, "person/crew");
    let mut moved = wrinkle();
    moved.subjects.truncate(1);
    let refused = revised(&mut crew, "n-1", moved).await.unwrap_err();
    violates(&refused, &[("nonconformance.subjects", "leaves out")]);
    let mut engineer = client(&store, Role::Engineer, "person/engineer");
    let mut moved = wrinkle();
    moved.subjects = vec![named("segments", "s-014")];
    let refused = revised(&mut engineer, "n-1", moved).await.unwrap_err();
    violates(&refused, &[("nonconformance.subjects", "runs/r-1")]);
    let mut more = wrinkle();
    more.description.push_str(", seen twice");
    revised(&mut crew, "n-1", more).await.unwrap();
}

#[tokio::test]
async fn who_works_reports_and_who_may_vary_decides() {
    let (store, _) = with_run().await;
    let mut crew = client(&store, Role::Crew, "person/crew");
    let own = create(
        &mut crew,
        "n-2",
        Body::Nonconformance(closed(Disposition::Repair)),
    )
    .await;
    assert_eq!(reason(&own.unwrap_err()), "NOT_ALLOWED");
    create(&mut crew, "n-1", Body::Nonconformance(wrinkle()))
        .await
        .unwrap();
    let mut later = wrinkle();
    later.holds_from_step = "reopening".into();
    let refused = revised(&mut crew, "n-1", later).await.unwrap_err();
    assert_eq!(reason(&refused), "NOT_ALLOWED");
    assert!(
        refused.message().contains("decide"),
        "{}",
        refused.message()
    );
    let mut inspector = client(&store, Role::Inspector, "person/inspector");
    let refused = revised(&mut inspector, "n-1", closed(Disposition::Repair)).await;
    let refused = refused.unwrap_err();
    assert!(
        refused.message().contains("what another wrote up"),
        "{}",
        refused.message()
    );
    let mut office = client(&store, Role::Office, "person/office");
    for stands in [Disposition::UseAsIs, Disposition::Credit] {
        let own = create(&mut office, "n-3", Body::Nonconformance(closed(stands))).await;
        let refused = own.unwrap_err();
        assert_eq!(reason(&refused), "NOT_ALLOWED");
        assert!(
            refused.message().contains("engineer, owner"),
            "{}",
            refused.message()
        );
    }
    let body = Body::Nonconformance(closed(Disposition::Repair));
    create(&mut office, "n-3", body).await.unwrap();
    let mut engineer = client(&store, Role::Engineer, "person/engineer");
    revised(&mut engineer, "n-1", closed(Disposition::UseAsIs))
        .await
        .unwrap();
    let mut explained = closed(Disposition::UseAsIs);
    explained.description.push_str(", seen twice");
    revised(&mut office, "n-1", explained).await.unwrap();
}

//! Every RPC and page has its row, and every row its RPC or page.

use std::{collections::BTreeSet, fs};

use obvert_access::matrix::{self, PAGES, RPCS};
use obvert_proto::pool;
use tonic::Code;

use super::{call, world::World};
use crate::tidy::tree::root;

#[test]
fn every_rpc_of_the_schema_has_one_row_in_the_table_of_roles() {
    let methods = pool()
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>());
    let known: BTreeSet<_> = methods
        .map(|m| format!("/{}/{}", m.parent_service().full_name(), m.name()))
        .collect();
    let rows: Vec<_> = RPCS.iter().map(|(rpc, _)| matrix::path(rpc)).collect();
    let ours: BTreeSet<_> = rows
        .iter()
        .filter(|path| !path.starts_with("/grpc."))
        .cloned()
        .collect();
    let without: Vec<_> = known.difference(&ours).collect();
    assert!(without.is_empty(), "no row for {without:?}");
    let of_nothing: Vec<_> = ours.difference(&known).collect();
    assert!(of_nothing.is_empty(), "rows of no RPC: {of_nothing:?}");
    assert_eq!(rows.len(), rows.iter().collect::<BTreeSet<_>>().len());
}

#[test]
fn every_route_of_the_pages_has_a_row_in_the_table_of_roles() {
    let source = fs::read_to_string(root().join("services/server/src/pages/mod.rs")).unwrap();
    let routes: BTreeSet<_> = source
        .split(".route(")
        .skip(1)
        .filter_map(|rest| rest.split('"').nth(1))
        .collect();
    let rows: BTreeSet<_> = PAGES.iter().map(|(_, route, _)| *route).collect();
    assert_eq!(routes, rows);
}

#[test]
fn the_page_of_roles_says_what_the_table_says() {
    let file = "services/access/roles.md";
    let text = fs::read_to_string(root().join(file)).unwrap_or_default();
    let same = text == matrix::page();
    assert!(
        same,
        "{file} is not what the table says: obvertd roles > {file}"
    );
}

#[tokio::test]
async fn a_call_without_a_row_is_refused_whatever_the_key() {
    let world = World::start().await;
    let method = call::method("/obvert.project.v1.AccessService/WhoAmI").unwrap();
    let empty = call::asking(&method, "", "", "");
    let path = "/obvert.project.v1.AccessService/WhoAreYou";
    let refused = call::call(&world.channel, &world.server.key(), path, &empty).await;
    let refused = refused.unwrap_err();
    assert_eq!(refused.code(), Code::Unimplemented);
    assert!(refused.message().contains("table of roles"), "{refused}");
}

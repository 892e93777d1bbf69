//! A plan entered and revised by the command line from the owner's file.

use std::{fs, process::Command};

use super::{
    pages::session,
    support::{Server, program},
};
use crate::closeout::plan::SMALL;

/// Runs a command as the office; whether it succeeded, and what it said.
fn obvert(server: &Server, words: &str) -> (bool, String) {
    let ended = Command::new(program("obvert"))
        .current_dir(server.folder.path())
        .args(["--server", &format!("http://{}", server.address)])
        .args(["--key-file", "office.key"])
        .args(words.split(' '))
        .output()
        .unwrap();
    let said = [ended.stdout, ended.stderr].concat();
    (ended.status.success(), String::from_utf8(said).unwrap())
}

#[test]
fn a_plan_is_revised_from_its_file_under_the_owners_new_mark_and_the_page_says_so() {
    let server = Server::start("");
    let file = |name: &str, text: &str| fs::write(server.folder.path().join(name), text).unwrap();
    file("office.key", &server.key());
    file("plan.toml", SMALL);
    let project = r#"{"title": "Quillfern Lane", "contractNumber": "MSD-2026-07",
        "owner": "Marrowby Sanitary District", "contractor": "Copperbeck Utilities",
        "timeZone": "America/New_York", "payLengthBasis": "LENGTH_BASIS_WALL_TO_WALL"}"#;
    file("project.json", project);
    let revise = "plan revise projects/quillfern/plans/small plan.toml --reason letter";
    for words in [
        "project create quillfern project.json",
        "plan add small plan.toml --project quillfern",
    ] {
        let (done, said) = obvert(&server, words);
        assert!(done, "{words}: {said}");
    }
    let wider = SMALL.replace("value = 2.0", "value = 3.0");
    file("plan.toml", &wider);
    let (done, said) = obvert(&server, revise);
    assert!(
        !done && said.contains("the mark of the owner's new edition"),
        "{said}"
    );
    file(
        "plan.toml",
        &wider.replace("revision = \"A\"", "revision = \"B\""),
    );
    let (done, said) = obvert(&server, &format!("{revise} --validate-only"));
    assert!(
        done && said.contains("can be written; nothing was"),
        "{said}"
    );
    let (done, said) = obvert(&server, revise);
    assert!(
        done && said.starts_with("projects/quillfern/plans/small@"),
        "{said}"
    );
    let (_, said) = obvert(&server, "plan explain projects/quillfern/plans/small");
    assert!(said.contains("revision B"), "{said}");
    let named = "\"plan\": \"projects/quillfern/plans/small\", \"owner\"";
    file("project.json", &project.replacen("\"owner\"", named, 1));
    let segment = r#"{"ownerSegmentId": "S-1", "upstreamManhole": "MQ-1",
        "downstreamManhole": "MQ-2", "nominalDiameterMm": 200, "lengthCentreToCentreM": 91.4,
        "lengthWallToWallM": 90.2}"#;
    file("segment.json", segment);
    for words in [
        "project revise projects/quillfern project.json --reason plan",
        "segment create s-1 segment.json --project quillfern",
    ] {
        let (done, said) = obvert(&server, words);
        assert!(done, "{words}: {said}");
    }
    let cookie = session(&server, &server.key());
    let head = format!("GET /projects/quillfern/segments/s-1 HTTP/1.1\r\ncookie: {cookie}");
    let page = server.http(&head, "");
    for part in [
        "which was changed: 2 states",
        "revision B, filed by",
        "for the reason: letter",
        "was &lt;= 2 percent",
    ] {
        assert!(page.contains(part), "{part} is missing in {page}");
    }
}

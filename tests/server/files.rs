//! Many files over one connection, by a table.

use std::{fs, process::Command};

use super::support::{Server, program};

/// Runs the command line with the office's key: its exit code, and what it printed.
pub(crate) fn obvert(server: &Server, words: &str) -> (i32, String) {
    let ran = Command::new(program("obvert"))
        .args(["--server", &format!("http://{}", server.address)])
        .args(["--key-file", "office.key"])
        .args(words.split_whitespace())
        .current_dir(server.folder.path())
        .output()
        .unwrap();
    let text = [ran.stdout, ran.stderr].concat();
    let text = String::from_utf8_lossy(&text).into_owned();
    (ran.status.code().unwrap_or(-1), text)
}

/// A server with the office's key in a file and a project.
pub(super) fn started() -> Server {
    let server = Server::start("");
    let file = |name: &str, text: &str| fs::write(server.folder.path().join(name), text).unwrap();
    server.write_office_key();
    file(
        "project.json",
        r#"{"title": "Quillfern Lane", "contractNumber": "MSD-2026-07",
        "owner": "Marrowby Sanitary District", "contractor": "Copperbeck Utilities",
        "timeZone": "America/New_York", "payLengthBasis": "LENGTH_BASIS_WALL_TO_WALL"}"#,
    );
    let (code, printed) = obvert(&server, "project create quillfern project.json");
    assert_eq!(code, 0, "{printed}");
    server
}

#[test]
fn the_files_of_a_table_are_stored_and_the_same_table_stores_nothing_twice() {
    let server = started();
    let folder = server.folder.path();
    let mut table = String::new();
    for number in 0..40 {
        fs::write(
            folder.join(format!("{number}.txt")),
            format!("file {number}"),
        )
        .unwrap();
        table += &format!("f-{number}\t{number}.txt\ttext/plain\n");
    }
    fs::write(folder.join("table.tsv"), table).unwrap();
    let put = "attachment put-all table.tsv --project quillfern";
    let (code, printed) = obvert(&server, put);
    assert_eq!(
        (code, printed.contains("40 files stored")),
        (0, true),
        "{printed}"
    );
    let (_, listed) = obvert(&server, "--json attachment list --project quillfern");
    let (code, printed) = obvert(&server, put);
    assert_eq!(code, 0, "{printed}");
    let (_, again) = obvert(&server, "--json attachment list --project quillfern");
    assert_eq!(listed, again, "a second time changes nothing");
    let (code, printed) = obvert(
        &server,
        "attachment fetch projects/quillfern/attachments/f-17 --out back.txt",
    );
    assert_eq!(code, 0, "{printed}");
    assert_eq!(
        fs::read_to_string(folder.join("back.txt")).unwrap(),
        "file 17"
    );
}

#[test]
fn a_table_with_wrong_rows_names_each_and_stores_nothing() {
    let server = started();
    let folder = server.folder.path();
    fs::write(folder.join("a.txt"), "a").unwrap();
    let table = "a\ta.txt\ttext/plain\nb\tb.txt\ttext/plain\nc\ta.txt\ttext/html\nd\ta.txt\n";
    fs::write(folder.join("table.tsv"), table).unwrap();
    let (code, printed) = obvert(&server, "attachment put-all table.tsv --project quillfern");
    assert_eq!(code, 3, "{printed}");
    for part in [
        "3 rows are wrong",
        "row 2",
        "b.txt is no file",
        "row 3",
        "text/html is no media type",
        "row 4",
        "has 2 cells",
    ] {
        assert!(printed.contains(part), "{part} is not in: {printed}");
    }
    let (_, listed) = obvert(&server, "--json attachment list --project quillfern");
    assert!(!listed.contains("attachments/a"), "{listed}");
}

//! Every line of HOW-TO-VERIFY.txt works as it is written.

use std::{
    fs,
    path::Path,
    process::{Command, Output},
};

use super::sample::{built, signed, signer, sources};
use crate::server::support::program;

/// Runs a line of the text in a shell, with obvert at hand.
fn run(line: &str, folder: &Path) -> Output {
    let program = program("obvert");
    let path = std::env::var("PATH").unwrap();
    let path = format!("{}:{path}", program.parent().unwrap().display());
    Command::new("bash")
        .args(["-o", "pipefail", "-ec", line])
        .current_dir(folder)
        .env("PATH", path)
        .output()
        .unwrap()
}

#[test]
fn each_command_of_the_text_runs_as_written() {
    let built = built(&sources(&signed()));
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(&built.file_name), &built.bytes).unwrap();
    let top = folder.path().join(built.file_name.trim_end_matches(".zip"));
    let unzip = run(&format!("unzip -q {}", built.file_name), folder.path());
    assert!(unzip.status.success(), "{unzip:?}");
    let text = fs::read_to_string(top.join("HOW-TO-VERIFY.txt")).unwrap();
    let lines = text.lines().filter_map(|line| line.strip_prefix("    "));
    let (mut ran, mut said) = (Vec::new(), String::new());
    for line in lines {
        let word = line.split(' ').next().unwrap();
        // The first two lead into the folder; the fingerprint is no command.
        if ["unzip", "cd"].contains(&word) || line == signer().fingerprint() {
            continue;
        }
        let done = run(line, &top);
        assert!(done.status.success(), "{line}: {done:?}");
        said.push_str(&String::from_utf8_lossy(&done.stdout));
        ran.push(word.to_owned());
    }
    assert_eq!(
        ran,
        ["sha256sum", "sha256sum", "openssl", "openssl", "obvert"]
    );
    assert!(said.contains("Signature Verified Successfully"), "{said}");
    assert!(said.contains(signer().fingerprint()), "{said}");
    assert!(said.contains("signed by the key you named"), "{said}");
    assert!(!said.contains("FAILED"), "{said}");
}

#[test]
fn the_lines_that_the_document_prints_run_as_well() {
    let sources = sources(&signed());
    let built = built(&sources);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(&built.file_name), &built.bytes).unwrap();
    let top = folder.path().join(built.file_name.trim_end_matches(".zip"));
    assert!(
        run(&format!("unzip -q {}", built.file_name), folder.path())
            .status
            .success()
    );
    let printed = obvert_closeout::package::document(&sources, &signer())
        .unwrap()
        .data;
    let commands = printed["verification"]["commands"].as_array().unwrap();
    assert_eq!(commands.len(), 4);
    for command in commands {
        let line = command[1].as_str().unwrap();
        let done = run(line, &top);
        assert!(done.status.success(), "{line}: {done:?}");
    }
}

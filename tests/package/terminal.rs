//! What records, packages and file names say reaches a terminal as text, and never as its commands.

use std::{fs, process::Command};

use serde_json::Value;

use super::{command::info_with, forging::signed_again};
use crate::server::support::program;

#[test]
fn what_a_package_says_of_itself_cannot_steer_a_terminal() {
    let info = info_with("Obvert-Verdict: ", "Obvert-Verdict: \u{1b}[2J\u{9b}31m\r");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s-1\u{1b}[2J.zip");
    let printed = |bytes: &[u8], json: bool| {
        fs::write(&path, bytes).unwrap();
        let mut command = Command::new(program("obvert"));
        command
            .args(["package", "verify"])
            .args(json.then_some("--json"));
        let ended = command.arg(&path).output().unwrap();
        let text = String::from_utf8([ended.stdout, ended.stderr].concat()).unwrap();
        let steers = |c: char| c.is_control() && c != '\n';
        assert!(!text.contains(steers), "{text:?}");
        text
    };
    let signed = signed_again("bag-info.txt", info.as_bytes());
    assert!(printed(&signed, false).contains("\\u001b[2J\\u009b31m\\u000daccepted"));
    let told: Value = serde_json::from_str(&printed(&signed, true)).unwrap();
    let verdict = told["verdict"].as_str().unwrap();
    assert!(
        verdict.starts_with("\u{1b}[2J\u{9b}31m\raccepted"),
        "{verdict:?}"
    );
    assert!(printed(b"no package", false).contains("s-1\\u001b[2J.zip is not the package"));
}

//! What is refused before a port or the store is opened.

use std::{fs, os::unix::fs::PermissionsExt};

use super::support::{Server, output, prepared, write_config};

#[test]
fn an_unknown_key_is_refused_with_its_row() {
    let folder = prepared("");
    write_config(folder.path(), "127.0.0.1:0", "[limits]\nmesage_bytes = 5");
    let (status, told) = output(folder.path(), &["config", "check"]);
    assert_eq!(status.code(), Some(64));
    assert!(
        told.contains("mesage_bytes") && told.contains("line 6"),
        "{told}"
    );
}

#[test]
fn plain_text_off_loopback_is_refused_unless_told() {
    let folder = prepared("");
    write_config(folder.path(), "0.0.0.0:0", "");
    let (status, told) = output(folder.path(), &["serve"]);
    assert_eq!(status.code(), Some(64));
    assert!(told.contains("plain_text_off_loopback"), "{told}");
    write_config(folder.path(), "0.0.0.0:0", "plain_text_off_loopback = true");
    assert!(output(folder.path(), &["config", "check"]).0.success());
}

#[test]
fn a_limit_of_zero_is_refused_by_name() {
    let folder = prepared("");
    write_config(
        folder.path(),
        "127.0.0.1:0",
        "[limits]\ncalls = 0\nshutdown_s = 0",
    );
    let (status, told) = output(folder.path(), &["config", "check"]);
    assert_eq!(status.code(), Some(64));
    assert!(told.contains("calls, shutdown_s"), "{told}");
}

#[test]
fn a_signing_key_that_others_can_read_is_refused() {
    let folder = prepared("");
    let key = folder.path().join("signing.pem");
    assert_eq!(
        fs::metadata(&key).expect("the key").permissions().mode() & 0o777,
        0o600
    );
    fs::set_permissions(&key, fs::Permissions::from_mode(0o644)).expect("a mode");
    let (status, told) = output(folder.path(), &["serve"]);
    assert_eq!(status.code(), Some(64));
    assert!(told.contains("chmod 600"), "{told}");
}

#[test]
fn a_signing_key_is_never_overwritten() {
    let folder = prepared("");
    let before = fs::read(folder.path().join("signing.pem")).expect("the key");
    let (status, told) = output(folder.path(), &["key", "new"]);
    assert_eq!(status.code(), Some(1));
    assert!(told.contains("never overwritten"), "{told}");
    assert_eq!(
        fs::read(folder.path().join("signing.pem")).expect("the key"),
        before
    );
}

#[test]
fn a_second_server_on_one_store_ends_with_75_and_names_the_first() {
    let server = Server::start("");
    let second = prepared("");
    let text = fs::read_to_string(server.folder.path().join("server.toml")).expect("the config");
    let text = text.replace("/address\"", "/other-address\"");
    fs::write(second.path().join("server.toml"), text).expect("written");
    let (status, told) = output(second.path(), &["serve"]);
    assert_eq!(status.code(), Some(75));
    let lock = told.chars().filter(char::is_ascii_digit).count();
    assert!(
        lock > 0 && told.contains("pid") || told.contains("process"),
        "{told}"
    );
}

#[test]
fn the_first_key_is_in_a_file_that_only_its_owner_reads() {
    let server = Server::start("");
    let file = server.folder.path().join("store/bootstrap.key");
    assert_eq!(
        fs::metadata(file).expect("the key").permissions().mode() & 0o777,
        0o600
    );
    assert!(server.key().starts_with("obv_"));
}

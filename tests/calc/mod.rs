//! `obvert calc` as a program: one formula, streams of them, and the list.

mod list;
mod one;
mod rows;

use std::{
    io::Write,
    process::{Command, Output, Stdio},
};

use crate::server::support::program;

/// Runs `obvert calc` with these words and this on its standard input.
fn calc(words: &[&str], input: &str) -> Output {
    let mut child = Command::new(program("obvert"))
        .arg("calc")
        .args(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("obvert runs");
    let mut stdin = child.stdin.take().expect("its input is a pipe");
    let input = input.to_owned();
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let ended = child.wait_with_output().expect("it ends");
    // A program that refuses its command line ends before it has read everything.
    let _ = writer.join().expect("the writer ends");
    ended
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

//! A plug-in as a process of its own.

use std::{
    path::PathBuf,
    process::{Child, Command},
    time::Instant,
};

use obvert_plugins::{Kind, Plugin};
use tempfile::TempDir;

use super::served::registration;
use crate::server::support::{PATIENCE, program};

/// `obvert-bad-plugin`; killed when dropped.
pub(super) struct Process {
    name: String,
    folder: TempDir,
    child: Child,
}

impl Process {
    /// Starts one that misbehaves in a way, and waits until it listens.
    pub(super) fn that_is(how: &str, name: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let child = started(name, how, &folder);
        let name = name.to_owned();
        Self {
            name,
            folder,
            child,
        }
    }

    /// Kills it, as a power cut would.
    pub(super) fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Starts it once more on the same socket.
    pub(super) fn start(&mut self, how: &str) {
        std::fs::remove_file(self.path()).unwrap();
        self.child = started(&self.name, how, &self.folder);
    }

    /// Whether it runs.
    pub(super) fn is_running(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }

    pub(super) fn path(&self) -> PathBuf {
        self.folder.path().join("s")
    }

    /// Its rows in a server's config.
    pub(super) fn rows(&self) -> String {
        format!(
            "[[plugin]]\nid = \"{}\"\nkinds = [\"evaluator\"]\naddress = \"unix:{}\"\n\
             deadline_s = 1\nanswer_bytes = 65536\n",
            self.name,
            self.path().display()
        )
    }

    /// The plug-in as a server knows it, with a short deadline and small answers.
    pub(super) fn plugin(&self) -> Plugin {
        Plugin::new(registration(&self.name, Kind::Evaluator, self.path())).unwrap()
    }
}

fn started(name: &str, how: &str, folder: &TempDir) -> Child {
    let socket = folder.path().join("s");
    let child = Command::new(program("obvert-bad-plugin"))
        .args([name, how])
        .arg(&socket)
        .spawn()
        .unwrap();
    let begun = Instant::now();
    while !socket.exists() {
        assert!(begun.elapsed() < PATIENCE, "{how} does not listen");
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    child
}

impl Drop for Process {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

//! Appends to one file, one fdatasync for all who wait: the least that a durable commit costs.

use std::{
    fs::{File, OpenOptions},
    io::Write,
    path::Path,
    sync::mpsc::{Receiver, Sender, channel},
};

use tokio::sync::oneshot;

type Waiting = (usize, oneshot::Sender<()>);

/// The file and the thread that writes it.
#[derive(Clone)]
pub(crate) struct GroupFile {
    waiting: Sender<Waiting>,
}

impl GroupFile {
    pub(crate) fn create(path: &Path) -> Self {
        let file = OpenOptions::new().create_new(true).append(true).open(path);
        let file = file.expect("a new file");
        let (waiting, received) = channel();
        std::thread::spawn(move || write(file, &received));
        Self { waiting }
    }

    /// Appends so many bytes; returns when they are on the disk.
    pub(crate) async fn append(&self, bytes: usize) {
        let (done, wait) = oneshot::channel();
        self.waiting.send((bytes, done)).expect("the thread runs");
        wait.await.expect("the bytes are written");
    }
}

fn write(mut file: File, received: &Receiver<Waiting>) {
    let mut group = Vec::new();
    while let Ok(first) = received.recv() {
        let mut waiting = vec![first];
        waiting.extend(received.try_iter());
        group.clear();
        group.resize(waiting.iter().map(|(bytes, _)| bytes).sum(), 0x5a);
        file.write_all(&group)
            .and_then(|()| file.sync_data())
            .expect("the disk takes it");
        for (_, done) in waiting {
            let _ = done.send(());
        }
    }
}

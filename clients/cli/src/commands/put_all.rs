//! Many files over one connection, listed in a table of tabs: id, file, media type.

use std::path::{Path, PathBuf};

use clap::ArgMatches;
use futures::{StreamExt, TryStreamExt, stream};
use obvert_proto::{common::v1::Write, counted};
use sha2::{Digest, Sha256};

use super::{
    Session,
    attachment::{Sent, digest, store},
    file, read_text, text, write,
};
use crate::{Failure, args::MEDIA_TYPES, progress};

/// Files on their way at the same time.
const AT_ONCE: usize = 8;

/// Reads every row and looks for every file before it stores the first. The same table can be stored
/// again: each row's request id is made from its content, and what the server has is not sent anew.
pub(crate) async fn put_all(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let table = file(given, "table")?;
    let source = read_text(table)?;
    let (rows, wrong) = read(table, &source);
    if !wrong.is_empty() {
        let rows = counted(wrong.len(), "row is", "rows are");
        let message = format!("{rows} wrong; nothing was stored");
        return Err(Failure {
            places: wrong,
            ..Failure::data(table.display(), message)
        });
    }
    let project = text(given, "project");
    let base = write::envelope(given);
    let bar = progress::steps(rows.len() as u64, "storing files");
    let stored = stream::iter(rows.iter().map(|row| put(session, project, row, &base)));
    let mut stored = stored.buffer_unordered(AT_ONCE);
    let mut count = 0;
    loop {
        let next = stored.try_next().await.map_err(|failure| Failure {
            message: format!(
                "{} {}; {count} of {} stored: store the table again",
                table.display(),
                failure.message,
                counted(rows.len(), "file is", "files are")
            ),
            ..failure
        })?;
        if next.is_none() {
            break;
        }
        count += 1;
        bar.inc(1);
    }
    bar.finish_and_clear();
    session.output.say(&format!(
        "{}: {} stored",
        table.display(),
        counted(count, "file", "files")
    ))
}

struct Row<'a> {
    number: usize,
    id: &'a str,
    path: PathBuf,
    media_type: &'a str,
}

/// Rows of a table, and what is wrong with it by row. Paths count from the table's folder.
fn read<'a>(table: &Path, source: &'a str) -> (Vec<Row<'a>>, Vec<(String, String)>) {
    let folder = table.parent().unwrap_or(Path::new(""));
    let (mut rows, mut wrong) = (Vec::new(), Vec::new());
    for (number, line) in (1..).zip(source.lines()) {
        if line.trim().is_empty() {
            continue;
        }
        let cells: Vec<_> = line.split('\t').collect();
        let what = match cells[..] {
            [_, path, _] if !folder.join(path).is_file() => format!("{path} is no file"),
            [_, _, media_type] if !MEDIA_TYPES.contains(&media_type) => format!(
                "{media_type} is no media type that is stored: write one of {}",
                MEDIA_TYPES.join(", ")
            ),
            [id, path, media_type] => {
                rows.push(Row {
                    number,
                    id,
                    path: folder.join(path),
                    media_type,
                });
                continue;
            }
            _ => format!(
                "has {} cells: write id, file and media type, with a tab between two",
                cells.len()
            ),
        };
        wrong.push((format!("{} row {number}", table.display()), what));
    }
    (rows, wrong)
}

async fn put(session: &Session, project: &str, row: &Row<'_>, base: &Write) -> Result<(), Failure> {
    let digest = digest(&row.path)?;
    let mut hash = Sha256::new();
    hash.update(format!("{project}\n{}\n{}\n", row.id, row.media_type));
    hash.update(digest.1);
    let hash = hash.finalize();
    let short: String = hash.iter().take(12).map(|b| format!("{b:02x}")).collect();
    let write = Write {
        request_id: format!("put-{short}"),
        ..base.clone()
    };
    let file = Sent {
        project,
        id: row.id,
        path: &row.path,
        media_type: row.media_type,
        subjects: Vec::new(),
    };
    let stored = store(session, file, digest, write).await;
    stored.map(drop).map_err(|failure| Failure {
        message: format!("row {} ({}): {}", row.number, row.id, failure.message),
        ..failure
    })
}

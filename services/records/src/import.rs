//! Import: every row of a table, or none.

use bytes::{Bytes, BytesMut};
use futures::{Stream, StreamExt};
use obvert_access::{Action, Caller, Grant, OFFICE};
use obvert_ledger::{Assert, Expect, NewEntry};
use obvert_proto::{
    Problem, Violation,
    common::v1::{
        ImportTableHeader, ImportTableRequest, ImportTableResponse, Reason,
        import_table_request::Part,
    },
};
use obvert_tables::{ColumnMap, TableRow};
use prost::Message as _;
use tonic::Status;

use crate::{
    Digest, KindEntry, Records, Register, caller_of, check_own_id, check_write,
    create::JudgedEntry, draft, names, refusal, shift::within_shift,
};

/// Largest table.
const TABLE_BYTES: usize = 64 << 20;

/// Header and bytes of a table stream.
///
/// # Errors
///
/// `UPLOAD_INCOMPLETE` when the first message is no header, `TOO_LARGE` past 64 MiB, or the stream's
/// own status.
pub async fn collect_table(
    mut parts: impl Stream<Item = Result<ImportTableRequest, Status>> + Unpin,
) -> Result<(ImportTableHeader, Bytes), Status> {
    let first = parts
        .next()
        .await
        .transpose()?
        .and_then(|request| request.part);
    let Some(Part::Header(header)) = first else {
        let message =
            "the first message is not the header: send project, collection and column map first";
        return Err(Problem::new(Reason::UploadIncomplete, message).into());
    };
    let mut table = BytesMut::new();
    while let Some(request) = parts.next().await.transpose()? {
        let Some(Part::Data(data)) = request.part else {
            let message = "a second header came: send one table per call";
            return Err(Problem::new(Reason::UploadIncomplete, message).into());
        };
        if table.len() + data.len() > TABLE_BYTES {
            let message = format!("the table is larger than {TABLE_BYTES} bytes: split it");
            return Err(Problem::new(Reason::TooLarge, message).into());
        }
        table.extend_from_slice(&data);
    }
    Ok((header, table.freeze()))
}

impl<S: Register> Records<S> {
    /// Writes all rows of a table in one commit, or none.
    ///
    /// # Errors
    ///
    /// `TABLE_INVALID` with row and column of everything wrong, or the ledger's refusal.
    pub async fn import(
        &self,
        caller: &Caller,
        header: ImportTableHeader,
        table: Bytes,
        now_ms: i64,
    ) -> Result<ImportTableResponse, Problem> {
        let Some(entry) = self.kinds.by_collection(&header.collection) else {
            self.may_write_some(caller, &header.project)?;
            return Err(self.not_imported(&header.collection));
        };
        let action = Action::Write(&header.collection);
        let grant = caller.may_own(action, &header.project)?;
        if entry.kind.own_rpc {
            return Err(self.not_imported(&header.collection));
        }
        let write = check_write(header.write.clone())?;
        let digest = Digest::default()
            .part(header.collection.as_bytes())
            .part(header.column_map.as_bytes())
            .part(&table)
            .finish();
        let (names, mut judged) = match self.rows(&header, &table, entry, (caller, grant)).await {
            Ok(rows) => rows,
            Err(problem) => {
                let made = self.made_before(&header.project, caller, &write, digest, problem);
                let revision = made.await?;
                return self.imported(header.project, revision).await;
            }
        };
        let row_count = i32::try_from(names.len()).unwrap_or(i32::MAX);
        if write.validate_only {
            return Ok(ImportTableResponse {
                row_count,
                names,
                ..ImportTableResponse::default()
            });
        }
        self.number(&header.project, entry, &mut judged).await?;
        let caller = caller_of(caller, grant.role);
        let content = content(&header.project, &names, judged);
        let draft = draft(&header.project, caller, &write, digest, now_ms, content);
        let committed = self.ledger.commit(draft).await.map_err(refusal)?;
        let revision = committed.revision;
        Ok(ImportTableResponse {
            row_count,
            names,
            revision,
            findings: Vec::new(),
        })
    }

    fn not_imported(&self, collection: &str) -> Problem {
        let message = format!("is \"{collection}\": one of {}", self.kinds.listed());
        Problem::fields(vec![Violation::new("collection", message)])
    }

    /// Answer to an import that was committed before.
    async fn imported(
        &self,
        project: String,
        revision: i64,
    ) -> Result<ImportTableResponse, Problem> {
        let commits = self.ledger.commits(project, revision - 1, 1);
        let entries = commits
            .await
            .map_err(refusal)?
            .into_iter()
            .flat_map(|c| c.entries);
        let names: Vec<_> = entries.map(|entry| entry.name).collect();
        Ok(ImportTableResponse {
            row_count: i32::try_from(names.len()).unwrap_or(i32::MAX),
            names,
            revision,
            findings: Vec::new(),
        })
    }

    /// Names and records of the rows of a table, all of them judged.
    async fn rows(
        &self,
        header: &ImportTableHeader,
        table: &[u8],
        entry: &KindEntry,
        (caller, grant): (&Caller, Grant),
    ) -> Result<(Vec<String>, Vec<JudgedEntry>), Problem> {
        let map = ColumnMap::parse(&header.column_map).map_err(invalid)?;
        let file = if header.file_name.is_empty() {
            "table"
        } else {
            &header.file_name
        };
        let rows = obvert_tables::read(table, &map, &entry.descriptor, &header.project, file);
        let rows = rows.map_err(invalid)?;
        for row in &rows {
            within_shift(&self.ledger, caller, &header.project, &row.body).await?;
        }
        self.judge_rows((&header.project, file), (caller, grant), entry, &rows)
            .await
    }

    async fn judge_rows(
        &self,
        (project, file): (&str, &str),
        writer: (&Caller, Grant),
        entry: &KindEntry,
        rows: &[TableRow],
    ) -> Result<(Vec<String>, Vec<JudgedEntry>), Problem> {
        let (mut names, mut judged, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
        for row in rows {
            let name = names::join(project, &entry.kind.collection, &row.record_id);
            let body = Bytes::from(row.body.encode_to_vec());
            let record = self.kinds.join(entry, None, &body)?;
            let bad_id = names::check_id("id", &row.record_id);
            let not_own = check_own_id("id", &row.record_id, writer);
            let bad_id = bad_id.into_iter().chain(not_own).collect();
            match self
                .judged((project, &name), writer, entry, (&record, body), bad_id)
                .await
            {
                Ok(one) => judged.push(one),
                Err(problem) => wrong.extend(row_violations(file, row.row, problem)),
            }
            names.push(name);
        }
        if rows.is_empty() {
            wrong.push(Violation::new(
                file,
                "has no rows below its header: nothing to import",
            ));
        }
        if wrong.is_empty() {
            Ok((names, judged))
        } else {
            Err(invalid(wrong))
        }
    }
}

/// What must hold of the project and of every row's name, and the entries to write.
fn content(
    project: &str,
    names: &[String],
    judged: Vec<JudgedEntry>,
) -> (Vec<Assert>, Vec<NewEntry>) {
    let absent = |name: &String| Assert {
        name: name.clone(),
        expect: Expect::Absent,
    };
    let mut asserts: Vec<_> = names.iter().map(absent).collect();
    if project != OFFICE {
        asserts.push(Assert {
            name: names::join("", "projects", project),
            expect: Expect::Present,
        });
    }
    let mut entries = Vec::with_capacity(judged.len());
    for JudgedEntry {
        new, asserts: more, ..
    } in judged
    {
        asserts.extend(more);
        entries.push(new);
    }
    (asserts, entries)
}

fn row_violations(file: &str, row: usize, problem: Problem) -> Vec<Violation> {
    if problem.violations.is_empty() {
        return vec![Violation::new(format!("{file} row {row}"), problem.message)];
    }
    let place =
        |v: Violation| Violation::new(format!("{file} row {row} field {}", v.field), v.message);
    problem.violations.into_iter().map(place).collect()
}

fn invalid(violations: Vec<Violation>) -> Problem {
    let first = violations
        .first()
        .map_or(String::new(), |v| format!("{}: {}", v.field, v.message));
    let message = match violations.len() {
        0 | 1 => format!("{first}; nothing was written"),
        n => format!("{n} places are wrong and nothing was written; the first is {first}"),
    };
    Problem::new(Reason::TableInvalid, message).with_violations(violations)
}

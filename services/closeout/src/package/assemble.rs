//! Assembly of a package: ask, load, have it made, commit; progress on the way.

use std::{pin::Pin, sync::Arc};

use futures::{Stream, stream};
use obvert_access::{Action, Caller};
use obvert_ledger::{Ledger, Stored};
use obvert_proto::{
    Problem,
    closeout::v1::{AssemblePackageRequest, AssemblePackageResponse, Package},
    common::v1::{Reason, Write},
    project::v1::Role,
};
use obvert_records::{Digest, caller_of, check_request, check_write, draft, meta, names, refusal};
use prost::Message;
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;
use tonic::Status;

use super::{
    Press, hex,
    make::{TOTAL, entry, keyed, made},
};
use crate::{held, load::Loaded, load_segment};

pub(crate) type AssembleStream =
    Pin<Box<dyn Stream<Item = Result<AssemblePackageResponse, Status>> + Send>>;
type Answers = mpsc::Sender<Result<AssemblePackageResponse, Status>>;

/// Assembles the package of an accepted segment at the newest revision.
///
/// The same request gets the same package, which is not built again.
///
/// # Errors
///
/// `NOT_ALLOWED`, `FIELDS_INVALID`, `REQUEST_ID_REUSED`, or `POINTS_HELD` with one violation for
/// each point that is not past.
pub(crate) async fn assemble_stream(
    ledger: Ledger,
    press: Option<Arc<Press>>,
    caller: Caller,
    request: AssemblePackageRequest,
    now_ms: i64,
) -> Result<AssembleStream, Problem> {
    let project = names::project_of(&request.segment).to_owned();
    let role = caller.may(Action::Assemble, &project)?;
    check_request(&request)?;
    let AssemblePackageRequest {
        write,
        segment,
        with_people,
    } = request;
    let write = check_write(write)?;
    let name = names::join(&project, "packages", &package_id(&caller, &write));
    if let Some(issued) = ledger.get(name.clone(), 0).await.map_err(refusal)? {
        let last = answer_of(&issued, &segment, &write)?;
        return Ok(Box::pin(stream::iter([Ok(last)])));
    }
    let press = keyed(press)?;
    let loaded = load_segment(&ledger, &segment, 0).await?;
    // What the package shows follows from its revision; that it is issued, from the time of the act.
    for status in [loaded.status(), loaded.status_at(now_ms)] {
        if !status.accepted {
            return Err(held(&loaded.plan, &status));
        }
    }
    if write.validate_only {
        let answer = AssemblePackageResponse {
            step: "every point is past; nothing was assembled".to_owned(),
            total_count: TOTAL,
            ..AssemblePackageResponse::default()
        };
        return Ok(Box::pin(stream::iter([Ok(answer)])));
    }
    let (answers, received) = mpsc::channel(16);
    let assembly = Assembly {
        ledger,
        press,
        caller,
        role,
        write,
        name,
        segment,
        with_people,
        now_ms,
    };
    tokio::spawn(async move {
        let last = assembly.run(loaded, &answers).await.map_err(Status::from);
        // A caller that went away finds the package by the same request.
        let _ = answers.send(last).await;
    });
    Ok(Box::pin(ReceiverStream::new(received)))
}

/// One assembly that was asked for and may go on.
struct Assembly {
    ledger: Ledger,
    press: Arc<Press>,
    caller: Caller,
    role: Role,
    write: Write,
    name: String,
    segment: String,
    with_people: bool,
    now_ms: i64,
}

impl Assembly {
    async fn run(
        self,
        loaded: Loaded,
        answers: &Answers,
    ) -> Result<AssemblePackageResponse, Problem> {
        let steps = answers.clone();
        let told = move |step: &str, done: i32| {
            // Progress that nobody reads fast enough is dropped.
            let _ = steps.try_send(Ok(progress(step, done)));
        };
        let package = made(&self.ledger, &self.press, loaded, self.with_people, told).await?;
        self.commit(&package).await
    }

    async fn commit(self, package: &Package) -> Result<AssemblePackageResponse, Problem> {
        let Self {
            ledger,
            caller,
            role,
            write,
            name,
            segment,
            now_ms,
            ..
        } = self;
        let project = names::parse(&name)
            .map_or("", |parts| parts.project)
            .to_owned();
        let digest = Digest::default()
            .part(name.as_bytes())
            .part(segment.as_bytes())
            .part(&[u8::from(package.with_people)])
            .part(write.reason.as_bytes())
            .finish();
        let (assert, entry) = entry(&name, package);
        let caller = caller_of(&caller, role);
        let draft = draft(
            &project,
            caller,
            &write,
            digest,
            now_ms,
            (vec![assert], vec![entry]),
        );
        let committed = ledger.commit(draft).await.map_err(refusal)?;
        let stored = ledger
            .get(name.clone(), committed.revision)
            .await
            .map_err(refusal)?;
        let lost = || Problem::new(Reason::Internal, format!("{name} cannot be read back"));
        answer_of(&stored.ok_or_else(lost)?, &segment, &write)
    }
}

fn progress(step: &str, done_count: i32) -> AssemblePackageResponse {
    AssemblePackageResponse {
        step: step.to_owned(),
        done_count,
        total_count: TOTAL,
        ..AssemblePackageResponse::default()
    }
}

/// Id of the package that a request makes, so that the same request finds it again.
fn package_id(caller: &Caller, write: &Write) -> String {
    let digest = Digest::default()
        .part(caller.principal.as_bytes())
        .part(write.request_id.as_bytes())
        .finish();
    format!("p-{}", hex(&digest[..12]))
}

/// Last answer of an assembly.
fn answer_of(
    issued: &Stored,
    segment: &str,
    write: &Write,
) -> Result<AssemblePackageResponse, Problem> {
    let package = Package::decode(issued.body.clone()).map_err(|error| {
        Problem::new(
            Reason::Internal,
            format!("{} cannot be read back: {error}", issued.name),
        )
    })?;
    if package.segment != segment || issued.reason != write.reason {
        let (request_id, revision) = (write.request_id.clone(), issued.revision);
        return Err(refusal(obvert_ledger::LedgerError::RequestIdReused {
            request_id,
            revision,
        }));
    }
    Ok(AssemblePackageResponse {
        step: "done".to_owned(),
        done_count: TOTAL,
        total_count: TOTAL,
        meta: Some(meta(issued)),
        package: Some(package),
    })
}

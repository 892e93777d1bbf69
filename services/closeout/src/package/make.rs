//! The file of one package, built on a bounded pool and stored; nothing is committed here.

use std::{
    sync::{Arc, LazyLock},
    thread::available_parallelism,
};

use obvert_ledger::{Assert, Expect, Ledger, NewEntry};
use obvert_proto::{Problem, closeout::v1::Package, common::v1::Reason};
use obvert_records::{blob_refusal, names};
use prost::{Message, Name};
use tokio::{sync::Semaphore, task::spawn_blocking};

use super::{
    Built, Press, Sources, Terms, asked_sections::asked_by_server, build, build::STEPS, hex,
    originals::originals,
};
use crate::load::Loaded;

/// Version that a package names.
const PROGRAM_VERSION: &str = env!("CARGO_PKG_VERSION");
/// Steps of a build, and reading before it and storing after it.
pub(super) const TOTAL: i32 = STEPS.len() as i32 + 2;

/// Packages that are built at once, one a core; more wait.
static BUILDERS: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(builders()));

/// How many packages are built at once.
pub(super) fn builders() -> usize {
    available_parallelism().map_or(2, |cores| cores.get())
}

/// Builds and stores a package of a loaded segment. `told` hears each step and how many are done.
pub(super) async fn made(
    ledger: &Ledger,
    press: &Arc<Press>,
    loaded: Loaded,
    with_people: bool,
    told: impl Fn(&str, i32) + Clone + Send + 'static,
) -> Result<Package, Problem> {
    told("waiting for a free builder", 0);
    let stopped = |what: String| Problem::new(Reason::Internal, what);
    let turn = BUILDERS
        .acquire()
        .await
        .map_err(|error| stopped(error.to_string()))?;
    told("reading the files", 0);
    let terms = Terms {
        with_people,
        originals_bytes: press.limits.originals_bytes,
    };
    let (plan, revision) = (loaded.plan_ref.clone(), loaded.gathered.revision);
    let segment = loaded.gathered.segment.clone();
    let project = names::project_of(&segment).to_owned();
    let mut sources = Sources::read(ledger, loaded, terms).await?;
    sources.section_plugins = asked_by_server(&press.plugins, &project);
    let replaces = sources
        .replaced
        .as_ref()
        .map(|issue| issue.package.record());
    let kept = originals(&sources.loaded, terms);
    let kept = kept.iter().filter(|original| original.kept.is_some());
    let kept_original_count = kept.count() as i32;
    let (with, tell) = (Arc::clone(press), told.clone());
    let work = move || {
        let mut done = 0;
        build(&sources, &with, PROGRAM_VERSION, |step| {
            done += 1;
            tell(step, done);
        })
    };
    let built = spawn_blocking(work)
        .await
        .map_err(|error| stopped(error.to_string()))??;
    drop(turn);
    told("storing", TOTAL - 1);
    let Built {
        file_name,
        bytes,
        tag_manifest_sha256,
    } = built;
    let size_bytes = bytes.len() as i64;
    let stored = ledger.blobs().put(bytes.into()).await;
    Ok(Package {
        segment,
        project_revision: revision,
        plan: Some(plan),
        file_name,
        size_bytes,
        sha256: hex(&stored.map_err(blob_refusal)?),
        tag_manifest_sha256,
        signer_fingerprint: press.signer.fingerprint().to_owned(),
        program_version: PROGRAM_VERSION.to_owned(),
        with_people,
        replaces,
        kept_original_count,
        build: String::new(),
    })
}

/// Refusal of a server without a key.
pub(super) fn keyed(press: Option<Arc<Press>>) -> Result<Arc<Press>, Problem> {
    press.ok_or_else(|| {
        let message = "this server has no signing key: make one with 'obvertd key new'";
        Problem::new(Reason::ActRefused, message)
    })
}

/// The package's record as a commit takes it, once.
pub(super) fn entry(name: &str, package: &Package) -> (Assert, NewEntry) {
    let assert = Assert {
        name: name.to_owned(),
        expect: Expect::Absent,
    };
    let entry = NewEntry {
        name: name.to_owned(),
        type_name: Package::full_name(),
        body: package.encode_to_vec().into(),
        refers: vec![package.segment.clone()],
        claims: Vec::new(),
    };
    (assert, entry)
}

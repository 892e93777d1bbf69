//! From a segment's file to the bytes of its package.

use std::collections::{BTreeMap, BTreeSet};

use bytes::Bytes;
use obvert_ledger::{Ledger, Stored};
use obvert_proto::{
    Problem,
    closeout::v1::{PluginSection, PluginVerdict, SegmentStatus},
    common::v1::Reason,
    project::v1,
};
use obvert_records::{names, refusal};
use obvert_typeset::{Document, Paper, Template, TypesetError, segment_sheet::Heart};
use prost::Name;
use sha2::{Digest, Sha256};

use super::{
    Press, Signer,
    bag::{Bag, FORMAT},
    corrections::{self, Change},
    cure::{self, DrawnLog},
    figures::Units,
    hex,
    originals::{self, Original},
    proto_json, record_files,
    sheet::{self, View},
    words,
};
use crate::load::Loaded;

/// Steps of a build, each named when it begins.
pub(super) const STEPS: &[&str] = &[
    "writing the records",
    "drawing the plots",
    "typesetting the document",
    "packing and signing",
];
const HOW_TO_VERIFY: &str = include_str!("../../templates/how_to_verify.txt");

/// All that a package is made from.
pub struct Sources {
    /// The segment's file and its plan.
    pub loaded: Loaded,
    /// SHA-256 of the project's commit at that revision, which continues the chain of all before.
    pub chain_sha256: [u8; 32],
    /// Where each point stands at that revision.
    pub status: SegmentStatus,
    /// Files by the lower-case digits of their SHA-256.
    pub blobs: BTreeMap<String, Bytes>,
    /// States of each record that was revised, oldest first, up to the one in the file.
    pub histories: Vec<Vec<Stored>>,
}

/// A package as a file.
pub struct Built {
    /// Name of the file.
    pub file_name: String,
    /// The file.
    pub bytes: Vec<u8>,
    /// SHA-256 of the bag's tag manifest, in lower-case hexadecimal.
    pub tag_manifest_sha256: String,
}

impl Sources {
    /// Reads what a loaded file does not hold itself.
    ///
    /// # Errors
    ///
    /// A refusal of the ledger or of the store of files.
    pub async fn read(ledger: &Ledger, loaded: Loaded) -> Result<Self, Problem> {
        let status = loaded.status();
        let chain_sha256 = chain_sha256(ledger, &loaded).await?;
        let blobs = originals::read(ledger, &loaded).await?;
        let gathered = &loaded.gathered;
        let all = std::iter::once(&gathered.project).chain(&gathered.records);
        let mut histories = Vec::new();
        // An answer of a plug-in is given anew for new evidence; that corrects nothing.
        let answers = [PluginVerdict::full_name(), PluginSection::full_name()];
        let is_answer = |stored: &&Stored| answers.contains(&stored.type_name);
        let records = all.filter(|stored| !is_answer(stored));
        for stored in records.filter(|stored| stored.revision != stored.create_revision) {
            histories.push(history(ledger, stored).await?);
        }
        Ok(Self {
            loaded,
            chain_sha256,
            status,
            blobs,
            histories,
        })
    }
}

/// Hash of the commit that made the revision a package shows.
async fn chain_sha256(ledger: &Ledger, loaded: &Loaded) -> Result<[u8; 32], Problem> {
    let project = names::id_of(&loaded.gathered.project.name).to_owned();
    let revision = loaded.gathered.revision;
    let named = format!("{project}@{revision}");
    let commit = ledger.commit_bytes(project, revision).await;
    let commit = commit.map_err(refusal)?.ok_or_else(|| {
        Problem::new(Reason::StoreCorrupt, format!("{named} cannot be read back"))
    })?;
    Ok(Sha256::digest(commit).into())
}

/// States of a record from its first to the given one.
async fn history(ledger: &Ledger, last: &Stored) -> Result<Vec<Stored>, Problem> {
    let mut states: Vec<Stored> = Vec::new();
    loop {
        let after = states.last().map_or(0, |stored| stored.revision);
        let page = ledger
            .history(last.name.clone(), after, 1_000)
            .await
            .map_err(refusal)?;
        let more = page.next.is_some();
        let early = page
            .items
            .into_iter()
            .filter(|stored| stored.revision <= last.revision);
        states.extend(early);
        if !more
            || states
                .last()
                .is_some_and(|stored| stored.revision == last.revision)
        {
            return Ok(states);
        }
    }
}

/// Builds a package. `step` is told the name of each step as it begins.
///
/// Takes up to some hundred milliseconds of one core and does not yield: call it from
/// `spawn_blocking`.
///
/// # Errors
///
/// `TOO_LARGE` when the package would pass the limits of its readers, or a fault of the program.
pub fn build(
    sources: &Sources,
    press: &Press,
    program_version: &str,
    mut step: impl FnMut(&'static str),
) -> Result<Built, Problem> {
    let payload = Payload::of(sources, &mut step)?;
    step(STEPS[2]);
    let view = payload.view(sources, press.signer.named());
    let mut info = info(&view, program_version);
    info.push(("Obvert-Chain-SHA256", hex(&sources.chain_sha256)));
    let top = top_folder(&view);
    let pdf = press
        .typesetter
        .render(&laid_out(&view)?)
        .map_err(untypeset)?;
    let mut files = payload.files;
    files.insert("data/closeout.pdf".to_owned(), pdf);
    step(STEPS[3]);
    let signer = &press.signer;
    let how_to_verify = how_to_verify(&top, signer);
    Bag {
        top,
        payload: files,
        info,
        how_to_verify,
        signer,
        limits: press.limits,
    }
    .sealed()
}

/// Document of a package, as [`build`] has it typeset.
///
/// # Errors
///
/// A fault of the program: values that cannot be written as data.
pub fn document(sources: &Sources, signer: &Signer) -> Result<Document, Problem> {
    let payload = Payload::of(sources, &mut |_| {})?;
    laid_out(&payload.view(sources, signer.named()))
}

/// The table from design to pipe, without the files that only a package encloses.
pub(super) fn traced(sources: &Sources) -> Result<Heart, Problem> {
    let payload = Payload::of(sources, &mut |_| {})?;
    Ok(sheet::heart(&payload.view(sources, ["", ""])))
}

/// What a package encloses beside its document, and what the document says of it.
struct Payload {
    files: BTreeMap<String, Vec<u8>>,
    changes: Vec<Change>,
    originals: Vec<Original>,
    logs: Vec<DrawnLog>,
}

impl Payload {
    fn of(sources: &Sources, step: &mut impl FnMut(&'static str)) -> Result<Self, Problem> {
        step(STEPS[0]);
        let mut files = BTreeMap::new();
        record_files::add(&mut files, sources)?;
        let changes = corrections::changes(sources)?;
        let corrected = proto_json::text(&corrections::file(&changes));
        files.insert("data/corrections.json".to_owned(), corrected);
        let originals = originals::originals(&sources.loaded);
        originals::add(&mut files, &originals, sources);
        step(STEPS[1]);
        let logs = cure::drawn(&mut files, sources)?;
        Ok(Self {
            files,
            changes,
            originals,
            logs,
        })
    }

    fn view<'a>(&'a self, sources: &'a Sources, signer: [&'a str; 2]) -> View<'a> {
        let file = &sources.loaded.file;
        View {
            file,
            plan: &sources.loaded.plan,
            status: &sources.status,
            units: Units {
                us: file.project.show_us_units,
            },
            files: &self.files,
            logs: &self.logs,
            originals: &self.originals,
            changes: &self.changes,
            signer,
        }
    }
}

/// Name of the one folder of a package.
fn top_folder(view: &View<'_>) -> String {
    format!("{}-r{}", view.file.segment_id(), view.file.revision)
}

fn untypeset(error: TypesetError) -> Problem {
    tracing::error!(%error, "a package could not be typeset");
    Problem::new(
        Reason::Internal,
        format!("the document could not be typeset: {error}"),
    )
}

fn laid_out(view: &View<'_>) -> Result<Document, Problem> {
    let file = view.file;
    let plots: BTreeSet<&str> = view
        .logs
        .iter()
        .flat_map(|log| log.plots.iter().map(|plot| plot.path.as_str()))
        .collect();
    let picture = |path: &&str| {
        view.files
            .get(*path)
            .map(|svg| ((*path).to_owned(), svg.clone()))
    };
    Ok(Document {
        template: Template::SegmentPackage,
        data: sheet::sheet(view).to_data().map_err(untypeset)?,
        files: plots.iter().filter_map(picture).collect(),
        ident: top_folder(view),
        title: format!("Closeout of segment {}", view.owner_segment_id()),
        time_unix_s: file.commit_time_ms.div_euclid(1_000),
        paper: match file.project.paper() {
            v1::Paper::A4 => Paper::A4,
            v1::Paper::Letter | v1::Paper::Unspecified => Paper::Letter,
        },
    })
}

/// Labels of bag-info.txt: RFC 8493's own first, then ours.
fn info(view: &View<'_>, program_version: &str) -> Vec<(&'static str, String)> {
    let file = view.file;
    let project = &file.project;
    let owner_id = view.owner_segment_id();
    vec![
        ("Source-Organization", project.contractor.clone()),
        (
            "External-Identifier",
            format!("{}@{}", file.name, file.revision),
        ),
        (
            "External-Description",
            format!("Closeout of segment {owner_id}, {}", project.title),
        ),
        (
            "Bagging-Date",
            file.local_date(file.commit_time_ms).to_string(),
        ),
        ("Bag-Software-Agent", format!("obvertd {program_version}")),
        ("Obvert-Package-Format", FORMAT.to_owned()),
        ("Obvert-Segment", file.name.clone()),
        ("Obvert-Owner-Segment", owner_id.to_owned()),
        ("Obvert-Revision", file.revision.to_string()),
        (
            "Obvert-Revision-Time",
            record_files::time(file.commit_time_ms),
        ),
        ("Obvert-Plan", words::reference(view.status.plan.as_ref())),
        ("Obvert-Verdict", words::standing(view.status)),
        ("Obvert-Signer-Fingerprint", view.signer[0].to_owned()),
    ]
}

fn how_to_verify(top: &str, signer: &Signer) -> String {
    HOW_TO_VERIFY
        .replace("{top}", top)
        .replace("{fingerprint}", signer.fingerprint())
        .replace("{source}", signer.fingerprint_source())
}

//! From a segment's file to the bytes of its package.

use std::collections::{BTreeMap, BTreeSet};

use obvert_proto::{Problem, common::v1::Reason, project::v1};
use obvert_typeset::{Document, Paper, Template, TypesetError, segment_sheet::Heart};

use super::{
    Press, Signer, Sources,
    asked_sections::{self, AskedSection, asked_sections},
    bag::{Bag, FORMAT},
    corrections::{self, Change},
    cure::{self, DrawnLog},
    figures::Units,
    file_schemas, hex, logo,
    originals::{self, Original},
    proto_json, record_files, redaction,
    sheet::{self, View},
    since::{self, Since},
    words,
};

/// Steps of a build, each named when it begins.
pub(super) const STEPS: &[&str] = &[
    "writing the records",
    "drawing the plots",
    "typesetting the document",
    "packing and signing",
];
const HOW_TO_VERIFY: &str = include_str!("../../templates/how_to_verify.txt");

/// A package as a file.
pub struct Built {
    /// Name of the file.
    pub file_name: String,
    /// The file.
    pub bytes: Vec<u8>,
    /// SHA-256 of the bag's tag manifest, in lower-case hexadecimal.
    pub tag_manifest_sha256: String,
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
    if let Some(logo) = &sources.logo {
        logo.check()?;
    }
    let payload = Payload::of(sources, &mut step)?;
    step(STEPS[2]);
    let mut view = payload.view(sources, press.signer.named());
    let mut info = info(&view, program_version);
    info.push(("Obvert-Chain-SHA256", hex(&sources.chain_sha256)));
    let top = top_folder(&view);
    let pdf = typeset(&mut view, press)?;
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
    since: Option<Since>,
}

impl Payload {
    fn of(sources: &Sources, step: &mut impl FnMut(&'static str)) -> Result<Self, Problem> {
        step(STEPS[0]);
        let mut files = BTreeMap::new();
        record_files::add(&mut files, sources)?;
        let changes = corrections::changes(sources)?;
        let corrected = proto_json::text(&corrections::file(&changes));
        files.insert("data/corrections.json".to_owned(), corrected);
        let since = since::since(sources)?;
        let changed = proto_json::text(&since::file(since.as_ref()));
        files.insert("data/changes.json".to_owned(), changed);
        let redacted = proto_json::text(&redaction::file(sources));
        files.insert("data/redactions.json".to_owned(), redacted);
        let originals = originals::originals(&sources.loaded, sources.terms);
        let listed = proto_json::text(&originals::file(&originals));
        files.insert("data/originals.json".to_owned(), listed);
        originals::add(&mut files, &originals, sources);
        let sections = proto_json::text(&asked_sections::file(&sections(sources)));
        files.insert("data/plugin-sections.json".to_owned(), sections);
        file_schemas::add(&mut files);
        step(STEPS[1]);
        let logs = cure::drawn(&mut files, sources)?;
        Ok(Self {
            files,
            changes,
            originals,
            logs,
            since,
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
            since: self.since.as_ref(),
            redactions: &sources.redactions,
            sections: sections(sources),
            terms: sources.terms,
            logo: sources.logo.as_ref(),
            logo_missing: &sources.logo_missing,
            signer,
        }
    }
}

/// Sections of plug-ins that were asked for or are on file.
fn sections(sources: &Sources) -> Vec<AskedSection<'_>> {
    let loaded = &sources.loaded;
    asked_sections(&loaded.plan, &sources.section_plugins, &loaded.file)
}

/// The document. A picture that the plan names and that cannot be drawn is left out, and said to be. A
/// typesetter that failed says nothing of the picture.
fn typeset(view: &mut View<'_>, press: &Press) -> Result<Vec<u8>, Problem> {
    let rendered = press.typesetter.render(&laid_out(view)?);
    let cover = view.plan.package.cover.as_ref();
    let named = cover.is_some_and(|cover| !cover.logo_sha256.is_empty());
    let refused = matches!(
        rendered,
        Err(TypesetError::Layout(_) | TypesetError::Export(_) | TypesetError::Refused(_))
    );
    if refused && named && view.logo.take().is_some() {
        view.logo_missing = "No logo is printed: the picture that the plan names cannot be drawn.";
        return press.typesetter.render(&laid_out(view)?).map_err(untypeset);
    }
    rendered.map_err(untypeset)
}

/// Name of the one folder of a package.
fn top_folder(view: &View<'_>) -> String {
    format!("{}-r{}", view.file.segment_id(), view.file.revision)
}

fn untypeset(error: TypesetError) -> Problem {
    tracing::error!(%error, "a package could not be typeset");
    let reason = match error {
        TypesetError::TooLarge(_) => Reason::TooLarge,
        _ => Reason::Internal,
    };
    Problem::new(
        reason,
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
    let mut pictures: BTreeMap<String, Vec<u8>> = plots.iter().filter_map(picture).collect();
    if let Some(logo) = view.logo {
        pictures.insert(logo::NAME.to_owned(), logo.bytes.to_vec());
    }
    Ok(Document {
        template: Template::SegmentPackage,
        data: sheet::sheet(view).to_data().map_err(untypeset)?,
        files: pictures,
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
        ("Obvert-Issue", since::issue_number(file).to_string()),
        ("Obvert-Replaces", since::replaces(view.since)),
        (
            "Obvert-Personal-Data",
            redaction::in_words(view.terms, view.redactions),
        ),
        ("Obvert-Originals", originals::in_words(view.originals)),
        ("Obvert-Signer-Fingerprint", view.signer[0].to_owned()),
    ]
}

fn how_to_verify(top: &str, signer: &Signer) -> String {
    HOW_TO_VERIFY
        .replace("{top}", top)
        .replace("{fingerprint}", signer.fingerprint())
        .replace("{source}", signer.fingerprint_source())
}

//! All that a package is made from, read before anything is built.

use std::collections::BTreeMap;

use bytes::Bytes;
use obvert_ledger::{Ledger, Stored};
use obvert_proto::{
    Problem,
    closeout::v1::{Package, PluginSection, PluginVerdict, SegmentStatus},
    common::v1::Reason,
};
use obvert_records::{names, refusal};
use prost::Name;
use sha2::{Digest, Sha256};

use super::{
    PackageLimits,
    logo::Logo,
    originals,
    redaction::{self, Redaction},
};
use crate::{
    load::{Loaded, load_segment},
    segment_file::Kept,
};

/// What a package encloses.
#[derive(Debug, Clone, Copy)]
pub struct Terms {
    /// Whether it says who took part and encloses originals about residents.
    pub with_people: bool,
    /// Most that the originals take together; what comes after that stays on the server.
    pub originals_bytes: i64,
}

impl Default for Terms {
    fn default() -> Self {
        Self {
            with_people: false,
            originals_bytes: PackageLimits::default().originals_bytes,
        }
    }
}

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
    /// What the package encloses.
    pub terms: Terms,
    /// The package that was issued before; none for the first.
    pub replaced: Option<Issue>,
    /// The owner's logo: the one that the plan's cover names, or else the project's.
    pub logo: Option<Logo>,
    /// Why the logo that the plan names is not printed; empty when it is, or when it names none.
    pub logo_missing: String,
    /// Plug-ins that the server asks for a section, by their ids.
    pub section_plugins: Vec<String>,
    /// What was left out to keep people unnamed.
    pub redactions: Vec<Redaction>,
}

/// A package that was issued, and what was on file then.
pub struct Issue {
    /// Its record.
    pub package: Kept<Package>,
    /// The segment's file at the revision that it shows.
    pub loaded: Loaded,
    /// Where each point stood.
    pub status: SegmentStatus,
}

impl Sources {
    /// Reads what a loaded file does not hold itself, and leaves out what the terms leave out.
    ///
    /// # Errors
    ///
    /// A refusal of the ledger or of the store of files.
    pub async fn read(ledger: &Ledger, loaded: Loaded, terms: Terms) -> Result<Self, Problem> {
        let status = loaded.status();
        let chain_sha256 = chain_sha256(ledger, &loaded).await?;
        let blobs = originals::read(ledger, &loaded, terms).await?;
        let gathered = &loaded.gathered;
        let all = std::iter::once(&gathered.project).chain(&gathered.records);
        let mut histories = Vec::new();
        // An answer of a plug-in is given anew for new evidence; that corrects nothing.
        let answers = [PluginVerdict::full_name(), PluginSection::full_name()];
        let is_answer = |stored: &&Stored| answers.contains(&stored.type_name);
        let records = all.filter(|stored| !is_answer(stored));
        let met = |name: &String| gathered.records.iter().any(|stored| stored.name == *name);
        let moved = gathered
            .moved_away
            .iter()
            .filter(|stored| !met(&stored.name));
        let records = records.chain(moved);
        for stored in records.filter(|stored| stored.revision != stored.create_revision) {
            histories.push(history(ledger, stored).await?);
        }
        let replaced = replaced(ledger, &loaded).await?;
        let (logo, logo_missing) = Logo::read(ledger, &loaded).await?;
        let sources = Self {
            loaded,
            chain_sha256,
            status,
            blobs,
            histories,
            terms,
            replaced,
            logo,
            logo_missing,
            section_plugins: Vec::new(),
            redactions: Vec::new(),
        };
        Ok(sources.redacted())
    }

    /// The same without what the terms leave out. Points keep the verdicts of the whole records.
    #[must_use]
    pub fn redacted(mut self) -> Self {
        if !self.terms.with_people {
            self.redactions = redaction::redact(&mut self);
        }
        self
    }
}

/// Last package of the segment that was issued, with the file that it shows.
async fn replaced(ledger: &Ledger, loaded: &Loaded) -> Result<Option<Issue>, Problem> {
    let issued = loaded.file.packages.iter();
    let Some(package) = issued.max_by_key(|kept| kept.revision) else {
        return Ok(None);
    };
    let segment = &loaded.gathered.segment;
    let then = load_segment(ledger, segment, package.project_revision).await?;
    Ok(Some(Issue {
        package: package.clone(),
        status: then.status(),
        loaded: then,
    }))
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
        let reached = |stored: &Stored| stored.revision == last.revision;
        if !more || states.last().is_some_and(reached) {
            return Ok(states);
        }
    }
}

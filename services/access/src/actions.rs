//! The one table of what each role may do.

use obvert_proto::project::v1::Role::{
    self, Auditor, Crew, Engineer, Inspector, Integrator, Laboratory, Office, Owner, Subcontractor,
};

/// Something a caller asks to do in a project.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action<'a> {
    /// Read records, statuses, packages and attachments.
    Read,
    /// Write a record of a collection.
    Write(&'a str),
    /// Store a file.
    Upload,
    /// Release a point or give a variance; the plan narrows the roles further.
    Release,
    /// Assemble a package.
    Assemble,
    /// Read or write a parcel's personal data.
    ParcelSheet,
    /// Make, list and end keys.
    ManageKeys,
}

/// Every role that belongs to the project.
const ALL: &[Role] = &[
    Office,
    Crew,
    Subcontractor,
    Laboratory,
    Inspector,
    Engineer,
    Owner,
    Integrator,
    Auditor,
];

/// Roles that write each collection. A collection without a row is written by nobody.
const WRITERS: &[(&str, &[Role])] = &[
    ("projects", &[Office]),
    ("segments", &[Office, Integrator]),
    ("laterals", &[Office, Crew, Integrator]),
    ("lateralRegisters", &[Office, Crew, Inspector]),
    ("parcels", &[Office, Integrator]),
    ("parcelRelations", &[Office]),
    ("fieldSurveys", &[Office, Crew, Subcontractor]),
    (
        "documents",
        &[Office, Laboratory, Inspector, Engineer, Owner],
    ),
    (
        "attachments",
        &[
            Office,
            Crew,
            Subcontractor,
            Laboratory,
            Inspector,
            Engineer,
            Owner,
        ],
    ),
    (
        "paperChecks",
        &[Office, Crew, Laboratory, Inspector, Engineer, Owner],
    ),
    ("issuerLinks", &[Office]),
    ("notices", &[Office, Crew]),
    ("accessPermits", &[Office]),
    ("designs", &[Engineer, Office]),
    ("makerSheets", &[Office]),
    ("orders", &[Office]),
    ("batches", &[Office]),
    ("liners", &[Office]),
    ("certificates", &[Office]),
    ("receivingChecks", &[Office, Crew]),
    ("linerMovements", &[Office, Crew]),
    ("runs", &[Office, Crew]),
    ("cureRecords", &[Office, Crew]),
    ("lateralOutcomes", &[Office, Crew, Subcontractor]),
    ("dayCloses", &[Office, Crew]),
    ("samples", &[Office, Crew]),
    ("laboratoryReports", &[Laboratory, Office]),
    ("leakTests", &[Office, Crew, Subcontractor]),
    ("surveys", &[Office, Crew, Subcontractor]),
    (
        "nonconformances",
        &[Office, Crew, Laboratory, Inspector, Engineer, Owner],
    ),
    ("plans", &[Office, Owner]),
    ("releases", &[Office, Inspector, Engineer, Owner]),
    ("packages", &[Office, Owner]),
];

/// Roles that may write a collection.
pub fn writers(collection: &str) -> &'static [Role] {
    WRITERS
        .iter()
        .find(|(name, _)| *name == collection)
        .map_or(&[], |(_, roles)| roles)
}

/// Roles that may read a project.
pub fn readers() -> &'static [Role] {
    ALL
}

impl Action<'_> {
    /// Roles that may do it.
    pub(crate) fn roles(self) -> &'static [Role] {
        match self {
            Self::Read => readers(),
            Self::Write(collection) => writers(collection),
            Self::Upload => writers("attachments"),
            Self::Release => writers("releases"),
            Self::Assemble => writers("packages"),
            Self::ParcelSheet | Self::ManageKeys => &[Office],
        }
    }

    /// What it is, for messages: "write designs".
    pub(crate) fn words(self) -> String {
        match self {
            Self::Read => "read this project".to_owned(),
            Self::Write(collection) => format!("write {collection}"),
            Self::Upload => "store files".to_owned(),
            Self::Release => "release points".to_owned(),
            Self::Assemble => "assemble packages".to_owned(),
            Self::ParcelSheet => "see or change personal data of parcels".to_owned(),
            Self::ManageKeys => "manage keys".to_owned(),
        }
    }
}

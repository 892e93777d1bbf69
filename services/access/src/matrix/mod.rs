//! The one table of who may do what: actions by role, and the action behind each RPC and page.
//!
//! The guard refuses a call that has no row here; tests run every cell over a real server and hold
//! `roles.md` against [`page`].

mod calls;
mod page;
mod table;

use obvert_proto::{
    pool,
    project::v1::Role::{
        self, Auditor, Crew, Engineer, Inspector, Integrator, Laboratory, Office, Owner,
        Subcontractor,
    },
    rules,
};

pub use calls::{Needs, PAGES, RPCS, path};
pub use page::page;
use table::TABLE;

/// Every role, in the order of the table's columns.
pub const ROLES: [Role; 9] = [
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

/// What a role may do of an action.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cell {
    /// All of it.
    Allowed,
    /// With what the principal wrote itself, only.
    Own,
    /// Nothing.
    Denied,
}

/// Something a caller asks to do in a project.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action<'a> {
    /// Read records and attachments.
    Read,
    /// Read where segments stand, and their pages.
    ReadStatus,
    /// Download packages.
    FetchPackage,
    /// See who took part, in fields that the schema marks as personal.
    SeePeople,
    /// Write a record of a collection.
    Write(&'a str),
    /// Release a point; the plan narrows the roles further.
    Release,
    /// Give a variance; the plan narrows the roles further.
    Vary,
    /// Decide on a nonconformance; with `own`, on what the principal wrote up, and never to let the work
    /// stand as it is.
    Decide,
    /// Assemble a package.
    Assemble,
    /// Read a parcel's personal data.
    ReadSheet,
    /// Write or erase a parcel's personal data.
    WriteSheet,
    /// Make keys for anybody; asked in the project `office` only.
    MakeKeys,
    /// List, rotate and revoke keys: all of them in `office`, else one's own.
    EndKeys,
    /// Make and end the keys of a crew's day.
    CrewDay,
    /// Make, list and revoke links that open packages without a key.
    Links,
}

impl Action<'_> {
    /// Row of the table; an action or collection without a row is denied to every role.
    pub fn cells(self) -> [Cell; ROLES.len()] {
        TABLE
            .iter()
            .find(|(action, _)| *action == self)
            .map_or([Cell::Denied; ROLES.len()], |(_, cells)| *cells)
    }

    /// Cell of a role.
    pub fn cell(self, role: Role) -> Cell {
        let place = ROLES.iter().position(|other| *other == role);
        place.map_or(Cell::Denied, |place| self.cells()[place])
    }

    /// Roles that may do it, were it only with what is their own.
    pub fn roles(self) -> impl Iterator<Item = Role> {
        let cells = self.cells().into_iter().zip(ROLES);
        cells
            .filter(|(cell, _)| *cell != Cell::Denied)
            .map(|(_, role)| role)
    }

    /// Whether it is about the store's own keys rather than about one project.
    pub(crate) fn is_of_store(self) -> bool {
        matches!(self, Self::MakeKeys | Self::EndKeys)
    }

    /// What it is, for messages: "write designs".
    pub(crate) fn words(self) -> String {
        match self {
            Self::Read => "read records",
            Self::ReadStatus => "read where segments stand",
            Self::FetchPackage => "download packages",
            Self::SeePeople => "see who took part",
            Self::Write(collection) => return format!("write {collection}"),
            Self::Release => "release points",
            Self::Vary => "give variances",
            Self::Decide => "decide on nonconformances",
            Self::Assemble => "assemble packages",
            Self::ReadSheet => "see personal data of parcels",
            Self::WriteSheet => "change personal data of parcels",
            Self::MakeKeys => "make keys",
            Self::EndKeys => "list, rotate or revoke keys",
            Self::CrewDay => "make keys of a crew's day",
            Self::Links => "make links",
        }
        .to_owned()
    }
}

/// Collections that a service keeps, such as those of `obvert.design.v1`.
pub fn collections(package: &str) -> Vec<String> {
    let record = pool().get_message_by_name(&format!("{package}.Record"));
    let bodies = record.iter().flat_map(|record| {
        let body = record.oneofs().find(|oneof| oneof.name() == "body");
        body.map_or_else(Vec::new, |body| body.fields().collect())
    });
    let kinds = bodies.filter_map(|field| {
        let message = field.kind().as_message()?.full_name().to_owned();
        Some(rules::kinds().get(&message)?.collection.clone())
    });
    kinds.collect()
}

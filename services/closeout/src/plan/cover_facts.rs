//! Facts that an owner's cover may show: what a package knows of its segment.

/// One such fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CoverFact {
    /// Title of the project.
    Project,
    /// Owner's contract number.
    Contract,
    /// Owner.
    Owner,
    /// Contractor.
    Contractor,
    /// Laboratory that the contract names.
    Laboratory,
    /// Owner's own id of the pipe.
    Segment,
    /// Id of the segment in the project.
    SegmentRecord,
    /// By the owner's id.
    UpstreamManhole,
    /// By the owner's id.
    DownstreamManhole,
    /// Street or easement in which it lies.
    Street,
    /// Material of the host pipe.
    HostPipe,
    /// Nominal diameter, and the least and greatest measured.
    Diameter,
    /// Between the inner walls of the manholes.
    LengthWallToWall,
    /// Between the centres of the manholes.
    LengthCentreToCentre,
    /// How many laterals are on file.
    Laterals,
    /// Serial by the maker's certificate, for each liner.
    Liner,
    /// Least wall by the design in force.
    WallDesigned,
    /// Wall of each order in force.
    WallOrdered,
    /// Mean wall of each liner by its last laboratory report.
    WallMeasured,
    /// Start of each pull-in.
    PullInTime,
    /// First and last lamp of each run.
    CureTime,
    /// When each last laboratory report was signed.
    ReportDate,
    /// When the final acceptance was released.
    AcceptanceTime,
    /// How the segment stands.
    State,
    /// How many points stand how.
    Points,
    /// How many there are and how many are open.
    Nonconformances,
    /// How many packages there are with this one.
    Package,
    /// Revision of the project that the package shows.
    ProjectRevision,
    /// Time of that revision.
    RevisionTime,
    /// Plan and revision it was judged by.
    Plan,
    /// Fingerprint of the key that signs the package.
    Signer,
}

/// Word of each fact in a plan, and the label under which it stands where the owner gives none.
pub const COVER_FACTS: &[(&str, CoverFact, &str)] = &[
    ("project", CoverFact::Project, "Project"),
    ("contract", CoverFact::Contract, "Contract"),
    ("owner", CoverFact::Owner, "Owner"),
    ("contractor", CoverFact::Contractor, "Contractor"),
    ("laboratory", CoverFact::Laboratory, "Laboratory"),
    ("segment", CoverFact::Segment, "Owner's segment"),
    (
        "segment-record",
        CoverFact::SegmentRecord,
        "Segment in the project",
    ),
    (
        "upstream-manhole",
        CoverFact::UpstreamManhole,
        "Upstream manhole",
    ),
    (
        "downstream-manhole",
        CoverFact::DownstreamManhole,
        "Downstream manhole",
    ),
    ("street", CoverFact::Street, "Street or easement"),
    ("host-pipe", CoverFact::HostPipe, "Host pipe"),
    ("diameter", CoverFact::Diameter, "Diameter"),
    (
        "length-wall-to-wall",
        CoverFact::LengthWallToWall,
        "Length wall to wall",
    ),
    (
        "length-centre-to-centre",
        CoverFact::LengthCentreToCentre,
        "Length centre to centre",
    ),
    ("laterals", CoverFact::Laterals, "Laterals"),
    ("liner", CoverFact::Liner, "Liner"),
    ("wall-designed", CoverFact::WallDesigned, "Wall designed"),
    ("wall-ordered", CoverFact::WallOrdered, "Wall ordered"),
    ("wall-measured", CoverFact::WallMeasured, "Wall measured"),
    ("pull-in-time", CoverFact::PullInTime, "Pulled in"),
    ("cure-time", CoverFact::CureTime, "Cure log"),
    ("report-date", CoverFact::ReportDate, "Laboratory report"),
    ("acceptance-time", CoverFact::AcceptanceTime, "Accepted"),
    ("state", CoverFact::State, "State"),
    ("points", CoverFact::Points, "Points"),
    (
        "nonconformances",
        CoverFact::Nonconformances,
        "Nonconformances",
    ),
    ("package", CoverFact::Package, "Package"),
    (
        "project-revision",
        CoverFact::ProjectRevision,
        "Project revision",
    ),
    ("revision-time", CoverFact::RevisionTime, "Date of revision"),
    ("plan", CoverFact::Plan, "Judged by plan"),
    ("signer", CoverFact::Signer, "Key of the signer"),
];

impl CoverFact {
    /// Fact of a word.
    pub fn of(word: &str) -> Option<Self> {
        let mut rows = COVER_FACTS.iter();
        rows.find(|(known, ..)| *known == word)
            .map(|(_, fact, _)| *fact)
    }

    /// Word of a plan's text.
    pub fn word(self) -> &'static str {
        self.row().0
    }

    /// Label where the owner gives none.
    pub fn label(self) -> &'static str {
        self.row().1
    }

    fn row(self) -> (&'static str, &'static str) {
        let mut rows = COVER_FACTS.iter();
        let row = rows.find(|(_, fact, _)| *fact == self);
        row.map_or(("", ""), |(word, _, label)| (word, label))
    }
}

//! Ten mistakes that cost money at closeout, each planted on one segment.

use serde_json::{Value, json};

/// A planted mistake.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mistake {
    /// The liner of another segment was pulled in.
    SwappedLiner,
    /// The cure log of another run was filed.
    ForeignCureLog,
    /// The laboratory's report names a manhole instead of the sample.
    UntracedSample,
    /// The laboratory's report has not come.
    MissingReport,
    /// The wall was measured with its films, the design counts without.
    WallBasis,
    /// Counter zeroed at the manhole's centre, sheet says inside wall.
    StationDatum,
    /// One lateral was taken for dead and never opened.
    ClosedLateral,
    /// Design issued again after the order.
    OldDesign,
    /// Liner handed out in time, pulled in too late.
    OverAge,
    /// Leak test after the laterals were cut.
    LateLeakTest,
}

/// Every mistake, in the order of the work it spoils.
pub(crate) const MISTAKES: [Mistake; 10] = [
    Mistake::SwappedLiner,
    Mistake::ForeignCureLog,
    Mistake::UntracedSample,
    Mistake::MissingReport,
    Mistake::WallBasis,
    Mistake::StationDatum,
    Mistake::ClosedLateral,
    Mistake::OldDesign,
    Mistake::OverAge,
    Mistake::LateLeakTest,
];

impl Mistake {
    /// Owner's number of the segment it is planted on.
    pub(crate) fn segment_number(self) -> usize {
        match self {
            Self::SwappedLiner => 19,
            Self::ForeignCureLog => 5,
            Self::UntracedSample => 13,
            Self::MissingReport => 14,
            Self::WallBasis => 7,
            Self::StationDatum => 16,
            Self::ClosedLateral => 9,
            Self::OldDesign => 21,
            Self::OverAge => 25,
            Self::LateLeakTest => 8,
        }
    }

    /// Evaluator that must hold it, by the name under which plans call it.
    pub(crate) fn held_by(self) -> &'static str {
        match self {
            Self::SwappedLiner => "liner-identity",
            Self::ForeignCureLog => "cure-log",
            Self::UntracedSample => "sample-trace",
            Self::MissingReport => "laboratory-report",
            Self::WallBasis => "measured-wall",
            Self::StationDatum => "lateral-stations",
            Self::ClosedLateral => "laterals-reopened",
            Self::OldDesign => "ordered-wall",
            Self::OverAge => "shelf-life",
            Self::LateLeakTest => "leak-test",
        }
    }

    /// The mistake in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::SwappedLiner => {
                "The crew took the thinner liner that was left over from Q-020; its serial was \
                 read at pull-in and stands in the cure log."
            }
            Self::ForeignCureLog => {
                "The cure log of Q-004, lined the same day by the other crew, was exported again \
                 and filed here."
            }
            Self::UntracedSample => {
                "The laboratory's report names the manhole instead of the sample's number."
            }
            Self::MissingReport => "The laboratory's report has not come.",
            Self::WallBasis => {
                "The laboratory measured the wall with its films; the design counts the composite \
                 wall only."
            }
            Self::StationDatum => {
                "The counter of the survey after lining was zeroed at the manhole's centre, its \
                 sheet says inside wall: every opening lies 2 ft off."
            }
            Self::ClosedLateral => {
                "One lateral was registered as dead by an old record, so the day could be closed; \
                 nobody opened it or has the owner's word to leave it closed."
            }
            Self::OldDesign => {
                "The design was issued again with more groundwater after the liner was ordered; \
                 the order stayed at the old wall."
            }
            Self::OverAge => {
                "The liner was handed to the crew on its last day but one, rain came between, and \
                 it was pulled in three days past its date."
            }
            Self::LateLeakTest => "The leak test was made after the laterals were cut open.",
        }
    }
}

/// The list that the check reads.
pub(crate) fn list(planted: &[(String, Mistake)]) -> Value {
    let rows = planted.iter().map(|(segment, mistake)| {
        json!({ "segment": segment, "heldBy": mistake.held_by(), "mistake": mistake.words() })
    });
    json!({ "about": crate::folder::INVENTED, "mistakes": rows.collect::<Vec<_>>() })
}

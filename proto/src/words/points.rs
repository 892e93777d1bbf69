//! Words for points, evidence and papers.

use crate::{
    closeout::v1::{EvidenceState, PointClass, PointState},
    common::v1::PaperGrade,
};

impl PointClass {
    /// What passes it: "hold" and "witness" need a release, "review" its evidence.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hold => "hold",
            Self::Witness => "witness",
            Self::Review | Self::Unspecified => "review",
        }
    }
}

impl PointState {
    /// Where a point stands, such as "awaits release".
    pub fn word(self) -> &'static str {
        match self {
            Self::Held | Self::Unspecified => "held",
            Self::AwaitsRelease => "awaits release",
            Self::Released => "released",
            Self::Variance => "passed with a variance",
            Self::NotApplicable => "not applicable",
        }
    }

    /// Place in a list that shows first what holds, then what awaits somebody, then what passed only
    /// with a variance.
    pub fn urgency(self) -> u8 {
        match self {
            Self::Held | Self::Unspecified => 0,
            Self::AwaitsRelease => 1,
            Self::Variance => 2,
            Self::Released | Self::NotApplicable => 3,
        }
    }
}

impl EvidenceState {
    /// How a row of the list of evidence stands, such as "not asked".
    pub fn word(self) -> &'static str {
        match self {
            Self::Present => "present",
            Self::Missing | Self::Unspecified => "missing",
            Self::Held => "held",
            Self::AwaitsRelease => "awaits release",
            Self::Waived => "waived",
            Self::NotApplicable => "not applicable",
            Self::NotAsked => "not asked",
        }
    }
}

impl PaperGrade {
    /// How good a paper is, such as "checked by a second role".
    pub fn word(self) -> &'static str {
        match self {
            Self::Unspecified => "ungraded",
            Self::Transcribed => "transcribed",
            Self::CheckedBySecondRole => "checked by a second role",
            Self::ConfirmedByIssuer => "confirmed by its issuer",
            Self::Direct => "filed by its issuer",
        }
    }
}

//! Words for the values of a design.

use crate::{
    common::v1::{Provenance, ThicknessBasis},
    design::v1::{
        ConstantsPath, GroundwaterRule, HostCondition, LiveLoadMethod, OvalityPlace, WallResult,
    },
};

impl Provenance {
    /// Where a value comes from, such as "owner's default".
    pub fn word(self) -> &'static str {
        match self {
            Self::Unspecified => "not said",
            Self::Measured => "measured",
            Self::OwnerDefault => "owner's default",
            Self::Assumed => "assumed by the designer",
            Self::MakerDeclared => "declared by the maker",
        }
    }
}

impl ThicknessBasis {
    /// What a wall counts, such as "composite wall".
    pub fn word(self) -> &'static str {
        match self {
            Self::Unspecified => "no stated basis",
            Self::TotalWithFilms => "total wall with films",
            Self::Composite => "composite wall",
            Self::Structural => "structural laminate",
            Self::SaturatedTube => "saturated tube",
        }
    }
}

impl GroundwaterRule {
    /// Where groundwater is taken to stand, after "taken".
    pub fn word(self) -> &'static str {
        match self {
            Self::Unspecified | Self::Entered => "as entered for each section",
            Self::Dry => "as none above the invert",
            Self::AtSurface => "at the ground surface",
            Self::BelowSurface => "3 ft (0.9144 m) below the ground surface",
            Self::AtCrown => "at the crown",
            Self::HalfCover => "at half the cover",
            Self::AboveInvert => "1.5 m above the invert",
        }
    }
}

impl HostCondition {
    /// State of the host pipe, such as "fully deteriorated".
    pub fn word(self) -> &'static str {
        match self {
            Self::PartiallyDeteriorated => "partially deteriorated",
            Self::FullyDeteriorated => "fully deteriorated",
            Self::Unspecified => "in a state not said",
        }
    }
}

impl LiveLoadMethod {
    /// Where the live load comes from.
    pub fn word(self) -> &'static str {
        match self {
            Self::Unspecified => "not said",
            Self::None => "none",
            Self::Hs20Table => "HS-20 table with impact",
            Self::E80Table => "Cooper E-80 table",
            Self::Entered => "entered by the designer",
            Self::H20Wheel => "H-20 wheel with impact, closed form",
        }
    }
}

impl WallResult {
    /// The `governing_check` of a wall that no check asks to be thicker than the owner's least.
    pub const OWNER_MINIMUM: &'static str = "owner-minimum";

    /// What the required wall follows from: "check X1.3", or "the owner's least wall".
    pub fn governed_by(&self) -> String {
        match self.governing_check.as_str() {
            "" => "no check".to_owned(),
            Self::OWNER_MINIMUM => "the owner's least wall".to_owned(),
            check => format!("check {check}"),
        }
    }
}

impl OvalityPlace {
    /// Form of X1.3.
    pub fn word(self) -> &'static str {
        match self {
            Self::Unspecified => "not said",
            Self::InsideRoot => "ovality factor inside the root",
            Self::BeforeRoot => "ovality factor before the root",
        }
    }
}

impl ConstantsPath {
    /// Printed constants.
    pub fn word(self) -> &'static str {
        match self {
            Self::Unspecified => "not said",
            Self::Us => "US customary",
            Self::Si => "SI",
        }
    }
}

//! What each kind of record is called where it serves as evidence.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, LeakTest, Nonconformance, Sample, Survey},
    closeout::v1::PluginVerdict,
    design::v1::{HydraulicCheck, PressureDesign, PullInCheck, WallDesign},
    installation::v1::{CureRecord, LateralOutcome, Run},
    material::v1::{
        Batch, Liner, LinerCertificate, LinerMovement, LinerOrder, MakerSheet, ReceivingCheck,
    },
    project::v1::{
        AccessPermit, Document, FieldSurvey, Lateral, LateralRegister, Notice, Parcel,
        ParcelRelation, Segment,
    },
};
use prost::{Message, Name};

/// A record that can stand behind a verdict.
pub trait Evidence: Message + Name {
    /// Kebab-case word for the kind.
    const WORD: &'static str;
}

macro_rules! evidence {
    ($($kind:ty = $word:literal),* $(,)?) => {
        $(impl Evidence for $kind { const WORD: &'static str = $word; })*
    };
}

evidence! {
    Segment = "segment",
    Lateral = "lateral",
    LateralRegister = "lateral-register",
    Parcel = "parcel",
    ParcelRelation = "parcel-relation",
    FieldSurvey = "field-survey",
    Notice = "resident-notice",
    AccessPermit = "access-permit",
    WallDesign = "wall-design",
    HydraulicCheck = "hydraulic-check",
    PressureDesign = "pressure-design",
    PullInCheck = "pull-in-check",
    MakerSheet = "maker-sheet",
    LinerOrder = "liner-order",
    Batch = "batch",
    Liner = "liner",
    LinerMovement = "liner-movement",
    Run = "run",
    CureRecord = "cure-log",
    LateralOutcome = "lateral-outcome",
    Sample = "sample",
    LeakTest = "leak-test",
    Survey = "cctv-survey",
    Nonconformance = "nonconformance",
    PluginVerdict = "plug-in-verdict",
    LinerCertificate = "liner-certificate",
    ReceivingCheck = "receiving-check",
    LaboratoryReport = "laboratory-report",
    Document = "document",
}

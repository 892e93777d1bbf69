//! The data of the per-segment closeout document: what the caller fills, field by field.
//!
//! Every value is text that is printed as it stands. Numbers arrive rounded and with their unit,
//! because the typesetter would print a binary float with all its digits. A text is never read as
//! markup, so `#`, `$`, `*` and brackets may occur in any field. A no-break space (U+00A0) between
//! number and unit keeps the two on one line.
//!
//! Times are written out by the caller in the project's time zone, with the zone's name or
//! offset. A record's revision is written `name@41`. Where a list may be empty the document says
//! "none recorded", so an empty list is visible and never looks like a pass.

mod changes;
mod cover;
mod cure_log;
mod design;
mod evidence;
mod heart;
mod laboratory;
mod owner_cover;
mod papers;
mod plugin_section;
mod points;
mod site;

pub use changes::{ChangedPoint, ChangedRecord, Changes};
pub use cover::{Cover, Logo};
pub use cure_log::{CureFigure, CureLog, Deviation, Plot};
pub use design::{Design, DesignCheck, DesignInput};
pub use evidence::{Caution, Correction, Evidence, Verification};
pub use heart::{Heart, HeartCell, HeartRow, Statement};
pub use laboratory::{LaboratoryReport, LaboratoryResult, Specimens};
pub use owner_cover::{OwnerCover, ShownFact};
pub use papers::Paper;
pub use plugin_section::{PluginBlock, PluginSection};
pub use points::{PlanState, Point, Release, Variance};
pub use site::{Lateral, LeakTest, Nonconformance, Sample};

use serde::Serialize;
use serde_json::Value;

use crate::TypesetError;

/// Everything the closeout document of one segment prints, in the order in which it prints it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct SegmentSheet {
    /// A page before all others, where the owner states one.
    pub owner_cover: Option<OwnerCover>,
    /// What the document is about, as of which revision, and how it stands.
    pub cover: Cover,
    /// From design to pipe: the same facts as seen by each record of the chain.
    pub heart: Heart,
    /// Hold, witness and review points in the order of the plan, with the sentence that counts
    /// them.
    pub points: Register<Point>,
    /// States of the plan up to the one judged by, in order of time.
    pub plan_states: Vec<PlanState>,
    /// Design revisions that bear on the segment, the valid one first.
    pub designs: Vec<Design>,
    /// One entry for each run that lined the segment or part of it, aborted runs included.
    pub cure_logs: Vec<CureLog>,
    /// Laboratory reports, failed ones included.
    pub laboratory_reports: Vec<LaboratoryReport>,
    /// Papers that points rest on, with who compared each.
    pub papers: Register<Paper>,
    /// Leak tests in order of time, failed ones included.
    pub leak_tests: Vec<LeakTest>,
    /// The laterals one by one, in order of station.
    pub laterals: Register<Lateral>,
    /// Samples and who held them.
    pub samples: Register<Sample>,
    /// Nonconformances, open and closed.
    pub nonconformances: Register<Nonconformance>,
    /// Sections that plug-ins wrote.
    pub plugin_sections: Vec<PluginSection>,
    /// What differs from the package that was issued before.
    pub changes: Changes,
    /// Every value that was corrected after it was first recorded.
    pub corrections: Register<Correction>,
    /// One row for each piece of evidence that the plan asks for or that was filed.
    pub evidence: Register<Evidence>,
    /// Sections that are not printed, by their words: designs, cure-logs, laboratory-reports, papers,
    /// leak-tests, laterals, samples.
    pub left_out: Vec<String>,
    /// Short cautions, printed with the deference to law, makers and licensed practice.
    pub cautions: Vec<Caution>,
    /// How a reader proves that the package is whole and who signed it.
    pub verification: Verification,
}

/// A list together with the sentence that counts it, so that a row cannot vanish unseen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Register<T> {
    /// The count in words, such as "6 laterals are registered; each has one outcome." Printed
    /// above the table.
    pub count_in_words: String,
    /// The rows in the order of printing.
    pub rows: Vec<T>,
}

impl<T> Default for Register<T> {
    fn default() -> Self {
        Self {
            count_in_words: String::new(),
            rows: Vec::new(),
        }
    }
}

/// A figure as it is printed: SI first, US customary under or beside it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Figure {
    /// The figure with its SI unit, such as `6.00 mm`, or a word such as `not measured`.
    pub text: String,
    /// The same figure in US customary units, such as `0.236 in`.
    pub us_customary: Option<String>,
    /// What the figure rests on, such as `composite wall without films` or `wall to wall`.
    pub basis: Option<String>,
}

/// A state in words with the shape that stands beside it; colour carries no meaning.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct State {
    /// The word or short phrase, such as `released` or `outside the entered tolerance`.
    pub word: String,
    /// Which shape is drawn.
    pub mark: Mark,
}

/// The shapes that stand beside a state word.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// A filled disc: released, within, present, open to flow.
    Met,
    /// An open square: held, missing, not yet judged.
    #[default]
    Open,
    /// A filled triangle: failed, outside, unfit.
    Failed,
    /// A filled diamond: varied or waived by a named person with a reason.
    Varied,
    /// A short bar: not applicable, no tolerance given.
    NotApplicable,
}

impl SegmentSheet {
    /// The sheet as the JSON value that [`crate::Document::data`] takes.
    ///
    /// # Errors
    /// [`TypesetError::Data`] when a field cannot be written as JSON.
    pub fn to_data(&self) -> Result<Value, TypesetError> {
        serde_json::to_value(self).map_err(|error| TypesetError::Data(error.to_string()))
    }
}

//! What holds each segment, who released what, and the package that proves it.
//!
//! One evaluation in five lines:
//! 1. [`load_segment`] gathers every record about a segment at one revision of its project.
//! 2. [`segment_file::SegmentFile`] types them and sorts out what belongs to the segment.
//! 3. [`plan::parse`] has made of the owner's TOML text limits and points that can be used.
//! 4. Each point's evaluator in [`hold_points`] judges the evidence: released, held, or not
//!    applicable.
//! 5. [`evaluate`] lays releases and variances over the verdicts and says where each point stands.
//!
//! Invariants:
//! - Missing evidence never releases: a point without evidence is held, and a record taken away
//!   from a held segment never opens it, but for the contrary ones listed in the tests.
//! - Evaluation is pure. Its time is the commit time of the revision; there is no clock and no
//!   network in it, and a plug-in's verdict is a record like any other.
//! - No evaluator bounds anything by a number of its own. Limits are rows of the plan with a
//!   source.
//! - A release rests on facts, not on revisions: it stands while the same values give the same
//!   verdict.
//! - A hold never lapses; a variance is always shown as one.

mod claims;
mod due;
mod evaluator;
pub mod evidence_list;
mod first_held;
pub mod hold_points;
mod in_force;
mod lining_order;
mod load;
mod moved;
pub mod package;
pub mod plan;
mod plan_states;
mod plugin_answers;
mod record;
mod rules;
mod sampling;
pub mod segment_file;
mod service;
mod stations;
mod statuses;
mod witness;

pub use evaluator::{PAST, evaluate};
pub use first_held::FirstHeld;
pub use lining_order::LiningOrder;
pub use load::{Loaded, load_segment};
pub use package::{Signer, fingerprint};
pub use plugin_answers::keep_plugin_answers;
pub use rules::held;
pub use service::Closeout;
pub use statuses::{Moment, Room as StatusRoom, Statuses};

//! The cure log of one run of a light train: its channels, the figures drawn from them, and the
//! comparison with a maker's entered tolerance.
//!
//! [`Channels`] holds the rows column by column; [`Setup`] says how the train is built and where
//! its zero lies; [`figures`] reads both once and returns [`Figures`]; [`judge`] compares them
//! with a [`Band`]. No verdict says that a liner is good: the engineer decides.
//!
//! | Symbol | Field | Unit |
//! | --- | --- | --- |
//! | t | `elapsed_s` | s |
//! | x | `station_m`, along the run from its datum | m |
//! | v | `speed_m_per_min`, on a sliding window | m/min |
//! | P | `lamp_power_w`, one lamp at its setting | W |
//! | D | `index_w_s_per_m`, the dose index | W·s/m |
//!
//! Own definitions throughout; no standard fixes them.

mod band;
mod bins;
mod channels;
mod closure;
mod deviations;
mod dose;
mod figures;
mod flags;
mod judge;
mod lag;
mod lamps;
mod order;
mod phases;
mod pressure;
mod rows;
mod setup;
mod spans;
mod speed;
mod stoppages;
mod temperature;
mod unfit;

pub use band::{Band, ReferenceDose};
pub use bins::StationRange;
pub use channels::{Channels, Event, LAMP_MASK_ABSENT, Ragged, TIME_ABSENT_MS};
pub use closure::{LengthClosure, LengthTolerance, RunLength};
pub use deviations::{Deviation, DeviationKind};
pub use dose::{BelowReference, Coverage, Dose};
pub use figures::{Figures, figures};
pub use flags::Flags;
pub use judge::{Judgement, Verdict, judge};
pub use lag::SensorLag;
pub use lamps::{LampFigures, LampOutage};
pub use order::RowCounts;
pub use phases::{Phase, PhaseKind};
pub use pressure::PressureFigures;
pub use setup::{Direction, Placement, Settings, Setup, Train};
pub use spans::{At, LIST_LIMIT, Span, Spans};
pub use speed::SpeedFigures;
pub use stoppages::Stoppage;
pub use temperature::{SensorFigures, WallPeak};

pub(crate) use phases::travel_rows;
pub(crate) use rows::Rows;
pub(crate) use speed::windows;

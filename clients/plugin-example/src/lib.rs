//! A plug-in of each kind, small enough to copy: an owner's check, a section of the package, a
//! reader of one logger's own files. Only the schema is needed to write one.
//!
//! One question in five lines: the server asks `Describe`; it sends the segment's records of the
//! types named there; the check looks for what it wants and holds whatever it cannot see; it gives
//! back segment, point and digest as they came; the server keeps the answer as a record.

mod described;
mod hours;
mod logger;
mod section;
mod working_hours;

pub use logger::SemicolonLogger;
pub use section::HoursOnSite;
pub use working_hours::WorkingHours;

//! The cure log: read while it streams in, sealed, held against its run, filed, and read back.
//!
//! # The neutral cure log CSV, version 1
//!
//! UTF-8, comma, decimal point, quotes as in RFC 4180. Lines `# key: value` come first, then one
//! row of column names, then the samples. Nothing follows a value on its line.
//!
//! | key | meaning |
//! | --- | --- |
//! | `version` | 1 |
//! | `segment_ids`, `manholes`, `run_id`, `liner_serial` | what it is of; lists part with `;` |
//! | `travel` | `with_flow` or `against_flow` |
//! | `datum`, `datum_offset_m` | face that stations count from, and the way there from log zero |
//! | `lamp_count`, `lamp_power_w`, `lamp_power_percent`, `lamp_offsets_m` | the light train |
//! | `infrared_offsets_m` | one offset for each sensor |
//! | `clock_offset_s` | seconds by which the logger's clock was ahead |
//! | `operator`, `calibration_refs` | who, and calibrations in force |
//!
//! `nodes`, `install_id`, `liner_id` and `ir_offsets_m` are read as `manholes`, `run_id`,
//! `liner_serial` and `infrared_offsets_m`. Any other key is kept as found.
//!
//! | column | unit |
//! | --- | --- |
//! | `t_utc` | time with `Z`, such as `2026-05-04T13:02:11Z`; required |
//! | `position_m` | m, of the leading lamp; required |
//! | `row`, `elapsed_s`, `note` | read past; the native file keeps them |
//! | `speed_m_per_min` | m/min |
//! | `lamps_on` | number of lamps that burn |
//! | `lamp_mask` | hexadecimal such as `0x1ff`, bit 0 the leading lamp |
//! | `pressure_bar_g`, `pressure2_bar_g` | bar above the air outside |
//! | `t_ir1_c`, `t_ir2_c`, `t_ir3_c`, `t_air_c` | degrees C |
//! | `event` | one of the words below |
//!
//! Events: start, ignite, travel, stop, resume, lamp_fail, pressure_alarm, temp_alarm, end, abort,
//! note.
//!
//! An empty cell is not measured, never zero. A column that begins with `x_` is kept in the native
//! file and not read; any other unknown column is refused.
//!
//! # What is kept
//!
//! The native file untouched, under its SHA-256; the samples sealed as `obvert_ledger::series`,
//! under theirs; and a `CureRecord` with header, figures, verdict, deviations and findings. Samples sent
//! as columns have no native file: their digest is taken over the values, column by column, and the
//! file size is 0.

mod analysis;
mod band;
mod cells;
mod columns;
mod facts;
mod filing;
mod findings;
mod foreign;
mod header;
mod identity;
mod intake;
mod native;
mod neutral;
mod read;
mod samples;
mod seal;
mod split;
mod window;

pub(crate) use filing::{CureFiling, import};
pub use intake::CureLimits;
pub(crate) use read::{SampleStream, read};

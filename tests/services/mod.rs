//! The services, called in this process through their generated clients.

mod acceptance;
mod calculation_sheet;
mod crew_day;
pub(crate) mod cure_log;
pub(crate) mod design;
mod design_checks;
mod groundwater;
mod imports;
mod installation;
mod key_life;
mod keys;
mod leak_tests;
mod material;
mod numbers;
mod paper_checks;
mod papers;
pub(crate) mod pipe;
mod project;
mod register_checks;
mod release;
mod repeats;
mod runs;
pub(crate) mod sheets;
mod sheets_beside;
pub(crate) mod store;
mod uploads;
mod walls;

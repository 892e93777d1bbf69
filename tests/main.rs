//! All tests of the workspace, in one binary so that it links once.

mod campaign;
mod ledger;
mod properties;
mod published;
mod services;
mod site;
mod tables;
mod tidy;
mod typeset;

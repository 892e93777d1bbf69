//! Tests.

mod ledger;
mod properties;
mod published;
mod services;
mod site;
mod tables;
mod typeset;

//! The ledger: what it promises, and what it does when the disk or the process does not.

mod blobs;
mod commits;
mod damage;
mod index;
mod kill;
mod lock;
mod model;
mod series;
mod sheets;
pub(crate) mod space;
pub(crate) mod support;
mod tools;

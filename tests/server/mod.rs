//! obvertd as a process: config, access, limits, pages, an orderly end.

mod access;
mod build_page;
pub(crate) mod certificate;
mod config;
mod crew_page;
mod deadlines;
mod design_words;
mod fields;
pub(crate) mod files;
mod limits;
mod links;
pub(crate) mod matrix;
mod mistakes;
mod pages;
mod papers;
mod plan_explained;
mod plan_revised;
mod sizes;
mod space;
mod stop;
mod streams;
mod stuck;
pub(crate) mod support;
mod tls;
mod verbs;

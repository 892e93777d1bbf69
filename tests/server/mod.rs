//! obvertd as a process: config, access, limits, pages, an orderly end.

mod access;
mod config;
mod crew_page;
mod fields;
mod files;
mod limits;
mod links;
mod matrix;
mod pages;
mod papers;
mod stop;
mod streams;
pub(crate) mod support;
mod tls;

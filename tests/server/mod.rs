//! obvertd as a process: config, access, limits, pages, an orderly end.

mod access;
mod config;
mod files;
mod limits;
mod matrix;
mod pages;
mod papers;
mod stop;
pub(crate) mod support;
mod tls;

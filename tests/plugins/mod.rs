//! Plug-ins over real sockets: what they may say, and that nothing they do harms the server.

mod absent_sections;
mod conformance;
mod example;
mod fake;
mod harm;
mod logs;
mod misbehaving;
mod process;
mod reach;
mod section_versions;
mod sections;
mod served;
mod server;
mod site;
mod tls;
mod verdicts;
mod versions;
mod writer;

//! What an author of a plug-in runs against it before a server does: one row a requirement.
//!
//! The answers are held against the contract by the same code that a server uses.

mod evaluator;
mod log_reader;
mod rows;
mod section;

use std::{path::PathBuf, time::Duration};

use obvert_proto::plugin::v1::DescribeResponse;

use crate::{
    ANSWER_BYTES, Address, Fault, Kind, Plugin, REQUEST_BYTES, Registration,
    description::introduced,
};

pub use rows::Row;

/// What is checked.
#[derive(Debug, Clone)]
pub struct Check {
    /// Where the plug-in listens.
    pub address: Address,
    /// Certificate of the authority that a plug-in behind TLS is trusted by.
    pub ca_file: Option<PathBuf>,
    /// Longest wait for an answer.
    pub deadline: Duration,
    /// A native log that a log reader must read: its name and its bytes.
    pub sample: Option<(String, Vec<u8>)>,
}

/// Runs every requirement of every kind that the plug-in serves.
///
/// # Errors
///
/// A sentence when the address cannot be one, or its authority cannot be read.
pub async fn run(check: &Check) -> Result<Vec<Row>, String> {
    let called = |id: String| {
        Plugin::new(Registration {
            id,
            kinds: Vec::new(),
            address: check.address.clone(),
            ca_file: check.ca_file.clone(),
            deadline: check.deadline,
            request_bytes: REQUEST_BYTES,
            answer_bytes: ANSWER_BYTES,
            calls: 8,
            projects: Vec::new(),
        })
    };
    // Until it has said its name, its address stands for it.
    let plugin = called(format!("at {}", check.address))?;
    let mut rows = Vec::new();
    let mut served = 0;
    for (kind, word, _) in Kind::ALL {
        match plugin.within(introduced(&plugin, kind)).await {
            Ok(description) => {
                served += 1;
                rows.push(Row::passed(word, "describes itself as the contract says"));
                let plugin = called(description.evaluator.clone())?;
                rows.extend(of_kind(&plugin, kind, &description, check).await);
            }
            Err(fault) if fault.word == "not-served" => {}
            Err(fault) => {
                served += 1;
                rows.push(Row::failed(
                    word,
                    "describes itself as the contract says",
                    fault,
                ));
                if rows.last().is_some_and(|row| row.is_out_of_reach()) {
                    return Ok(rows);
                }
            }
        }
    }
    if served == 0 {
        let fault = Fault::new(
            "not-served",
            "serve obvert.plugin.v1 EvaluatorService, LogReaderService or PackageSectionService",
        );
        rows.push(Row::failed("plug-in", "serves a kind of plug-in", fault));
    }
    Ok(rows)
}

async fn of_kind(
    plugin: &Plugin,
    kind: Kind,
    description: &DescribeResponse,
    check: &Check,
) -> Vec<Row> {
    match kind {
        Kind::Evaluator => evaluator::rows(plugin, description).await,
        Kind::LogReader => log_reader::rows(plugin, check.sample.as_ref()).await,
        Kind::PackageSection => section::rows(plugin).await,
    }
}

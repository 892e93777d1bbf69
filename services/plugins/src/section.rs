//! Asks for a section of a package's document and holds it against the contract.

use obvert_proto::{
    closeout::v1::{SectionBlock, SectionTable, section_block::Block},
    plugin::v1::{
        WriteSectionRequest, WriteSectionResponse,
        package_section_service_client::PackageSectionServiceClient,
    },
};

use crate::{
    Answer, Fault, Kind, Plugin, Question,
    answer::{asked, check_echo, check_size},
};

/// What a page can take: blocks, characters of a paragraph and of a cell, columns, rows.
const BLOCKS: usize = 200;
const PARAGRAPH: usize = 4_000;
const CELL: usize = 500;
const COLUMNS: usize = 8;
const ROWS: usize = 500;
const TITLE: usize = 80;

/// Asks for a section; anything but one that the contract allows is a fault.
pub async fn write_section(plugin: &Plugin, question: &Question) -> Answer<WriteSectionResponse> {
    asked(plugin, Kind::PackageSection, async |description| {
        let request = WriteSectionRequest {
            segment: question.segment.clone(),
            evidence: question.wanted(description),
            evidence_digest: question.evidence_digest.to_vec(),
        };
        written(plugin, question, request).await
    })
    .await
}

/// One call with exactly this request.
pub(crate) async fn written(
    plugin: &Plugin,
    question: &Question,
    request: WriteSectionRequest,
) -> Result<WriteSectionResponse, Fault> {
    check_size(plugin, &request)?;
    let client = PackageSectionServiceClient::new(plugin.channel.clone());
    let mut client = client.max_decoding_message_size(plugin.registration.answer_bytes);
    let answer = client.write_section(request).await;
    let id = plugin.id();
    let answer = answer.map_err(|status| Fault::of(id, "PackageSectionService", &status))?;
    let answer = answer.into_inner();
    check_echo(id, question, (&answer.segment, &answer.evidence_digest))?;
    check_section(id, &answer)?;
    Ok(answer)
}

fn check_section(id: &str, answer: &WriteSectionResponse) -> Result<(), Fault> {
    let broken = |what: String| Err(Fault::broken(id, what));
    if answer.title.trim().is_empty() || !is_text(&answer.title, TITLE) {
        return broken(format!(
            "writes a section without a title of at most {TITLE} characters"
        ));
    }
    if answer.blocks.is_empty() || answer.blocks.len() > BLOCKS {
        return broken(format!(
            "writes a section of {} blocks, 1 to {BLOCKS} fit",
            answer.blocks.len()
        ));
    }
    match answer.blocks.iter().find_map(fault_of) {
        Some(what) => broken(what),
        None => Ok(()),
    }
}

fn fault_of(block: &SectionBlock) -> Option<String> {
    match &block.block {
        None => Some("writes an empty block".to_owned()),
        Some(Block::Paragraph(text)) => (!is_text(text, PARAGRAPH)).then(|| {
            format!("writes a paragraph of more than {PARAGRAPH} characters, or control characters")
        }),
        Some(Block::Table(table)) => fault_of_table(table),
    }
}

fn fault_of_table(table: &SectionTable) -> Option<String> {
    let columns = table.titles.len();
    if columns == 0 || columns > COLUMNS || table.rows.len() > ROWS {
        return Some(format!(
            "writes a table of {columns} columns and {} rows, {COLUMNS} and {ROWS} fit",
            table.rows.len()
        ));
    }
    if table.rows.iter().any(|row| row.cells.len() != columns) {
        return Some(format!(
            "writes a row that has not {columns} cells as its table has"
        ));
    }
    let cells = table.rows.iter().flat_map(|row| &row.cells);
    let mut all = table.titles.iter().chain(cells);
    all.any(|text| !is_text(text, CELL))
        .then(|| format!("writes a cell of more than {CELL} characters, or control characters"))
}

fn is_text(text: &str, most: usize) -> bool {
    text.chars().count() <= most && !text.chars().any(|c| c.is_control() && c != '\n')
}

//! Sections that plug-ins wrote for the segment, as they stand on record, and those that are missing.

use obvert_proto::closeout::v1::{SectionBlock, section_block::Block};
use obvert_typeset::segment_sheet::{PluginBlock, PluginSection};

use super::View;
use crate::package::{
    asked_sections::{AskedSection, Standing},
    words::{counted, or},
};

/// Every section that was asked for or is on file, in order of the plug-ins' names.
pub(super) fn plugin_sections(view: &View<'_>) -> Vec<PluginSection> {
    let sections = view.sections.iter().map(|section| {
        let plugin = section.plugin;
        let answer = section.answer;
        let title = answer.map_or("", |answer| &answer.title);
        let blocks = answer.map_or(&[][..], |answer| &answer.blocks);
        PluginSection {
            title: or(title, &format!("Section of the plug-in {plugin}")),
            written_by: written_by(view, section),
            blocks: blocks.iter().filter_map(block).collect(),
        }
    });
    sections.collect()
}

/// How many sections are not as asked, and why; nothing when all are.
pub(super) fn lacking(view: &View<'_>) -> Option<String> {
    let lacks = view.sections.iter();
    let lacks: Vec<_> = lacks
        .filter_map(|section| Some(format!("{}: {}", section.plugin, section.standing.lack()?)))
        .collect();
    (!lacks.is_empty()).then(|| {
        format!(
            "{} of {} not on file from the evidence of this package ({}); \
             data/plugin-sections.json lists each.",
            lacks.len(),
            counted(
                view.sections.len(),
                "section by a plug-in is",
                "sections by plug-ins are"
            ),
            lacks.join("; ")
        )
    })
}

/// Who wrote it from what, or why it is missing.
fn written_by(view: &View<'_>, section: &AskedSection<'_>) -> String {
    let Some(answer) = section.answer else {
        return unanswered(view, section);
    };
    let (plugin, record) = (section.plugin, view.record(answer));
    let evidence = match section.standing {
        Standing::Fault | Standing::NotAnswered => {
            let (message, fault) = (&answer.fault_message, &answer.fault);
            return format!("Missing: {message} ({fault}, {record}).");
        }
        Standing::Present => "the evidence of this package",
        Standing::OlderEvidence => {
            "other, older evidence than this package shows; a new answer was not on file yet"
        }
    };
    format!(
        "Written by the plug-in {plugin}, version {}, from {evidence} ({record}). Its words are not \
         checked.",
        answer.plugin_version
    )
}

fn unanswered(view: &View<'_>, section: &AskedSection<'_>) -> String {
    let plugin = section.plugin;
    let who = match (section.by_plan, section.by_server) {
        (true, false) => {
            "the owner's plan asks for it, and the config of the server that made this package has \
             no such plug-in for this project"
        }
        (true, true) => "the owner's plan and the server ask for it",
        (false, _) => "the server asks for it",
    };
    format!(
        "Missing: not answered yet. No answer of the plug-in {plugin} is on file at revision @{}; \
         {who}.",
        view.file.revision
    )
}

fn block(block: &SectionBlock) -> Option<PluginBlock> {
    Some(match block.block.as_ref()? {
        Block::Paragraph(text) => PluginBlock::Paragraph { text: text.clone() },
        Block::Table(table) => PluginBlock::Table {
            titles: table.titles.clone(),
            rows: table.rows.iter().map(|row| row.cells.clone()).collect(),
        },
    })
}

//! Sections that plug-ins wrote for the segment, as they stand on record.

use obvert_proto::closeout::v1::{SectionBlock, section_block::Block};
use obvert_typeset::segment_sheet::{PluginBlock, PluginSection};

use super::View;

/// Every section on file, in order of the plug-ins' names.
pub(super) fn plugin_sections(view: &View<'_>) -> Vec<PluginSection> {
    let mut kept: Vec<_> = view.file.plugin_sections.iter().collect();
    kept.sort_by_key(|section| &section.plugin);
    let sections = kept.into_iter().map(|section| {
        let record = view.record(section);
        let plugin = &section.plugin;
        let is_present = section.evidence_digest == view.file.evidence_digest();
        let written_by = match (section.fault.as_str(), is_present) {
            ("", true) => format!(
                "Written by the plug-in {plugin}, version {}, from the evidence of this package \
                 ({record}). Its words are not checked.",
                section.plugin_version
            ),
            ("", false) => format!(
                "Written by the plug-in {plugin}, version {}, from other evidence than this package \
                 shows ({record}). Its words are not checked.",
                section.plugin_version
            ),
            (fault, _) => format!(
                "Missing: {} ({fault}, {record}).",
                section.fault_message
            ),
        };
        PluginSection {
            title: match section.title.as_str() {
                "" => format!("Section of the plug-in {plugin}"),
                title => title.to_owned(),
            },
            written_by,
            blocks: section.blocks.iter().filter_map(block).collect(),
        }
    });
    sections.collect()
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

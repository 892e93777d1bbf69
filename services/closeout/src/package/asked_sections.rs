//! Sections that plug-ins were asked for, by the plan or by the server, and where each stands.
//!
//! A section is written in the background. A package that is made before it came would only be
//! shorter; so what was asked for and is not there is said, in the document and as a file.

use std::collections::BTreeSet;

use obvert_plugins::{Kind, Plugins};
use obvert_proto::closeout::v1::PluginSection;
use serde_json::{Value, json};

use crate::{
    plan::PlanText,
    segment_file::{Kept, SegmentFile},
};

/// Where a section stands at the revision of a package.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Standing {
    /// Written from the evidence that the package shows.
    Present,
    /// No answer is on file.
    NotAnswered,
    /// The plug-in gave none that can be used.
    Fault,
    /// Written from other evidence than the package shows.
    OlderEvidence,
}

/// One section that was asked for or is on file.
pub(super) struct AskedSection<'a> {
    pub(super) plugin: &'a str,
    /// Whether the plan asks for it.
    pub(super) by_plan: bool,
    /// Whether the server asks for it.
    pub(super) by_server: bool,
    pub(super) standing: Standing,
    /// The last answer, if any.
    pub(super) answer: Option<&'a Kept<PluginSection>>,
}

impl Standing {
    /// The same as a word of a file.
    fn word(self) -> &'static str {
        match self {
            Self::Present => "present",
            Self::NotAnswered => "not-answered",
            Self::Fault => "fault",
            Self::OlderEvidence => "older-evidence",
        }
    }

    /// Why the section is not as asked, for people; nothing when it is.
    pub(super) fn lack(self) -> Option<&'static str> {
        match self {
            Self::Present => None,
            Self::NotAnswered => Some("not answered yet"),
            Self::Fault => Some("no answer that can be used"),
            Self::OlderEvidence => Some("answered for older evidence"),
        }
    }
}

/// Ids of the plug-ins that a server asks for a section of a project's segments.
pub(super) fn asked_by_server(plugins: &Plugins, project: &str) -> Vec<String> {
    let plugins = plugins.iter();
    let asked = plugins.filter(|plugin| plugin.is(Kind::PackageSection) && plugin.sees(project));
    asked.map(|plugin| plugin.id().to_owned()).collect()
}

/// Every section that was asked for or is on file, in order of the plug-ins' names.
pub(super) fn asked_sections<'a>(
    plan: &'a PlanText,
    by_server: &'a [String],
    file: &'a SegmentFile,
) -> Vec<AskedSection<'a>> {
    let by_plan = &plan.package.plugin_sections;
    let on_file = file.plugin_sections.iter().map(|section| &section.plugin);
    let plugins: BTreeSet<&String> = by_plan.iter().chain(by_server).chain(on_file).collect();
    let sections = plugins.into_iter().map(|plugin| {
        let answers = file.plugin_sections.iter();
        let own = answers.filter(|section| section.plugin == *plugin);
        let answer = own.max_by_key(|section| section.revision);
        let standing = match answer {
            None => Standing::NotAnswered,
            Some(section) if !section.fault.is_empty() => Standing::Fault,
            Some(section) if section.evidence_digest != file.evidence_digest() => {
                Standing::OlderEvidence
            }
            Some(_) => Standing::Present,
        };
        AskedSection {
            plugin,
            by_plan: by_plan.contains(plugin),
            by_server: by_server.contains(plugin),
            standing,
            answer,
        }
    });
    sections.collect()
}

/// All of them, as a file.
pub(super) fn file(sections: &[AskedSection<'_>]) -> Value {
    let one = |section: &AskedSection<'_>| {
        let answer = section.answer;
        let fault = answer.filter(|_| section.standing == Standing::Fault);
        json!({
            "plugin": section.plugin,
            "askedByPlan": section.by_plan,
            "askedByServer": section.by_server,
            "standing": section.standing.word(),
            "record": answer.map(|answer| &answer.name),
            "revision": answer.map(|answer| answer.revision),
            "fault": fault.map(|answer| &answer.fault),
            "faultMessage": fault.map(|answer| &answer.fault_message),
        })
    };
    json!({"sections": sections.iter().map(one).collect::<Vec<_>>()})
}

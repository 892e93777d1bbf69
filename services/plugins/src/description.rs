//! What a plug-in says of itself, held against the contract.

use std::collections::BTreeMap;

use obvert_proto::{
    plugin::v1::{
        DescribeRequest, DescribeResponse, evaluator_service_client::EvaluatorServiceClient,
        log_reader_service_client::LogReaderServiceClient,
        package_section_service_client::PackageSectionServiceClient,
    },
    pool,
};

use crate::{Fault, Kind, Plugin, fault::repeated};

/// Revision of the contract that this program speaks.
pub(crate) const CONTRACT_REVISION: i32 = 1;
/// Most entries of a list, and most characters of a text, in a description.
const LIST: usize = 200;
const TEXT: usize = 200;
/// Most characters of a version.
const VERSION: usize = 60;

/// Which plug-in speaks: what it answers may be another once either of the two is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Edition {
    /// Version of the plug-in.
    pub version: String,
    /// Revision of the contract that it was written for.
    pub contract_revision: i32,
}

impl Edition {
    /// What a description says, whether it keeps to the contract or not.
    pub(crate) fn of(description: &DescribeResponse) -> Self {
        let version = repeated(description.version.trim());
        Self {
            version: version.chars().take(VERSION).collect(),
            contract_revision: description.contract_revision,
        }
    }
}

/// Which plug-in would answer now; none when it does not say within its deadline.
pub async fn edition(plugin: &Plugin, kind: Kind) -> Option<Edition> {
    let said = plugin.within(introduction(plugin, kind)).await;
    said.ok().map(|description| Edition::of(&description))
}

/// Asks the service of a kind for its description, which must give the id that it is known by.
pub(crate) async fn described(plugin: &Plugin, kind: Kind) -> Result<DescribeResponse, Fault> {
    let description = introduction(plugin, kind).await?;
    check_named(plugin, &description)?;
    Ok(description)
}

/// Holds a description against the contract and the id that the plug-in is known by.
pub(crate) fn check_named(plugin: &Plugin, description: &DescribeResponse) -> Result<(), Fault> {
    check(plugin.id(), description)?;
    let (id, name) = (plugin.id(), &description.evaluator);
    if name == id {
        return Ok(());
    }
    let message = format!(
        "the plug-in at the address of {id} calls itself {name}: register it under that id, or \
         correct the address"
    );
    Err(Fault::new("other-name", message))
}

/// Asks the service of a kind for its description, whatever name it gives.
pub(crate) async fn introduced(plugin: &Plugin, kind: Kind) -> Result<DescribeResponse, Fault> {
    let description = introduction(plugin, kind).await?;
    check(plugin.id(), &description)?;
    Ok(description)
}

/// Asks the service of a kind for its description, whatever it says.
pub(crate) async fn introduction(plugin: &Plugin, kind: Kind) -> Result<DescribeResponse, Fault> {
    let channel = plugin.channel.clone();
    let most = plugin.registration.answer_bytes;
    let request = DescribeRequest {};
    let answer = match kind {
        Kind::Evaluator => {
            let client = EvaluatorServiceClient::new(channel);
            client
                .max_decoding_message_size(most)
                .describe(request)
                .await
        }
        Kind::LogReader => {
            let client = LogReaderServiceClient::new(channel);
            client
                .max_decoding_message_size(most)
                .describe(request)
                .await
        }
        Kind::PackageSection => {
            let client = PackageSectionServiceClient::new(channel);
            client
                .max_decoding_message_size(most)
                .describe(request)
                .await
        }
    };
    let answer = answer.map_err(|status| Fault::of(plugin.id(), kind.service(), &status))?;
    Ok(answer.into_inner())
}

/// Holds a description against the contract.
fn check(id: &str, description: &DescribeResponse) -> Result<(), Fault> {
    let name = &description.evaluator;
    if description.contract_revision != CONTRACT_REVISION {
        let message = format!(
            "the plug-in {id} was written for revision {} of the contract, this server speaks {}: \
             take a version of it that fits",
            description.contract_revision, CONTRACT_REVISION
        );
        return Err(Fault::new("other-contract", message));
    }
    if !is_kebab(name) {
        return Err(Fault::broken(
            id,
            format!(
                "calls itself \"{}\", which is no kebab-case name",
                repeated(name)
            ),
        ));
    }
    let version = description.version.trim();
    if version.is_empty()
        || version.chars().count() > VERSION
        || version.chars().any(char::is_control)
    {
        return Err(Fault::broken(id, "says no version that can be printed"));
    }
    if description.evidence_types.len() > LIST || description.parameters.len() > LIST {
        return Err(Fault::broken(
            id,
            format!("lists more than {LIST} entries of itself"),
        ));
    }
    let unknown = |name: &&String| pool().get_message_by_name(name).is_none();
    if let Some(wanted) = description.evidence_types.iter().find(unknown) {
        let what = format!(
            "wants \"{}\", which is no message of the schema",
            repeated(wanted)
        );
        return Err(Fault::broken(id, what));
    }
    let bad = |parameter: &&obvert_proto::plugin::v1::ParameterDescription| {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        let described = parameter.description.trim();
        let long = described.chars().count() > TEXT;
        parameter.name.is_empty()
            || parameter.name.len() > 60
            || !parameter.name.chars().all(plain)
            || described.is_empty()
            || long
    };
    match description.parameters.iter().find(bad) {
        Some(bad) => {
            let what = format!(
                "has a parameter \"{}\" without a plain lower-case name or a description",
                repeated(&bad.name)
            );
            Err(Fault::broken(id, what))
        }
        None => Ok(()),
    }
}

/// Holds a plan's parameters against those that the plug-in has.
pub(crate) fn check_parameters(
    id: &str,
    description: &DescribeResponse,
    given: &BTreeMap<String, String>,
) -> Result<(), Fault> {
    let known: Vec<_> = description
        .parameters
        .iter()
        .map(|p| p.name.as_str())
        .collect();
    let wrong = |message: String| Err(Fault::new("parameters", message));
    if let Some(name) = given.keys().find(|name| !known.contains(&name.as_str())) {
        let message = format!(
            "the plug-in {id} has no parameter {name}, it has: {}; correct the plan",
            if known.is_empty() {
                "none".to_owned()
            } else {
                known.join(", ")
            }
        );
        return wrong(message);
    }
    let mut required = description.parameters.iter().filter(|p| p.required);
    match required.find(|p| !given.contains_key(&p.name)) {
        Some(missing) => wrong(format!(
            "the plug-in {id} needs the parameter {} ({}): set it in the plan",
            missing.name,
            repeated(&missing.description)
        )),
        None => Ok(()),
    }
}

pub(crate) fn is_kebab(text: &str) -> bool {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let begins = text.starts_with(|c: char| c.is_ascii_lowercase());
    begins && text.len() <= 63 && text.chars().all(plain) && !text.ends_with('-')
}

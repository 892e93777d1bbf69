//! The config in force, as a config again.

use obvert_plugins::Registration;
use toml::{Value, de::DeTable};

use super::Config;

impl Config {
    /// The config in force as TOML; what the file leaves to its default is marked. Secrets are shown
    /// by where they are kept.
    pub fn shown(&self) -> String {
        let mut rows = Vec::new();
        let text = |text: &dyn ToString| Value::String(text.to_string());
        rows.push(self.row("", "listen", &text(&self.listen)));
        if let Some(file) = &self.address_file {
            rows.push(self.row("", "address_file", &text(&file.display())));
        }
        let plain = Value::Boolean(self.plain_text_off_loopback);
        rows.push(self.row("", "plain_text_off_loopback", &plain));
        rows.push(self.row("", "store", &text(&self.store.display())));
        rows.push(self.row("", "signing_key", &text(&self.signing_key)));
        let source = text(&self.fingerprint_source);
        rows.push(self.row("", "fingerprint_source", &source));
        if let Some(tls) = &self.tls {
            rows.push("\n[tls]".to_owned());
            rows.push(self.row("tls.", "certificate", &text(&tls.certificate.display())));
            rows.push(self.row("tls.", "key", &text(&tls.key)));
        }
        for plugin in &self.plugins {
            rows.extend(plugin_rows(plugin));
        }
        rows.push("\n[limits]".to_owned());
        for (key, value) in self.limits.rows() {
            let value = Value::Integer(i64::try_from(value).unwrap_or(i64::MAX));
            rows.push(self.row("limits.", key, &value));
        }
        rows.join("\n")
    }

    fn row(&self, table: &str, key: &str, value: &Value) -> String {
        let name = format!("{table}{key}");
        let mark = if self.written.contains(&name) {
            ""
        } else {
            "  # default"
        };
        format!("{key} = {value}{mark}")
    }
}

/// One plug-in, every key written out.
fn plugin_rows(plugin: &Registration) -> Vec<String> {
    let text = |text: &str| Value::String(text.to_owned());
    let whole = |number: usize| Value::Integer(i64::try_from(number).unwrap_or(i64::MAX));
    let words = |words: &mut dyn Iterator<Item = &str>| Value::Array(words.map(text).collect());
    let projects = &plugin.projects;
    let deadline_s = usize::try_from(plugin.deadline.as_secs()).unwrap_or(usize::MAX);
    let rows = [
        ("id", text(&plugin.id)),
        (
            "kinds",
            words(&mut plugin.kinds.iter().map(|kind| kind.word())),
        ),
        ("address", text(&plugin.address.to_string())),
        (
            "plain_text_off_loopback",
            Value::Boolean(!plugin.address.is_private()),
        ),
        ("deadline_s", whole(deadline_s)),
        ("request_bytes", whole(plugin.request_bytes)),
        ("answer_bytes", whole(plugin.answer_bytes)),
        ("calls", whole(plugin.calls)),
        ("projects", words(&mut projects.iter().map(String::as_str))),
    ];
    let ca_file = plugin.ca_file.iter();
    let ca_file = ca_file.map(|file| ("ca_file", text(&file.display().to_string())));
    let rows = rows
        .into_iter()
        .chain(ca_file)
        .map(|(key, value)| format!("{key} = {value}"));
    std::iter::once("\n[[plugin]]".to_owned())
        .chain(rows)
        .collect()
}

/// Keys of a text, those in a table as `table.key`.
pub(super) fn written(root: &DeTable<'_>) -> Vec<String> {
    let mut names = Vec::new();
    for (key, value) in root {
        names.push(key.get_ref().to_string());
        for inner in value.get_ref().as_table().into_iter().flatten() {
            names.push(format!("{}.{}", key.get_ref(), inner.0.get_ref()));
        }
    }
    names
}

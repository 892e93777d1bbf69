//! The config in force, as a config again.

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

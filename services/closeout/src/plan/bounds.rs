//! How long the texts of a plan may be, which its record states.

use obvert_proto::{closeout::v1::Plan, pool, rules};
use obvert_tables::toml_text::Faults;
use prost::Name;

/// Most points: each is a row of the document of a package, which has to be made in its time.
pub const MOST_POINTS: usize = 500;

/// Refuses a text that does not fit into its field of the record.
pub(super) fn fits(field: &str, (what, place): (&str, usize), text: &str, faults: &mut Faults<'_>) {
    let record = pool().get_message_by_name(&Plan::full_name());
    let field = record.and_then(|record| record.get_field_by_name(field));
    let most = field.map_or(0, |field| rules::rule(&field).max_length);
    let count = text.chars().count();
    if count > most {
        let message = format!("{what} has {count} characters, at most {most} fit: shorten it");
        faults.add(place, message);
    }
}

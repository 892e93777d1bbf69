//! Words that people read for values of the schema, written once for pages, documents, findings and
//! the command line.

mod counts;
mod design;
mod points;
mod records;
mod schema;

pub use counts::{counted, counts};
pub use records::kind_in_words;
pub use schema::enum_word;

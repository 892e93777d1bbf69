//! Words that people read for values of the schema, written once for pages, documents, findings and
//! the command line.

mod design;
mod points;
mod schema;

pub use schema::enum_word;

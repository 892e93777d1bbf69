//! House rules that the compiler does not hold: who imports whom, headings, sizes, words, pages.

mod documents;
mod headings;
mod imports;
mod literals;
mod sizes;
pub(crate) mod tree;
mod verdict_words;

//! Plots as hand-built SVG: no script, no outside font, no colour that carries a meaning alone.
//!
//! A [`Chart`] is a line chart in numbers; [`Chart::drawn`] turns it into a [`Plot`].
//! [`cure_plots`] makes the charts of a cure log. The same input gives the same bytes.
//!
//! Colours are those of Okabe and Ito, Color Universal Design, 2008, without the yellow, which is
//! too pale for a line on white; each series has a dash pattern and its name beside it as well.

mod axis;
mod chart;
mod cure;
mod cure_alt;
mod decimate;
mod labels;
mod layout;
mod svg;

pub use chart::{Chart, Limit, Mark, MarkKind, Note, Plot, Series};
pub use cure::cure_plots;

//! The sheet as one HTML file.

use std::sync::LazyLock;

use obvert_proto::{Problem, common::v1::Reason};
use obvert_typeset::calculation_sheet::CalculationSheet;
use serde::Serialize;
use tera::{Context, Tera};

/// What stands between the page's style tags.
const STYLE: &str = include_str!("../../templates/calculation_sheet.css");

/// The page and its parts. Each name ends in `.html`, which is what makes the engine escape values.
const PAGE: &str = "calculation_sheet.html";
const FIGURE: &str = "figure.html";
const STYLE_NAME: &str = "style.html";

#[derive(Serialize)]
struct Data<'a> {
    sheet: &'a CalculationSheet,
    title: &'a str,
}

/// The whole page.
///
/// # Errors
///
/// A fault of the program.
pub(super) fn page(sheet: &CalculationSheet, title: &str) -> Result<String, Problem> {
    static TEMPLATES: LazyLock<Result<Tera, String>> = LazyLock::new(|| {
        let mut tera = Tera::new();
        let added = tera.add_raw_templates([
            (FIGURE, include_str!("../../templates/figure.html")),
            (STYLE_NAME, STYLE),
            (PAGE, include_str!("../../templates/calculation_sheet.html")),
        ]);
        added.map_err(|error| error.to_string())?;
        Ok(tera)
    });
    let fault = |error: String| {
        Problem::new(
            Reason::Internal,
            format!("the sheet could not be written: {error}"),
        )
    };
    let tera = TEMPLATES.as_ref().map_err(|error| fault(error.clone()))?;
    let data = Data { sheet, title };
    let context = Context::from_serialize(&data).map_err(|error| fault(error.to_string()))?;
    tera.render(PAGE, &context)
        .map_err(|error| fault(error.to_string()))
}

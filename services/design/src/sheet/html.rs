//! The sheet as one HTML file.

use std::sync::LazyLock;

use obvert_proto::{Problem, common::v1::Reason};
use obvert_typeset::calculation_sheet::CalculationSheet;
use serde::Serialize;
use tera::{Context, Kwargs, State, Tera, Value, escape_html};

/// The page, whose parts stand beside it. Each name ends in `.html`, which is what makes the engine
/// escape values.
const PAGE: &str = "sheet.html";

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
        tera.register_filter("subscripts", subscripts);
        let added = tera.add_raw_templates([
            ("figure.html", include_str!("../../templates/figure.html")),
            ("style.html", include_str!("../../templates/style.css")),
            ("sheet.html", include_str!("../../templates/sheet.html")),
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

/// A line of symbols with their indices set lower: `E_L` as E<sub>L</sub>, `σ_L,d` with L,d. An index
/// ends at the first character that is no letter, digit or comma within it.
fn subscripts(text: &str, _: Kwargs, _: &State) -> Value {
    let mut escaped = Vec::new();
    // Into memory, where nothing fails.
    let _ = escape_html(text, &mut escaped);
    let escaped = String::from_utf8(escaped).unwrap_or_default();
    let mut parts = escaped.split('_');
    let mut page = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let end = part.find(|c: char| !c.is_alphanumeric() && c != ',');
        let index = &part[..end.unwrap_or(part.len())];
        let index = index.trim_end_matches(',');
        page.push_str(&format!("<sub>{index}</sub>{}", &part[index.len()..]));
    }
    Value::safe_string(&page)
}

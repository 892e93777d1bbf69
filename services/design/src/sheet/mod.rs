//! The calculation sheet of a stored record: data first, then PDF or HTML. Every kind of this
//! service has one, of the same form.
//!
//! Everything on it is read at the record's own revision, so the same revision gives the same bytes
//! for as long as the program's version stays.

mod as_built;
mod equations;
mod equations_beside;
mod html;
mod hydraulics;
mod inputs;
mod load;
mod numbers;
mod pressure;
mod pull_in;
mod steps;
mod tables;
mod top;

use obvert_proto::{
    Problem,
    common::v1::Reason,
    design::v1::{ConstantsPath, SheetFormat, WallDesign, record::Body},
    project::v1::{Paper as PaperOfProject, Project, Segment},
};
use obvert_typeset::{
    Document, Paper, Template, TypesetError, Typesetter, calculation_sheet::CalculationSheet,
    figures::Units,
};

pub(crate) use load::load;

/// Largest sheet that fits into one message with its frame.
const SIZE_MAX_BYTES: usize = (4 << 20) - 4096;

/// What a sheet is written from.
pub(crate) struct Subject {
    /// Record as stored.
    pub(crate) body: Body,
    /// Wall design that the record names, at the same revision; empty where it names none.
    pub(crate) named_design: WallDesign,
    /// Name of the record without the project, with its revision.
    pub(crate) record: String,
    /// Id of the record.
    pub(crate) id: String,
    /// Revision of the project at which it was written.
    pub(crate) revision: i64,
    /// Time of that commit.
    pub(crate) commit_time_ms: i64,
    /// Digest of that commit, in lower-case hexadecimal.
    pub(crate) commit_sha256: String,
    /// Contract.
    pub(crate) project: Project,
    /// Segment, where it is on file.
    pub(crate) segment: Segment,
    /// Whether US customary units stand beside SI.
    pub(crate) us: bool,
}

/// A finished sheet.
pub(crate) struct Sheet {
    /// The file.
    pub(crate) data: Vec<u8>,
    /// Its media type.
    pub(crate) media_type: &'static str,
    /// Its name.
    pub(crate) file_name: String,
}

impl Subject {
    /// Units of the tables: US beside SI where asked for, and where the design was entered so.
    fn units(&self, constants: ConstantsPath) -> Units {
        Units {
            us: self.us || constants == ConstantsPath::Us,
        }
    }

    fn data(&self) -> CalculationSheet {
        match &self.body {
            Body::WallDesign(design) => self.of_wall(design),
            Body::HydraulicCheck(check) => hydraulics::sheet(self, check),
            Body::PullInCheck(check) => pull_in::sheet(self, check),
            Body::PressureDesign(design) => pressure::sheet(self, design),
            Body::AsBuiltCheck(check) => as_built::sheet(self, check),
        }
    }

    fn of_wall(&self, design: &WallDesign) -> CalculationSheet {
        let inputs = design.inputs.clone().unwrap_or_default();
        let result = design.result.clone().unwrap_or_default();
        let units = self.units(inputs.constants());
        CalculationSheet {
            head: top::head(self, "liner wall", top::wall_facts(design)),
            answer: top::answer(&inputs, &result, units),
            seal: top::seal(design),
            inputs: inputs::inputs(&inputs, units),
            sections: tables::sections(&result, units),
            groups: steps::groups(&inputs, &result, units),
            checks_head: tables::head(["Station", "Check", "Wall it asks for", "Wall in the pipe"]),
            checks: tables::checks(&result, units),
            hangs_on: top::hangs_on(&result),
            sensitivities: tables::sensitivities(&result, units),
            cross_checks: tables::cross_checks(&result, units),
            notes: top::notes(&result.findings),
            limits_of_method: top::limits_of_method(),
            caution: top::CAUTION.to_owned(),
        }
    }
}

/// Sets a sheet. Takes tens of milliseconds of one core: call it from `spawn_blocking`.
///
/// # Errors
///
/// `TOO_LARGE` when the sheet fits no message, or a fault of the program.
pub(crate) fn set(
    subject: &Subject,
    format: SheetFormat,
    typesetter: &Typesetter,
) -> Result<Sheet, Problem> {
    let sheet = subject.data();
    let (data, media_type, end) = match format {
        SheetFormat::Html => {
            let page = html::page(&sheet, &title(subject))?;
            (page.into_bytes(), "text/html; charset=utf-8", "html")
        }
        SheetFormat::Pdf | SheetFormat::Unspecified => {
            (pdf(subject, &sheet, typesetter)?, "application/pdf", "pdf")
        }
    };
    if data.len() > SIZE_MAX_BYTES {
        let message = format!(
            "the sheet has {} bytes, a message takes {SIZE_MAX_BYTES}: give the design fewer sections",
            data.len()
        );
        return Err(Problem::new(Reason::TooLarge, message));
    }
    Ok(Sheet {
        data,
        media_type,
        file_name: format!("calculation-{}-r{}.{end}", subject.id, subject.revision),
    })
}

fn title(subject: &Subject) -> String {
    format!(
        "Calculation sheet {}, segment {}",
        subject.record, subject.segment.owner_segment_id
    )
}

fn pdf(
    subject: &Subject,
    sheet: &CalculationSheet,
    typesetter: &Typesetter,
) -> Result<Vec<u8>, Problem> {
    let fault = |error: TypesetError| {
        let reason = match error {
            TypesetError::TooLarge(_) => Reason::TooLarge,
            _ => Reason::Internal,
        };
        Problem::new(reason, format!("the sheet could not be set: {error}"))
    };
    let document = Document {
        template: Template::CalculationSheet,
        data: sheet.to_data().map_err(fault)?,
        files: std::collections::BTreeMap::new(),
        ident: format!("{} of {}", subject.record, subject.project.contract_number),
        title: title(subject),
        time_unix_s: subject.commit_time_ms.div_euclid(1000),
        paper: match subject.project.paper() {
            PaperOfProject::A4 => Paper::A4,
            _ => Paper::Letter,
        },
    };
    typesetter.render(&document).map_err(fault)
}

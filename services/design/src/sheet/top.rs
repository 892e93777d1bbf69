//! What stands on the first page, and the words around the tables.

use jiff::{Timestamp, tz::TimeZone};
use obvert_proto::{
    common::v1::Finding,
    design::v1::{OvalityPlace, WallCheck, WallDesign, WallInputs, WallResult},
};
use obvert_records::names;
use obvert_typeset::{
    calculation_sheet::{Answer, CalculationSheet, Head, Seal},
    figures::{Units, number, on, plain},
    segment_sheet::{Mark, State},
};

use super::{Subject, inputs::name, tables::installed_mm};
use crate::rules::PROGRAM;

/// Who decides.
pub(super) const CAUTION: &str = "This sheet shows what was computed from the inputs above. It \
    seals nothing and approves nothing: a licensed engineer checks the inputs, the method and the \
    edition of the standard, and decides.";

/// Finding that the sheet prints beside its table and not among the notes.
const HANGS_ON: &str = "hangs-on-assumption";

/// Segment, contract, what is special to the kind, record and commit.
pub(super) fn head(subject: &Subject, what: &str, facts: Vec<(String, String)>) -> Head {
    let (segment, project) = (&subject.segment, &subject.project);
    let or =
        |text: &str, otherwise: &str| if text.is_empty() { otherwise } else { text }.to_owned();
    let commit = &subject.commit_sha256;
    let manholes = [&segment.upstream_manhole, &segment.downstream_manhole];
    let revision = subject.revision;
    let mut all = vec![
        fact(
            "Contract",
            format!("{}, {}", project.contract_number, project.owner),
        ),
        fact("Manholes", manholes.map(String::as_str).join(" to ")),
        fact("Location", or(&segment.location, "not said")),
        fact(
            "Host pipe",
            or(&segment.host_pipe_material, "material not said"),
        ),
    ];
    all.extend(facts);
    all.extend([
        fact("Record", format!("{} of {}", subject.record, time(subject))),
        fact(
            "Commit",
            format!("project revision {revision}, SHA-256 {}", spaced(commit)),
        ),
        fact("Sheet by", PROGRAM),
    ]);
    Head {
        project_title: project.title.clone(),
        subject: what.to_owned(),
        owner_segment_id: or(&segment.owner_segment_id, "not on file"),
        facts: all,
        record: subject.record.clone(),
        revision: format!("commit {}", commit.get(..12).unwrap_or(commit)),
    }
}

/// A fact of the head.
pub(super) fn fact(name: &str, value: impl Into<String>) -> (String, String) {
    (name.to_owned(), value.into())
}

/// Number of a record, as its name gives it; words where none is named.
pub(super) fn number_or(name: &str, otherwise: &str) -> String {
    match name {
        "" => otherwise.to_owned(),
        name => names::number_of(name),
    }
}

/// What is special to a wall: condition, edition, constants and survey.
pub(super) fn wall_facts(design: &WallDesign) -> Vec<(String, String)> {
    let inputs = design.inputs.clone().unwrap_or_default();
    let program = design.result.as_ref().map_or("", |r| r.program.as_str());
    let worked_out_by = if program.is_empty() {
        "not said"
    } else {
        program
    };
    vec![
        fact("Condition", inputs.host_condition().word()),
        fact("Standard", edition(&inputs)),
        fact(
            "Constants",
            format!("{} as printed", inputs.constants().word()),
        ),
        fact(
            "Field survey",
            number_or(&design.field_survey, "none named"),
        ),
        fact("Worked out by", worked_out_by),
    ]
}

/// A sheet of a check beside the wall: everything but its numbers.
pub(super) fn around(
    subject: &Subject,
    what: &str,
    facts: Vec<(String, String)>,
    findings: &[Finding],
) -> CalculationSheet {
    CalculationSheet {
        head: head(subject, what, facts),
        seal: Seal {
            words:
                "This record names no engineer who sealed it: the space is for whoever checks it."
                    .to_owned(),
        },
        notes: notes(findings),
        caution: CAUTION.to_owned(),
        ..CalculationSheet::default()
    }
}

/// Digits in groups of eight, so that a line may break between them.
fn spaced(digits: &str) -> String {
    let digits: Vec<char> = digits.chars().collect();
    let groups: Vec<String> = digits
        .chunks(8)
        .map(|group| group.iter().collect())
        .collect();
    groups.join(" ")
}

fn edition(inputs: &WallInputs) -> &'static str {
    match inputs.ovality_place() {
        OvalityPlace::BeforeRoot => {
            "ASTM F1216 Appendix X1, form before F1216-07b (from memory): ovality factor before the \
             root of X1.3"
        }
        _ => {
            "ASTM F1216 Appendix X1, form since F1216-07b as applied in Najafi 2010: ovality factor \
             inside the root of X1.3"
        }
    }
}

/// Time of the commit at the site, with its offset from UTC.
fn time(subject: &Subject) -> String {
    let zone = TimeZone::get(&subject.project.time_zone).unwrap_or(TimeZone::UTC);
    let instant = Timestamp::from_millisecond(subject.commit_time_ms).unwrap_or_default();
    instant
        .to_zoned_datetime(zone)
        .strftime("%Y-%m-%d %H:%M %:z")
        .to_string()
}

/// Governing check and station, required and ordered wall.
pub(super) fn answer(inputs: &WallInputs, result: &WallResult, units: Units) -> Answer {
    let basis = inputs.thickness_basis().word();
    let governing = result.checks.iter().find(|check| {
        check.equation == result.governing_check && check.station_m == result.governing_station_m
    });
    let sentence = match governing {
        Some(check) => {
            let place = result
                .section_loads
                .iter()
                .find(|l| l.station_m == check.station_m);
            let cover = place.map_or(f64::NAN, |loads| loads.cover_m);
            format!(
                "{}, {}, governs at station {} under {} of cover.",
                check.equation,
                check.title,
                units.length(check.station_m).text,
                units.length(cover).text
            )
        }
        None if result.governing_check == WallResult::OWNER_MINIMUM => {
            let thickest = result.checks.iter().max_by(|a, b| {
                let wall = |c: &WallCheck| c.wall_thickness_mm.unwrap_or_default();
                wall(a).total_cmp(&wall(b))
            });
            let asked = thickest.and_then(|c| Some((c, c.wall_thickness_mm?)));
            asked.map_or_else(
                || "The owner's least wall governs: no check applies.".to_owned(),
                |(check, wall)| {
                    format!(
                        "The owner's least wall governs. Of the checks {}, {}, asks for most: {} at \
                         station {}.",
                        check.equation,
                        check.title,
                        units.wall(wall).text,
                        units.length(check.station_m).text
                    )
                },
            )
        }
        None => "No result is stored.".to_owned(),
    };
    let (required, order) = (
        result.required_wall_thickness_mm,
        result.order_wall_thickness_mm,
    );
    let ratio = |wall: f64| number(inputs.host_inside_diameter_mm / wall, 1);
    Answer {
        sentence,
        figures: vec![
            ("Required wall".to_owned(), on(units.wall(required), basis)),
            ("Wall to order".to_owned(), on(units.wall(order), basis)),
            (
                "Least wall it leaves in the pipe".to_owned(),
                on(units.wall(installed_mm(result)), basis),
            ),
            (
                "Dimension ratio D/t".to_owned(),
                plain(format!(
                    "{} required, {} to order",
                    ratio(required),
                    ratio(order)
                )),
            ),
        ],
    }
}

/// What the record says of the seal.
pub(super) fn seal(design: &WallDesign) -> Seal {
    let date = design.sealed_date.as_ref().and_then(|date| date.to_civil());
    Seal {
        words: match date {
            Some(date) => format!(
                "The record says: sealed by {} on {date}. Seal and signature below bind, the record \
                 does not replace them.",
                design.sealed_by
            ),
            None => "Draft: the record names no engineer who sealed it.".to_owned(),
        },
    }
}

/// What the design hangs on most, in the words of its finding.
pub(super) fn hangs_on(result: &WallResult) -> String {
    let found = result
        .findings
        .iter()
        .find(|finding| finding.code == HANGS_ON);
    let Some(finding) = found else {
        return "No input that was assumed moves the wall.".to_owned();
    };
    let fields = result.sensitivities.iter().map(|s| s.field.as_str());
    fields.fold(finding.message.clone(), |message, field| {
        message.replace(field, &name(field).to_lowercase())
    })
}

/// All findings that stand in no table.
pub(super) fn notes(findings: &[Finding]) -> Vec<State> {
    let others = findings.iter().filter(|finding| finding.code != HANGS_ON);
    let note = |finding: &Finding| State {
        word: finding.message.clone(),
        mark: if finding.holds {
            Mark::Failed
        } else {
            Mark::NotApplicable
        },
    };
    others.map(note).collect()
}

/// What is not calculated, and which methods are not.
pub(super) fn limits_of_method() -> Vec<String> {
    [
        "The pipe is nominally circular and the liner stands without bond to it; ovality is the only \
         departure from the circle. Gaps, pre-deformation, bends, point loads and internal pressure \
         are not in this calculation.",
        "ATV-M 127-2 and DWA-A 143-2, ISO 11296-4, the ASTEE recommendations beyond the perfect \
         shape, WRc type I and II design, and ASCE MOP 145 are not implemented. No conformity with \
         them is claimed.",
        "The standard's own pages were not read: the equations are those that Najafi, Trenchless \
         Technology Piping, 2010, prints and applies. What was set down from memory says so beside \
         the figure.",
    ]
    .map(str::to_owned)
    .to_vec()
}

//! What must be true of one record of the register by itself, beyond each field's own rule.

use jiff::tz::TimeZone;
use obvert_proto::{
    Violation,
    common::v1::LocalDate,
    project::v1::{
        AccessPermit, Attachment, DiameterPlace, Document, FieldSurvey, LateralRegister, Notice,
        ParcelRelation, Project, Record, Segment, record::Body,
    },
};

/// What lengths and radii may disagree by; own figure.
const LENGTH_SLACK_M: f64 = 0.5;
/// Radius of a manhole of which none is given: the greatest that the schema allows.
const GREATEST_RADIUS_M: f64 = 3.0;

/// Violations across the fields of a record.
pub(crate) fn check(record: &Record) -> Vec<Violation> {
    match &record.body {
        Some(Body::Project(project)) => check_project(project).into_iter().collect(),
        Some(Body::Segment(segment)) => check_segment(segment),
        Some(Body::LateralRegister(register)) => check_register(register).into_iter().collect(),
        Some(Body::ParcelRelation(relation)) => check_relation(relation),
        Some(Body::FieldSurvey(survey)) => check_field_survey(survey),
        Some(Body::Document(document)) => check_document(document).into_iter().collect(),
        Some(Body::Attachment(attachment)) => check_attachment(attachment).into_iter().collect(),
        Some(Body::Notice(notice)) => check_notice(notice).into_iter().collect(),
        Some(Body::AccessPermit(permit)) => check_permit(permit).into_iter().collect(),
        Some(Body::Lateral(_) | Body::Parcel(_) | Body::PaperCheck(_) | Body::IssuerLink(_))
        | None => Vec::new(),
    }
}

fn check_project(project: &Project) -> Option<Violation> {
    let zone = project.time_zone.trim();
    (!zone.is_empty() && TimeZone::get(zone).is_err()).then(|| {
        let message = format!(
            "is \"{zone}\", which is no IANA time zone: write one such as \"America/New_York\""
        );
        Violation::new("time_zone", message)
    })
}

fn check_segment(segment: &Segment) -> Vec<Violation> {
    let mut wrong = Vec::new();
    if !segment.upstream_manhole.is_empty()
        && segment.upstream_manhole == segment.downstream_manhole
    {
        let message = format!(
            "is {}, which is the upstream manhole too: a segment joins two manholes",
            segment.downstream_manhole
        );
        wrong.push(Violation::new("downstream_manhole", message));
    }
    wrong.extend(check_lengths(segment));
    if let (Some(min), Some(max)) = (segment.cover_min_m, segment.cover_max_m)
        && min > max
    {
        let message = format!("is {max} m, below cover_min_m, {min} m: exchange the two");
        wrong.push(Violation::new("cover_max_m", message));
    }
    wrong
}

/// Holds the two lengths of a segment against each other and the radii of its manholes.
fn check_lengths(segment: &Segment) -> Option<Violation> {
    let centre = segment.length_centre_to_centre_m;
    let wall = segment.length_wall_to_wall_m;
    if centre <= 0.0 || wall <= 0.0 {
        return None;
    }
    if wall > centre {
        let message = format!(
            "is {wall} m, longer than length_centre_to_centre_m, {centre} m: the inside walls lie \
             between the centres; check which length is which"
        );
        return Some(Violation::new("length_wall_to_wall_m", message));
    }
    let radii = segment
        .upstream_manhole_radius_m
        .unwrap_or(GREATEST_RADIUS_M)
        + segment
            .downstream_manhole_radius_m
            .unwrap_or(GREATEST_RADIUS_M);
    let apart = centre - wall;
    (apart > radii + LENGTH_SLACK_M + 1e-9).then(|| {
        let message = format!(
            "is {wall} m, {apart:.2} m shorter than length_centre_to_centre_m, {centre} m; the \
             radii of the two manholes allow {radii:.2} m and {LENGTH_SLACK_M} m of slack: check \
             both lengths and the radii"
        );
        Violation::new("length_wall_to_wall_m", message)
    })
}

fn check_register(register: &LateralRegister) -> Option<Violation> {
    let listed = register.laterals.len();
    let count = register.lateral_count?;
    (usize::try_from(count) != Ok(listed)).then(|| {
        let message = format!(
            "is {count}, but {listed} laterals are listed: count again on site, then list each \
             lateral once"
        );
        Violation::new("lateral_count", message)
    })
}

fn check_relation(relation: &ParcelRelation) -> Vec<Violation> {
    let mut wrong = Vec::new();
    for (i, tie) in relation.ties().enumerate() {
        if relation.ties().take(i).any(|earlier| earlier == tie) {
            let message = format!("is {} again: name each tie once", tie.as_str_name());
            wrong.push(Violation::new(format!("ties[{i}]"), message));
        }
    }
    wrong
}

fn check_field_survey(survey: &FieldSurvey) -> Vec<Violation> {
    use DiameterPlace::{DownstreamEnd, Inside, UpstreamEnd};
    let mut wrong = Vec::new();
    for (i, reading) in survey.diameters.iter().enumerate() {
        let (max, min) = (reading.max_diameter_mm, reading.min_diameter_mm);
        if max < min {
            let message = format!("is {max} mm, below min_diameter_mm, {min} mm: exchange the two");
            wrong.push(Violation::new(
                format!("diameters[{i}].max_diameter_mm"),
                message,
            ));
        }
    }
    for place in [UpstreamEnd, Inside, DownstreamEnd] {
        if !survey
            .diameters
            .iter()
            .any(|reading| reading.place() == place)
        {
            let message = format!(
                "has no reading at {}: read at least one at each end and one inside",
                place.as_str_name()
            );
            wrong.push(Violation::new("diameters", message));
        }
    }
    wrong
}

fn check_document(document: &Document) -> Option<Violation> {
    let (from, until) = (
        document.valid_from_date.as_ref(),
        document.valid_until_date.as_ref(),
    );
    ends_first("valid_until_date", from, until)
}

/// Keeps names that would be a path when the file is laid into a package.
fn check_attachment(attachment: &Attachment) -> Option<Violation> {
    let name = attachment.file_name.as_str();
    (name.contains(['/', '\\']) || matches!(name, "." | "..")).then(|| {
        Violation::new(
            "file_name",
            format!("is \"{name}\": give the name without its folder"),
        )
    })
}

fn check_notice(notice: &Notice) -> Option<Violation> {
    let (start, end) = (notice.outage_start_time?, notice.outage_end_time?);
    ((end.seconds, end.nanos) <= (start.seconds, start.nanos)).then(|| {
        let message =
            format!("is {end}, not after outage_start_time, {start}: correct one of them");
        Violation::new("outage_end_time", message)
    })
}

fn check_permit(permit: &AccessPermit) -> Option<Violation> {
    let (from, until) = (
        permit.valid_from_date.as_ref(),
        permit.valid_until_date.as_ref(),
    );
    ends_first("valid_until_date", from, until)
}

/// Violation of a period whose last day lies before its first.
fn ends_first(
    field: &str,
    from: Option<&LocalDate>,
    until: Option<&LocalDate>,
) -> Option<Violation> {
    let (from, until) = (from?.to_civil()?, until?.to_civil()?);
    (until < from).then(|| {
        let message = format!("is {until}, before valid_from_date, {from}: exchange the two");
        Violation::new(field, message)
    })
}

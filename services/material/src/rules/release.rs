//! The hard stop: a liner goes to a crew only when its papers show that it is the one ordered,
//! whole and within its dates.

use jiff::{civil::Date, tz::TimeZone};
use obvert_ledger::Assert;
use obvert_proto::{
    Problem, Violation,
    common::v1::{LocalDate, Reason, Thickness},
    dates::instant,
    material::v1::{LinerCertificate, LinerMovement, MakerSheet},
    project::v1::Document,
};
use obvert_records::{Named, names};

use super::evidence::Evidence;

/// Kind of the document by which a maker extends a shelf life.
const EXTENSION: &str = "shelf-life-extension";

/// Conditions under which a release may be written.
///
/// # Errors
///
/// `ACT_REFUSED` with everything that stands against it.
pub(super) fn check(movement: &LinerMovement, named: &Named) -> Result<Vec<Assert>, Problem> {
    let evidence = Evidence::of(movement, named);
    let mut wrong = check_identity(&evidence);
    wrong.extend(check_walls(&evidence));
    wrong.extend(check_packing(&evidence));
    wrong.extend(check_date(movement, &evidence, named));
    wrong.extend(check_storage(movement, &evidence));
    wrong.extend(check_segments(movement, &evidence));
    if wrong.is_empty() {
        return Ok(evidence.asserts(movement, named));
    }
    let liner = names::id_of(&movement.liner);
    let message = match wrong.as_slice() {
        [only] => format!("liner {liner} is not released to a crew: {}", only.message),
        all => format!(
            "liner {liner} is not released to a crew: {} things stand against it; the first: {}",
            all.len(),
            all[0].message
        ),
    };
    let problem = Problem::new(Reason::ActRefused, message).fact("liner", &movement.liner);
    Err(problem.with_violations(wrong))
}

/// The serials on liner, crate and certificate are one.
fn check_identity(evidence: &Evidence) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let serial = evidence
        .liner
        .as_ref()
        .map_or("", |liner| liner.serial.as_str());
    match &evidence.receiving {
        None => wrong.push(against(
            "liner",
            "no receiving check is on file: check it on arrival",
        )),
        Some((record, check)) if check.label_serial != serial => {
            let label = &check.label_serial;
            wrong.push(against(
                "liner",
                format!(
                    "its serial is {serial}, {} read {label} on the crate",
                    record.name
                ),
            ));
        }
        Some(_) => {}
    }
    match &evidence.certificate {
        None => wrong.push(against(
            "liner",
            "no maker's certificate is on file: file it first",
        )),
        Some((record, certificate)) if certificate.serial != serial => {
            let printed = &certificate.serial;
            wrong.push(against(
                "liner",
                format!("its serial is {serial}, {} prints {printed}", record.name),
            ));
        }
        Some(_) => {}
    }
    wrong
}

/// Certified and received wall reach the ordered one, on one basis.
fn check_walls(evidence: &Evidence) -> Vec<Violation> {
    let Some(ordered) = evidence.order.as_ref().and_then(|order| order.wall) else {
        return vec![against("liner", "the order states no wall: revise it")];
    };
    let certified = evidence
        .certificate
        .as_ref()
        .map(|(record, c)| (record, c.wall));
    let received = evidence
        .receiving
        .as_ref()
        .map(|(record, c)| (record, c.wall));
    let walls = [certified, received].into_iter().flatten();
    walls
        .filter_map(|(record, wall)| check_wall(&record.name, wall?, ordered))
        .collect()
}

fn check_wall(name: &str, wall: Thickness, ordered: Thickness) -> Option<Violation> {
    if wall.basis != ordered.basis {
        let message = format!(
            "{name} states its wall as {}, the order as {}: the two are never compared; get the \
             maker's figure on the order's basis",
            wall.basis().as_str_name(),
            ordered.basis().as_str_name()
        );
        return Some(against("liner", message));
    }
    let (found, least) = (wall.wall_thickness_mm, ordered.wall_thickness_mm);
    (found + 1e-9 < least).then(|| {
        let message =
            format!("{name} states a wall of {found} mm, {least} mm is ordered: return it");
        against("liner", message)
    })
}

fn check_packing(evidence: &Evidence) -> Option<Violation> {
    let (record, check) = evidence.receiving.as_ref()?;
    (!check.packing_intact).then(|| {
        let name = &record.name;
        against(
            "liner",
            format!("{name} found its light-tight packing not whole: ask the maker"),
        )
    })
}

/// The day of the release lies within the shelf life, as printed or as extended.
fn check_date(movement: &LinerMovement, evidence: &Evidence, named: &Named) -> Option<Violation> {
    let (record, certificate) = evidence.certificate.as_ref()?;
    let Some(expiry) = certificate
        .expiry_date
        .as_ref()
        .and_then(LocalDate::to_civil)
    else {
        return Some(against(
            "liner",
            format!("{} states no expiry date", record.name),
        ));
    };
    let Some((date, zone)) = local_date(movement, named) else {
        return Some(against(
            "movement_time",
            "is no time of the calendar: correct it",
        ));
    };
    if date <= expiry {
        return None;
    }
    let lack = extension_lacks(movement, evidence, certificate, date)?;
    let message = format!(
        "it would leave on {date} in {zone}, after the expiry date {expiry} of {}, and {lack}: get \
         the maker's written extension or another liner",
        record.name
    );
    Some(against("movement_time", message))
}

/// What an extension of the shelf life lacks; none when it covers the date.
fn extension_lacks(
    movement: &LinerMovement,
    evidence: &Evidence,
    certificate: &LinerCertificate,
    date: Date,
) -> Option<String> {
    let name = &movement.extension_document;
    let Some(document) = &evidence.extension else {
        return Some("no extension of the shelf life is named".into());
    };
    if document.evidence_kind != EXTENSION {
        return Some(format!(
            "{name} is of the kind {}, not {EXTENSION}",
            document.evidence_kind
        ));
    }
    let certificate_name = evidence
        .certificate
        .as_ref()
        .map(|(record, _)| &record.name);
    let about = |subject: &String| {
        *subject == movement.liner
            || *subject == evidence.order_name
            || Some(subject) == certificate_name
            || certificate.batches.contains(subject)
    };
    if !document.subjects.iter().any(about) {
        return Some(format!(
            "{name} is not about this liner, its order, certificate or batches"
        ));
    }
    (!holds_on(document, date)).then(|| format!("{name} states no validity that covers that day"))
}

/// Whether a document states a last day of validity and the date lies within it.
fn holds_on(document: &Document, date: Date) -> bool {
    let civil = |date: &Option<LocalDate>| date.as_ref().and_then(LocalDate::to_civil);
    civil(&document.valid_until_date).is_some_and(|until| date <= until)
        && civil(&document.valid_from_date).is_none_or(|from| from <= date)
}

/// Day of a movement where the project lies, and the zone's name; UTC when the project states none.
fn local_date(movement: &LinerMovement, named: &Named) -> Option<(Date, String)> {
    let instant = instant(movement.movement_time.as_ref()?)?;
    let name = named
        .project()
        .map_or("", |project| project.time_zone.as_str());
    let (zone, words) = match TimeZone::get(name) {
        Ok(zone) => (zone, name.to_owned()),
        Err(_) => (
            TimeZone::UTC,
            "UTC, since the project's time zone is not known".to_owned(),
        ),
    };
    Some((zone.to_datetime(instant).date(), words))
}

/// The temperatures of this and every earlier movement lie within the maker's sheet.
fn check_storage(movement: &LinerMovement, evidence: &Evidence) -> Vec<Violation> {
    let Some(sheet) = &evidence.sheet else {
        return vec![against(
            "liner",
            "the order's maker's sheet cannot be read: revise the order",
        )];
    };
    let mut wrong = Vec::new();
    if movement.storage_min_celsius.is_none() || movement.storage_max_celsius.is_none() {
        let message = "lowest and highest temperature since the movement before are not both \
                       given: read the logger of the store";
        wrong.push(against("storage_max_celsius", message));
    }
    wrong.extend(outside(movement, sheet, "this movement"));
    for (record, earlier) in &evidence.movements {
        wrong.extend(outside(earlier, sheet, &record.name));
    }
    wrong
}

fn outside(movement: &LinerMovement, sheet: &MakerSheet, name: &str) -> Vec<Violation> {
    let (least, most) = (sheet.storage_min_celsius, sheet.storage_max_celsius);
    let message = |found: f64| {
        format!(
            "{name} had {found} C in store, the maker's sheet allows {least} to {most} C: ask the \
             maker"
        )
    };
    let low = movement.storage_min_celsius.filter(|found| *found < least);
    let high = movement.storage_max_celsius.filter(|found| *found > most);
    let low = low.map(|found| against("storage_min_celsius", message(found)));
    let high = high.map(|found| against("storage_max_celsius", message(found)));
    low.into_iter().chain(high).collect()
}

/// The segments it is meant for are those it was ordered for.
fn check_segments(movement: &LinerMovement, evidence: &Evidence) -> Vec<Violation> {
    let ordered = evidence
        .order
        .as_ref()
        .map_or(&[][..], |order| &order.segments);
    let strangers = movement.segments.iter().enumerate();
    let strangers = strangers.filter(|(_, name)| !ordered.iter().any(|o| o.segment == **name));
    strangers
        .map(|(i, name)| {
            let order = &evidence.order_name;
            let message = format!("names {name}, for which {order} was not written: take its own");
            against(&format!("segments[{i}]"), message)
        })
        .collect()
}

fn against(field: &str, message: impl Into<String>) -> Violation {
    Violation::new(format!("liner_movement.{field}"), message)
}

//! What must be true of one record of the material by itself, beyond each field's own rule.

use obvert_proto::{
    Violation,
    common::v1::LocalDate,
    material::v1::{
        LinerCertificate, LinerMovement, LinerOrder, MakerSheet, ReceivingCheck, Record,
        ToleranceBand, record::Body,
    },
};

/// Violations across the fields of a record.
pub(crate) fn check(record: &Record) -> Vec<Violation> {
    match &record.body {
        Some(Body::MakerSheet(sheet)) => check_sheet(sheet),
        Some(Body::LinerOrder(order)) => check_order(order),
        Some(Body::LinerCertificate(certificate)) => {
            check_certificate(certificate).into_iter().collect()
        }
        Some(Body::ReceivingCheck(check)) => check_receiving(check).into_iter().collect(),
        Some(Body::LinerMovement(movement)) => check_movement(movement).into_iter().collect(),
        Some(Body::Batch(_) | Body::Liner(_)) | None => Vec::new(),
    }
}

fn check_sheet(sheet: &MakerSheet) -> Vec<Violation> {
    let range = Range {
        min: sheet.storage_min_celsius,
        max: sheet.storage_max_celsius,
    };
    let mut wrong: Vec<_> = range
        .check("storage_min_celsius", "storage_max_celsius", "C")
        .into_iter()
        .collect();
    for (i, band) in sheet.bands.iter().enumerate() {
        let path = |v: Violation| Violation::new(format!("bands[{i}].{}", v.field), v.message);
        wrong.extend(check_band(band).into_iter().map(path));
        if sheet.bands[..i]
            .iter()
            .any(|earlier| key(earlier) == key(band))
        {
            let message =
                "has the diameter, wall, lamps and lamp power of an earlier band: keep one";
            wrong.push(Violation::new(format!("bands[{i}]"), message));
        }
    }
    wrong
}

/// What a band is looked up by.
fn key(band: &ToleranceBand) -> (f64, f64, i32, f64) {
    (
        band.nominal_diameter_mm,
        band.wall_class_mm,
        band.lamp_count,
        band.lamp_power_w,
    )
}

fn check_band(band: &ToleranceBand) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let (least, lamps) = (band.least_lamps_count, band.lamp_count);
    if least > lamps {
        let message = format!("is {least}, the train has {lamps} lamps: correct one of the two");
        wrong.push(Violation::new("least_lamps_count", message));
    }
    let speed = optional(band.speed_min_m_per_min, band.speed_max_m_per_min);
    let pressure = optional(band.pressure_min_kpa, band.pressure_max_kpa);
    let wall = optional(
        band.wall_temperature_min_celsius,
        band.wall_temperature_max_celsius,
    );
    let check = |range: Option<Range>, min: &str, max: &str, unit: &str| {
        range.and_then(|range| range.check(min, max, unit))
    };
    wrong.extend(check(
        speed,
        "speed_min_m_per_min",
        "speed_max_m_per_min",
        "m/min",
    ));
    wrong.extend(check(
        pressure,
        "pressure_min_kpa",
        "pressure_max_kpa",
        "kPa",
    ));
    wrong.extend(check(
        wall,
        "wall_temperature_min_celsius",
        "wall_temperature_max_celsius",
        "C",
    ));
    wrong
}

fn check_order(order: &LinerOrder) -> Vec<Violation> {
    let (min, max) = (order.host_diameter_min_mm, order.host_diameter_max_mm);
    let mut wrong: Vec<_> = Range { min, max }
        .check("host_diameter_min_mm", "host_diameter_max_mm", "mm")
        .into_iter()
        .collect();
    for (i, ordered) in order.segments.iter().enumerate() {
        if order.segments[..i]
            .iter()
            .any(|earlier| earlier.segment == ordered.segment)
        {
            let message = format!("names {} again: name each segment once", ordered.segment);
            wrong.push(Violation::new(format!("segments[{i}].segment"), message));
        }
    }
    let dates = Dates {
        first: ("order_date", order.order_date.as_ref()),
        last: ("required_by_date", order.required_by_date.as_ref()),
    };
    wrong.extend(dates.check(true));
    wrong
}

fn check_certificate(certificate: &LinerCertificate) -> Option<Violation> {
    let dates = Dates {
        first: ("wet_out_date", certificate.wet_out_date.as_ref()),
        last: ("expiry_date", certificate.expiry_date.as_ref()),
    };
    dates.check(false)
}

fn check_receiving(check: &ReceivingCheck) -> Option<Violation> {
    let range = optional(check.transport_min_celsius, check.transport_max_celsius)?;
    range.check("transport_min_celsius", "transport_max_celsius", "C")
}

fn check_movement(movement: &LinerMovement) -> Option<Violation> {
    let range = optional(movement.storage_min_celsius, movement.storage_max_celsius)?;
    range.check("storage_min_celsius", "storage_max_celsius", "C")
}

struct Range {
    min: f64,
    max: f64,
}

impl Range {
    fn check(&self, min_field: &str, max_field: &str, unit: &str) -> Option<Violation> {
        let Self { min, max } = self;
        (min > max).then(|| {
            let message =
                format!("is {max} {unit}, below {min_field}, {min} {unit}: exchange the two");
            Violation::new(max_field, message)
        })
    }
}

/// A range whose two ends are known.
fn optional(min: Option<f64>, max: Option<f64>) -> Option<Range> {
    Some(Range {
        min: min?,
        max: max?,
    })
}

struct Dates<'a> {
    first: (&'static str, Option<&'a LocalDate>),
    last: (&'static str, Option<&'a LocalDate>),
}

impl Dates<'_> {
    /// Violation of the order of two days, which may be the same one if `same_day` is allowed.
    fn check(&self, same_day: bool) -> Option<Violation> {
        let (first, last) = (self.first.1?.to_civil()?, self.last.1?.to_civil()?);
        let wrong = last < first || (last == first && !same_day);
        wrong.then(|| {
            let (field, other) = (self.last.0, self.first.0);
            let message = format!("is {last}, not after {other}, {first}: correct one of the two");
            Violation::new(field, message)
        })
    }
}

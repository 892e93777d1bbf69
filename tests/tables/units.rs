//! Conversions against factors that are exact by definition.
//!
//! Source: NIST Special Publication 811, 2008 edition, Appendix B. Exact there are the inch
//! (25.4 mm), the foot (0.3048 m), the pound (0.45359237 kg), standard gravity (9.80665 m/s2) and
//! the US liquid gallon (231 cubic inches); the expected values follow from these.
//!
//! A number is written with the fewest digits that the reader converts back to the very same value,
//! so each case shows both directions.

use obvert_tables::write;

use super::*;

/// Cell that a column in `unit` gets for a field's value.
fn cell(type_name: &str, field: &str, value: f64, unit: &str) -> String {
    let kind = kind(type_name);
    let collection = &obvert_proto::rules::kinds()[type_name].collection;
    let toml = format!(
        "collection = \"{collection}\"\n[id]\ncolumn = \"Id\"\n\
         [[column]]\ncolumn = \"V\"\nfield = \"{field}\"\nunit = \"{unit}\"\n"
    );
    let mut body = DynamicMessage::new(kind.clone());
    match field.split_once('.') {
        None => body.set_field_by_name(field, Value::F64(value)),
        Some((outer, inner)) => {
            let outer = body
                .get_field_by_name_mut(outer)
                .and_then(|v| v.as_message_mut());
            outer
                .expect("a message")
                .set_field_by_name(inner, Value::F64(value));
        }
    }
    let csv =
        String::from_utf8(write(&kind, &[("x".to_owned(), body)], &map(&toml))).expect("UTF-8");
    csv.strip_prefix("Id,V\r\nx,")
        .and_then(|rest| rest.strip_suffix("\r\n"))
        .expect("a row")
        .to_owned()
}

const SEGMENT: &str = "obvert.project.v1.Segment";
const LEAK: &str = "obvert.acceptance.v1.LeakTest";
const RUN: &str = "obvert.installation.v1.Run";
const CHECK: &str = "obvert.material.v1.ReceivingCheck";
const CERTIFICATE: &str = "obvert.material.v1.LinerCertificate";
const DESIGN: &str = "obvert.design.v1.WallDesign";

#[test]
fn lengths_convert_by_the_inch_of_exactly_25_4_mm() {
    for (field, value, unit, expected) in [
        ("nominal_diameter_mm", 25.4, "in", "1"),
        ("nominal_diameter_mm", 304.8, "ft", "1"),
        ("nominal_diameter_mm", 10.0, "cm", "1"),
        ("nominal_diameter_mm", 203.2, "mm", "203.2"),
        ("length_wall_to_wall_m", 0.3048, "ft", "1"),
        ("length_wall_to_wall_m", 0.0254, "in", "1"),
        ("length_wall_to_wall_m", 0.001, "mm", "1"),
        ("length_wall_to_wall_m", 76.2, "ft", "250"),
    ] {
        assert_eq!(
            cell(SEGMENT, field, value, unit),
            expected,
            "{value} in {unit}"
        );
    }
}

#[test]
fn pressures_convert_by_the_pound_force_on_the_square_inch() {
    // 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)^2 = 6 894.757 293 168 361 Pa.
    let psi_kpa = 6.894_757_293_168_361;
    for (value, unit, expected) in [
        (psi_kpa, "psi", "1"),
        (100.0, "bar", "1"),
        (0.1, "mbar", "1"),
        (1_000.0, "MPa", "1"),
        (27.579_029_172_673_444, "psi", "4"),
    ] {
        assert_eq!(
            cell(LEAK, "start_pressure_kpa", value, unit),
            expected,
            "{value} in {unit}"
        );
    }
    assert_eq!(
        cell(
            DESIGN,
            "inputs.soil_modulus_mpa",
            6.894_757_293_168_361,
            "psi"
        ),
        "1000"
    );
}

#[test]
fn temperatures_convert_with_their_zero() {
    for (value, expected) in [(100.0, "212"), (-40.0, "-40"), (0.0, "32"), (25.0, "77")] {
        assert_eq!(cell(CHECK, "transport_min_celsius", value, "F"), expected);
        assert_eq!(
            cell(CHECK, "transport_min_celsius", value, "C"),
            value.to_string()
        );
    }
}

#[test]
fn masses_forces_volumes_weights_of_soil_and_shares_convert() {
    assert_eq!(cell(CERTIFICATE, "weight_kg", 0.453_592_37, "lb"), "1");
    assert_eq!(
        cell(RUN, "pull_force_max_kn", 0.004_448_221_615_260_5, "lbf"),
        "1"
    );
    assert_eq!(cell(LEAK, "water_lost_litre", 3.785_411_784, "gal"), "1");
    assert_eq!(cell(RUN, "elongation_percent", 1.5, "fraction"), "0.015");
    // 4.448 221 615 260 5 N / 0.028 316 846 592 m3 = 157.087 463 846 246 N/m3.
    let pcf: f64 = cell(DESIGN, "inputs.soil_unit_weight_kn_per_m3", 18.85, "pcf")
        .parse()
        .expect("a number");
    let expected = 18.85 / 0.157_087_463_846_246;
    assert!((pcf - expected).abs() < 1e-10, "{pcf} {expected}");
}

#[test]
fn speeds_and_times_convert_in_rows_of_a_group() {
    let csv = "Sheet,DN,Wall,Lamps,W,Least,Max (ft/min)\n1,200,6,9,500,8,10\n1,250,6,9,500,8,5\n";
    let entry = |column: &str, field: &str, unit: &str| {
        let unit = if unit.is_empty() {
            String::new()
        } else {
            format!("unit = \"{unit}\"\n")
        };
        format!("[[column]]\ncolumn = \"{column}\"\nfield = \"bands.{field}\"\n{unit}")
    };
    let map = [
        "collection = \"makerSheets\"\n[id]\ncolumn = \"Sheet\"\nprefix = \"m-\"\n\
         [group]\nby = \"Sheet\"\nrepeated = \"bands\"\n",
        &entry("DN", "nominal_diameter_mm", "mm"),
        &entry("Wall", "wall_class_mm", "mm"),
        &entry("Lamps", "lamp_count", ""),
        &entry("W", "lamp_power_w", "W"),
        &entry("Least", "least_lamps_count", ""),
        &entry("Max (ft/min)", "speed_max_m_per_min", "ft/min"),
    ]
    .concat();
    let found = read_rows(&kind("obvert.material.v1.MakerSheet"), &map, csv);
    // The sheet lacks its own fields, and the refusal shows the bands were read.
    let found = found.expect_err("fields of the sheet lack");
    assert!(
        found.iter().all(|v| v.field.starts_with("column map")),
        "{found:#?}"
    );
    let fast = csv.replace(",10\n", ",20\n");
    let found = refused(&kind("obvert.material.v1.MakerSheet"), &map, fast);
    says(
        &found,
        &[
            "row 2 column \"Max (ft/min)\"",
            "bands[0].speed_max_m_per_min is 6.096 m/min",
        ],
    );
}

//! One formula on the command line.

use serde_json::Value;

use super::{calc, said};

/// Words of a liner's mass with these for diameter and wall.
fn mass<'a>(diameter: &'a str, wall: &'a str) -> Vec<&'a str> {
    vec![
        "liner-mass",
        "--density-kg-per-m3",
        "1900",
        "--host-diameter-mm",
        diameter,
        "--wall-thickness-mm",
        wall,
        "--films-percent",
        "3%",
    ]
}

/// Standard error of a run that must end with an exit code.
fn refused(words: &[&str], code: i32) -> String {
    let ended = calc(words, "");
    assert_eq!(ended.status.code(), Some(code), "{words:?}");
    assert!(ended.stdout.is_empty(), "{}", said(&ended.stdout));
    said(&ended.stderr)
}

fn json(words: &[&str]) -> Value {
    let ended = calc(&[words, &["--json"]].concat(), "");
    assert!(ended.status.success(), "{}", said(&ended.stderr));
    serde_json::from_slice(&ended.stdout).unwrap()
}

#[test]
fn inches_millimetres_and_centimetres_of_one_pipe_give_one_mass() {
    let of = |diameter| json(&mass(diameter, "4.2"))["result"]["mass_kg_per_m"].clone();
    assert_eq!(of("8in"), of("203.2"));
    assert_eq!(of("203.2mm"), of("203.2"));
    assert_eq!(of("20.32 cm"), of("203.2"));
}

/// Worked figure: 300 ft of an 8-in liner weigh about 470 kg, 7.7 kg a person at 1.5 m.
#[test]
fn three_hundred_feet_of_an_eight_inch_liner_weigh_470_kg_and_7_7_kg_a_person() {
    let mass = json(&mass("8in", "4.2mm"))["result"]["mass_kg_per_m"].to_string();
    let row = json(&[
        "carry-people",
        "--mass-kg-per-m",
        &mass,
        "--length-m",
        "300ft",
        "--spacing-m",
        "1.5",
        "--limit-kg",
        "15",
    ]);
    let result = |name: &str| row["result"][name].as_f64().unwrap();
    assert!((result("total_kg") - 470.0).abs() < 0.5);
    assert!((result("load_kg") - 7.7).abs() < 0.05);
}

#[test]
fn a_unit_of_another_dimension_is_refused_with_those_that_are_taken() {
    let said = refused(&mass("8in", "4.2psi"), 3);
    assert!(
        said.contains("wall_thickness_mm: \"4.2psi\" is in psi"),
        "{said}"
    );
    assert!(said.contains("take mm, cm, m, in, ft"), "{said}");
}

#[test]
fn all_values_that_cannot_be_read_are_named_at_once() {
    let said = refused(&mass("8psi", "thick"), 3);
    assert!(said.contains("host_diameter_mm:"), "{said}");
    assert!(
        said.contains("wall_thickness_mm: \"thick\" is no number"),
        "{said}"
    );
}

#[test]
fn an_inch_entered_as_a_millimetre_is_refused_with_what_it_would_be() {
    let said = refused(&mass("8", "4.2"), 3);
    assert!(
        said.contains("host_diameter_mm: is 8 mm, outside 50 to 5000 mm"),
        "{said}"
    );
    assert!(
        said.contains("If 8 in is meant, host_diameter_mm is 203.2 mm"),
        "{said}"
    );
}

#[test]
fn an_ovality_entered_as_a_fraction_is_refused_with_the_percent_that_was_meant() {
    let said = refused(&["ovality-reduction", "--ovality-percent", "0.02"], 3);
    assert!(said.contains("It looks like a fraction: enter 2"), "{said}");
    let zero = json(&["ovality-reduction", "--ovality-percent", "0"]);
    assert_eq!(zero["result"]["reduction_factor"], 1.0);
}

#[test]
fn groundwater_above_the_ground_is_refused_and_names_both_heights() {
    let words = [
        "buoyancy-factor",
        "--groundwater-above-crown-m",
        "16",
        "--cover-m",
        "16ft",
    ];
    let said = refused(&words, 3);
    assert!(
        said.contains("Groundwater cannot stand above the ground"),
        "{said}"
    );
    assert!(said.contains("outside 0 to 4.8768 m"), "{said}");
    assert!(said.contains("another unit"), "{said}");
}

#[test]
fn one_height_in_feet_and_in_metres_is_refused_and_two_heights_with_units_are_taken() {
    let words = |water: &'static str| {
        let cover = ["buoyancy-factor", "--cover-m", "16"];
        [&cover[..], &["--groundwater-above-crown-m", water]].concat()
    };
    let said = refused(&words("4.877"), 3);
    assert!(said.contains("the same height in feet"), "{said}");
    let answer = json(&words("8ft"));
    assert!(answer["result"]["buoyancy_factor"].is_number(), "{answer}");
}

#[test]
fn the_floor_of_the_buoyancy_factor_is_shown_as_a_floor() {
    let words = [
        "buoyancy-factor",
        "--groundwater-above-crown-m",
        "3",
        "--cover-m",
        "2.9999",
    ];
    refused(&words, 3);
    let words = [
        "buoyancy-factor",
        "--groundwater-above-crown-m",
        "3",
        "--cover-m",
        "3",
    ];
    let shown = json(&words);
    assert_eq!(shown["result"]["buoyancy_factor"], 0.67);
    assert!(
        shown["notes"][0]
            .as_str()
            .unwrap()
            .contains("floor of 0.67")
    );
}

#[test]
fn a_missing_input_is_a_usage_error_that_names_it() {
    let said = refused(&["buoyancy-factor", "--cover-m", "3"], 2);
    assert!(said.contains("--groundwater-above-crown-m"), "{said}");
}

#[test]
fn people_see_inputs_result_equation_source_and_who_decides() {
    let ended = calc(&["elastic-support-us", "--cover-ft", "16"], "");
    let shown = said(&ended.stdout);
    for part in [
        "cover_ft",
        "= elastic_support",
        "0.414",
        "B′ = 1/(1 + 4·e^(−0.065·H))",
    ] {
        assert!(shown.contains(part), "{part} is not in {shown}");
    }
    assert!(shown.contains("Najafi 2010, p. 77"), "{shown}");
    assert!(shown.contains("a licensed engineer decides"), "{shown}");
}

#[test]
fn help_of_a_formula_shows_each_input_with_unit_range_and_meaning() {
    let shown = said(&calc(&["elastic-support-us", "--help"], "").stdout);
    assert!(
        shown.contains("Soil cover above the crown. [0 to 200 ft]"),
        "{shown}"
    );
    assert!(shown.contains("a licensed engineer decides"), "{shown}");
}

#[test]
fn sensitivity_moves_each_input_by_the_step_and_leaves_the_others() {
    let words = [mass("8in", "4.2"), vec!["--sensitivity", "1"]].concat();
    let moved = json(&words)["sensitivity"].clone();
    let moved = moved.as_array().unwrap();
    assert_eq!(moved.len(), 4);
    let before = json(&mass("8in", "4.2"))["result"]["mass_kg_per_m"]
        .as_f64()
        .unwrap();
    // The mass goes with the density, so one percent of one is one percent of the other.
    let change = moved[0]["change"].as_f64().unwrap();
    assert!((change / before - 0.01).abs() < 1e-12);
}

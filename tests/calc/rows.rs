//! Streams of rows.

use serde_json::{Value, json};

use super::{calc, said};

/// Answers to rows, each read as JSON.
fn answers(rows: &str) -> Vec<Value> {
    let ended = calc(&["--jsonl"], rows);
    assert!(ended.status.success(), "{}", said(&ended.stderr));
    let text = said(&ended.stdout);
    text.lines()
        .map(|row| serde_json::from_str(row).unwrap())
        .collect()
}

fn reduction(percent: f64) -> String {
    json!({"formula": "ovality-reduction", "inputs": {"ovality_percent": percent}}).to_string()
}

#[test]
fn each_row_has_one_answer_in_order() {
    let rows: Vec<String> = (0..5_000)
        .map(|n| reduction(f64::from(n) / 500.0))
        .collect();
    let answers = answers(&rows.join("\n"));
    assert_eq!(answers.len(), 5_000);
    let factor = |answer: &Value| answer["result"]["reduction_factor"].as_f64();
    let factors: Vec<f64> = answers.iter().filter_map(factor).collect();
    assert!(factors.windows(2).all(|pair| pair[0] > pair[1]));
    // Only what looks like a fraction is refused: above 0 and below 0.1 percent.
    assert_eq!(factors.len(), 5_000 - 49);
}

#[test]
fn a_bad_row_names_its_number_and_never_ends_the_stream() {
    let rows = [
        reduction(2.0),
        "{".to_owned(),
        String::new(),
        "[1]".to_owned(),
        r#"{"formula": "no-such", "inputs": {}}"#.to_owned(),
        r#"{"formula": "ovality-reduction", "inputs": {"cover_m": 1}}"#.to_owned(),
        r#"{"formula": "ovality-reduction", "inputs": {}}"#.to_owned(),
        r#"{"formula": "ovality-reduction"}"#.to_owned(),
        r#"{"formula": "ovality-reduction", "inputs": {"ovality_percent": 1, "ovality_percent": 2}}"#
            .to_owned(),
        r#"{"formula": "ovality-reduction", "inputs": {"ovality_percent": null}}"#.to_owned(),
        r#"{"formula": "ovality-reduction", "inputs": {"ovality_percent": "2mm"}}"#.to_owned(),
        reduction(11.0),
        "\u{fffd}".to_owned(),
        reduction(2.0),
    ];
    let answers = answers(&rows.join("\n"));
    assert_eq!(answers.len(), rows.len());
    assert_eq!(answers[0], answers[13]);
    for (place, answer) in answers.iter().enumerate().take(13).skip(1) {
        let error = answer["error"].as_str().unwrap();
        let number = place + 1;
        assert!(error.starts_with(&format!("row {number}: ")), "{error}");
        assert_eq!(answer.get("result"), None);
        // Null where the row did not get as far as a formula that exists.
        let named = (5..12).contains(&place);
        assert_eq!(answer["formula"].is_string(), named, "{answer}");
    }
    assert!(
        answers[6]["error"]
            .as_str()
            .unwrap()
            .contains("not given: ovality_percent")
    );
    assert_eq!(answers[11]["problems"][0]["max"], 10.0);
}

#[test]
fn inputs_may_stand_before_the_formula_and_carry_their_units() {
    let rows = r#"{"inputs": {"cover_m": "16ft", "groundwater_above_crown_m": 0}, "formula": "buoyancy-factor"}
{"formula": "elastic-support-si", "inputs": {"cover_m": "300 cm"}}"#;
    let answers = answers(rows);
    assert_eq!(answers[0]["result"]["buoyancy_factor"], 1.0);
    let support = answers[1]["result"]["elastic_support"].as_f64().unwrap();
    assert!((support - 0.32141).abs() < 1e-5);
}

#[test]
fn a_row_of_many_megabytes_is_passed_over_and_the_next_is_answered() {
    let rows = format!("{}\n{}\n", "x".repeat(9 << 20), reduction(2.0));
    let answers = answers(&rows);
    assert!(
        answers[0]["error"]
            .as_str()
            .unwrap()
            .starts_with("row 1: is longer than")
    );
    assert!(answers[1]["result"]["reduction_factor"].is_number());
    assert_eq!(answers.len(), 2);
}

#[test]
fn what_does_not_apply_is_null_and_no_zero() {
    let row = json!({"formula": "oval-bending-wall", "inputs": {
        "host_diameter_mm": 200, "groundwater_pressure_mpa": 0.03,
        "long_term_flexural_strength_mpa": 40, "ovality_percent": 0, "safety_factor": 2}});
    assert_eq!(
        answers(&row.to_string())[0]["result"]["wall_thickness_mm"],
        Value::Null
    );
}

//! What a kind holds, told by the command line without a server.

use std::process::Command;

use serde_json::Value;

use super::support::program;

fn obvert(words: &[&str]) -> String {
    let ran = Command::new(program("obvert")).args(words).output();
    let ran = ran.unwrap();
    assert!(ran.status.success(), "{words:?}: {ran:?}");
    String::from_utf8(ran.stdout).unwrap()
}

/// Words of all kinds, as the help lists them: those that have the verb.
fn kinds() -> Vec<String> {
    let help = obvert(&["--help"]);
    let listed = help.split("Commands:").nth(1).unwrap();
    let words = listed
        .lines()
        .filter_map(|row| row.split_whitespace().next());
    let words = words.take_while(|word| *word != "point");
    words.map(str::to_owned).collect()
}

#[test]
fn every_field_of_every_kind_says_what_it_is() {
    let kinds = kinds();
    assert!(kinds.len() >= 35, "{kinds:?}");
    for kind in kinds {
        let rows: Value = serde_json::from_str(&obvert(&[&kind, "fields", "--json"])).unwrap();
        let rows = rows.as_array().unwrap();
        assert!(!rows.is_empty(), "{kind}");
        for row in rows {
            let about = row["about"].as_str().unwrap();
            assert!(!about.is_empty(), "{kind}: {row}");
        }
    }
}

#[test]
fn a_field_is_shown_with_the_unit_range_and_words_that_the_server_holds_it_to() {
    let rows: Value = serde_json::from_str(&obvert(&["run", "fields", "--json"])).unwrap();
    let of = |path: &str| {
        let rows = rows.as_array().unwrap();
        rows.iter()
            .find(|row| row["field"] == path)
            .unwrap()
            .clone()
    };
    let force = of("pull_force_max_kn");
    assert_eq!(
        (&force["unit"], &force["max"]),
        (&"kN".into(), &500.0.into())
    );
    let step = of("steps[].step");
    assert_eq!(step["required"], true);
    let words = step["words"].as_array().unwrap();
    assert!(words.iter().any(|word| word["word"] == "STEP_KIND_PULL_IN"));
    assert!(
        words
            .iter()
            .all(|word| word["word"] != "STEP_KIND_UNSPECIFIED")
    );
    let text = obvert(&["run", "fields"]);
    assert!(text.contains("elongation_percent       percent"), "{text}");
}

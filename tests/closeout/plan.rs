//! Plans that cannot be used, with the place of each fault.

use obvert_closeout::{
    hold_points::EVALUATORS,
    plan::{LIMIT_KINDS, LimitKind, parse},
};

use super::fixture::PLAN;

/// A small plan that can be used.
pub(crate) const SMALL: &str = r#"[plan]
title = "Small"
owner = "Marrowby Sanitary District"
revision = "A"

[[limit]]
parameter = "survey_length_difference_percent"
operator = "<="
value = 2.0
unit = "percent"
source = "owner's choice"

[[point]]
id = "survey"
title = "Measured"
stage = "before ordering"
class = "review"
evaluator = "field-survey"

[[point]]
id = "last"
title = "Accepted"
stage = "acceptance"
class = "hold"
evaluator = "final-acceptance"
released_by = ["owner"]
after = ["survey"]
"#;

/// Replaces a line and asserts that one fault stands at row and column and says so.
pub(super) fn fault(line: &str, by: &str, (row, column): (i32, i32), says: &str) {
    assert!(SMALL.contains(line), "{line}");
    let faults = parse(&SMALL.replacen(line, by, 1)).unwrap_err();
    let there = faults
        .iter()
        .any(|f| (f.row, f.column) == (row, column) && f.message.contains(says));
    assert!(there, "{by}: {faults:?}");
}

#[test]
fn the_plans_of_these_tests_can_be_used() {
    let plan = parse(SMALL).unwrap();
    assert_eq!(
        plan.points
            .iter()
            .map(|p| p.id.as_str())
            .collect::<Vec<_>>(),
        ["survey", "last"]
    );
    let marrowby = parse(PLAN).unwrap();
    assert!(marrowby.points.len() >= 25);
    assert!(
        marrowby
            .limits
            .iter()
            .all(|limit| !limit.source.contains("per ASTM"))
    );
}

#[test]
fn an_unknown_word_is_refused_with_its_place_and_a_suggestion() {
    fault(
        "evaluator = \"field-survey\"",
        "evaluator = \"field-survy\"",
        (18, 13),
        "did you mean \"field-survey\"?",
    );
    fault(
        "parameter = \"survey_length",
        "parameter = \"survey_lenght",
        (7, 13),
        "did you mean \"survey_length",
    );
    fault(
        "class = \"review\"",
        "class = \"reviews\"",
        (17, 9),
        "did you mean \"review\"?",
    );
    fault(
        "released_by = [\"owner\"]",
        "released_by = [\"ownr\"]",
        (26, 16),
        "did you mean \"owner\"?",
    );
    fault(
        "after = [\"survey\"]",
        "after = [\"surveys\"]",
        (27, 10),
        "did you mean \"survey\"?",
    );
    fault(
        "title = \"Measured\"",
        "titel = \"Measured\"",
        (15, 1),
        "did you mean \"title\"?",
    );
    fault(
        "class = \"hold\"",
        "class = \"hold\"\nleast_grade = \"directly\"",
        (25, 15),
        "did you mean \"direct\"?",
    );
    fault(
        "class = \"review\"",
        "class = \"review\"\nparameters = { deep = true }",
        (18, 16),
        "has no parameter \"deep\"",
    );
}

#[test]
fn a_limit_that_is_missing_doubled_or_misfit_is_refused() {
    fault(
        "unit = \"percent\"",
        "unit = \"mm\"",
        (10, 8),
        "is in percent",
    );
    fault(
        "value = 2.0",
        "value = 40.0",
        (9, 9),
        "must lie between 0 and 20",
    );
    fault("value = 2.0", "value = \"two\"", (9, 9), "write a number");
    fault("operator = \"<=\"", "operator = \">=\"", (8, 12), "use <=");
    fault("source = \"owner's choice\"", "", (6, 1), "has no source");
    let again = "[[limit]]\nparameter = \"survey_length_difference_percent\"\noperator = \
        \"<=\"\nvalue = 3\n\
                 unit = \"percent\"\nsource = \"owner's choice\"\n\n[[point]]\nid = \"survey\"";
    fault(
        "[[point]]\nid = \"survey\"",
        again,
        (14, 13),
        "stands twice",
    );
}

#[test]
fn points_that_are_doubled_circular_or_released_by_nobody_are_refused() {
    fault("id = \"last\"", "id = \"survey\"", (21, 6), "stands twice");
    fault(
        "evaluator = \"field-survey\"",
        "evaluator = \"field-survey\"\nafter = [\"last\"]",
        (19, 9),
        "circle with last",
    );
    fault(
        "after = [\"survey\"]",
        "after = [\"last\"]",
        (27, 10),
        "waits for itself",
    );
    fault(
        "released_by = [\"owner\"]",
        "released_by = []",
        (24, 9),
        "released by nobody",
    );
    fault(
        "class = \"hold\"",
        "class = \"witness\"",
        (25, 13),
        "witness_notice_h",
    );
    fault(
        "evaluator = \"field-survey\"",
        "evaluator = \"evidence-present\"",
        (18, 13),
        "needs the parameter evidence_kind",
    );
}

#[test]
fn a_near_miss_in_a_parameter_a_role_a_unit_or_a_word_is_refused_at_its_place() {
    let asks = |more: &str| {
        format!(
            "evaluator = \"evidence-present\"\nparameters = {{ evidence_kind = \"x\", {more} }}"
        )
    };
    let evaluator = "evaluator = \"field-survey\"";
    let signed = asks("signd = true");
    fault(evaluator, &signed, (19, 37), "did you mean \"signed\"?");
    let subject = asks("subject = \"run\"");
    fault(evaluator, &subject, (19, 47), "did you mean \"runs\"?");
    let flag = asks("signed = \"yes\"");
    fault(evaluator, &flag, (19, 46), "write true or false");
    fault(
        "released_by = [\"owner\"]",
        "released_by = [\"owner\"]\nvaried_by = [\"enginer\"]",
        (27, 14),
        "did you mean \"engineer\"?",
    );
    fault(
        "source = \"owner's choice\"",
        "source = \"owner's choice\"\nwho_may_vary = [\"inspektor\"]",
        (12, 17),
        "did you mean \"inspector\"?",
    );
    fault(
        "unit = \"percent\"",
        "unit = \"percnt\"",
        (10, 8),
        "is in percent",
    );
    let rule = "[[limit]]\nparameter = \"wall_rule\"\noperator = \"==\"\nvalue = \"isoo\"\n\
                source = \"owner's choice\"\n\n[[point]]\nid = \"survey\"";
    fault(
        "[[point]]\nid = \"survey\"",
        rule,
        (16, 9),
        "did you mean \"iso\"?",
    );
}

#[test]
fn every_point_of_a_longer_circle_is_named() {
    let middle = "\n[[point]]\nid = \"middle\"\ntitle = \"Between\"\nstage = \"between\"\n\
                  class = \"review\"\nevaluator = \"field-survey\"\nafter = [\"last\"]\n";
    let circle = SMALL.replacen(
        "evaluator = \"field-survey\"",
        "evaluator = \"field-survey\"\nafter = [\"middle\"]",
        1,
    ) + middle;
    let faults = parse(&circle).unwrap_err();
    let said = faults.iter().map(|f| (f.row, f.column, f.message.as_str()));
    let said: Vec<_> = said.collect();
    let rows: Vec<_> = said.iter().map(|(row, ..)| *row).collect();
    assert_eq!(rows, [19, 28, 36], "{said:?}");
    assert!(
        said.iter().all(|(.., message)| message.contains("circle")),
        "{said:?}"
    );
}

#[test]
fn all_faults_are_reported_at_once_and_broken_text_with_its_place() {
    let wrong = SMALL
        .replace("unit = \"percent\"", "unit = \"mm\"")
        .replace("\"hold\"", "\"holds\"");
    assert_eq!(parse(&wrong).unwrap_err().len(), 2);
    let broken = parse("[plan]\ntitle = \n").unwrap_err();
    assert_eq!(broken[0].row, 2);
    let empty = parse("").unwrap_err();
    assert_eq!(empty.len(), 3, "no plan, no limit, no point: {empty:?}");
}

#[test]
fn every_limit_that_an_evaluator_needs_is_known_and_every_known_one_is_needed() {
    for evaluator in EVALUATORS {
        for (parameter, operator) in evaluator.limits {
            let kind = LimitKind::of(parameter);
            let known = kind.is_some_and(|kind| kind.operators.contains(operator));
            assert!(
                known,
                "{} needs {parameter} {}",
                evaluator.name,
                operator.sign()
            );
        }
    }
    for kind in LIMIT_KINDS {
        let needed = EVALUATORS
            .iter()
            .flat_map(|e| e.limits)
            .any(|(p, _)| *p == kind.parameter);
        assert!(
            needed || kind.unit == "days" || kind.parameter == "witness_notice_h",
            "nobody needs {}",
            kind.parameter
        );
    }
}

#[test]
fn a_plan_gives_no_role_more_than_the_table_of_roles() {
    for (word, says) in [
        (
            "varied_by = [\"inspector\"]",
            "inspector, who may not give variances",
        ),
        ("varied_by = [\"crew\"]", "crew, who may not give variances"),
        (
            "released_by = [\"laboratory\"]",
            "laboratory, who may not release points",
        ),
    ] {
        let line = "released_by = [\"owner\"]";
        let by = match word.starts_with("varied_by") {
            true => format!("{line}\n{word}"),
            false => word.to_owned(),
        };
        let faults = parse(&SMALL.replacen(line, &by, 1)).unwrap_err();
        assert!(
            faults.iter().any(|f| f.message.contains(says)),
            "{faults:?}"
        );
    }
}

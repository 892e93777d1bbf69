//! Plans in words: explained, and compared.

use obvert_closeout::plan::{changes, explain, parse};

use super::fixture::PLAN;

#[test]
fn every_point_is_explained_with_what_it_needs_and_who_passes_it() {
    let plan = parse(PLAN).unwrap();
    let explained = explain(&plan);
    assert_eq!(explained.len(), plan.points.len());
    for point in &explained {
        assert!(!point.proves.is_empty(), "{}", point.point);
        assert!(!point.needs.is_empty(), "{}", point.point);
        assert!(!point.sampling.is_empty(), "{}", point.point);
    }
    let place = |id: &str| explained.iter().position(|p| p.point == id).unwrap();
    let last = &explained[place("final-acceptance")];
    assert!(
        last.after
            .iter()
            .all(|id| place(id) < place("final-acceptance"))
    );
    let ready = &explained[place("ready-to-line")];
    assert_eq!(ready.released_by, ["inspector", "engineer"]);
    assert!(
        ready.limits[0].starts_with("ready_to_line_age_h <= 48 h ("),
        "{:?}",
        ready.limits
    );
    let report = &explained[place("laboratory-report")];
    assert_eq!(report.evidence_rows, ["E27 laboratory report: flexure"]);
    assert!(
        report
            .limits
            .iter()
            .any(|limit| limit.contains("from memory"))
    );
}

#[test]
fn a_plan_compared_with_itself_changes_nothing() {
    let plan = parse(PLAN).unwrap();
    assert_eq!(changes(&plan, &plan), Vec::<String>::new());
}

#[test]
fn each_change_of_a_plan_is_said_in_words() {
    let before = parse(PLAN).unwrap();
    let said = |from: &str, to: &str| {
        assert!(PLAN.contains(from), "{from}");
        changes(&before, &parse(&PLAN.replacen(from, to, 1)).unwrap())
    };
    assert_eq!(
        said("value = 48\n", "value = 24\n"),
        [
            "limit ready_to_line_age_h was <= 48 h (common practice, no source; owners ask for 24 hours \
          to 30 days) and is <= 24 h (common practice, no source; owners ask for 24 hours to 30 \
          days)"
        ]
    );
    assert_eq!(
        said(
            "who_may_vary = [\"engineer\"]",
            "who_may_vary = [\"owner\"]"
        ),
        [
            "limit survey_length_difference_percent <= could be varied by engineer and can be by owner"
        ]
    );
    assert_eq!(
        said(
            "released_by = [\"inspector\", \"engineer\"]",
            "released_by = [\"owner\"]"
        ),
        ["point ready-to-line: released by was inspector, engineer and is owner"]
    );
    assert_eq!(
        said(
            "parameters = { second_check = true }",
            "parameters = { second_check = false }"
        ),
        ["point ordered-wall: second_check was yes and is no"]
    );
    let at = PLAN.find("[[point]]\nid = \"host-diameter\"").unwrap();
    let (without, _) = PLAN[at..].split_once("\n\n").unwrap();
    let fewer = PLAN
        .replacen(without, "", 1)
        .replacen("\"host-diameter\",", "", 1);
    let fewer = parse(&fewer).unwrap();
    let gone = "point host-diameter (Liner ordered fits the pipe measured) is taken out";
    assert!(changes(&before, &fewer).iter().any(|change| change == gone));
    let came = "point host-diameter (Liner ordered fits the pipe measured) is new";
    assert!(changes(&fewer, &before).iter().any(|change| change == came));
}

#[test]
fn sampling_due_and_rows_of_evidence_are_read_and_wrong_ones_refused() {
    let point = "evaluator = \"laboratory-report\"\n";
    let with = |keys: &str| parse(&PLAN.replacen(point, &format!("{point}{keys}\n"), 1));
    let asked = "sampling = \"first-three-then-one-in-five\"\ndue_limit = \
                 \"laboratory_report_due_days\"\ndue_after = \"pull-in\"\nevidence = [\"E27\", \"E29\"]";
    let plan = with(asked).unwrap();
    let explained = explain(&plan);
    let report = explained
        .iter()
        .find(|p| p.point == "laboratory-report")
        .unwrap();
    assert!(report.due.starts_with("<= 21 days ("), "{}", report.due);
    assert!(report.due.ends_with(" after pull-in"), "{}", report.due);
    assert_eq!(report.evidence_rows.len(), 2);
    for (keys, says) in [
        (
            "sampling = \"one-per-bach\"",
            "did you mean \"one-per-batch\"?",
        ),
        (
            "due_after = \"pull-in\"",
            "due_after stands without due_limit",
        ),
        (
            "due_limit = \"laboratory_report_due_days\"",
            "due_limit stands without due_after",
        ),
        (
            "due_limit = \"air_test_drop_kpa\"\ndue_after = \"pull-in\"",
            "which is no limit in days",
        ),
        (
            "due_limit = \"survey_due_days\"\ndue_after = \"pull-in\"",
            "needs the limit survey_due_days <= in days",
        ),
        ("evidence = [\"E43\"]", "has no row \"E43\""),
    ] {
        let faults = with(keys).unwrap_err();
        assert!(
            faults.iter().any(|f| f.message.contains(says)),
            "{keys}: {faults:?}"
        );
    }
}

#[test]
fn a_plan_may_leave_sections_out_of_the_document_and_only_those_that_prove_nothing_alone() {
    let with = |sections: &str| {
        let head = format!("[package]\nsections = {sections}\n\n[[limit]]");
        parse(&PLAN.replacen("[[limit]]", &head, 1))
    };
    let before = parse(PLAN).unwrap();
    assert!(
        before.package.left_out.is_empty(),
        "a plan without a list has all"
    );
    let fewer = with("[\"designs\", \"cure-logs\", \"laboratory-reports\", \"laterals\"]");
    let fewer = fewer.unwrap();
    assert_eq!(fewer.package.left_out, ["papers", "leak-tests", "samples"]);
    let said = changes(&before, &fewer);
    assert_eq!(
        said,
        [
            "the document of a package left out nothing and leaves out papers and their \
          comparisons, leak tests, samples and custody"
        ]
    );
    assert_eq!(with("[]").unwrap().package.left_out.len(), 7);
    for (sections, says) in [
        ("[\"sampels\"]", "did you mean \"samples\"?"),
        ("[\"nonconformances\"]", "no section that may be left out"),
        ("[\"points\"]", "no section that may be left out"),
    ] {
        let faults = with(sections).unwrap_err();
        assert!(faults[0].message.contains(says), "{sections}: {faults:?}");
    }
}

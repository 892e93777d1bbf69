//! What reads well in a plan and could not be judged as it reads.

use obvert_closeout::plan::parse;

use super::plan::{SMALL, fault};

#[test]
fn a_review_point_that_names_who_releases_it_is_refused() {
    let review = "class = \"review\"";
    let by = format!("{review}\nreleased_by = [\"owner\"]");
    fault(review, &by, (18, 15), "write class = \"hold\"");
}

#[test]
fn a_limit_is_taken_on_the_basis_that_is_judged_and_on_no_other() {
    let source = "source = \"owner's choice\"";
    let on = |basis: &str| format!("basis = \"{basis}\"\n{source}");
    fault(
        source,
        &on("centre to centre"),
        (11, 9),
        "counts on \"wall to wall\"",
    );
    assert!(parse(&SMALL.replacen(source, &on("wall to wall"), 1)).is_ok());
    let wall = |basis: &str| {
        let limit = format!(
            "[[limit]]\nparameter = \"wall_rule\"\noperator = \"==\"\nvalue = \"iso\"\nbasis = \
             \"{basis}\"\nsource = \"owner's choice\"\n\n[[point]]\nid = \"survey\""
        );
        SMALL.replacen("[[point]]\nid = \"survey\"", &limit, 1)
    };
    let faults = parse(&wall("total")).unwrap_err();
    let said = &faults[0].message;
    assert!(
        said.contains("counts on \"the basis of the design\""),
        "{said}"
    );
    assert!(parse(&wall("the basis of the design")).is_ok());
}

#[test]
fn limits_that_no_value_is_within_are_refused() {
    let pair = |least: f64, most: f64| {
        let limit = |sign: &str, value: f64| {
            format!(
                "[[limit]]\nparameter = \"notice_before_outage_h\"\noperator = \"{sign}\"\nvalue = \
                 {value}\nunit = \"h\"\nsource = \"owner's choice\"\n\n"
            )
        };
        let both = limit(">=", least) + &limit("<=", most) + "[[limit]]";
        parse(&SMALL.replacen("[[limit]]", &both, 1))
    };
    let faults = pair(24.0, 20.0).unwrap_err();
    assert_eq!((faults[0].row, faults[0].column), (16, 9), "{faults:?}");
    let said = &faults[0].message;
    assert!(
        said.contains(">= 24 h and <= 20 h exclude each other"),
        "{said}"
    );
    assert!(pair(20.0, 20.0).is_ok());
}

#[test]
fn ids_of_points_have_the_form_of_all_ids() {
    for id in ["Field Survey", "\u{dc}n\u{ef} / ../x", "-a", "a-"] {
        let by = format!("id = \"{id}\"");
        fault(
            "id = \"survey\"",
            &by,
            (14, 6),
            "lower-case letters, digits and hyphens",
        );
    }
}

#[test]
fn no_text_of_a_plan_can_command_a_terminal() {
    for (line, by, place) in [
        ("title = \"Small\"", "title = \"S\\u001b[2J\"", (2, 9)),
        ("title = \"Measured\"", "title = \"M\\u001b[2J\"", (15, 9)),
        (
            "source = \"owner's choice\"",
            "source = \"\\u009b2J\"",
            (11, 10),
        ),
        (
            "after = [\"survey\"]",
            "after = [\"survey\", \"\\u0007\"]",
            (27, 20),
        ),
    ] {
        fault(line, by, place, "holds control characters");
    }
    let faults = parse(&SMALL.replacen("title", "\"a\\u001b[2J\" = 1\ntitle", 1)).unwrap_err();
    assert!(
        faults.iter().all(|f| !f.message.contains('\u{1b}')),
        "{faults:?}"
    );
}

#[test]
fn a_unit_left_out_or_written_otherwise_is_told_apart_from_a_value_to_convert() {
    let unit = "unit = \"percent\"\n";
    fault(unit, "", (6, 1), "is in percent: add unit = \"percent\"");
    fault(
        "unit = \"percent\"",
        "unit = \"Percent\"",
        (10, 8),
        "write \"percent\"",
    );
    let psi = "[[limit]]\nparameter = \"flexural_modulus_mpa\"\noperator = \">=\"\nvalue = 725000\n\
               unit = \"psi\"\nsource = \"owner's choice\"\n\n[[limit]]";
    let faults = parse(&SMALL.replacen("[[limit]]", psi, 1)).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    let said = &faults[0].message;
    assert!(
        said.contains("\"psi\"") && said.contains("convert the value"),
        "{said}"
    );
    let twice = "owner = \"Marrowby Sanitary District\"";
    fault(
        twice,
        &format!("{twice}\n{twice}"),
        (4, 1),
        "owner stands twice: keep one",
    );
}

//! Plans as long as they may be, and longer ones.

use obvert_closeout::plan::{MOST_POINTS, parse};
use obvert_proto::{
    closeout::v1::{ComparePlansRequest, closeout_service_server::CloseoutService},
    project::v1::Role,
};

use super::{
    plan::{SMALL, fault},
    stored::{Site, by, reason},
};

/// Characters that the text of a plan may have.
const LONGEST: usize = 262_144;

/// The small plan with further points up to a number, each waiting for those that `after` gives.
fn with_points(count: usize, after: impl Fn(usize) -> Vec<usize>) -> String {
    let mut plan = SMALL.to_owned();
    for number in 2..count {
        let after: Vec<_> = after(number).iter().map(|n| format!("\"p-{n}\"")).collect();
        plan.push_str(&format!(
            "[[point]]\nid = \"p-{number}\"\ntitle = \"P\"\nstage = \"s\"\nclass = \"review\"\n\
             evaluator = \"field-survey\"\nafter = [{}]\n",
            after.join(", ")
        ));
    }
    plan
}

/// A text made as long as a plan may be.
fn padded(mut plan: String) -> String {
    let room = LONGEST - plan.chars().count();
    plan.push('#');
    plan.push_str(&"x".repeat(room - 1));
    plan
}

#[test]
fn the_longest_plan_is_read_where_each_point_waits_for_the_next() {
    let next = |number: usize| (number + 1 < MOST_POINTS).then_some(number + 1);
    let plan = padded(with_points(MOST_POINTS, |n| next(n).into_iter().collect()));
    let plan = parse(&plan).unwrap();
    let order = plan.in_order();
    assert_eq!(order.len(), MOST_POINTS);
    assert_eq!(order[2].id, format!("p-{}", MOST_POINTS - 1));
    assert_eq!(order.last().unwrap().id, "p-2");
}

#[test]
fn points_that_wait_on_many_ways_for_the_acceptance_are_each_looked_at_once() {
    let plan = with_points(MOST_POINTS, |n| (2..n).rev().take(40).collect());
    let first = "id = \"p-2\"\ntitle = \"P\"\nstage = \"s\"\nclass = \"review\"\nevaluator = \
                 \"field-survey\"\nafter = [";
    assert!(plan.contains(first));
    let plan = padded(plan.replace(first, &format!("{first}\"last\"")));
    let plan = parse(&plan).unwrap();
    let following = plan.after_acceptance();
    assert_eq!(following.len(), MOST_POINTS - 2);
    assert!(!following.contains("last") && !following.contains("survey"));
}

#[test]
fn a_plan_longer_than_its_record_takes_is_refused_before_it_is_read() {
    let long = padded(SMALL.to_owned()) + "x";
    let faults = parse(&long).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    let said = &faults[0].message;
    assert!(said.contains("262145 characters, at most 262144"), "{said}");
    let title = format!("title = \"{}\"", "t".repeat(501));
    fault(
        "title = \"Small\"",
        &title,
        (2, 9),
        "501 characters, at most 500",
    );
    let mark = format!("revision = \"{}\"", "r".repeat(41));
    fault(
        "revision = \"A\"",
        &mark,
        (4, 12),
        "41 characters, at most 40",
    );
}

#[tokio::test]
async fn plans_are_compared_within_the_same_bound() {
    let site = Site::clean().await;
    let ask = |after: String| ComparePlansRequest {
        before: SMALL.into(),
        after,
    };
    let longest = ask(padded(SMALL.to_owned()));
    let same = site.closeout.compare_plans(by(Role::Auditor, longest));
    let none: [String; 0] = [];
    assert_eq!(same.await.unwrap().into_inner().changes, none);
    let longer = ask(padded(SMALL.to_owned()) + "x");
    let refused = site.closeout.compare_plans(by(Role::Auditor, longer));
    assert_eq!(reason(&refused.await.unwrap_err()), "PLAN_INVALID");
}

#[test]
fn more_points_than_a_document_takes_are_refused_at_the_first_too_many() {
    let plan = with_points(MOST_POINTS + 1, |_| Vec::new());
    let row = plan.lines().count() - 6;
    let faults = parse(&plan).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert_eq!(usize::try_from(faults[0].row).unwrap(), row);
    let said = &faults[0].message;
    assert!(said.contains("has 501 points, at most 500"), "{said}");
}

#[test]
fn a_text_of_nothing_but_faults_names_the_first_and_says_that_more_follow() {
    let after = "\"a\",".repeat(60_000);
    let plan = SMALL.replace("after = [\"survey\"]", &format!("after = [{after}]"));
    let faults = parse(&plan).unwrap_err();
    assert_eq!(faults.len(), 200);
    let last = &faults.last().unwrap().message;
    let rows = faults.iter().all(|fault| fault.row == 27);
    assert!(rows && last.contains("more may follow"), "{last}");
    let roles = "\"x\",".repeat(60_000);
    let limit = "[[limit]]\n".repeat(20_000);
    for (from, to) in [
        (
            "released_by = [\"owner\"]",
            format!("released_by = [{roles}]"),
        ),
        ("[[limit]]\n", limit),
    ] {
        let faults = parse(&SMALL.replacen(from, &to, 1)).unwrap_err();
        assert!(faults.len() <= 200, "{}", faults.len());
    }
    let said = parse(&SMALL.replacen("[[limit]]\n", &"[[limit]]\n".repeat(20_000), 1));
    let last = said.unwrap_err().pop().unwrap().message;
    assert!(last.contains("more may follow"), "{last}");
}

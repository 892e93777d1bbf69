//! What one plan changes of another, in words.

use super::{Limit, PlanText, Point, cover, explain, points::class_word, sections::titles};

/// One sentence for each change, in the order of the later text; what went comes last.
pub fn changes(before: &PlanText, after: &PlanText) -> Vec<String> {
    let mut said = Vec::new();
    for (what, old, new) in [
        ("title", &before.title, &after.title),
        ("owner", &before.owner, &after.owner),
        ("revision", &before.revision, &after.revision),
    ] {
        if old != new {
            said.push(format!("the plan's {what} was \"{old}\" and is \"{new}\""));
        }
    }
    let (old, new) = (&before.package, &after.package);
    if old.left_out != new.left_out {
        let (was, is) = (titles(&old.left_out), titles(&new.left_out));
        said.push(format!(
            "the document of a package left out {was} and leaves out {is}"
        ));
    }
    if old.plugin_sections != new.plugin_sections {
        let (was, is) = (listed(&old.plugin_sections), listed(&new.plugin_sections));
        said.push(format!(
            "sections asked of plug-ins were {was} and are {is}"
        ));
    }
    said.extend(cover::changes(old.cover.as_ref(), new.cover.as_ref()));
    for limit in &after.limits {
        match before.limit(&limit.parameter, limit.operator) {
            None => said.push(format!(
                "limit {} {} is new",
                limit.parameter,
                limit.words()
            )),
            Some(old) => said.extend(limit_changes(old, limit)),
        }
    }
    for limit in &before.limits {
        if after.limit(&limit.parameter, limit.operator).is_none() {
            let words = limit.words();
            said.push(format!("limit {} {words} is taken out", limit.parameter));
        }
    }
    for point in &after.points {
        match before.point(&point.id) {
            None => said.push(format!("point {} ({}) is new", point.id, point.title)),
            Some(old) => said.extend(point_changes((before, old), (after, point))),
        }
    }
    for point in &before.points {
        if after.point(&point.id).is_none() {
            said.push(format!("point {} ({}) is taken out", point.id, point.title));
        }
    }
    said
}

fn limit_changes(old: &Limit, new: &Limit) -> Vec<String> {
    let mut said = Vec::new();
    if (&old.value, &old.basis, &old.source) != (&new.value, &new.basis, &new.source) {
        let (was, is) = (old.words(), new.words());
        said.push(format!("limit {} was {was} and is {is}", new.parameter));
    }
    if old.who_may_vary != new.who_may_vary {
        let (was, is) = (listed(&old.who_may_vary), listed(&new.who_may_vary));
        let name = format!("{} {}", new.parameter, new.operator.sign());
        said.push(format!(
            "limit {name} could be varied by {was} and can be by {is}"
        ));
    }
    said
}

fn point_changes(
    (before, old): (&PlanText, &Point),
    (after, new): (&PlanText, &Point),
) -> Vec<String> {
    let described = |plan: &PlanText, point: &Point| {
        [
            ("title", point.title.clone()),
            ("stage", point.stage.clone()),
            ("class", class_word(point.class).to_owned()),
            ("evaluator", point.evaluator.clone()),
            ("released by", listed(&point.released_by)),
            ("varied by", listed(&point.varied_by)),
            (
                "least grade of paper",
                explain::grade(point.least_grade).to_owned(),
            ),
            ("waits for", listed(&point.after)),
            ("sampling", point.sampling.words().to_owned()),
            ("due", nothing_for_empty(explain::due(plan, point))),
            ("rows of evidence", listed(&point.evidence)),
            (
                "source clause",
                nothing_for_empty(point.source_clause.clone()),
            ),
            (
                "release by who recorded it",
                if point.self_release { "yes" } else { "no" }.to_owned(),
            ),
        ]
    };
    let mut said = Vec::new();
    let pairs = described(before, old)
        .into_iter()
        .zip(described(after, new));
    for ((what, was), (_, is)) in pairs {
        // A due day changes with its limit, which is told as a limit.
        let told = what == "due" && old.due == new.due;
        if was != is && !told {
            said.push(format!("point {}: {what} was {was} and is {is}", new.id));
        }
    }
    let names = old
        .parameters
        .iter()
        .chain(&new.parameters)
        .map(|p| p.name.as_str());
    let mut names: Vec<_> = names.collect();
    names.sort_unstable();
    names.dedup();
    for name in names {
        let value = |point: &Point| {
            point
                .parameter(name)
                .map_or("not set".to_owned(), |v| v.words())
        };
        let (was, is) = (value(old), value(new));
        if was != is {
            said.push(format!("point {}: {name} was {was} and is {is}", new.id));
        }
    }
    said
}

fn listed(words: &[String]) -> String {
    nothing_for_empty(words.join(", "))
}

fn nothing_for_empty(text: String) -> String {
    if text.is_empty() {
        "nothing".to_owned()
    } else {
        text
    }
}

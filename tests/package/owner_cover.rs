//! The owner's own first page: its facts, its rows to sign, and that it is one page.

use std::sync::Arc;

use obvert_closeout::{
    package::{Sources, build, document},
    plan::{COVER_FACTS, CoverText, parse},
};
use obvert_proto::project::v1::{Paper, Project, Segment};
use prost::Message;
use serde_json::Value;

use super::sample::{VERSION, built, files, press, signed, signer, sources};
use crate::closeout::fixture::{Fixture, SEGMENT, asked::STRICT};

fn under(cover: Option<CoverText>, fixture: &Fixture) -> Sources {
    let mut sources = sources(fixture);
    Arc::make_mut(&mut sources.loaded.plan).package.cover = cover;
    sources
}

/// Every fact of the list, under its own label.
fn all_facts() -> Vec<(obvert_closeout::plan::CoverFact, String)> {
    let rows = COVER_FACTS.iter();
    rows.map(|(_, fact, label)| (*fact, (*label).to_owned()))
        .collect()
}

fn value<'a>(page: &'a Value, label: &str) -> &'a Value {
    let facts = page["facts"].as_array().unwrap();
    let fact = facts.iter().find(|fact| fact["label"] == label);
    &fact.unwrap_or_else(|| panic!("no {label}"))["values"][0]
}

/// Pages of a PDF, which lists each in the open.
fn pages(pdf: &[u8]) -> usize {
    let media = b"/MediaBox[";
    pdf.windows(media.len())
        .filter(|part| part == media)
        .count()
}

fn with_all_facts() -> Option<CoverText> {
    Some(CoverText {
        title: "All of it".into(),
        facts: all_facts(),
        signed_by: vec!["Inspector".into()],
        ..CoverText::default()
    })
}

#[test]
fn every_fact_of_the_list_is_printed_when_it_is_on_file() {
    let sources = under(with_all_facts(), &with_long_names(Paper::Letter));
    let data = document(&sources, &signer()).unwrap().data;
    let page = &data["owner_cover"];
    for (_, _, label) in COVER_FACTS {
        let text = value(page, label)["text"].as_str().unwrap();
        assert!(!text.is_empty() && text != "not recorded", "{label}");
    }
    assert_eq!(value(page, "Owner's segment")["text"], wide(60));
    let designed = value(page, "Wall designed");
    assert!(designed["text"].as_str().unwrap().starts_with("at least "));
    assert!(!designed["basis"].as_str().unwrap().is_empty());
}

#[test]
fn the_cover_says_how_the_segment_stands_and_who_signs() {
    let sources = under(with_all_facts(), &signed());
    let data = document(&sources, &signer()).unwrap().data;
    let page = &data["owner_cover"];
    assert_eq!(page["signed_by"][0], "Inspector");
    for (label, says) in [
        ("State", "Accepted"),
        ("Package", "1"),
        ("Nonconformances", "No nonconformance"),
        ("Contract", "not recorded"),
    ] {
        assert_eq!(value(page, label)["text"], says, "{label}");
    }
    assert_ne!(value(page, "Accepted")["text"], "not yet");
    let notes = data["cover"]["notes"].to_string();
    assert!(
        notes.contains("signed by hand on a printed copy"),
        "{notes}"
    );
}

#[test]
fn a_fact_that_is_not_on_file_says_so() {
    let mut fixture = signed();
    fixture.edit("segments/s-1", |segment: &mut Segment| {
        segment.location.clear()
    });
    let sources = under(parse(STRICT).unwrap().package.cover, &fixture);
    let data = document(&sources, &signer()).unwrap().data;
    let page = &data["owner_cover"];
    assert_eq!(page["title"], "Sewers under gardens: certificate of lining");
    assert_eq!(page["facts"][1]["label"], "Authority's contract");
    assert_eq!(value(page, "Garden or street")["text"], "not recorded");
}

#[test]
fn a_plan_without_a_cover_has_no_such_page() {
    let sources = under(None, &signed());
    let document = document(&sources, &signer()).unwrap();
    assert_eq!(document.data["owner_cover"], Value::Null);
    assert!(
        !document.data["cover"]["notes"]
            .to_string()
            .contains("by hand")
    );
}

/// Words as wide as they come, so many characters.
fn wide(count: usize) -> String {
    let words = "Wm ".repeat(count);
    words.chars().take(count - 1).chain(['W']).collect()
}

/// The segment with names as long as its project may have them.
fn with_long_names(paper: Paper) -> Fixture {
    let mut fixture = signed();
    let name = "projects/quillfern";
    let mut project = Project::decode(fixture.records[name].body.clone()).unwrap();
    project.set_paper(paper);
    for text in [
        &mut project.title,
        &mut project.contract_number,
        &mut project.owner,
        &mut project.contractor,
        &mut project.laboratory,
    ] {
        *text = wide(500);
    }
    fixture.records.get_mut(name).unwrap().body = project.encode_to_vec().into();
    let name = SEGMENT.strip_prefix("projects/quillfern/").unwrap();
    fixture.edit(name, |segment: &mut Segment| {
        segment.location = wide(200);
        segment.owner_segment_id = wide(60);
        segment.upstream_manhole = wide(60);
        segment.downstream_manhole = wide(60);
        segment.host_pipe_material = wide(60);
    });
    fixture
}

/// As much as a plan and a project may hold.
fn longest(paper: Paper) -> Sources {
    let facts = all_facts().into_iter();
    let cover = CoverText {
        title: wide(80),
        lines: vec![wide(120); 8],
        facts: facts.take(20).map(|(fact, _)| (fact, wide(40))).collect(),
        signed_by: vec![wide(60); 6],
        logo_sha256: String::new(),
    };
    under(Some(cover), &with_long_names(paper))
}

#[test]
fn the_longest_cover_is_one_page_on_either_paper() {
    for paper in [Paper::Letter, Paper::A4] {
        let mut sources = longest(paper);
        let with = files(&built(&sources).bytes)["data/closeout.pdf"].clone();
        Arc::make_mut(&mut sources.loaded.plan).package.cover = None;
        let without = files(&built(&sources).bytes)["data/closeout.pdf"].clone();
        assert_eq!(pages(&with), pages(&without) + 1, "{paper:?}");
    }
}

#[test]
fn the_same_cover_gives_the_same_bytes_and_another_label_others() {
    let cover = parse(STRICT).unwrap().package.cover.unwrap();
    let of = |cover: &CoverText| {
        let sources = under(Some(cover.clone()), &signed());
        build(&sources, &press(), VERSION, |_| {}).unwrap().bytes
    };
    let first = of(&cover);
    assert_eq!(first, of(&cover));
    let mut other = cover;
    other.facts[0].1 = "Work".into();
    assert_ne!(first, of(&other));
}

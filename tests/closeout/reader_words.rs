//! What findings call records: by the number that the owner, the maker or the paper gave them.

use std::collections::BTreeSet;

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Nonconformance},
    closeout::v1::SegmentStatus,
    installation::v1::Run,
    material::v1::LinerOrder,
    pool,
    project::v1::{Document, Parcel, Segment},
    rules,
};
use obvert_records::{called, names::number_of};
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, Kind, ReflectMessage, Value};

use super::{
    Fixture,
    fixture::asked::{PLANS, STRICT, clean_under},
    point,
};

/// Messages of a point's findings.
fn told(fixture: &Fixture, id: &str) -> String {
    let status = fixture.status();
    let findings = point(&status, id).findings.iter();
    let messages: Vec<_> = findings.map(|finding| finding.message.clone()).collect();
    messages.join("\n")
}

#[test]
fn an_id_is_read_as_the_number_it_was_made_of() {
    for (name, number) in [
        ("projects/p/orders/o-019", "O-019"),
        ("projects/p/laterals/q-009-t3", "Q-009-T3"),
        ("projects/p/runs/run-012", "012"),
        ("projects/p/surveys/q-009-post", "Q-009-post"),
        ("projects/p/attachments/sheet-fm-25-007", "sheet-FM-25-007"),
        ("projects/p/documents/warranty", "warranty"),
    ] {
        assert_eq!(number_of(name), number);
    }
}

#[test]
fn a_finding_calls_records_by_their_own_numbers() {
    let mut f = Fixture::clean();
    f.edit("segments/s-1", |s: &mut Segment| {
        s.owner_segment_id = "Q-001".into()
    });
    f.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
        y.report_number = "FM-25-007".into();
        y.laminate_tight = Some(false);
    });
    let said = told(&f, "laboratory-report");
    assert!(said.contains("report FM-25-007 is leaky"), "{said}");
    let mut other = f.clone();
    other.edit("orders/o-1", |o: &mut LinerOrder| o.segments.clear());
    let said = told(&other, "ordered-wall");
    assert!(said.contains("order O-1 is not for Q-001"), "{said}");
    let mut hard = f.clone();
    hard.edit("runs/r-1", |r: &mut Run| {
        (r.pull_force_max_kn, r.pull_force_allowed_kn) = (Some(41.0), Some(40.0));
    });
    let said = told(&hard, "pull-in");
    let words = "the winch force of run R-1 was 41 kN, allowed is 40 kN";
    assert!(said.contains(words), "{said}");
    f.edit("parcels/p-1", |p: &mut Parcel| {
        p.assessor_number = "14-203".into()
    });
    let permits: Vec<_> = f.records.keys().cloned().collect();
    for name in permits
        .iter()
        .filter(|name| name.contains("/accessPermits/"))
    {
        f.records.remove(name);
    }
    let said = told(&f, "right-of-entry");
    assert!(said.contains("the right to enter parcel 14-203"), "{said}");
}

#[test]
fn a_deviation_is_called_by_its_number_and_a_document_by_its_title() {
    let mut f = Fixture::clean();
    let deviation = Nonconformance {
        subjects: vec![super::fixture::SEGMENT.into()],
        description: "a wrinkle of 9 mm".into(),
        nonconformance_number: 3,
        ..Nonconformance::default()
    };
    f.add("nonconformances/x-9", deviation);
    f.nonconformances
        .push(super::fixture::full("nonconformances/x-9"));
    let said: Vec<_> = f
        .status()
        .points
        .into_iter()
        .flat_map(|p| p.findings)
        .collect();
    let said = format!("{said:?}");
    assert!(
        said.contains("nonconformance 3 is open (a wrinkle"),
        "{said}"
    );
    let mut unsigned = clean_under(STRICT);
    for stored in unsigned.records.values_mut() {
        if stored.type_name == Document::full_name() {
            let mut paper = Document::decode(stored.body.clone()).unwrap();
            paper.signed_by.clear();
            stored.body = paper.encode_to_vec().into();
        }
    }
    let points = unsigned.status().points.into_iter();
    let said: Vec<_> = points.flat_map(|p| p.findings).collect();
    let titled = "document \"qualification\" is not signed and dated";
    assert!(said.iter().any(|f| f.message.contains(titled)), "{said:?}");
}

/// Ids of records that are no word of the language and no number that people know.
fn ids(fixture: &Fixture) -> BTreeSet<String> {
    let known: BTreeSet<_> = fixture.records.values().map(called).collect();
    let ids = fixture
        .records
        .keys()
        .filter_map(|name| name.rsplit('/').next());
    let numbered = ids.filter(|id| id.contains('-') && id.bytes().any(|b| b.is_ascii_digit()));
    numbered
        .filter(|id| !known.contains(*id))
        .map(str::to_owned)
        .collect()
}

/// Takes out every number, text and flag, and leaves words of the schema, times and references.
fn without_figures(message: &mut DynamicMessage) {
    for field in message.descriptor().fields() {
        let inner = match field.kind() {
            Kind::Message(inner) => inner,
            Kind::Enum(_) => continue,
            Kind::String if rules::rule(&field).refers.is_some() => continue,
            _ => {
                message.clear_field(&field);
                continue;
            }
        };
        if inner.name() == "Timestamp" || inner.name() == "LocalDate" || !message.has_field(&field)
        {
            continue;
        }
        match message.get_field_mut(&field) {
            Value::Message(inner) => without_figures(inner),
            Value::List(items) => items.iter_mut().for_each(|item| {
                if let Value::Message(inner) = item {
                    without_figures(inner);
                }
            }),
            _ => {}
        }
    }
}

fn names_none(status: &SegmentStatus, ids: &BTreeSet<String>, what: &str) {
    let reasons = status.points.iter().map(|point| point.reason.as_str());
    let findings = status.points.iter().flat_map(|point| &point.findings);
    for message in findings
        .map(|finding| finding.message.as_str())
        .chain(reasons)
    {
        let mut words = message.split(|c: char| !c.is_alphanumeric() && c != '-');
        let id = words.find(|word| ids.contains(*word));
        assert_eq!(id, None, "{what}: {message}");
        assert!(!message.contains("projects/"), "{what}: {message}");
    }
}

#[test]
fn no_finding_prints_the_id_of_a_record_whatever_is_missing_or_spoilt() {
    for (file, text) in PLANS {
        let clean = clean_under(text);
        let ids = ids(&clean);
        assert!(ids.len() > 15, "{ids:?}");
        let names: Vec<_> = clean.records.keys().cloned().collect();
        for name in names.iter().filter(|name| *name != "projects/quillfern") {
            let mut without = clean.clone();
            without.records.remove(name);
            names_none(&without.status(), &ids, &format!("{file} without {name}"));
            // A record without figures breaks whatever is asked of it.
            let mut empty = clean.clone();
            let stored = empty.records.get_mut(name).unwrap();
            let kind = pool().get_message_by_name(&stored.type_name).unwrap();
            let mut body = DynamicMessage::decode(kind, stored.body.clone()).unwrap();
            without_figures(&mut body);
            stored.body = body.encode_to_vec().into();
            names_none(&empty.status(), &ids, &format!("{file}, {name} empty"));
        }
    }
}

//! Who took part is told to nobody by way of what a point says or a figure rests on: these are
//! answered to roles that do not see people.

use obvert_closeout::Closeout;
use obvert_proto::{
    acceptance::v1::Sample,
    closeout::v1::{TraceSegmentRequest, closeout_service_server::CloseoutService},
    pool,
    project::v1::Role,
    rules,
};
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, Kind, ReflectMessage, Value};

use crate::closeout::fixture::{
    Fixture, SEGMENT,
    asked::{PLANS, clean_under},
};
use crate::package::assembling::{caller, request, stored};
use crate::package::sample::signed;

const WHO: &str = "Q. Zzyx";

/// Names somebody in every field that is marked as personal; says in how many.
fn name_people(message: &mut DynamicMessage) -> usize {
    let mut named = 0;
    for field in message.descriptor().fields() {
        if rules::rule(&field).person && field.kind() == Kind::String {
            message.set_field(&field, Value::String(WHO.to_owned()));
            named += 1;
            continue;
        }
        if !message.has_field(&field) {
            continue;
        }
        match message.get_field_mut(&field) {
            Value::Message(inner) => named += name_people(inner),
            Value::List(items) => {
                for item in items {
                    if let Value::Message(inner) = item {
                        named += name_people(inner);
                    }
                }
            }
            _ => {}
        }
    }
    named
}

fn with_people(mut fixture: Fixture) -> Fixture {
    let mut named = 0;
    for stored in fixture.records.values_mut() {
        let kind = pool().get_message_by_name(&stored.type_name).unwrap();
        let mut body = DynamicMessage::decode(kind, stored.body.clone()).unwrap();
        named += name_people(&mut body);
        stored.body = body.encode_to_vec().into();
    }
    assert!(named > 20, "{named} fields name somebody");
    fixture
}

/// Takes every record out in turn: no point of what is left names anybody.
fn without_each(whole: &Fixture) {
    let mut held = 0;
    let needed = ["projects/quillfern", SEGMENT];
    let names = whole.records.keys();
    for name in names.filter(|name| !needed.contains(&name.as_str())) {
        let mut fixture = whole.clone();
        fixture.records.remove(name);
        let told = format!("{:?}", fixture.status());
        assert!(!told.contains(WHO), "without {name}: {told}");
        held += usize::from(told.contains("Held"));
    }
    assert!(held > 10, "{held} records were missed");
}

#[test]
fn no_point_names_who_took_part_whatever_is_missing_or_out_of_order() {
    let whole = with_people(signed());
    let plans = PLANS.iter().map(|(_, plan)| with_people(clean_under(plan)));
    for whole in plans.chain([whole.clone()]) {
        without_each(&whole);
    }
    let mut fixture = whole;
    for stored in fixture.records.values_mut() {
        if stored.type_name == Sample::full_name() {
            let mut sample = Sample::decode(stored.body.clone()).unwrap();
            sample.custody.reverse();
            stored.body = sample.encode_to_vec().into();
        }
    }
    let told = format!("{:?}", fixture.status());
    assert!(told.contains("custody-out-of-order"), "{told}");
    assert!(!told.contains(WHO), "{told}");
}

#[tokio::test]
async fn no_traced_figure_names_who_took_part() {
    let store = stored(&with_people(signed())).await;
    let service = Closeout::new(store.ledger.clone(), None);
    let asked = TraceSegmentRequest {
        segment: SEGMENT.into(),
        revision: 0,
    };
    let trace = service
        .trace_segment(request(asked, caller(Role::Integrator)))
        .await;
    let told = format!("{:?}", trace.unwrap().into_inner());
    assert!(told.contains("mm"), "{told}");
    assert!(!told.contains(WHO), "{told}");
}

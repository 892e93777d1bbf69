//! Typed values of a paper as people compare them: with labels, and by numbers that they know.

use obvert_proto::{material::v1::LinerCertificate, pool, project::v1::Document};
use obvert_records::paper;
use prost::{Message, Name};
use prost_reflect::DynamicMessage;

use super::{
    paper_checks::{document, file, show, with_scan},
    pipe::put,
    store::{named, office, segment},
};

#[tokio::test]
async fn a_paper_shows_what_it_names_by_the_number_that_people_know() {
    let store = with_scan().await;
    let pipe = segment("Q-001", "MH-1", "MH-2");
    put(&store, "segments", "s-1", &pipe).await;
    let about = Document {
        subjects: vec![named("segments", "s-1")],
        ..document()
    };
    file(&store, office(), about).await.unwrap();
    let shown = show(&store).await;
    let subject = shown.values.iter().find(|v| v.field == "subjects[0]");
    assert_eq!(subject.unwrap().value, "Q-001");
}

#[test]
fn one_element_of_a_list_has_a_label_in_the_singular_and_several_are_counted() {
    let labels = |batches: &[&str]| {
        let certificate = LinerCertificate {
            batches: batches.iter().map(|id| named("batches", id)).collect(),
            ..LinerCertificate::default()
        };
        let kind = pool().get_message_by_name(&LinerCertificate::full_name());
        let bytes = certificate.encode_to_vec();
        let message = DynamicMessage::decode(kind.unwrap(), bytes.as_slice());
        let values = paper::values(&message.unwrap(), &Default::default());
        let listed = values
            .into_iter()
            .filter(|v| v.field.starts_with("batches"));
        listed.map(|v| (v.label, v.value)).collect::<Vec<_>>()
    };
    let told = |label: &str, value: &str| (label.to_owned(), value.to_owned());
    assert_eq!(labels(&["rb-07"]), [told("batch", "RB-07")]);
    let two = [told("batch 1", "RB-07"), told("batch 2", "fibre-02")];
    assert_eq!(labels(&["rb-07", "fibre-02"]), two);
}

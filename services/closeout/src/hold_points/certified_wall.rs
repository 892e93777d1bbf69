//! # Holds
//! The liner, until its maker's certificate says it is the one ordered.
//! # Why
//! Without a certificate a liner cannot be traced to its batches, and a whole batch comes into
//! doubt.
//! # Released when
//! Every liner in force has a certificate with its own serial, the ordered diameter, a wall class
//! on the ordered basis no thinner than ordered, no less length than ordered, and batches on file.
//! A thicker wall is taken with a note.
//! # Evidence
//! Liner, liner order, liner certificate, batches.
//! # Parameters
//! None.
//! # Source
//! Own rule; that nominal classes are equal or better: common practice, no source.

use obvert_proto::material::v1::{Liner, LinerCertificate, LinerOrder};

use super::{Evaluator, Judgement, Judging, Outcome, figure, found, ordered_wall::SLACK_MM};
use crate::segment_file::{Kept, by_name};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "certified-wall",
    proves: "the liner as certified is the liner as ordered",
    parameters: &[],
    limits: &[],
    evidence: &["liner", "liner-order", "liner-certificate", "batch"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    for liner in liners(judging, &mut j) {
        let certificates: Vec<_> = file
            .certificates
            .iter()
            .filter(|certificate| certificate.liner == liner.name)
            .collect();
        if certificates.is_empty() {
            let what = format!("the maker's certificate of liner {}", liner.number());
            j.missing_about(
                &liner.name,
                "liner-certificate",
                &what,
                "ask the maker for it and file it",
            );
        }
        for certificate in certificates {
            j.uses(certificate);
            as_named(&mut j, liner, certificate);
            for batch in &certificate.batches {
                j.named(&file.batches, batch, "batch");
            }
            if let Some(order) = j.named(&file.orders, &liner.order, "order") {
                as_ordered(&mut j, order, certificate);
            }
        }
    }
    j.outcome()
}

/// Liners in force, used as evidence; those that are named and not on file hold as missing.
pub(super) fn liners<'a>(judging: &Judging<'a>, j: &mut Judgement<'a>) -> Vec<&'a Kept<Liner>> {
    let names = judging.file.liner_names_in_force();
    if names.is_empty() {
        j.missing(
            "liner",
            "the liner of this segment",
            "file it with its serial when it is made",
        );
    }
    names
        .iter()
        .filter_map(|name| j.named(&judging.file.liners, name, "liner"))
        .collect()
}

/// Certificate of a liner that was written last.
pub(super) fn certificate_of<'a>(
    judging: &Judging<'a>,
    liner: &str,
) -> Option<&'a Kept<LinerCertificate>> {
    let all = judging.file.certificates.iter();
    let liner = by_name(&judging.file.liners, liner)?;
    all.filter(|certificate| certificate.liner == liner.name)
        .max_by_key(|c| c.revision)
}

fn as_named(j: &mut Judgement<'_>, liner: &Kept<Liner>, certificate: &Kept<LinerCertificate>) {
    j.fact(format!("{}.serial", certificate.id()), &certificate.serial);
    if certificate.serial != liner.serial {
        let message = format!(
            "the certificate on file is for serial {}, the liner is {}: file the certificate of this \
             liner",
            certificate.serial, liner.serial
        );
        let found = found("certificate-serial-differs", message).of(certificate.record());
        j.hold(found.of(liner.record()).fact("serial", &certificate.serial));
    }
}

fn as_ordered(
    j: &mut Judgement<'_>,
    order: &Kept<LinerOrder>,
    certificate: &Kept<LinerCertificate>,
) {
    let what = format!("liner {} as certified", certificate.serial);
    let given = Given {
        what: &what,
        code: "certified",
        diameter_mm: certificate.nominal_diameter_mm,
        wall: certificate.wall.as_ref(),
        length_m: certificate.length_m,
        record: certificate.record(),
    };
    compare(j, order, &given);
}

/// A liner as a paper gives it.
pub(super) struct Given<'a> {
    pub(super) what: &'a str,
    pub(super) code: &'a str,
    pub(super) diameter_mm: f64,
    pub(super) wall: Option<&'a obvert_proto::common::v1::Thickness>,
    pub(super) length_m: f64,
    pub(super) record: obvert_proto::common::v1::RecordRef,
}

/// Holds a liner as given against the liner as ordered.
pub(super) fn compare(j: &mut Judgement<'_>, order: &Kept<LinerOrder>, given: &Given<'_>) {
    let Given {
        what,
        code,
        diameter_mm,
        wall,
        length_m,
        record,
    } = given;
    let both = [record.clone(), order.record()];
    let id = obvert_records::names::id_of(&record.name);
    j.fact(format!("{id}.nominal_diameter_mm"), diameter_mm);
    j.fact(format!("{id}.length_m"), length_m);
    if (diameter_mm - order.nominal_diameter_mm).abs() > SLACK_MM {
        let message = format!(
            "the nominal diameter of {what} is {diameter_mm} mm, ordered is {} mm: send the liner back",
            order.nominal_diameter_mm
        );
        j.hold(found(format!("{code}-diameter-differs"), message).of_all(both.clone()));
    }
    if *length_m < order.ordered_length_m - 1e-9 {
        let message = format!(
            "the length of {what} is {} m, ordered is {} m: check it against the run before it \
             goes to a crew",
            figure(*length_m),
            figure(order.ordered_length_m)
        );
        j.hold(found(format!("{code}-length-too-short"), message).of_all(both.clone()));
    }
    let (Some(wall), Some(ordered)) = (wall, &order.wall) else {
        let message = format!("{what} or its order states no wall: write the record again");
        j.hold(found("wall-not-stated", message).of_all(both));
        return;
    };
    let (has, wants) = (wall.wall_thickness_mm, ordered.wall_thickness_mm);
    j.fact(format!("{id}.wall_thickness_mm"), has);
    j.fact(format!("{id}.basis"), wall.basis().word());
    if wall.basis() != ordered.basis() {
        let message = format!(
            "{what} counts {}, the order counts {}: the two are never compared, ask the maker for \
             the class on the ordered basis",
            wall.basis().word(),
            ordered.basis().word()
        );
        j.hold(found("thickness-basis-differs", message).of_all(both));
    } else if has < wants - SLACK_MM {
        let message = format!(
            "the wall of {what} is {} mm, ordered is {} mm: do not install it",
            figure(has),
            figure(wants)
        );
        let found = found(format!("{code}-wall-too-thin"), message).of_all(both);
        j.hold(
            found
                .fact("wall_thickness_mm", has)
                .fact("ordered_mm", wants),
        );
    } else if has > wants + SLACK_MM {
        let message = format!(
            "the wall of {what} is {} mm, thicker than the {} mm ordered: run the hydraulics and \
             the tolerance band again",
            figure(has),
            figure(wants)
        );
        j.note(found(format!("{code}-wall-thicker"), message).of_all(both));
    }
}

//! # Holds
//! Any step that closes laterals, until all of them are known.
//! # Why
//! A lateral that nobody counted stays closed, and its sewage rises in a home.
//! # Released when
//! The register signed last lists as many laterals as it counts, exactly those on file for the
//! segment; each is proven live or dead, and an unknown or abandoned one has a signed paper.
//! # Evidence
//! Lateral register, laterals, documents of the kinds `unknown-lateral-direction` and
//! `lateral-abandonment`.
//! # Parameters
//! None.
//! # Source
//! Own rule; that every service is accounted for: Najafi 2010 p. 297.

use std::collections::BTreeSet;

use obvert_proto::{
    counted,
    project::v1::{Lateral, LateralRegister, LateralState, LiveProof},
};

use super::{Evaluator, Judgement, Judging, Outcome, evidence_present::signed_paper, found};
use crate::segment_file::Kept;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "lateral-register",
    proves: "every lateral of the segment is counted, signed for and proven live or dead",
    parameters: &[],
    limits: &[],
    evidence: &["lateral-register", "lateral", "document"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let Some(register) = judging.file.register() else {
        j.missing(
            "lateral-register",
            "the signed lateral register",
            "count on site, sign and file it",
        );
        return j.outcome();
    };
    j.uses(register);
    count(&mut j, register);
    same_laterals(judging, &mut j, register);
    for lateral in &judging.file.laterals {
        j.uses(lateral);
        proven(judging, &mut j, lateral);
    }
    j.outcome()
}

fn count(j: &mut Judgement<'_>, register: &Kept<LateralRegister>) {
    let listed: BTreeSet<_> = register.laterals.iter().collect();
    let signed = i64::from(register.lateral_count.unwrap_or(-1));
    j.fact("lateral_count", signed);
    if signed != listed.len() as i64 {
        let message = format!(
            "the register is signed for {} and lists {}: correct the list or the count and sign \
             again",
            counted(signed, "lateral", "laterals"),
            listed.len()
        );
        let found = found("register-count-differs", message).of(register.record());
        j.hold(
            found
                .fact("lateral_count", signed)
                .fact("listed_count", listed.len()),
        );
    }
    if register.signed_by.trim().is_empty() || register.signed_time.is_none() {
        let message = "the register is not signed: have who counted sign it";
        j.hold(found("register-not-signed", message).of(register.record()));
    }
}

fn same_laterals(judging: &Judging<'_>, j: &mut Judgement<'_>, register: &Kept<LateralRegister>) {
    let on_file = &judging.file.laterals;
    for lateral in on_file
        .iter()
        .filter(|lateral| !register.laterals.contains(&lateral.name))
    {
        let message = format!(
            "lateral {} is on file and not in the signed register: count again and sign a new \
             register",
            lateral.number()
        );
        let found = found("lateral-not-registered", message).of(lateral.record());
        j.hold(found.of(register.record()).fact("lateral", lateral.id()));
    }
    for name in register
        .laterals
        .iter()
        .filter(|n| !on_file.iter().any(|l| l.name == **n))
    {
        let what = format!("registered lateral {}", judging.file.number_of(name));
        j.missing(
            "lateral",
            &what,
            "file its record, or sign a register without it",
        );
    }
}

fn proven(judging: &Judging<'_>, j: &mut Judgement<'_>, lateral: &Kept<Lateral>) {
    let (id, number) = (lateral.id(), lateral.number());
    j.fact(format!("{id}.state"), lateral.state().as_str_name());
    j.fact(format!("{id}.station_m"), lateral.station_m);
    let of = |code: &str, message: String| {
        found(code, message)
            .of(lateral.record())
            .fact("lateral", id)
    };
    match lateral.state() {
        LateralState::Active | LateralState::Inactive => {
            if lateral.live_proof() == LiveProof::Unspecified {
                let message = format!(
                    "lateral {number} is called live or dead without a proof: prove it by water, dye, \
                     camera or the owner's record"
                );
                j.hold(of("lateral-without-proof", message));
            }
        }
        LateralState::Abandoned => {
            if !signed_paper(judging, j, "lateral-abandonment", &lateral.name) {
                let message = format!(
                    "lateral {number} is called abandoned without its owner's signed paper: file a \
                     document of the kind lateral-abandonment"
                );
                j.hold(of("missing-document", message));
            }
        }
        LateralState::Unknown | LateralState::Unspecified => {
            if !signed_paper(judging, j, "unknown-lateral-direction", &lateral.name) {
                let message = format!(
                    "nobody knows whether lateral {number} carries flow: prove it, or file the \
                     owner's direction to open or leave it as unknown-lateral-direction"
                );
                j.hold(of("lateral-unknown", message));
            }
        }
    }
}

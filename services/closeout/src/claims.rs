//! What changed facts do to a final acceptance: nothing by itself, until a claim is decided.

use obvert_proto::{
    closeout::v1::{ClaimDecision, Release},
    common::v1::Finding,
};

use crate::{
    hold_points::found,
    segment_file::{Kept, SegmentFile},
};

/// Findings about an acceptance that rested on other facts. Any that holds keeps the segment from
/// being accepted again.
pub(crate) fn after_acceptance(file: &SegmentFile, acceptance: &Kept<Release>) -> Vec<Finding> {
    let raised = file
        .claims
        .iter()
        .filter(|claim| claim.acceptance == acceptance.name);
    let mut findings = Vec::new();
    let mut any = false;
    for claim in raised {
        any = true;
        let open = claim.decision() == ClaimDecision::Unspecified;
        let (code, what) = match open {
            true => ("claim-open", "is not decided: decide it, then accept again"),
            false => ("claim-decided", "is decided"),
        };
        let message = format!(
            "claim {} ({}) {what}",
            claim.claim_number, claim.description
        );
        let found = found(code, message).of(claim.record());
        findings.push(found.fact("claim", claim.id()).holding(open));
    }
    if !any {
        let message = format!(
            "facts changed after the acceptance by {} ({}) of {}: nothing opens again by itself, \
             raise a claim against it and decide it",
            acceptance.principal,
            acceptance.role,
            file.local_time(acceptance.commit_time_ms)
        );
        let found = found("claim-not-raised", message).of(acceptance.record());
        findings.push(found.holding(true));
    }
    findings
}

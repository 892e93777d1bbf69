//! What a paper's grade means for a point that rests on it.

use obvert_proto::common::v1::PaperGrade;
use obvert_records::paper::{Comparison, Standing};

use super::{Found, found};
use crate::segment_file::{Evidence, Kept};

/// What holds a point because of one paper: open differences, and a grade below the least one.
pub(crate) fn findings<M: Evidence>(
    kept: &Kept<M>,
    standing: &Standing,
    least: PaperGrade,
) -> Vec<Found> {
    let mut holding = differences(kept, standing);
    if (standing.grade as i32) < least as i32 {
        holding.push(too_low(kept, standing, least));
    }
    holding
}

fn differences<M: Evidence>(kept: &Kept<M>, standing: &Standing) -> Vec<Found> {
    let found = |difference: &Comparison| {
        let by_issuer = !difference.check.issuer_link.is_empty();
        let remedy = if by_issuer {
            "correct it and have its issuer confirm it through a new link"
        } else {
            "correct it and have it compared again"
        };
        let message = format!(
            "{} was compared with its original by {}, {}, who found that it differs (\"{}\"): \
             {remedy}",
            kept.called(),
            difference.principal,
            difference.role,
            difference.check.remark
        );
        found("paper-differs", message)
            .of(kept.record())
            .of(difference.record.clone())
            .fact("principal", &difference.principal)
    };
    standing.differences.iter().map(found).collect()
}

fn too_low<M: Evidence>(kept: &Kept<M>, standing: &Standing, least: PaperGrade) -> Found {
    let (has, wants) = (standing.grade.word(), least.word());
    let remedy = remedy(kept, standing, least);
    let paper = kept.called();
    let filed = format!(
        "typed from its original by {}, {}",
        kept.principal, kept.role
    );
    let (code, message) = match &standing.outdated {
        Some(before) => {
            let what = if before.check.paper_revision == kept.revision {
                "it got another original since".to_owned()
            } else {
                format!("it was revised since, at revision {}", kept.revision)
            };
            let message = format!(
                "{paper} was {filed}; {} compared revision {}, and {what}: {remedy}",
                before.principal, before.check.paper_revision
            );
            ("paper-changed-after-check", message)
        }
        None => {
            let alone = match standing.grade {
                PaperGrade::Transcribed => " and nobody else has compared the two",
                _ => "",
            };
            let message = format!(
                "{paper} was {filed},{alone} ({has}); this point takes {wants} or better: {remedy}"
            );
            ("paper-grade-too-low", message)
        }
    };
    found(code, message)
        .of(kept.record())
        .fact("grade", has)
        .fact("least_grade", wants)
}

fn remedy<M>(kept: &Kept<M>, standing: &Standing, least: PaperGrade) -> String {
    let attach = if standing.originals.is_empty() {
        "attach the original, then "
    } else {
        ""
    };
    let link = "send its issuer a link ('obvert paper link')";
    let what = match least {
        PaperGrade::Direct => "have its issuer file it with a key of its own".to_owned(),
        PaperGrade::ConfirmedByIssuer => link.to_owned(),
        _ => format!(
            "have another role than {} compare it with the original ('obvert paper check'), or {link}",
            kept.role
        ),
    };
    match least {
        PaperGrade::Direct => what,
        _ => format!("{attach}{what}"),
    }
}

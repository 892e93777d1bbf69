//! What an evaluator must do.

use futures::future::join_all;
use obvert_proto::{
    closeout::v1::Verdict,
    plugin::v1::{DescribeResponse, EvaluateResponse, Evidence},
};

use super::rows::{Row, evidence, mend, question};
use crate::{Fault, Plugin, Question, verdict::evaluated};

const KIND: &str = "evaluator";
/// Questions put at the same time.
const AT_ONCE: u8 = 8;

pub(super) async fn rows(plugin: &Plugin, description: &DescribeResponse) -> Vec<Row> {
    let plain = question(1, description);
    let without = ask(plugin, &plain, Vec::new()).await;
    let again = ask(plugin, &plain, Vec::new()).await;
    let held = without
        .clone()
        .and_then(|answer| must_hold(&answer, "no evidence"));
    let same = without.clone().and_then(|first| match again {
        Ok(again) if again == first => Ok(()),
        Ok(_) => Err(mend(
            "the same request got two answers: judge by the request alone, without clock, chance or \
             what came before",
        )),
        Err(fault) => Err(fault),
    });
    let mut rows = vec![
        Row::of(
            KIND,
            "answers about the segment, point and evidence it was asked about",
            without.map(|_| ()),
        ),
        Row::of(
            KIND,
            "holds without evidence, with a finding that holds",
            held,
        ),
        Row::of(KIND, "gives the same answer to the same request", same),
    ];
    rows.extend(hostile(plugin, description).await);
    rows.push(Row::of(
        KIND,
        "answers eight questions at once, each about its own segment",
        at_once(plugin, description).await,
    ));
    rows
}

/// Evidence that is not what it should be: refused or held, and the plug-in lives on.
async fn hostile(plugin: &Plugin, description: &DescribeResponse) -> Vec<Row> {
    let wanted = description.evidence_types.first();
    let wanted = wanted.map_or("obvert.installation.v1.Run", String::as_str);
    let bodies: [(&'static str, Evidence); 3] = [
        (
            "holds on, or refuses, a body that is no message of its type",
            evidence(wanted, &[0xff; 64]),
        ),
        (
            "holds on, or refuses, a record of a type that it does not know",
            evidence("obvert.later.v9.Unknown", b""),
        ),
        (
            "holds on, or refuses, a record without any field set",
            evidence(wanted, b""),
        ),
    ];
    let mut rows = Vec::new();
    for (requirement, body) in bodies {
        let asked = question(2, description);
        let outcome = match ask(plugin, &asked, vec![body]).await {
            Ok(answer) => must_hold(&answer, "evidence that shows nothing"),
            Err(fault) if fault.word == "refused" => Ok(()),
            Err(fault) => Err(fault),
        };
        let alive = ask(plugin, &asked, Vec::new()).await.map(|_| ());
        rows.push(Row::of(KIND, requirement, outcome.and(alive)));
    }
    rows
}

async fn at_once(plugin: &Plugin, description: &DescribeResponse) -> Result<(), Fault> {
    let questions: Vec<_> = (10..10 + AT_ONCE)
        .map(|n| question(n, description))
        .collect();
    let asked = questions.iter().map(|one| ask(plugin, one, Vec::new()));
    join_all(asked)
        .await
        .into_iter()
        .try_for_each(|answer| answer.map(|_| ()))
}

async fn ask(
    plugin: &Plugin,
    question: &Question,
    evidence: Vec<Evidence>,
) -> Result<EvaluateResponse, Fault> {
    plugin.within(evaluated(plugin, question, evidence)).await
}

fn must_hold(answer: &EvaluateResponse, on: &str) -> Result<(), Fault> {
    match answer.verdict() {
        Verdict::Held => Ok(()),
        other => Err(mend(format!(
            "it says {} on {on}: answer VERDICT_HELD unless the evidence shows what is wanted",
            other.as_str_name()
        ))),
    }
}

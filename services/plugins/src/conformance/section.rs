//! What a writer of package sections must do.

use obvert_proto::plugin::v1::{DescribeResponse, WriteSectionRequest, WriteSectionResponse};

use super::rows::{Row, mend, question};
use crate::{Fault, Plugin, Question, section::written};

const KIND: &str = "package-section";

pub(super) async fn rows(plugin: &Plugin) -> Vec<Row> {
    let asked = question(1, &DescribeResponse::default());
    let first = ask(plugin, &asked).await;
    let again = ask(plugin, &asked).await;
    let same = first.clone().and_then(|first| match again {
        Ok(again) if again == first => Ok(()),
        Ok(_) => Err(mend(
            "the same request got two sections: write from the request alone, without clock or chance",
        )),
        Err(fault) => Err(fault),
    });
    vec![
        Row::of(
            KIND,
            "writes a section that fits a page, without evidence too",
            first.map(|_| ()),
        ),
        Row::of(KIND, "writes the same section for the same request", same),
    ]
}

async fn ask(plugin: &Plugin, question: &Question) -> Result<WriteSectionResponse, Fault> {
    let request = WriteSectionRequest {
        segment: question.segment.clone(),
        evidence: Vec::new(),
        evidence_digest: question.evidence_digest.to_vec(),
    };
    plugin.within(written(plugin, question, request)).await
}

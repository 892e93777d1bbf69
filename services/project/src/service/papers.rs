//! `PaperService`: what was typed from an original, and who has compared it.

use obvert_access::Action;
use obvert_proto::{
    Problem, Violation,
    project::v1::{
        self, CheckPaperRequest, MakeIssuerLinkRequest, MakeIssuerLinkResponse, Original, Record,
        RevokeIssuerLinkRequest, ShowPaperRequest, ShowPaperResponse, TypedValue,
        paper_service_server::PaperService,
    },
};
use obvert_records::{Records, check_request, check_write, meta, now_ms, opened};
use prost::Message;
use tonic::{Request, Response, Status};

use super::register::project_of;
use crate::{Papers, ProjectRegister};

/// Papers of a ledger as an RPC service.
#[derive(Clone)]
pub struct PaperRpcs {
    papers: Papers,
    records: Records<ProjectRegister>,
}

impl PaperRpcs {
    /// Service over papers.
    pub fn new(papers: Papers) -> Self {
        let records = Records::new(papers.ledger().clone());
        Self { papers, records }
    }

    /// Record of an answer; empty when nothing was written.
    fn answered(&self, stored: Option<&obvert_ledger::Stored>) -> Result<Response<Record>, Status> {
        let record = stored.map(|stored| self.records.answer(stored)).transpose();
        Ok(Response::new(record?.unwrap_or_default()))
    }
}

#[tonic::async_trait]
impl PaperService for PaperRpcs {
    async fn show_paper(
        &self,
        request: Request<ShowPaperRequest>,
    ) -> Result<Response<ShowPaperResponse>, Status> {
        let (caller, request) = opened(request)?;
        caller.may(Action::SeePeople, project_of(&request.paper))?;
        check_request(&request)?;
        let paper = self.papers.on_file(&request.paper).await?;
        let original = |original: crate::papers::Original| Original {
            name: original.name,
            file_name: original.file.file_name,
            media_type: original.file.media_type,
            sha256: original.file.sha256,
        };
        let value = |value: obvert_records::paper::Value| TypedValue {
            field: value.field,
            value: value.value,
            unit: value.unit.to_owned(),
        };
        let checks = paper.checks.iter().map(|check| self.records.answer(check));
        let open = paper.standing.differences.iter();
        Ok(Response::new(ShowPaperResponse {
            meta: Some(meta(&paper.stored)),
            grade: paper.standing.grade.into(),
            open_differences: open.map(|c| c.record.name.clone()).collect(),
            checks: checks.collect::<Result<_, Problem>>()?,
            values: paper.values.into_iter().map(value).collect(),
            originals: paper.originals.into_iter().map(original).collect(),
        }))
    }

    async fn check_paper(
        &self,
        request: Request<CheckPaperRequest>,
    ) -> Result<Response<Record>, Status> {
        let (caller, mut request) = opened(request)?;
        let role = caller.may(Action::Write("paperChecks"), project_of(&request.paper))?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let filed = self
            .papers
            .check((&caller, role), &write, &request, now_ms())
            .await?;
        self.answered(filed.as_ref())
    }

    async fn make_issuer_link(
        &self,
        request: Request<MakeIssuerLinkRequest>,
    ) -> Result<Response<MakeIssuerLinkResponse>, Status> {
        let (caller, mut request) = opened(request)?;
        let role = caller.may(Action::Write("issuerLinks"), project_of(&request.paper))?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let made = self
            .papers
            .make_link((&caller, role), &write, &request, now_ms())
            .await?;
        let Some((stored, text)) = made else {
            return Ok(Response::new(MakeIssuerLinkResponse::default()));
        };
        let link = v1::IssuerLink::decode(stored.body.clone());
        Ok(Response::new(MakeIssuerLinkResponse {
            name: stored.name,
            path: format!("/issuer/{text}"),
            expire_time: link.ok().and_then(|link| link.expire_time),
        }))
    }

    async fn revoke_issuer_link(
        &self,
        request: Request<RevokeIssuerLinkRequest>,
    ) -> Result<Response<Record>, Status> {
        let (caller, mut request) = opened(request)?;
        let role = caller.may(Action::Write("issuerLinks"), project_of(&request.link))?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        if write.reason.trim().is_empty() {
            let message = "is missing: say why the link is ended";
            return Err(Problem::fields(vec![Violation::new("write.reason", message)]).into());
        }
        let ended = self
            .papers
            .revoke_link((&caller, role), &write, &request.link, now_ms())
            .await?;
        self.answered(Some(&ended))
    }
}

//! A section of the package: when each run was on site.

use jiff::tz::TimeZone;
use obvert_proto::{
    closeout::v1::{SectionBlock, SectionRow, SectionTable, section_block::Block},
    plugin::v1::{
        DescribeRequest, DescribeResponse, WriteSectionRequest, WriteSectionResponse,
        package_section_service_server::PackageSectionService,
    },
};
use tonic::{Request, Response, Status};

use crate::{
    described,
    hours::{SentRun, on_site, runs},
};

/// The writer. It keeps nothing between two questions.
#[derive(Debug, Clone, Copy)]
pub struct HoursOnSite;

#[tonic::async_trait]
impl PackageSectionService for HoursOnSite {
    async fn describe(
        &self,
        _: Request<DescribeRequest>,
    ) -> Result<Response<DescribeResponse>, Status> {
        Ok(Response::new(described::plain()))
    }

    async fn write_section(
        &self,
        request: Request<WriteSectionRequest>,
    ) -> Result<Response<WriteSectionResponse>, Status> {
        let request = request.into_inner();
        let (runs, unread) = runs(&request.segment, request.evidence);
        let rows: Vec<_> = runs.iter().map(row).collect();
        let mut words = match rows.len() {
            0 => "No run of this segment is on file.".to_owned(),
            1 => "1 run; times are UTC, by the reference clock.".to_owned(),
            count => format!("{count} runs; times are UTC, by the reference clock."),
        };
        if !unread.is_empty() {
            words += &format!(" Runs that could not be read: {}.", unread.len());
        }
        let titles = ["Run", "First step began", "Last step ended"];
        let table = SectionTable {
            titles: titles.map(str::to_owned).to_vec(),
            rows,
        };
        let blocks = [Block::Paragraph(words), Block::Table(table)];
        let blocks = blocks
            .into_iter()
            .map(|block| SectionBlock { block: Some(block) });
        Ok(Response::new(WriteSectionResponse {
            segment: request.segment,
            evidence_digest: request.evidence_digest,
            title: "Hours on site".to_owned(),
            blocks: blocks.collect(),
        }))
    }
}

fn row(sent: &SentRun) -> SectionRow {
    let steps = sent.run.steps.iter();
    let times: Vec<_> = steps
        .filter_map(|step| on_site(step, &TimeZone::UTC))
        .collect();
    let shown = |time: Option<&jiff::ZonedDateTime>| {
        time.map_or("not recorded".to_owned(), |time| {
            time.strftime("%Y-%m-%d %H:%M").to_string()
        })
    };
    let name = &sent.record.name;
    let id = name.rsplit('/').next().unwrap_or(name);
    SectionRow {
        cells: vec![
            format!("{id}@{}", sent.record.revision),
            shown(times.iter().map(|(from, _)| from).min()),
            shown(times.iter().map(|(_, to)| to).max()),
        ],
    }
}

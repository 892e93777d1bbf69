//! An owner's check: in rear yards the crew works within the hours that the easements grant.

use std::collections::BTreeMap;

use jiff::{civil::Time, tz::TimeZone};
use obvert_proto::{
    closeout::v1::Verdict,
    common::v1::Finding,
    plugin::v1::{
        DescribeRequest, DescribeResponse, EvaluateRequest, EvaluateResponse,
        evaluator_service_server::EvaluatorService,
    },
};
use tonic::{Request, Response, Status};

use crate::{
    described,
    hours::{SentRun, on_site, runs},
};

/// The check. It keeps nothing between two questions.
#[derive(Debug, Clone, Copy)]
pub struct WorkingHours;

/// Hours of a day in the time zone of the site.
struct Hours {
    begin: Time,
    end: Time,
    zone: TimeZone,
}

#[tonic::async_trait]
impl EvaluatorService for WorkingHours {
    async fn describe(
        &self,
        _: Request<DescribeRequest>,
    ) -> Result<Response<DescribeResponse>, Status> {
        Ok(Response::new(described::with_parameters(&[
            (
                "begin",
                "Time of day before which nobody works, such as 07:00.",
            ),
            (
                "end",
                "Time of day after which nobody works, such as 19:00.",
            ),
            (
                "time_zone",
                "Time zone of the site, such as America/New_York.",
            ),
        ])))
    }

    async fn evaluate(
        &self,
        request: Request<EvaluateRequest>,
    ) -> Result<Response<EvaluateResponse>, Status> {
        let request = request.into_inner();
        let (runs, unread) = runs(&request.segment, request.evidence);
        let mut findings = match Hours::of(&request.parameters) {
            Ok(hours) => judged(&runs, &hours),
            Err(message) => vec![holding("hours-unclear", message)],
        };
        if !unread.is_empty() {
            let message = "a run cannot be read: take a version that knows its form".to_owned();
            findings.push(Finding {
                records: unread,
                ..holding("unreadable-run", message)
            });
        }
        let verdict = if findings.is_empty() {
            Verdict::Released
        } else {
            Verdict::Held
        };
        Ok(Response::new(EvaluateResponse {
            segment: request.segment,
            point: request.point,
            evidence_digest: request.evidence_digest,
            verdict: verdict.into(),
            not_applicable_reason: String::new(),
            findings,
            evidence: runs.into_iter().map(|run| run.record).collect(),
        }))
    }
}

impl Hours {
    fn of(parameters: &BTreeMap<String, String>) -> Result<Self, String> {
        let text = |name: &str| parameters.get(name).map_or("", String::as_str);
        let time = |name: &str| {
            let said = text(name);
            let wrong = |_| format!("{name} is \"{said}\": write a time of day such as 07:00");
            Time::strptime("%H:%M", said).map_err(wrong)
        };
        let zone = TimeZone::get(text("time_zone"));
        Ok(Self {
            begin: time("begin")?,
            end: time("end")?,
            zone: zone.map_err(|_| format!("no time zone is called \"{}\"", text("time_zone")))?,
        })
    }
}

/// What holds: a step out of hours, one without times, a run without steps, or no run at all.
fn judged(runs: &[SentRun], hours: &Hours) -> Vec<Finding> {
    if runs.is_empty() {
        let message = "no run of the segment is on file: file it when the liner is in";
        return vec![holding("missing-run", message.to_owned())];
    }
    let mut findings = Vec::new();
    for SentRun { record, run } in runs {
        if run.steps.is_empty() {
            let message = "the run has no steps: write them with their times".to_owned();
            findings.push(Finding {
                records: vec![record.clone()],
                ..holding("missing-steps", message)
            });
        }
        for step in &run.steps {
            let word = step.step().as_str_name().trim_start_matches("STEP_KIND_");
            let word = word.to_lowercase().replace('_', " ");
            let message = match on_site(step, &hours.zone) {
                None => format!("{word} has no times: write them"),
                Some((from, to)) if is_outside(&from, &to, hours) => format!(
                    "{word} from {} to {}, the easements grant {} to {}: ask the owner for a variance",
                    from.strftime("%Y-%m-%d %H:%M"),
                    to.strftime("%H:%M"),
                    hours.begin.strftime("%H:%M"),
                    hours.end.strftime("%H:%M"),
                ),
                Some(_) => continue,
            };
            findings.push(Finding {
                records: vec![record.clone()],
                ..holding("out-of-hours", message)
            });
        }
    }
    findings
}

fn is_outside(from: &jiff::ZonedDateTime, to: &jiff::ZonedDateTime, hours: &Hours) -> bool {
    from.time() < hours.begin || to.time() > hours.end || from.date() != to.date()
}

fn holding(code: &str, message: String) -> Finding {
    Finding {
        code: code.to_owned(),
        message,
        holds: true,
        ..Finding::default()
    }
}

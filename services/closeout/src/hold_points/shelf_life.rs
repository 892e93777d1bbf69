//! # Holds
//! The liner, when it is past its date or was kept too warm or too cold.
//! # Why
//! Resin ages; an old or overheated liner may not reach its strength, and nobody sees it.
//! # Released when
//! The liner is pulled in, by the date on site, no earlier than it was wet out and no later than
//! its certificate's last day or the maker's signed extension; the last day agrees with the maker's
//! sheet; and the storage temperatures on file lie within the sheet's range. Before pull-in the
//! date of evaluation stands in for it.
//! # Evidence
//! Liner certificate, receiving check, liner movements, maker's sheet, run, extension document.
//! # Parameters
//! `temperature_log`: whether a storage or transport temperature must be on file; true when left
//! out.
//! # Source
//! The maker's certificate and sheet. That storage is dark and cool: German federal guideline for
//! sewers on federal sites, annex, p. 329.

use jiff::{ToSpan, civil::Date};
use obvert_proto::{
    installation::v1::StepKind,
    material::v1::{Liner, LinerCertificate, MakerSheet},
};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind,
    certified_wall::{certificate_of, liners},
    found,
    words::date,
};
use crate::segment_file::{Kept, by_name, step_start_ms};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "shelf-life",
    proves: "the liner was within its date and its storage temperatures when it was pulled in",
    parameters: &[ParameterKind::flag(
        "temperature_log",
        "a temperature must be on file; true",
    )],
    limits: &[],
    evidence: &[
        "liner-certificate",
        "receiving-check",
        "liner-movement",
        "maker-sheet",
        "run",
    ],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    for liner in liners(judging, &mut j) {
        let Some(certificate) = certificate_of(judging, &liner.name) else {
            let what = format!("the maker's certificate of liner {}", liner.number());
            j.missing_about(
                &liner.name,
                "liner-certificate",
                &what,
                "ask the maker for it and file it",
            );
            continue;
        };
        j.uses(certificate);
        let order = j.named(&file.orders, &liner.order, "order");
        let sheet = order
            .and_then(|order| j.named(&file.maker_sheets, &order.maker_sheet, "maker's sheet"));
        age(judging, &mut j, liner, certificate);
        if let Some(sheet) = sheet {
            printed_date(&mut j, certificate, sheet);
            temperatures(judging, &mut j, liner, sheet);
        }
    }
    j.outcome()
}

fn age(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    liner: &Kept<Liner>,
    certificate: &Kept<LinerCertificate>,
) {
    let file = judging.file;
    let wet_out = date(certificate.wet_out_date.as_ref());
    let expiry = date(certificate.expiry_date.as_ref());
    let (Some(wet_out), Some(expiry)) = (wet_out, expiry) else {
        let message = "the certificate does not give both dates: ask the maker";
        j.hold(found("liner-date-missing", message).of(certificate.record()));
        return;
    };
    j.fact(format!("{}.wet_out_date", liner.id()), wet_out);
    j.fact(format!("{}.expiry_date", liner.id()), expiry);
    let last = extension(judging, j, liner).map_or(expiry, |extended| extended.max(expiry));
    for check in file
        .receiving_checks
        .iter()
        .filter(|check| check.liner == liner.name)
    {
        j.uses(check);
        let label = date(check.wet_out_date.as_ref());
        if label.is_some_and(|label| label != wet_out) {
            let message = format!(
                "the label gives {} as the day of making, the certificate {wet_out}: ask the maker",
                label.map_or(String::new(), |label| label.to_string())
            );
            let found = found("wet-out-date-differs", message).of(check.record());
            j.hold(found.of(certificate.record()));
        }
    }
    let mut days = Vec::new();
    for run in file
        .lining_runs()
        .into_iter()
        .filter(|run| run.liner == liner.name)
    {
        j.uses(run);
        match step_start_ms(run, StepKind::PullIn) {
            Some(ms) => days.push(file.local_date(ms)),
            None => j.missing_about(
                &run.name,
                "pull-in-step",
                "the pull-in among the run's steps",
                "revise the run",
            ),
        }
    }
    if days.is_empty() {
        days.push(file.local_date(file.commit_time_ms));
    }
    for day in days {
        if day < wet_out || day > last {
            let message = format!(
                "liner {} may be installed from {wet_out} to {last}, the day is {day}: get the \
                 maker's written extension or another liner",
                liner.serial
            );
            let found = found("liner-past-its-date", message).of(certificate.record());
            j.hold(
                found
                    .of(liner.record())
                    .fact("date", day)
                    .fact("last_date", last),
            );
        }
    }
}

/// Last day of the maker's signed extension, if there is one.
fn extension(judging: &Judging<'_>, j: &mut Judgement<'_>, liner: &Kept<Liner>) -> Option<Date> {
    let moves = judging
        .file
        .movements
        .iter()
        .filter(|m| m.liner == liner.name);
    let papers = moves.filter_map(|m| by_name(&judging.file.documents, &m.extension_document));
    let mut last = None;
    for paper in papers.filter(|paper| !paper.signed_by.is_empty()) {
        let until = date(paper.valid_until_date.as_ref());
        if let Some(until) = until {
            j.uses(paper);
            j.fact(format!("{}.extended_until", liner.id()), until);
            let message = format!(
                "the maker has extended liner {} until {until}",
                liner.serial
            );
            j.note(found("shelf-life-extended", message).of(paper.record()));
        }
        last = last.max(until);
    }
    last
}

fn printed_date(
    j: &mut Judgement<'_>,
    certificate: &Kept<LinerCertificate>,
    sheet: &Kept<MakerSheet>,
) {
    let wet_out = date(certificate.wet_out_date.as_ref());
    let by_sheet = wet_out.and_then(|day| day.checked_add(sheet.shelf_life_days.days()).ok());
    let printed = date(certificate.expiry_date.as_ref());
    if let (Some(by_sheet), Some(printed)) = (by_sheet, printed)
        && printed > by_sheet
    {
        let message = format!(
            "the certificate prints {printed} as last day, {} days by the maker's sheet end on \
             {by_sheet}: ask the maker which holds",
            sheet.shelf_life_days
        );
        let found = found("expiry-beyond-sheet", message).of(certificate.record());
        j.hold(
            found
                .of(sheet.record())
                .fact("printed", printed)
                .fact("by_sheet", by_sheet),
        );
    }
}

fn temperatures(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    liner: &Kept<Liner>,
    sheet: &Kept<MakerSheet>,
) {
    let file = judging.file;
    let mut read = Vec::new();
    for check in file
        .receiving_checks
        .iter()
        .filter(|check| check.liner == liner.name)
    {
        j.uses(check);
        let ends = [check.transport_min_celsius, check.transport_max_celsius];
        read.extend(
            ends.into_iter()
                .flatten()
                .map(|t| ("transport", t, check.record())),
        );
    }
    for movement in file.movements.iter().filter(|m| m.liner == liner.name) {
        j.uses(movement);
        let ends = [movement.storage_min_celsius, movement.storage_max_celsius];
        read.extend(
            ends.into_iter()
                .flatten()
                .map(|t| ("storage", t, movement.record())),
        );
    }
    if read.is_empty() && judging.flag("temperature_log", true) {
        let what = format!(
            "a transport or storage temperature of liner {}",
            liner.number()
        );
        j.missing_about(
            &liner.name,
            "temperature-log",
            &what,
            "read the logger and file the values",
        );
    }
    let (from, to) = (sheet.storage_min_celsius, sheet.storage_max_celsius);
    for (number, (place, celsius, record)) in read.into_iter().enumerate() {
        j.fact(format!("{}.{place}.{number}_celsius", liner.id()), celsius);
        if celsius < from || celsius > to {
            let message = format!(
                "liner {} was at {celsius} celsius in {place}, the maker's sheet allows {from} to \
                 {to}: ask the maker in writing",
                liner.serial
            );
            let found = found("storage-temperature-outside", message)
                .of(record)
                .of(sheet.record());
            j.hold(found.fact("temperature_celsius", celsius));
        }
    }
}

//! How a judgement grows: evidence, facts and findings, and at last the verdict.

use std::{collections::BTreeMap, fmt::Display};

use obvert_proto::{
    closeout::v1::{EvidenceUsed, Verdict},
    common::v1::{Finding, PaperGrade, RecordRef},
    installation::v1::{CureRecord, Run},
};
use obvert_records::{Digest, names, paper::Standing};

use super::{Evaluator, Found, Judging, Outcome, figure, found, paper};
use crate::{
    plan::Operator,
    segment_file::{Evidence, Kept, by_name},
};

/// A judgement in the making.
pub struct Judgement<'a> {
    judging: Judging<'a>,
    findings: Vec<Finding>,
    evidence: BTreeMap<String, EvidenceUsed>,
    facts: BTreeMap<String, String>,
}

impl<'a> Judgement<'a> {
    pub(super) fn new(judging: Judging<'a>) -> Self {
        let (findings, evidence, facts) = Default::default();
        Self {
            judging,
            findings,
            evidence,
            facts,
        }
    }

    /// Counts a record as evidence; paper below the least grade of the point holds.
    pub fn uses<M: Evidence>(&mut self, kept: &Kept<M>) {
        let grade = self.judging.file.grade(&kept.name);
        let used = EvidenceUsed {
            evidence_kind: M::WORD.to_owned(),
            record: Some(kept.record()),
            grade: grade.into(),
        };
        if self.evidence.insert(kept.name.clone(), used).is_some() {
            return;
        }
        if let Some(standing) = self.judging.file.standings.get(&kept.name) {
            self.compared(standing);
            for found in paper::findings(kept, standing, self.judging.point.least_grade) {
                self.hold(found);
            }
        }
    }

    /// Counts a record as evidence that a plug-in names; a paper is held to its grade as any other.
    pub fn rests_on(&mut self, record: &RecordRef) {
        let file = self.judging.file;
        let name = record.name.as_str();
        if let Some(kept) = by_name(&file.documents, name) {
            return self.uses(kept);
        }
        if let Some(kept) = by_name(&file.reports, name) {
            return self.uses(kept);
        }
        if let Some(kept) = by_name(&file.certificates, name) {
            return self.uses(kept);
        }
        if let Some(kept) = by_name(&file.receiving_checks, name) {
            return self.uses(kept);
        }
        let used = EvidenceUsed {
            evidence_kind: kind_word(name),
            record: Some(record.clone()),
            grade: file.grade(name).into(),
        };
        self.evidence.entry(record.name.clone()).or_insert(used);
    }

    /// Counts the comparison behind a paper's grade as evidence.
    fn compared(&mut self, standing: &Standing) {
        if let Some(by) = &standing.by {
            let used = EvidenceUsed {
                evidence_kind: "paper-check".to_owned(),
                record: Some(by.record.clone()),
                grade: PaperGrade::Unspecified.into(),
            };
            self.evidence.insert(by.record.name.clone(), used);
        }
    }

    /// Notes a value that the verdict rests on.
    pub fn fact(&mut self, name: impl Into<String>, value: impl Display) {
        self.facts.insert(name.into(), value.to_string());
    }

    /// Adds a finding that keeps the point held.
    pub fn hold(&mut self, found: Found) {
        self.findings.push(found.holding(true));
    }

    /// Adds a note.
    pub fn note(&mut self, found: Found) {
        self.findings.push(found.holding(false));
    }

    /// Holds because a record of a kind is missing. `what` names what is wanted, `remedy` what to
    /// do.
    pub fn missing(&mut self, kind: &str, what: &str, remedy: &str) {
        let message = format!("{what} is missing: {remedy}");
        self.hold(found(format!("missing-{kind}"), message).fact("evidence_kind", kind));
    }

    /// The same about a record on file, to which the finding leads.
    pub fn missing_about(&mut self, about: &str, kind: &str, what: &str, remedy: &str) {
        self.missing(kind, what, remedy);
        if let Some(last) = self.findings.last_mut() {
            last.records.extend(self.judging.file.reference(about));
        }
    }

    /// Record of a name, used as evidence; held as missing when it is not on file.
    pub fn named<M: Evidence>(
        &mut self,
        kept: &'a [Kept<M>],
        name: &str,
        what: &str,
    ) -> Option<&'a Kept<M>> {
        let record = by_name(kept, name);
        match record {
            Some(record) => self.uses(record),
            None => {
                let what = format!("{what} {}", self.judging.file.number_of(name));
                self.missing(M::WORD, &what, "file the record");
            }
        }
        record
    }

    /// Holds by what a computed check found to hold, and when it holds no result.
    pub fn findings_of<M: Evidence>(&mut self, kept: &Kept<M>, own: &[Finding], computed: bool) {
        if !computed {
            let message = format!("{} has no result: write it again", kept.called());
            self.hold(found("no-result", message).of(kept.record()));
        }
        for finding in own.iter().filter(|finding| finding.holds) {
            let message = format!("{}: {}", kept.called(), finding.message);
            self.hold(found(finding.code.clone(), message).of(kept.record()));
        }
    }

    /// Runs that lined the segment, used as evidence; held as missing when there is none.
    pub fn runs(&mut self) -> Vec<&'a Kept<Run>> {
        let runs = self.judging.file.lining_runs();
        if runs.is_empty() {
            self.missing(
                "run",
                "the run that lines this segment",
                "file it when the liner is in",
            );
        }
        for run in &runs {
            self.uses(run);
        }
        runs
    }

    /// The signed register with every lateral that it names, used as evidence; held as missing what is
    /// not on file.
    pub fn registered_laterals(&mut self) {
        let file = self.judging.file;
        let Some(register) = file.register() else {
            return self.missing(
                "lateral-register",
                "the signed lateral register",
                "sign and file it",
            );
        };
        self.uses(register);
        for name in &register.laterals {
            self.named(&file.laterals, name, "registered lateral");
        }
    }

    /// Cure logs of a run, used as evidence; held as missing when there is none.
    pub fn cure_logs(&mut self, run: &Kept<Run>) -> Vec<&'a Kept<CureRecord>> {
        let logs = self.judging.file.cure_logs_of(&run.name);
        if logs.is_empty() {
            let what = format!("the cure log of run {}", run.number());
            self.missing_about(&run.name, "cure-log", &what, "file the logger's own file");
        }
        for log in &logs {
            self.uses(log);
        }
        logs
    }

    /// Holds when a value is outside a limit of the plan, and counts the value as a fact.
    pub fn within(
        &mut self,
        (code, key): (&str, &str),
        value: f64,
        limit: (&str, Operator),
        (what, remedy): (&str, &str),
        records: &[RecordRef],
    ) -> bool {
        self.fact(key, value);
        let Some(limit) = self.judging.limit(limit) else {
            let message = format!("the plan sets no limit {}: add it to the plan", limit.0);
            self.hold(found("limit-missing", message));
            return false;
        };
        if limit.takes(value) {
            return true;
        }
        let unit = if limit.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", limit.unit)
        };
        let message = format!(
            "{what} is {}{unit}, the plan requires {}: {remedy}",
            figure(value),
            limit.words()
        );
        let found = found(code, message)
            .of_all(records.iter().cloned())
            .fact(limit.parameter.as_str(), value)
            .fact("limit", &limit.value)
            .fact("limit_source", &limit.source);
        self.hold(found);
        false
    }

    /// The larger of a length and a share of a reference, both from the plan, and its words.
    pub fn larger_of(&self, length: &str, percent: &str, reference: f64) -> (f64, String) {
        let limit = |parameter| self.judging.limit((parameter, Operator::AtMost));
        let (Some(length), Some(percent)) = (limit(length), limit(percent)) else {
            return (f64::NAN, "not set in the plan".to_owned());
        };
        let share = percent.number() / 100.0 * reference;
        let taken = if share > length.number() {
            percent
        } else {
            length
        };
        (length.number().max(share), taken.words())
    }

    /// Whether nothing holds so far.
    pub fn is_clear(&self) -> bool {
        !self.findings.iter().any(|finding| finding.holds)
    }

    /// The verdict: held by any holding finding, or by having no evidence at all.
    pub fn outcome(mut self) -> Outcome {
        if self.evidence.is_empty() && self.is_clear() {
            self.missing(
                "evidence",
                "evidence for this point",
                "file the records it asks for",
            );
        }
        let verdict = if self.is_clear() {
            Verdict::Released
        } else {
            Verdict::Held
        };
        self.finished(verdict, String::new())
    }

    /// The point does not apply, for a reason, unless something holds.
    pub fn not_applicable(self, reason: impl Into<String>) -> Outcome {
        if !self.is_clear() || self.evidence.is_empty() {
            return self.outcome();
        }
        self.finished(Verdict::NotApplicable, reason.into())
    }

    fn finished(self, verdict: Verdict, not_applicable_reason: String) -> Outcome {
        let facts_digest = self.digest(verdict);
        let evidence = self.evidence.into_values().collect();
        Outcome {
            verdict,
            not_applicable_reason,
            findings: self.findings,
            evidence,
            facts_digest,
        }
    }

    /// Digest over the verdict, the facts, what holds, and the limits and parameters judged by.
    fn digest(&self, verdict: Verdict) -> [u8; 32] {
        let mut digest = Digest::default().part(verdict.as_str_name().as_bytes());
        let mut add = |key: &str, value: &str| {
            let taken = std::mem::take(&mut digest);
            digest = taken.part(key.as_bytes()).part(value.as_bytes());
        };
        for (key, value) in &self.facts {
            add(key, value);
        }
        for finding in self.findings.iter().filter(|finding| finding.holds) {
            add("finding", &finding.code);
            let mut facts: Vec<_> = finding.facts.iter().collect();
            facts.sort();
            for (key, value) in facts {
                add(key, value);
            }
        }
        let evaluator = Evaluator::of(&self.judging.point.evaluator);
        for limit in evaluator.map_or(&[][..], |evaluator| evaluator.limits) {
            if let Some(limit) = self.judging.limit(*limit) {
                add(
                    &format!("{} {}", limit.parameter, limit.operator.sign()),
                    &limit.value.to_string(),
                );
            }
        }
        for parameter in &self.judging.point.parameters {
            add(&parameter.name, &format!("{:?}", parameter.value));
        }
        digest.finish()
    }
}

/// Kebab-case word for a record's kind, from its collection.
pub(crate) fn kind_word(name: &str) -> String {
    let collection = names::parse(name).map_or("", |parts| parts.collection);
    let mut word = String::new();
    for letter in collection.trim_end_matches('s').chars() {
        if letter.is_ascii_uppercase() {
            word.push('-');
        }
        word.push(letter.to_ascii_lowercase());
    }
    word
}

//! Leak tests, laterals, samples and nonconformances.

use obvert_proto::{
    acceptance::v1::{self, LeakMethod},
    dates::unix_ms,
    installation::v1::{LateralOutcome, ReopeningOutcome, StepKind},
};
use obvert_typeset::segment_sheet::{
    Figure, Lateral, LeakTest, Mark, Nonconformance, Register, Sample, State,
};

use super::{View, cover, register};
use crate::{
    package::{
        figures::{on, percent, plain, with_unit},
        words::{self, counted, is_are, state},
    },
    segment_file::{Kept, by_name, step_start_ms},
};

pub(super) fn leak_tests(view: &View<'_>) -> Vec<LeakTest> {
    let mut tests: Vec<_> = view.file.leak_tests.iter().collect();
    tests.sort_by_key(|test| test.start_time.as_ref().map(unix_ms));
    tests
        .into_iter()
        .map(|test| leak_test(view, test))
        .collect()
}

fn leak_test(view: &View<'_>, test: &Kept<v1::LeakTest>) -> LeakTest {
    let units = view.units;
    let seconds = |s: f64| plain(with_unit(s, 0, "s"));
    let mut figures: Vec<(&str, Figure)> = vec![
        ("Diameter", units.diameter(test.diameter_mm)),
        ("Length between the plugs", units.length(test.length_m)),
    ];
    let mut put =
        |name, figure: Option<Figure>| figures.extend(figure.map(|figure| (name, figure)));
    put(
        "Pressure at the start",
        test.start_pressure_kpa.map(|v| units.pressure(v)),
    );
    put(
        "Pressure at the end",
        test.end_pressure_kpa.map(|v| units.pressure(v)),
    );
    if test.method() == LeakMethod::LowPressureAir {
        put(
            "Groundwater above the invert",
            Some(units.length(test.groundwater_above_invert_m)),
        );
    }
    put(
        "Head inside",
        test.head_m
            .map(|v| on(units.length(v), "above crown or groundwater")),
    );
    put("Time to hold", test.required_time_s.map(seconds));
    put("Time held", Some(seconds(test.timed_s)));
    put("Water lost", test.water_lost_litre.map(|v| units.volume(v)));
    put(
        "Water that may be lost",
        test.allowed_loss_litre.map(|v| units.volume(v)),
    );
    let notes = test
        .findings
        .iter()
        .map(|finding| ("Finding", plain(&*finding.message)));
    figures.extend(notes);
    let times = (
        view.time(test.start_time.as_ref(), "?"),
        view.time(test.end_time.as_ref(), "?"),
    );
    LeakTest {
        number: test.number(),
        record: view.record(test),
        method: words::leak_method(test.method()).to_owned(),
        witnessed: format!("{} to {}, tester {}", times.0, times.1, test.tester),
        figures: figures
            .into_iter()
            .map(|(name, figure)| (name.to_owned(), figure))
            .collect(),
        verdict: leak_verdict(view, test),
    }
}

/// The figures of the test against each other; the plan's point judges the rest.
fn leak_verdict(view: &View<'_>, test: &v1::LeakTest) -> State {
    let units = view.units;
    let judged = |met: bool, text: String| {
        let (word, mark) = if met {
            ("passed", Mark::Met)
        } else {
            ("failed", Mark::Failed)
        };
        state(format!("{word}: {text}"), mark)
    };
    match (
        test.method(),
        test.required_time_s,
        test.water_lost_litre.zip(test.allowed_loss_litre),
    ) {
        (LeakMethod::LowPressureAir, Some(least), _) => {
            let drop = test
                .start_pressure_kpa
                .zip(test.end_pressure_kpa)
                .map(|(a, b)| a - b);
            let drop = drop.map_or("an unknown drop".to_owned(), |kpa| units.pressure(kpa).text);
            let (held, least_text) = (with_unit(test.timed_s, 0, "s"), with_unit(least, 0, "s"));
            let holds = test.findings.iter().any(|finding| finding.holds);
            judged(
                test.timed_s >= least && !holds,
                format!("{drop} lost in {held}, timed at least {least_text}"),
            )
        }
        (LeakMethod::Exfiltration, _, Some((lost, allowed))) => {
            let text = format!(
                "{}, at most {}",
                units.volume(lost).text,
                units.volume(allowed).text
            );
            judged(lost <= allowed + 1e-9, text)
        }
        _ => state("not judged, figures are missing", Mark::Open),
    }
}

pub(super) fn laterals(view: &View<'_>) -> Register<Lateral> {
    let file = view.file;
    let mut all: Vec<_> = file.laterals.iter().collect();
    all.sort_by(|a, b| {
        a.station_m
            .total_cmp(&b.station_m)
            .then_with(|| a.name.cmp(&b.name))
    });
    let outcome = |wanted: ReopeningOutcome| {
        let mut count = 0;
        for lateral in &all {
            count +=
                usize::from(outcome_of(view, &lateral.name).is_some_and(|o| o.outcome() == wanted));
        }
        count
    };
    let open = outcome(ReopeningOutcome::Open);
    let others: String = [
        ReopeningOutcome::LeftClosedByDirection,
        ReopeningOutcome::OwnerAbandoned,
        ReopeningOutcome::NotFound,
    ]
    .into_iter()
    .filter(|wanted| outcome(*wanted) > 0)
    .map(|wanted| format!(", {} {}", outcome(wanted), words::reopening(wanted).word))
    .collect();
    let signed = match file.register() {
        Some(register) => format!(
            "signed by {} on {} with a count of {}",
            register.signed_by,
            view.time(register.signed_time.as_ref(), "no date"),
            register
                .lateral_count
                .map_or("none".to_owned(), |count| count.to_string())
        ),
        None => "not signed by anybody".to_owned(),
    };
    let sentence = format!(
        "{} {} registered, {signed}; {open} {} open{others}.",
        counted(all.len(), "lateral", "laterals"),
        is_are(all.len()),
        is_are(open)
    );
    register(
        sentence,
        all.into_iter().map(|kept| lateral(view, kept)).collect(),
    )
}

fn outcome_of<'a>(view: &View<'a>, lateral: &str) -> Option<&'a Kept<LateralOutcome>> {
    let own = view
        .file
        .outcomes
        .iter()
        .filter(|outcome| outcome.lateral == lateral);
    own.max_by_key(|outcome| outcome.revision)
}

fn lateral(view: &View<'_>, kept: &Kept<obvert_proto::project::v1::Lateral>) -> Lateral {
    let file = view.file;
    let outcome = outcome_of(view, &kept.name);
    let parcel = by_name(&file.parcels, &kept.parcel);
    let run = outcome.and_then(|outcome| by_name(&file.runs, &outcome.run));
    let shut = run.and_then(|run| step_start_ms(run, StepKind::Inflation));
    let records = [
        Some(view.record(kept)),
        outcome.map(|outcome| view.record(outcome)),
    ];
    let flow = outcome.and_then(|outcome| outcome.flow_seen_time.as_ref());
    Lateral {
        id: kept.number(),
        parcel: parcel.map_or("no parcel on record".to_owned(), |p| {
            format!("parcel {}", p.assessor_number)
        }),
        station: on(
            view.units.length(kept.station_m),
            format!("from {}", words::datum(kept.datum())),
        ),
        clock: with_unit(
            kept.clock_h,
            if kept.clock_h.fract() == 0.0 { 0 } else { 1 },
            "h",
        ),
        outcome: outcome.map_or(state("held", Mark::Open), |outcome| {
            words::reopening(outcome.outcome())
        }),
        shut_time: shut.map_or("shut: not recorded".to_owned(), |ms| {
            format!("shut {}", file.local_time(ms))
        }),
        open_time: flow.map_or("no flow recorded".to_owned(), |time| {
            format!("flow {}", file.local_time(unix_ms(time)))
        }),
        opening_percent: outcome
            .and_then(|outcome| outcome.opening_percent)
            .map_or("not measured".to_owned(), |share| percent(share, 0)),
        evidence: records.into_iter().flatten().collect::<Vec<_>>().join(", "),
    }
}

pub(super) fn samples(view: &View<'_>) -> Register<Sample> {
    let rows: Vec<_> = view
        .file
        .samples
        .iter()
        .map(|kept| sample(view, kept))
        .collect();
    let tested = rows
        .iter()
        .filter(|row| row.purpose.starts_with("tested"))
        .count();
    let count = counted(rows.len(), "sample", "samples");
    let tested = match (tested, rows.len()) {
        (_, 0) => "",
        (0, _) => ", none tested",
        (tested, all) if tested == all => ", tested",
        (tested, _) => &format!(", {tested} tested"),
    };
    register(format!("{count} on file{tested}."), rows)
}

fn sample(view: &View<'_>, kept: &Kept<v1::Sample>) -> Sample {
    let reports = view
        .file
        .reports
        .iter()
        .filter(|report| report.sample == kept.name);
    let reports: Vec<_> = reports.map(|report| view.record(report)).collect();
    let step = |step: &v1::CustodyStep| {
        let condition = words::or(&step.condition, "condition not noted");
        format!(
            "{}: {}, {condition}",
            view.time(step.custody_time.as_ref(), "no time"),
            step.received_by
        )
    };
    let times: Vec<_> = std::iter::once(kept.cut_time.as_ref())
        .chain(kept.custody.iter().map(|step| step.custody_time.as_ref()))
        .map(|time| time.map(unix_ms))
        .collect();
    let in_order = times
        .windows(2)
        .all(|pair| pair[0].is_some() && pair[0] <= pair[1]);
    let run = view.file.number_of(&kept.run);
    Sample {
        id: kept.sample_number.clone(),
        taken: format!(
            "run {run}, {}, {}, cut {}",
            kept.manhole,
            words::sample_method(kept.method()),
            view.time(kept.cut_time.as_ref(), "at no noted time")
        ),
        purpose: match reports.as_slice() {
            [] => "kept, no report on file".to_owned(),
            reports => format!("tested: {}", reports.join(", ")),
        },
        custody: kept.custody.iter().map(step).collect(),
        state: if in_order {
            state("hand-overs in order of time", Mark::Met)
        } else {
            state("hand-overs out of order", Mark::Failed)
        },
    }
}

pub(super) fn nonconformances(view: &View<'_>) -> Register<Nonconformance> {
    let all = &view.file.nonconformances;
    let rows = all.iter().map(|kept| nonconformance(view, kept)).collect();
    let words = match all.len() {
        // The document says so itself.
        0 => String::new(),
        _ => format!("On file: {}.", cover::nonconformances(view).0),
    };
    register(words, rows)
}

fn nonconformance(view: &View<'_>, kept: &Kept<v1::Nonconformance>) -> Nonconformance {
    let short = |name: &String| name.splitn(3, '/').nth(2).unwrap_or(name).to_owned();
    let proof = kept
        .retest_records
        .iter()
        .map(short)
        .collect::<Vec<_>>()
        .join(", ");
    let decided = match kept.disposed_time.as_ref() {
        Some(time) => format!(
            "{}, by {} on {}: {}",
            words::disposition(kept.disposition()),
            kept.disposed_by,
            view.time(Some(time), ""),
            kept.justification
        ),
        None => words::disposition(kept.disposition()).to_owned(),
    };
    Nonconformance {
        record: view.record(kept),
        found: format!(
            "{} ({}, {}, against {})",
            kept.description,
            view.time(kept.found_time.as_ref(), "no time"),
            kept.found_by,
            kept.rule_source
        ),
        holds_from_step: words::or(&kept.holds_from_step, "the next irreversible step"),
        disposition: decided,
        proof: words::or(&proof, "none named"),
        state: match kept.close_time.as_ref() {
            Some(time) => state(format!("closed {}", view.time(Some(time), "")), Mark::Met),
            None => state("open", Mark::Open),
        },
    }
}

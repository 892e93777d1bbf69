//! The table from design to pipe: one row each for identity, thickness, length, diameter and dates.

use obvert_proto::installation::v1::StepKind;
use obvert_typeset::segment_sheet::{Figure, Heart, HeartCell, HeartRow, Mark, Statement};

use super::{
    View,
    chain::{Chain, chains},
    statements,
};
use crate::{
    package::{
        figures::{after, on, plain},
        words::{self, counted},
    },
    segment_file::{Evidence, Kept, diameters_mm, step_start_ms},
};

pub(in crate::package) fn heart(view: &View<'_>) -> Heart {
    let chains = chains(view.file);
    let several = chains.len() > 1;
    let mut heart = Heart::default();
    for chain in &chains {
        let said = statements::of(view, chain);
        let suffix = chain
            .run
            .filter(|_| several)
            .map(|run| format!(", run {}", run.number()));
        let rows = [
            identity(view, chain),
            thickness(view, chain),
            length(view, chain),
            diameter(view, chain),
            dates(view, chain),
        ];
        for mut row in rows {
            mark(&mut row, &said);
            row.title.push_str(suffix.as_deref().unwrap_or_default());
            heart.rows.push(row);
        }
        heart.statements.extend(said);
    }
    let rank = |statement: &Statement| match statement.mark {
        Mark::Failed => 0,
        Mark::Open | Mark::Varied => 1,
        Mark::NotApplicable => 2,
        Mark::Met => 3,
    };
    heart.statements.sort_by_key(rank);
    heart
}

/// Marks the cells of a row whose record a disagreement of the row names.
fn mark(row: &mut HeartRow, said: &[Statement]) {
    let title = format!("{}:", row.title);
    let disagreements: Vec<_> = said
        .iter()
        .filter(|s| s.mark == Mark::Failed && s.text.starts_with(&title))
        .collect();
    let cells = [
        &mut row.design,
        &mut row.ordered,
        &mut row.certified,
        &mut row.received,
        &mut row.installed,
        &mut row.cure_log,
        &mut row.measured,
    ];
    for cell in cells.into_iter().flatten() {
        let named = format!("({})", cell.record);
        cell.disagrees = disagreements.iter().any(|s| s.text.contains(&named));
    }
}

/// One cell. What is no paper says under which role it was recorded.
fn cell<M: Evidence>(view: &View<'_>, figure: Figure, kept: &Kept<M>) -> Option<HeartCell> {
    use obvert_proto::common::v1::PaperGrade::Unspecified;
    let grade = match view.file.grade(&kept.name) {
        Unspecified => format!("recorded by {}", kept.role),
        grade => words::grade(grade).to_owned(),
    };
    Some(HeartCell {
        figure,
        record: view.record(kept),
        grade,
        disagrees: false,
    })
}

pub(super) fn identity(view: &View<'_>, chain: &Chain<'_>) -> HeartRow {
    let sheet = |order: &obvert_proto::material::v1::LinerOrder| {
        crate::segment_file::by_name(&view.file.maker_sheets, &order.maker_sheet)
            .filter(|sheet| !sheet.designation.is_empty())
            .map_or(String::new(), |sheet| format!("{}, ", sheet.designation))
    };
    HeartRow {
        title: "Identity".to_owned(),
        basis: Some("serial of the liner as each record gives it".to_owned()),
        design: view.file.design().and_then(|design| {
            cell(
                view,
                plain(format!("segment {}", view.owner_segment_id())),
                design,
            )
        }),
        ordered: chain.order.and_then(|order| {
            let parts = order
                .segments
                .iter()
                .map(|s| view.file.number_of(&s.segment));
            let parts = parts.collect::<Vec<_>>().join(", ");
            cell(view, plain(format!("{}for {parts}", sheet(order))), order)
        }),
        certified: chain
            .certificate
            .and_then(|c| cell(view, on(plain(&*c.serial), &*c.designation), c)),
        received: chain
            .receiving
            .and_then(|r| cell(view, on(plain(&*r.label_serial), "label of the crate"), r)),
        installed: chain.run.and_then(|run| {
            cell(
                view,
                on(plain(&*run.serial_at_pull_in), "read at pull-in"),
                run,
            )
        }),
        cure_log: chain.log.and_then(|log| {
            let serial = log
                .header
                .as_ref()
                .map_or("", |header| &header.liner_serial);
            cell(
                view,
                on(
                    plain(words::or(serial, "none in the header")),
                    "header of the log",
                ),
                log,
            )
        }),
        measured: chain.sample.and_then(|sample| {
            let basis = format!("sample {}", sample.sample_number);
            cell(view, on(plain(&*sample.liner_serial), basis), sample)
        }),
    }
}

pub(super) fn thickness(view: &View<'_>, chain: &Chain<'_>) -> HeartRow {
    let decimals = statements::wall_decimals(view, chain);
    let in_mm = |mm| view.units.wall_to(mm, decimals);
    let design = view.file.design();
    let wanted = statements::design_basis(view);
    let wall = |wall: Option<&obvert_proto::common::v1::Thickness>| {
        wall.map_or(Figure::default(), |wall| {
            let figure = in_mm(wall.wall_thickness_mm);
            if wall.basis() == wanted {
                figure
            } else {
                on(figure, wall.basis().word())
            }
        })
    };
    let band = chain
        .log
        .and_then(|log| view.logs.iter().find(|drawn| drawn.record == log.name));
    let band = band.and_then(|drawn| drawn.band.as_ref());
    HeartRow {
        title: "Thickness".to_owned(),
        basis: Some(format!("{}, unless said", wanted.word())),
        design: design.and_then(|design| {
            let required = design.result.as_ref()?.required_wall_thickness_mm;
            cell(view, after("at least", in_mm(required)), design)
        }),
        ordered: chain
            .order
            .and_then(|order| cell(view, wall(order.wall.as_ref()), order)),
        certified: chain
            .certificate
            .and_then(|c| cell(view, wall(c.wall.as_ref()), c)),
        received: chain
            .receiving
            .and_then(|r| cell(view, wall(r.wall.as_ref()), r)),
        installed: None,
        cure_log: band.and_then(|(sheet, band)| {
            cell(
                view,
                on(in_mm(band.wall_class_mm), "wall class of the tolerance"),
                sheet,
            )
        }),
        measured: chain.report.and_then(|report| {
            let mean = in_mm(statements::mean(&report.wall_readings_mm));
            let readings = counted(report.wall_readings_mm.len(), "reading", "readings");
            let mut basis = format!("mean of {readings}");
            if report.thickness_basis() != wanted {
                basis = format!("{basis}, {}", report.thickness_basis().word());
            }
            cell(view, on(mean, basis), report)
        }),
    }
}

fn length(view: &View<'_>, chain: &Chain<'_>) -> HeartRow {
    let units = view.units;
    let file = view.file;
    let end_to_end = |m: f64| on(units.length(m), "end to end of the liner");
    HeartRow {
        title: "Length".to_owned(),
        basis: Some("each with its two ends; a liner is longer than the pipe".to_owned()),
        design: match (file.field_survey(), file.segment()) {
            (Some(survey), _) => {
                let length = units.length(survey.length_wall_to_wall_m);
                cell(view, on(length, "wall to wall, field survey"), survey)
            }
            (None, Some(segment)) => cell(
                view,
                on(units.length(segment.length_wall_to_wall_m), "wall to wall"),
                segment,
            ),
            (None, None) => None,
        },
        ordered: chain
            .order
            .and_then(|o| cell(view, end_to_end(o.ordered_length_m), o)),
        certified: chain
            .certificate
            .and_then(|c| cell(view, end_to_end(c.length_m), c)),
        received: chain
            .receiving
            .and_then(|r| cell(view, end_to_end(r.length_m), r)),
        installed: chain.run.and_then(|run| {
            let total = statements::run_length_m(view, run)?;
            cell(
                view,
                on(units.length(total), "segments, manholes between, both ends"),
                run,
            )
        }),
        cure_log: chain.log.and_then(|log| {
            let length = log.figures.as_ref()?.logged_length_m;
            cell(
                view,
                on(units.length(length), "travelled with lamps on"),
                log,
            )
        }),
        measured: file.last_post_survey().and_then(|survey| {
            let from = words::datum(survey.datum());
            let basis = format!("camera's counter, from {from}");
            cell(
                view,
                on(units.length(survey.surveyed_length_m), basis),
                survey,
            )
        }),
    }
}

fn diameter(view: &View<'_>, chain: &Chain<'_>) -> HeartRow {
    let units = view.units;
    let nominal = |mm: f64| on(units.diameter(mm), "nominal");
    HeartRow {
        title: "Diameter".to_owned(),
        basis: Some("inside the host pipe, unless nominal".to_owned()),
        design: view.file.design().and_then(|design| {
            let inputs = design.inputs.as_ref()?;
            cell(
                view,
                on(
                    units.diameter(inputs.host_inside_diameter_mm),
                    "mean of the host",
                ),
                design,
            )
        }),
        ordered: chain.order.and_then(|order| {
            let fits = units.diameters(order.host_diameter_min_mm, order.host_diameter_max_mm);
            let basis = format!(
                "hosts that it fits; nominal {}",
                units.diameter(order.nominal_diameter_mm).text
            );
            cell(view, on(fits, basis), order)
        }),
        certified: chain
            .certificate
            .and_then(|c| cell(view, nominal(c.nominal_diameter_mm), c)),
        received: chain
            .receiving
            .and_then(|r| cell(view, nominal(r.nominal_diameter_mm), r)),
        installed: None,
        cure_log: None,
        measured: view.file.field_survey().and_then(|survey| {
            let (least, most) = diameters_mm(survey);
            cell(
                view,
                on(units.diameters(least, most), "host before lining"),
                survey,
            )
        }),
    }
}

pub(super) fn dates(view: &View<'_>, chain: &Chain<'_>) -> HeartRow {
    let file = view.file;
    let unsaid = "not said";
    HeartRow {
        title: "Dates".to_owned(),
        basis: Some("local dates".to_owned()),
        design: file.design().and_then(|design| {
            let sealed = words::date(design.sealed_date.as_ref(), "not sealed");
            cell(view, on(plain(sealed), "sealed"), design)
        }),
        ordered: chain.order.and_then(|order| {
            cell(
                view,
                on(
                    plain(words::date(order.order_date.as_ref(), unsaid)),
                    "ordered",
                ),
                order,
            )
        }),
        certified: chain.certificate.and_then(|c| {
            let expiry = words::date(c.expiry_date.as_ref(), unsaid);
            let made = plain(words::date(c.wet_out_date.as_ref(), unsaid));
            cell(view, on(made, format!("wet out; install by {expiry}")), c)
        }),
        received: chain.receiving.and_then(|check| {
            let time = plain(view.time(check.received_time.as_ref(), unsaid));
            let made = words::date(check.wet_out_date.as_ref(), unsaid);
            cell(
                view,
                on(time, format!("received; label says wet out {made}")),
                check,
            )
        }),
        installed: chain.run.and_then(|run| {
            let start = step_start_ms(run, StepKind::PullIn);
            let start = start.map_or(unsaid.to_owned(), |ms| file.local_time(ms));
            cell(view, on(plain(start), "pull-in"), run)
        }),
        cure_log: chain.log.and_then(|log| {
            let figures = log.figures.as_ref()?;
            let first = view.time(figures.first_lamp_time.as_ref(), "no lamp lit");
            let last = view.time(figures.last_lamp_time.as_ref(), "no lamp lit");
            cell(
                view,
                on(plain(first), format!("first lamp on; last lamp off {last}")),
                log,
            )
        }),
        measured: chain.report.and_then(|report| {
            let signed = words::date(report.reported_date.as_ref(), unsaid);
            let tested = words::date(report.tested_date.as_ref(), unsaid);
            cell(
                view,
                on(plain(signed), format!("report signed; tested {tested}")),
                report,
            )
        }),
    }
}

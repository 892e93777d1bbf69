//! The laboratory's table: one row for each specimen, grouped by report, and the report that is late.

use std::io;

use crate::{
    acceptance::sample_number,
    design::{MODULUS_MPA, STRENGTH_MPA},
    dice::Dice,
    folder::{Column, Folder},
    mistake::Mistake,
    site::{Pipe, Site},
    when::{later, us_date},
};

/// Specimens of one report.
const SPECIMENS: usize = 5;
/// Readings round the circumference.
const READINGS: usize = 8;
/// Films on a wall that was measured with them, mm.
const FILMS_MM: f64 = 0.9;

const HEAD: &str = "collection = \"laboratoryReports\"\ndate_form = \"mm/dd/yyyy\"\n\n\
    [id]\ncolumn = \"REPORT\"\n\n[group]\nby = \"REPORT\"\nrepeated = \"specimens\"\n\n\
    [[fixed]]\nfield = \"laboratory\"\nvalue = \"Fernmoss Materials Laboratory\"\n\n\
    [[fixed]]\nfield = \"accreditation_number\"\nvalue = \"invented-2231\"\n\n\
    [[fixed]]\nfield = \"method\"\nvalue = \"three-point bending of curved specimens, ISO 178:2019\"\n";

const COLUMNS: [Column; 17] = [
    Column {
        head: "REPORT",
        entry: "field = \"report_number\"",
    },
    Column {
        head: "JOB_SAMPLE",
        entry: "field = \"sample\"",
    },
    Column {
        head: "SAMPLE_AS_PRINTED",
        entry: "field = \"sample_number_in_report\"",
    },
    Column {
        head: "LINER",
        entry: "field = \"liner_serial_in_report\"",
    },
    Column {
        head: "RECEIVED",
        entry: "field = \"received_date\"",
    },
    Column {
        head: "TESTED",
        entry: "field = \"tested_date\"",
    },
    Column {
        head: "SIGNED",
        entry: "field = \"reported_date\"",
    },
    Column {
        head: "SPECIMEN",
        entry: "field = \"specimens.specimen_number\"",
    },
    Column {
        head: "HOOP",
        entry: "field = \"specimens.hoop_direction\"",
    },
    Column {
        head: "WIDTH_MM",
        entry: "field = \"specimens.width_mm\"\nunit = \"mm\"",
    },
    Column {
        head: "DEPTH_MM",
        entry: "field = \"specimens.depth_mm\"\nunit = \"mm\"",
    },
    Column {
        head: "E_MPA",
        entry: "field = \"specimens.flexural_modulus_mpa\"\nunit = \"MPa\"",
    },
    Column {
        head: "STRENGTH_MPA",
        entry: "field = \"specimens.flexural_strength_mpa\"\nunit = \"MPa\"",
    },
    Column {
        head: "WALL_MM",
        entry: "field = \"wall_readings_mm\"\nunit = \"mm\"\nlist = \";\"",
    },
    Column {
        head: "WALL_COUNTS",
        entry: "field = \"thickness_basis\"\nwords = { composite = \"THICKNESS_BASIS_COMPOSITE\", \
                \"with films\" = \"THICKNESS_BASIS_TOTAL_WITH_FILMS\" }",
    },
    Column {
        head: "LAMINATE",
        entry: "field = \"laminate_tight\"\nwords = { tight = \"true\", leaky = \"false\" }",
    },
    Column {
        head: "SHEET",
        entry: "field = \"attachments\"",
    },
];

/// Number of the report on a pipe.
pub(crate) fn report_number(pipe: &Pipe) -> String {
    format!("FM-25-{}", pipe.id.trim_start_matches("q-"))
}

/// Writes the reports that came, and the one that is late, each with its column map.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let rows = |late: bool| {
        let pipes = site.pipes.iter().enumerate();
        // A sample that was lost is never tested.
        let tested = pipes.filter(|(_, pipe)| !pipe.has(Mistake::UntestedBatch));
        let wanted = tested.filter(move |(_, pipe)| pipe.has(Mistake::MissingReport) == late);
        wanted
            .flat_map(|(place, _)| report(site, place))
            .collect::<Vec<_>>()
    };
    folder.table("laboratory", HEAD, &COLUMNS, &rows(false))?;
    folder.table("late/laboratory", HEAD, &COLUMNS, &rows(true))
}

/// What the laboratory's own sheet of a report says, a row for each value.
pub(crate) fn sheet(site: &Site, place: usize) -> String {
    let heads = COLUMNS.iter().map(|column| column.head);
    let rows = report(site, place).into_iter().enumerate();
    let told = rows.flat_map(|(number, row)| {
        let own = |head: &str| {
            matches!(
                head,
                "SPECIMEN" | "HOOP" | "WIDTH_MM" | "DEPTH_MM" | "E_MPA" | "STRENGTH_MPA"
            )
        };
        let kept = heads.clone().zip(row);
        // What is the same for all specimens stands once.
        kept.filter(move |(head, _)| number == 0 || own(head))
            .map(|(head, value)| format!("{head:<18} {value}\n"))
            .collect::<Vec<_>>()
    });
    told.collect()
}

fn report(site: &Site, place: usize) -> Vec<Vec<String>> {
    let pipe = &site.pipes[place];
    let (run, in_run) = site.run_of(place);
    let liner = site.liner_of(run);
    let with_films = pipe.has(Mistake::WallBasis);
    let mut dice = Dice::of(site.seed, &format!("report {}", pipe.id));
    let films = if with_films { FILMS_MM } else { 0.0 };
    let mean_mm = liner.wall_mm + 0.28 + films;
    let walls: Vec<_> = (0..READINGS)
        .map(|_| format!("{:.2}", dice.scattered(mean_mm, 0.08)))
        .collect();
    let sample = sample_number(pipe);
    let printed = match pipe.has(Mistake::UntracedSample) {
        true => run.manholes[in_run + 1].clone(),
        false => sample.clone(),
    };
    let swapped = pipe.has(Mistake::SwappedLiner);
    let serial = if swapped {
        String::new()
    } else {
        liner.serial.clone()
    };
    let broke_at = if pipe.has(Mistake::WeakLaminate) {
        0.8
    } else {
        1.0
    };
    let specimen = |number: usize| {
        let e = dice.scattered(MODULUS_MPA * 1.1, 380.0);
        // Stiff specimens are strong ones as a rule.
        let strength = broke_at * STRENGTH_MPA * 1.17 * (e / (MODULUS_MPA * 1.1)).sqrt();
        vec![
            report_number(pipe),
            sample.clone(),
            printed.clone(),
            serial.clone(),
            us_date(later(run.date, 1)),
            us_date(later(run.date, 8)),
            us_date(later(run.date, 12)),
            number.to_string(),
            "yes".to_owned(),
            format!("{:.2}", dice.scattered(50.0, 0.15)),
            format!("{:.2}", dice.scattered(liner.wall_mm + 0.25, 0.07)),
            format!("{e:.0}"),
            format!("{:.1}", dice.scattered(strength, 7.0)),
            walls.join(";"),
            if with_films {
                "with films"
            } else {
                "composite"
            }
            .to_owned(),
            "tight".to_owned(),
            format!("sheet-{}", report_number(pipe)).to_lowercase(),
        ]
    };
    (1..=SPECIMENS).map(specimen).collect()
}

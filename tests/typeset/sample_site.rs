//! Invented results of laboratory and site.

use obvert_typeset::segment_sheet::{
    LaboratoryReport, LaboratoryResult, Lateral, LeakTest, Mark, Nonconformance, Register, Sample,
    Specimens, State,
};

use super::sample::{figure, state};

pub(crate) fn laboratory_report() -> LaboratoryReport {
    let row = |n: &str, thickness: &str, modulus: &str, strength: &str| {
        vec![
            n.to_owned(),
            thickness.to_owned(),
            modulus.to_owned(),
            strength.to_owned(),
        ]
    };
    LaboratoryReport {
        record: "reports/lr-0091@131".into(),
        laboratory: "Fernmoss Materials Laboratory, report F-26-0444 of 2026-05-20, \
                     accreditation 00-000 (invented)"
            .into(),
        sample: "sa-0091, cut in MQ-115, restrained".into(),
        method: "Three-point bending, hoop direction, five specimens".into(),
        grade: "checked by second role".into(),
        specimens: Some(Specimens {
            columns: ["Specimen", "Thickness, mm", "Modulus, MPa", "Strength, MPa"]
                .map(String::from)
                .to_vec(),
            rows: vec![
                row("1", "5.91", "12,310", "212"),
                row("2", "5.98", "12,050", "205"),
                row("3", "5.90", "11,870", "209"),
                row("4", "6.02", "12,440", "216"),
                row("5", "5.89", "12,140", "208"),
            ],
        }),
        results: vec![
            LaboratoryResult {
                property: "Flexural modulus, short term".into(),
                mean: figure("12,162 MPa", "1,764,000 psi", ""),
                sample_deviation: "221 MPa, n = 5".into(),
                design_value: figure("12,000 MPa", "1,740,000 psi", ""),
                against_design: state("met", Mark::Met),
                standard_floor: figure(
                    "1,724 MPa",
                    "250,000 psi",
                    "ASTM F1216, table 1, from memory",
                ),
                against_floor: state("met", Mark::Met),
            },
            LaboratoryResult {
                property: "Flexural strength".into(),
                mean: figure("210 MPa", "30,500 psi", ""),
                sample_deviation: "4.2 MPa, n = 5".into(),
                design_value: figure("215 MPa", "31,200 psi", ""),
                against_design: state("not met", Mark::Failed),
                standard_floor: figure("31 MPa", "4,500 psi", "ASTM F1216, table 1, from memory"),
                against_floor: state("met", Mark::Met),
            },
        ],
    }
}

pub(crate) fn leak_test() -> LeakTest {
    LeakTest {
        number: "LT-014".into(),
        record: "leakTests/lt-014@107".into(),
        method: "Water between plugs, before laterals were opened; limit of the owner".into(),
        witnessed: "2026-05-04 11:10 to 12:10, Sef Marlowick, inspector".into(),
        figures: vec![
            (
                "Head at the upper end".into(),
                figure("1.20 m", "3.9 ft", "above the crown"),
            ),
            ("Duration".into(), figure("60 min", "", "")),
            ("Loss".into(), figure("0.41 L/h", "0.11 gal/h", "")),
            (
                "Limit".into(),
                figure("3.58 L/h", "0.95 gal/h", "plans/marrowby-2026@12"),
            ),
        ],
        verdict: state("passed: 0.41 L/h, at most 3.58 L/h", Mark::Met),
    }
}

pub(crate) fn laterals() -> Register<Lateral> {
    let lateral = |n: u32, station: &str, us: &str, clock: &str, outcome: State| Lateral {
        id: format!("la-014-{n}"),
        parcel: format!("parcel 7-{}", 40 + 2 * n),
        station: figure(station, us, "inside wall MQ-114"),
        clock: clock.into(),
        outcome,
        shut_time: "05-04 08:31".into(),
        open_time: format!("05-04 13:{:02}", 5 * n),
        opening_percent: format!("{} %", 95 + n % 4),
        evidence: format!("laterals/la-014-{n}@{}", 110 + n),
    };
    let open = || state("open", Mark::Met);
    Register {
        count_in_words: "6 laterals are registered, counted and signed by Sef Marlowick on \
                         2026-04-30; 4 are open, 1 is left closed, 1 is held."
            .into(),
        rows: vec![
            lateral(1, "6.40 m", "21.0 ft", "10 h", open()),
            lateral(2, "19.85 m", "65.1 ft", "2 h", open()),
            lateral(3, "33.10 m", "108.6 ft", "10 h", open()),
            Lateral {
                open_time: "not opened".into(),
                opening_percent: "none".into(),
                ..lateral(
                    4,
                    "47.72 m",
                    "156.6 ft",
                    "2 h",
                    state("left closed by written direction", Mark::Varied),
                )
            },
            Lateral {
                opening_percent: "88 %".into(),
                ..lateral(5, "61.03 m", "200.2 ft", "10 h", state("held", Mark::Open))
            },
            lateral(6, "80.66 m", "264.6 ft", "3 h", open()),
        ],
    }
}

pub(crate) fn samples() -> Register<Sample> {
    let sample = |id: &str, purpose: &str, custody: &[&str]| Sample {
        id: id.into(),
        taken: "run r-0047, MQ-115, restrained, axis marked".into(),
        purpose: purpose.into(),
        custody: custody.iter().map(|step| (*step).to_owned()).collect(),
        state: state("custody unbroken", Mark::Met),
    };
    Register {
        count_in_words: "2 samples were cut; 1 was tested, 1 is kept by the owner.".into(),
        rows: vec![
            sample(
                "sa-0091",
                "tested",
                &[
                    "cut by Copperbeck Utilities, 2026-05-04 12:40",
                    "to Fernmoss Materials Laboratory, 2026-05-06 09:15",
                ],
            ),
            sample(
                "sa-0092",
                "retained for the owner",
                &[
                    "cut by Copperbeck Utilities, 2026-05-04 12:44",
                    "to Marrowby Sanitary District, 2026-05-05 07:50",
                ],
            ),
        ],
    }
}

pub(crate) fn nonconformances() -> Register<Nonconformance> {
    Register {
        count_in_words: "2 nonconformances are recorded: n-0009 is closed, n-0012 is open.".into(),
        rows: vec![
            Nonconformance {
                record: "nonconformances/n-0009@66".into(),
                found: "Delivery note states 94.60 m, certificate 95.20 m; found on 2026-04-27."
                    .into(),
                holds_from_step: "release to crew".into(),
                disposition: "Use as is, Ruan Ashgill, owner.".into(),
                proof: "documents/remeasure-00918@62".into(),
                state: state("closed", Mark::Met),
            },
            Nonconformance {
                record: "nonconformances/n-0012@117".into(),
                found: "Opening of la-014-5 is 88 %, the plan asks for at least 95 %.".into(),
                holds_from_step: "acceptance".into(),
                disposition: "none yet".into(),
                proof: "none yet".into(),
                state: state("open", Mark::Open),
            },
        ],
    }
}

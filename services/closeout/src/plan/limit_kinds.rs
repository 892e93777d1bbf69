//! The limits that a plan can set: what each one bounds, in which unit, and between which values.

use super::Operator::{self, AtLeast, AtMost, Equal};

/// One limit that evaluators know.
#[derive(Debug, Clone, Copy)]
pub struct LimitKind {
    /// Parameter with its unit last.
    pub parameter: &'static str,
    /// Operators it may come with; each is a limit of its own.
    pub operators: &'static [Operator],
    /// Unit; empty for a word or a count.
    pub unit: &'static str,
    /// Least value that makes sense.
    pub min: f64,
    /// Greatest value that makes sense.
    pub max: f64,
    /// Words it may be, where it is no number.
    pub words: &'static [&'static str],
    /// What its value counts, where that could be doubted, as a plan may say it; evaluators judge on
    /// this basis and no other.
    pub basis: &'static str,
    /// What it bounds.
    pub meaning: &'static str,
}

const fn number(
    parameter: &'static str,
    operators: &'static [Operator],
    unit: &'static str,
    (min, max): (f64, f64),
    meaning: &'static str,
) -> LimitKind {
    LimitKind {
        parameter,
        operators,
        unit,
        min,
        max,
        words: &[],
        basis: "",
        meaning,
    }
}

const MIN: &[Operator] = &[AtLeast];
const MAX: &[Operator] = &[AtMost];
const BOTH: &[Operator] = &[AtLeast, AtMost];

/// Every limit, in the order of the work.
pub const LIMIT_KINDS: &[LimitKind] = &[
    LimitKind {
        basis: "wall to wall",
        ..number(
            "survey_length_difference_percent",
            MAX,
            "percent",
            (0.0, 20.0),
            "measured length of the segment against its register",
        )
    },
    number(
        "design_diameter_difference_percent",
        MAX,
        "percent",
        (0.0, 20.0),
        "diameter of the design against the mean of the field survey",
    ),
    number(
        "notice_before_outage_h",
        BOTH,
        "h",
        (0.0, 2000.0),
        "time from the handing over of a notice to the outage",
    ),
    number(
        "ready_to_line_age_h",
        MAX,
        "h",
        (0.0, 2000.0),
        "time from the ready-to-line survey to the start of pull-in",
    ),
    number(
        "cure_log_length_m",
        MAX,
        "m",
        (0.0, 50.0),
        "logged length against the run, as a length; the larger of this and the percentage counts",
    ),
    number(
        "cure_log_length_percent",
        MAX,
        "percent",
        (0.0, 20.0),
        "logged length against the run, as a share of the run",
    ),
    number(
        "laboratory_report_due_days",
        MAX,
        "days",
        (1.0, 365.0),
        "days from pull-in to the signed laboratory report",
    ),
    number(
        "flexural_modulus_mpa",
        MIN,
        "MPa",
        (10.0, 60_000.0),
        "mean initial flexural modulus, besides the value of the design",
    ),
    number(
        "flexural_strength_mpa",
        MIN,
        "MPa",
        (1.0, 2000.0),
        "mean initial flexural strength, besides the value of the design",
    ),
    number(
        "specimen_count",
        MIN,
        "",
        (1.0, 100.0),
        "specimens of one flexure test",
    ),
    LimitKind {
        parameter: "wall_rule",
        operators: &[Equal],
        unit: "",
        min: 0.0,
        max: 0.0,
        words: &[
            "mean-of-readings",
            "point-at-87.5-percent",
            "five-percent-of-ordered",
            "iso",
        ],
        basis: "the basis of the design",
        meaning: "how readings of the finished wall are judged",
    },
    number(
        "length_per_report_m",
        MAX,
        "m",
        (1.0, 100_000.0),
        "liner of one batch that one laboratory report may stand for",
    ),
    LimitKind {
        basis: "wall to wall",
        ..number(
            "leak_test_length_difference_percent",
            MAX,
            "percent",
            (0.0, 50.0),
            "length between the plugs against the segment",
        )
    },
    number(
        "air_test_drop_kpa",
        MAX,
        "kPa",
        (0.1, 20.0),
        "fall of pressure in the timed air test",
    ),
    number(
        "lateral_opening_percent",
        BOTH,
        "percent",
        (0.0, 130.0),
        "free share of a lateral's opening",
    ),
    number(
        "lateral_outage_h",
        MAX,
        "h",
        (0.5, 500.0),
        "time from inflation to flow seen in a lateral",
    ),
    number(
        "station_residual_m",
        MAX,
        "m",
        (0.01, 5.0),
        "station of a lateral after lining against the register, offset and scale taken out",
    ),
    number(
        "clock_residual_h",
        MAX,
        "h",
        (0.1, 6.0),
        "clock position of a lateral after lining against the register",
    ),
    number(
        "station_offset_m",
        MAX,
        "m",
        (0.01, 3.0),
        "offset between register and survey",
    ),
    number(
        "counter_scale_percent",
        MAX,
        "percent",
        (0.1, 4.0),
        "scale of the survey's counter against the register",
    ),
    number(
        "irregularity_height_mm",
        MAX,
        "mm",
        (0.0, 200.0),
        "height of an irregularity; the larger of this and the percentage counts",
    ),
    LimitKind {
        basis: "of the nominal diameter",
        ..number(
            "irregularity_height_percent",
            MAX,
            "percent",
            (0.0, 30.0),
            "height of an irregularity as a share of the nominal diameter",
        )
    },
    number(
        "length_closure_m",
        MAX,
        "m",
        (0.0, 20.0),
        "two lengths of the segment against each other; the larger of this and the percentage \
         counts",
    ),
    number(
        "length_closure_percent",
        MAX,
        "percent",
        (0.0, 20.0),
        "two lengths of the segment against each other, as a share",
    ),
    number(
        "survey_due_days",
        MAX,
        "days",
        (0.0, 365.0),
        "days until the survey after lining is on file",
    ),
    number(
        "restoration_due_days",
        MAX,
        "days",
        (0.0, 365.0),
        "days until the lots are restored and released",
    ),
    number(
        "acceptance_due_days",
        MAX,
        "days",
        (0.0, 730.0),
        "days until the segment is accepted",
    ),
    number(
        "warranty_inspection_due_days",
        MAX,
        "days",
        (0.0, 3650.0),
        "days until the inspection before the warranty ends is on file",
    ),
    number(
        "witness_notice_h",
        MIN,
        "h",
        (1.0, 1000.0),
        "time from a witness notice until the point may lapse",
    ),
];

impl LimitKind {
    /// Kind of a parameter.
    pub fn of(parameter: &str) -> Option<&'static LimitKind> {
        LIMIT_KINDS.iter().find(|kind| kind.parameter == parameter)
    }
}

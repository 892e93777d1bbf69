//! The invented liner followed from design to pipe.

use obvert_typeset::segment_sheet::{Heart, HeartCell, HeartRow, Mark, Statement};

use super::sample::figure;

fn cell(text: &str, us: &str, record: &str, grade: &str) -> Option<HeartCell> {
    Some(HeartCell {
        figure: figure(text, us, ""),
        record: record.into(),
        grade: grade.into(),
        disagrees: false,
    })
}

pub(crate) fn heart() -> Heart {
    Heart {
        rows: vec![identity(), thickness(), length(), diameter(), dates()],
        statements: statements(),
    }
}

fn identity() -> HeartRow {
    let checked = "checked by second role";
    HeartRow {
        title: "Identity".into(),
        design: cell("type G-3, class 6.0", "", "designs/d-014@31", "direct"),
        ordered: cell("order o-114, item 3", "", "orders/o-114@41", "direct"),
        certified: cell(
            "L-22-00918",
            "",
            "documents/cert-00918@52",
            "confirmed by issuer",
        ),
        received: cell("L-22-00918", "", "liners/l-22-00918@58", checked),
        installed: cell("L-22-00918", "", "runs/r-0047@102", "direct"),
        cure_log: cell("L-22-00918", "", "cureRecords/c-0047@104", "direct"),
        measured: cell(
            "sa-0091 names L-22-00918",
            "",
            "samples/sa-0091@110",
            checked,
        ),
        ..HeartRow::default()
    }
}

fn thickness() -> HeartRow {
    let checked = "checked by second role";
    HeartRow {
        title: "Thickness".into(),
        basis: Some("composite wall without films".into()),
        design: cell("at least 5.21 mm", "0.205 in", "designs/d-014@31", "direct"),
        ordered: cell("6.00 mm", "0.236 in", "orders/o-114@41", "direct"),
        certified: cell(
            "6.08 mm",
            "0.239 in",
            "documents/cert-00918@52",
            "confirmed by issuer",
        ),
        received: cell(
            "6.0 mm on label",
            "0.236 in",
            "liners/l-22-00918@58",
            checked,
        ),
        installed: cell("6.00 mm, nominal", "0.236 in", "runs/r-0047@102", "direct"),
        measured: cell(
            "5.94 mm, mean of 5",
            "0.234 in",
            "reports/lr-0091@131",
            checked,
        ),
        ..HeartRow::default()
    }
}

fn length() -> HeartRow {
    HeartRow {
        title: "Length".into(),
        basis: Some("inside wall MQ-114 to inside wall MQ-115 unless said".into()),
        design: cell("91.44 m", "300.0 ft", "designs/d-014@31", "direct"),
        ordered: cell("95.10 m", "312.0 ft", "orders/o-114@41", "direct"),
        certified: cell(
            "95.20 m",
            "312.3 ft",
            "documents/cert-00918@52",
            "confirmed by issuer",
        ),
        received: Some(HeartCell {
            figure: figure("94.60 m", "310.4 ft", "end to end"),
            record: "liners/l-22-00918@58".into(),
            grade: "transcribed".into(),
            disagrees: true,
        }),
        installed: cell("91.44 m", "300.0 ft", "runs/r-0047@102", "direct"),
        cure_log: cell("91.88 m", "301.4 ft", "cureRecords/c-0047@104", "direct"),
        measured: cell("91.50 m", "300.2 ft", "surveys/post-014@121", "direct"),
    }
}

fn diameter() -> HeartRow {
    HeartRow {
        title: "Diameter".into(),
        basis: Some("inside the host pipe".into()),
        design: cell("200 mm", "8 in", "designs/d-014@31", "direct"),
        ordered: cell(
            "195 to 205 mm",
            "7.7 to 8.1 in",
            "orders/o-114@41",
            "direct",
        ),
        certified: cell(
            "200 mm",
            "8 in",
            "documents/cert-00918@52",
            "confirmed by issuer",
        ),
        measured: cell(
            "198 to 203 mm",
            "7.8 to 8.0 in",
            "surveys/f-014@22",
            "direct",
        ),
        ..HeartRow::default()
    }
}

fn dates() -> HeartRow {
    let checked = "checked by second role";
    HeartRow {
        title: "Dates".into(),
        design: cell("2026-03-09", "", "designs/d-014@31", "direct"),
        ordered: cell("2026-03-16", "", "orders/o-114@41", "direct"),
        certified: cell("made 2026-04-13", "", "documents/cert-00918@52", "direct"),
        received: cell("2026-04-27", "", "liners/l-22-00918@58", checked),
        installed: cell("2026-05-04", "", "runs/r-0047@102", "direct"),
        cure_log: cell(
            "2026-05-04, 09:02 to 10:21",
            "",
            "cureRecords/c-0047@104",
            "direct",
        ),
        measured: cell("report 2026-05-20", "", "reports/lr-0091@131", checked),
        ..HeartRow::default()
    }
}

fn statements() -> Vec<Statement> {
    vec![
        Statement {
            mark: Mark::Failed,
            text: "Length: the receiving check says 94.60 m (liners/l-22-00918@58), the \
                       certificate 95.20 m (documents/cert-00918@52). The difference of 0.60 m \
                       is above the 0.30 m that the plan allows."
                .into(),
        },
        Statement {
            mark: Mark::Met,
            text: "Thickness: 5.94 mm was measured on sample sa-0091, the design requires at \
                       least 5.21 mm on the same basis."
                .into(),
        },
        Statement {
            mark: Mark::Met,
            text: "Identity: certificate, receiving check, run, cure log and sample name one \
                       liner, L-22-00918."
                .into(),
        },
        Statement {
            mark: Mark::NotApplicable,
            text: "Diameter: the cure log records no diameter; nothing to compare.".into(),
        },
    ]
}

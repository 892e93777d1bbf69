//! Invented corrections, evidence, cautions and verification.

use obvert_typeset::segment_sheet::{
    Caution, ChangedPoint, ChangedRecord, Changes, Correction, Evidence, Mark, Paper, PluginBlock,
    PluginSection, Register, Verification,
};

use super::sample::state;

pub(crate) fn corrections() -> Register<Correction> {
    Register {
        count_in_words: "1 value was corrected after it was first recorded.".into(),
        rows: vec![Correction {
            record: "laterals/la-014-3@113".into(),
            field: "station".into(),
            old_value: "31.10 m (@44)".into(),
            new_value: "33.10 m".into(),
            reason: "Typing error; the survey's film shows 33.10 m.".into(),
            corrected_by: "Ola Tarnbeck, office, 2026-05-07 09:02".into(),
        }],
    }
}

pub(crate) fn evidence() -> Register<Evidence> {
    Register {
        count_in_words: "The plan asks for 11 pieces of evidence: 8 are present, 1 is missing, 1 \
                         is waived, 1 does not apply."
            .into(),
        rows: [present_rows(), absent_rows()].concat(),
    }
}

/// 64 invented digits.
fn digest(n: u32) -> String {
    format!("{:016x}", 0x9e37_79b9_7f4a_7c15_u64.rotate_left(n * 5)).repeat(4)
}

fn present_rows() -> Vec<Evidence> {
    let present = |n: u32, title: &str, record: &str, file: &str, grade: &str| Evidence {
        title: title.into(),
        state: state("present", Mark::Met),
        record: Some(record.into()),
        file: Some(file.into()),
        sha256: Some(digest(n)),
        signer: Some("Ola Tarnbeck, 2026-05-21".into()),
        grade: Some(grade.into()),
        ..Evidence::default()
    };
    let checked = "checked by second role";
    vec![
        present(
            1,
            "Sealed design calculation",
            "documents/seal-014@33",
            "data/originals/design-s-014-sealed.pdf",
            "direct",
        ),
        present(
            2,
            "Order and confirmation",
            "orders/o-114@41",
            "data/originals/order-o-114-confirmation.pdf",
            "direct",
        ),
        present(
            3,
            "Manufacture certificate",
            "documents/cert-00918@52",
            "data/originals/certificate-L-22-00918.pdf",
            "confirmed by issuer",
        ),
        present(
            4,
            "Delivery note and receiving check",
            "liners/l-22-00918@58",
            "data/originals/receiving-L-22-00918-label.jpg",
            checked,
        ),
        present(
            5,
            "Cure log, native file",
            "cureRecords/c-0047@104",
            "data/originals/cure/run-0047-light-train-2026-05-04T0902.csv",
            "direct",
        ),
        present(
            6,
            "Leak test sheet",
            "leakTests/lt-014@107",
            "data/originals/leak-test-lt-014.pdf",
            "direct",
        ),
        present(
            7,
            "Laboratory report",
            "reports/lr-0091@131",
            "data/originals/fernmoss-F-26-0444.pdf",
            checked,
        ),
        present(
            8,
            "CCTV survey after lining",
            "surveys/post-014@121",
            "data/originals/video/post-014-2026-05-06.mp4",
            "direct",
        ),
    ]
}

fn absent_rows() -> Vec<Evidence> {
    let absent = |title: &str, word: &str, mark: Mark, reason: &str| Evidence {
        title: title.into(),
        state: state(word, mark),
        state_reason: Some(reason.into()),
        ..Evidence::default()
    };
    vec![
        absent(
            "Film of lateral la-014-5 with flow",
            "missing",
            Mark::Open,
            "Nothing filed by revision @187.",
        ),
        absent(
            "Photographs of parcel 7-48 before work",
            "waived",
            Mark::Varied,
            "Ruan Ashgill, owner: the occupant refused entry; the owner's own photographs of \
                 2025 stand in.",
        ),
        absent(
            "Bypass pump log",
            "not applicable",
            Mark::NotApplicable,
            "Flow control was plug and hold.",
        ),
    ]
}

pub(crate) fn cautions() -> Vec<Caution> {
    let caution = |title: &str, text: &str| Caution {
        title: title.into(),
        text: text.into(),
    };
    vec![
        caution(
            "Confined space",
            "Test the air before entry and all the time; keep an attendant and a way out without \
             entry.",
        ),
        caution(
            "Ultraviolet light",
            "Light the lamps only inside the liner with both ends closed.",
        ),
        caution(
            "Pressure",
            "Keep everyone out of line with the end cans until the pressure is down.",
        ),
        caution(
            "Styrene",
            "Ventilate, keep traps full, send anyone unwell to a doctor.",
        ),
    ]
}

pub(crate) fn verification() -> Verification {
    Verification {
        explanation: "Both commands run in the unpacked folder. The first shows that no file was \
                      changed or lost, the second who signed the list of files. Neither says that \
                      the work is good."
            .into(),
        commands: vec![
            (
                "Are all files whole?".into(),
                "sha256sum --check manifest-sha256.txt \
             tagmanifest-sha256.txt"
                    .into(),
            ),
            (
                "Who signed?".into(),
                "openssl pkeyutl -verify -pubin -inkey signature/signer.pem -rawin -in \
                 tagmanifest-sha256.txt -sigfile signature/tagmanifest-sha256.txt.sig"
                    .into(),
            ),
        ],
        fingerprint_note: "Compare the fingerprint of signature/signer.pem with the one in the \
                           owner's letter of 2026-03-02: 3f6c 91d2 7a0e 55b8 41c9 0e77 d25a 8814."
            .into(),
    }
}

pub(crate) fn papers() -> Register<Paper> {
    let row = |record: &str, grade: &str, compared_by: &[&str]| Paper {
        record: record.into(),
        grade: grade.into(),
        filed_by: "person/office, office, 2026-04-21 09:12".into(),
        compared_by: compared_by.iter().map(|text| (*text).to_owned()).collect(),
        originals: vec!["certificate-n-014".into()],
    };
    Register {
        count_in_words: "2 papers behind the points.".into(),
        rows: vec![
            row(
                "certificates/c-014@44",
                "checked by second role",
                &["person/engineer, engineer, 2026-04-22 08:02"],
            ),
            row("documents/d-7@51", "transcribed", &[]),
        ],
    }
}

pub(crate) fn plugin_sections() -> Vec<PluginSection> {
    let cells = |cells: [&str; 2]| cells.map(str::to_owned).to_vec();
    let table = PluginBlock::Table {
        titles: cells(["Run", "On site"]),
        rows: vec![cells(["r-04", "07:10 to 16:40"])],
    };
    let text = "All work lay within the hours of the easements.".to_owned();
    vec![PluginSection {
        title: "Hours on site".into(),
        written_by: "Written by the plug-in working-hours, version 1.0.0.".into(),
        blocks: vec![PluginBlock::Paragraph { text }, table],
    }]
}

pub(crate) fn changes() -> Changes {
    Changes {
        words: "This package replaces packages/p-1@160, which showed revision @159.".into(),
        records: vec![ChangedRecord {
            record: "segments/s-014@170".into(),
            standing: "changed from @12".into(),
            fields: vec!["location: Rear easement, now Rear easement behind lots 40 to 62".into()],
            reason: "the owner asked for the lots".into(),
            by: "person/ines-holt".into(),
        }],
        points: vec![ChangedPoint {
            point: "final-acceptance".into(),
            title: "Final acceptance".into(),
            was: "released".into(),
            is: "released, on other facts".into(),
        }],
    }
}

//! The invented plan's points and the invented design.

use obvert_typeset::segment_sheet::{
    Design, DesignCheck, DesignInput, Figure, Mark, PlanState, Point, Register, Release, State,
    Variance,
};

use super::sample::{figure, state};

fn point(id: &str, title: &str, stage: &str, class: &str, state: State) -> Point {
    Point {
        id: id.into(),
        title: title.into(),
        stage: stage.into(),
        class: class.into(),
        state,
        ..Point::default()
    }
}

fn released_by(name: &str, role: &str, time: &str) -> Option<Release> {
    Some(Release {
        name: name.into(),
        role: role.into(),
        time: time.into(),
    })
}

pub(crate) fn plan_states() -> Vec<PlanState> {
    let first = PlanState {
        record: "plans/marrowby-2026@2".into(),
        filed: "revision B, filed by person/office (office), 2026-02-20 08:00".into(),
        reason: "None given.".into(),
        ..PlanState::default()
    };
    let changed = PlanState {
        record: "plans/marrowby-2026@12".into(),
        filed: "revision C, filed by person/office (office), 2026-03-02 09:10".into(),
        reason: "Letter of the owner of 2026-03-01.".into(),
        changes: vec!["The plan's revision was \"B\" and is \"C\".".into()],
        released: "ready-to-line".into(),
    };
    vec![first, changed]
}

pub(crate) fn points() -> Register<Point> {
    Register {
        count_in_words: "The plan has 6 points for this segment: 4 are released, 1 is held, 1 \
                         does not apply."
            .into(),
        rows: vec![
            design_sealed(),
            liner_received(),
            ready_to_line(),
            bypass_tested(),
            cure_log_read(),
            laterals_open(),
        ],
    }
}

fn design_sealed() -> Point {
    Point {
        release: released_by("Ines Wexcombe", "engineer", "2026-03-12 10:05"),
        evidence: vec!["designs/d-014@31".into(), "documents/seal-014@33".into()],
        source_clause: "Contract MSD-2026-07, section 5.2".into(),
        findings: vec!["Required wall 5.21 mm, ordered 6.00 mm.".into()],
        ..point(
            "design-sealed",
            "Design sealed",
            "before ordering",
            "hold",
            state("released", Mark::Met),
        )
    }
}

fn liner_received() -> Point {
    Point {
        release: released_by("Ola Tarnbeck", "office", "2026-04-27 15:40"),
        evidence: vec!["liners/l-22-00918@58".into()],
        source_clause: "Contract MSD-2026-07, section 6.4".into(),
        findings: vec![
            "The length on the delivery note differs from the certificate by 0.60 m; the \
                     plan allows 0.30 m."
                .into(),
        ],
        variance: Some(Variance {
            departs_from: "Length on receipt within 0.30 m of the certificate; found \
                                   0.60 m."
                .into(),
            reason: "The liner was measured again on 2026-04-28 and is longer than the \
                             run with both ends."
                .into(),
            granted_by: "Ruan Ashgill, owner".into(),
            time: "2026-04-28 08:15".into(),
            record: "releases/v-0007@63".into(),
        }),
        ..point(
            "liner-received",
            "Liner is the one ordered",
            "before release to crew",
            "hold",
            state("released with variance", Mark::Varied),
        )
    }
}

fn ready_to_line() -> Point {
    Point {
        release: released_by("Sef Marlowick", "inspector", "2026-05-04 08:20"),
        evidence: vec!["surveys/pre-014@98".into(), "surveys/lat-014@44".into()],
        source_clause: "Contract MSD-2026-07, section 7.1".into(),
        ..point(
            "ready-to-line",
            "Host pipe ready",
            "before pull-in",
            "witness",
            state("released", Mark::Met),
        )
    }
}

fn bypass_tested() -> Point {
    Point {
        source_clause: "Contract MSD-2026-07, section 7.3".into(),
        findings: vec!["Flow was plugged and held, so there is no pump to test.".into()],
        ..point(
            "bypass-tested",
            "Bypass pumps tested",
            "before pull-in",
            "hold",
            state("not applicable", Mark::NotApplicable),
        )
    }
}

fn cure_log_read() -> Point {
    Point {
        release: released_by("Ines Wexcombe", "engineer", "2026-05-06 11:30"),
        evidence: vec!["cureRecords/c-0047@104".into()],
        source_clause: "Maker's sheet G-3, table 2".into(),
        findings: vec!["Two stretches outside the entered tolerance, both listed.".into()],
        ..point(
            "cure-log-read",
            "Cure log reviewed",
            "after lining",
            "review",
            state("released", Mark::Met),
        )
    }
}

fn laterals_open() -> Point {
    Point {
        evidence: vec!["surveys/lat-014@44".into(), "laterals/la-014-5@116".into()],
        source_clause: "Contract MSD-2026-07, section 8.6".into(),
        findings: vec![
            "la-014-5 has no medium that shows flow: film the opening and file it.".into(),
            "Nonconformance n-0012 is open and holds this step.".into(),
        ],
        ..point(
            "laterals-open",
            "Every lateral has one outcome",
            "before acceptance",
            "hold",
            state("held", Mark::Open),
        )
    }
}

pub(crate) fn design() -> Design {
    let input = |name: &str, value: Figure, provenance: &str| DesignInput {
        name: name.into(),
        value,
        provenance: provenance.into(),
    };
    let check =
        |name: &str, value: Figure, limit: Figure, source: &str, state: State| DesignCheck {
            name: name.into(),
            value,
            limit,
            source: source.into(),
            state,
        };
    let met = || state("met", Mark::Met);
    Design {
        number: "D-014".into(),
        record: "designs/d-014@31".into(),
        summary: "Host pipe taken as partially deteriorated; groundwater governs.".into(),
        engineer: "Decided by Ines Wexcombe, licence 00000 (invented), sealed 2026-03-12.".into(),
        inputs: vec![
            input(
                "Inside diameter",
                figure("203 mm", "8.0 in", ""),
                "measured, surveys/f-014@22",
            ),
            input(
                "Ovality",
                figure("3.0 %", "", ""),
                "measured, surveys/f-014@22",
            ),
            input(
                "Groundwater above invert",
                figure("2.10 m", "6.9 ft", "highest of three readings"),
                "measured, surveys/f-014@22",
            ),
            input(
                "Long-term flexural modulus",
                figure("8,400 MPa", "1,218,000 psi", "hoop"),
                "stated by a type test of the invented maker, documents/type-g3@9",
            ),
            input(
                "Safety factor",
                figure("2.0", "", ""),
                "plans/marrowby-2026@12, owner's limit",
            ),
        ],
        checks: vec![
            check(
                "External pressure",
                figure("5.21 mm", "0.205 in", "required wall"),
                figure("at most 6.00 mm", "0.236 in", "ordered"),
                "own figures of an invented sample",
                met(),
            ),
            check(
                "Least wall of the owner",
                figure("6.00 mm", "0.236 in", "ordered"),
                figure("at least 4.50 mm", "0.177 in", "composite"),
                "plans/marrowby-2026@12",
                met(),
            ),
            check(
                "Soil load on a fully deteriorated pipe",
                figure("not computed", "", ""),
                figure("none", "", ""),
                "condition is partially deteriorated",
                state("not applicable", Mark::NotApplicable),
            ),
        ],
    }
}

//! Points before ordering.

use obvert_proto::{
    common::v1::{PaperGrade, Thickness, ThicknessBasis},
    design::v1::WallDesign,
    material::v1::{LinerCertificate, LinerOrder, ReceivingCheck},
    project::v1::{Document, FieldSurvey, Lateral, LateralRegister, LateralState},
};

use super::{
    fixture::{Fixture, full, on},
    held,
    paper::wall,
    past,
};

#[test]
fn a_register_that_does_not_agree_with_itself_or_the_file_holds() {
    let edit =
        |f: &mut Fixture, change: fn(&mut LateralRegister)| f.edit("lateralRegisters/g-1", change);
    held(
        |f| edit(f, |g| g.lateral_count = Some(3)),
        "lateral-register",
        "register-count-differs",
        "g-1",
    );
    held(
        |f| edit(f, |g| g.signed_by.clear()),
        "lateral-register",
        "register-not-signed",
        "g-1",
    );
    held(
        |f| f.remove("laterals/l-2"),
        "lateral-register",
        "missing-lateral",
        "",
    );
    held(
        |f| f.remove("lateralRegisters/g-1"),
        "lateral-register",
        "missing-lateral-register",
        "",
    );
    let shorter = |g: &mut LateralRegister| {
        g.laterals.pop();
        g.lateral_count = Some(1);
    };
    held(
        |f| edit(f, shorter),
        "lateral-register",
        "lateral-not-registered",
        "laterals/l-2",
    );
}

#[test]
fn a_lateral_that_is_not_proven_holds_until_its_owner_has_signed() {
    let state = |f: &mut Fixture, state: LateralState| {
        f.edit("laterals/l-2", |l: &mut Lateral| l.state = state.into());
    };
    let unproven = |f: &mut Fixture| f.edit("laterals/l-2", |l: &mut Lateral| l.live_proof = 0);
    held(
        unproven,
        "lateral-register",
        "lateral-without-proof",
        "laterals/l-2",
    );
    held(
        |f| state(f, LateralState::Unknown),
        "lateral-register",
        "lateral-unknown",
        "laterals/l-2",
    );
    held(
        |f| state(f, LateralState::Abandoned),
        "lateral-register",
        "missing-document",
        "laterals/l-2",
    );
    let directed = |f: &mut Fixture| {
        state(f, LateralState::Unknown);
        let paper = Document {
            evidence_kind: "unknown-lateral-direction".into(),
            subjects: vec![full("laterals/l-2")],
            signed_by: "owner's engineer".into(),
            grade: PaperGrade::Direct.into(),
            ..Document::default()
        };
        f.add("documents/w-1", paper);
    };
    past(directed, "lateral-register");
}

#[test]
fn a_survey_that_is_short_of_places_or_length_holds() {
    let edit = |f: &mut Fixture, change: fn(&mut FieldSurvey)| f.edit("fieldSurveys/f-1", change);
    held(
        |f| edit(f, |s| s.length_wall_to_wall_m = 52.0),
        "field-survey",
        "survey-length-differs",
        "f-1",
    );
    let one_place = |s: &mut FieldSurvey| {
        s.diameters.pop();
    };
    held(
        |f| edit(f, one_place),
        "field-survey",
        "diameter-place-missing",
        "f-1",
    );
    held(
        |f| f.remove("fieldSurveys/f-1"),
        "field-survey",
        "missing-field-survey",
        "",
    );
}

#[test]
fn a_design_that_is_a_draft_or_milder_than_the_pipe_holds() {
    let edit = |f: &mut Fixture, change: fn(&mut WallDesign)| f.edit("designs/d-1", change);
    held(
        |f| edit(f, |d| d.sealed_date = None),
        "sealed-design",
        "design-not-sealed",
        "d-1",
    );
    held(
        |f| edit(f, |d| d.sealed_date = on("2026-03-01")),
        "sealed-design",
        "seal-before-survey",
        "f-1",
    );
    held(
        |f| edit(f, |d| d.field_survey.clear()),
        "sealed-design",
        "design-on-other-survey",
        "d-1",
    );
    let milder = |f: &mut Fixture| {
        f.edit("fieldSurveys/f-1", |s: &mut FieldSurvey| {
            s.groundwater_above_crown_m = Some(1.4)
        });
    };
    held(
        milder,
        "sealed-design",
        "design-groundwater-below-found",
        "d-1",
    );
    let oval = |f: &mut Fixture| {
        edit(f, |d| d.inputs.as_mut().unwrap().ovality_percent = 0.4);
    };
    held(oval, "sealed-design", "design-ovality-below-found", "f-1");
    let wider = |f: &mut Fixture| {
        edit(f, |d| {
            d.inputs.as_mut().unwrap().host_inside_diameter_mm = 225.0
        });
    };
    held(wider, "sealed-design", "design-diameter-differs", "d-1");
}

#[test]
fn an_order_on_a_changed_design_holds_and_on_an_unchanged_one_does_not() {
    let reissued = |f: &mut Fixture, change: fn(&mut WallDesign)| {
        f.former.push(f.records[&full("designs/d-1")].clone());
        f.edit("designs/d-1", change);
    };
    let same = |f: &mut Fixture| reissued(f, |d| d.sealed_by = "PE 00001".into());
    held(
        same,
        "ordered-wall",
        "design-revision-not-confirmed",
        "designs/d-1",
    );
    let confirmed = |f: &mut Fixture, day: &str| {
        same(f);
        let paper = Document {
            evidence_kind: "design-revision-confirmation".into(),
            subjects: vec![full("designs/d-1"), full("designs/d-2")],
            signed_by: "engineer".into(),
            signed_date: on(day),
            grade: PaperGrade::Direct.into(),
            ..Document::default()
        };
        f.add("documents/all-designs", paper);
    };
    past(|f| confirmed(f, "2026-06-10"), "ordered-wall");
    held(
        |f| confirmed(f, "2026-06-09"),
        "ordered-wall",
        "design-revision-not-confirmed",
        "orders/o-1",
    );
    let stiffer = |d: &mut WallDesign| {
        d.inputs.as_mut().unwrap().short_term_flexural_modulus_mpa = 8200.0;
    };
    held(
        |f| reissued(f, stiffer),
        "ordered-wall",
        "order-on-old-design",
        "orders/o-1",
    );
    let thicker = |d: &mut WallDesign| d.result.as_mut().unwrap().required_wall_thickness_mm = 4.9;
    held(
        |f| reissued(f, thicker),
        "ordered-wall",
        "ordered-wall-too-thin",
        "designs/d-1",
    );
}

#[test]
fn walls_of_two_bases_are_never_compared() {
    let with_films = Some(Thickness {
        wall_thickness_mm: 9.0,
        basis: ThicknessBasis::TotalWithFilms.into(),
    });
    let order = |f: &mut Fixture| f.edit("orders/o-1", |o: &mut LinerOrder| o.wall = with_films);
    held(
        order,
        "ordered-wall",
        "thickness-basis-differs",
        "orders/o-1",
    );
    let paper = |f: &mut Fixture| {
        f.edit("certificates/c-1", |c: &mut LinerCertificate| {
            c.wall = with_films
        })
    };
    held(
        paper,
        "certified-wall",
        "thickness-basis-differs",
        "certificates/c-1",
    );
    let check = |f: &mut Fixture| {
        f.edit("receivingChecks/k-1", |k: &mut ReceivingCheck| {
            k.wall = with_films
        })
    };
    held(
        check,
        "received-liner",
        "thickness-basis-differs",
        "receivingChecks/k-1",
    );
}

#[test]
fn a_liner_ordered_too_thin_too_short_or_for_another_pipe_holds() {
    let edit = |f: &mut Fixture, change: fn(&mut LinerOrder)| f.edit("orders/o-1", change);
    held(
        |f| edit(f, |o| o.wall = wall(4.1)),
        "ordered-wall",
        "ordered-wall-too-thin",
        "orders/o-1",
    );
    held(
        |f| edit(f, |o| o.second_check_by.clear()),
        "ordered-wall",
        "order-not-checked-twice",
        "o-1",
    );
    held(
        |f| edit(f, |o| o.ordered_length_m = 53.1),
        "ordered-length",
        "ordered-length-too-short",
        "o-1",
    );
    held(
        |f| edit(f, |o| o.host_diameter_max_mm = 200.0),
        "host-diameter",
        "host-diameter-outside",
        "f-1",
    );
    let swapped = |f: &mut Fixture| edit(f, |o| o.segments[0].segment = full("segments/s-9"));
    held(
        swapped,
        "ordered-wall",
        "order-of-other-segment",
        "orders/o-1",
    );
    held(
        swapped,
        "received-liner",
        "liner-of-other-segment",
        "liners/n-1",
    );
    held(
        swapped,
        "liner-identity",
        "liner-of-other-segment",
        "runs/r-1",
    );
}

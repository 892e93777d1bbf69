//! The stored checks beside the wall: hydraulics, pull-in, pressure, and the installed liner.

use obvert_proto::{
    common::v1::{Finding, Provenance, Thickness, ThicknessBasis},
    design::v1::{
        AsBuiltCheck, AsBuiltInputs, CarryMode, HostCondition, HydraulicCheck, HydraulicInputs,
        InputSource, PressureDesign, PressureInputs, PullInCheck, PullInInputs, WallDesign,
        WallInputs, record::Body,
    },
    material::v1::LinerCertificate,
};

use super::{
    design::{sourced, write},
    pipe::{put, with_liner},
    store::{Store, named, violates},
};

fn assumed(fields: &[&str]) -> Vec<InputSource> {
    let source = |field: &&str| InputSource {
        field: (*field).into(),
        provenance: Provenance::Assumed.into(),
        source: "an invented table".into(),
        ..InputSource::default()
    };
    fields.iter().map(source).collect()
}

fn holds(findings: &[Finding], code: &str) -> bool {
    findings
        .iter()
        .any(|found| found.code == code && found.holds)
}

pub(super) async fn with_design(inputs: WallInputs) -> Store {
    let store = with_liner().await;
    let design = WallDesign {
        segment: named("segments", "s-014"),
        inputs: Some(inputs),
        ..WallDesign::default()
    };
    write(&store, "d-1", Body::WallDesign(design))
        .await
        .unwrap();
    store
}

pub(crate) fn hydraulics(roughness_after: f64) -> HydraulicCheck {
    let fields = [
        "host_inside_diameter_mm",
        "total_wall_mm",
        "roughness_before",
        "roughness_after",
        "slope_percent",
        "velocity_min_m_per_s",
        "design_flow_litre_per_s",
    ];
    HydraulicCheck {
        segment: named("segments", "s-014"),
        inputs: Some(HydraulicInputs {
            host_inside_diameter_mm: 200.0,
            total_wall_mm: 4.2,
            roughness_before: 0.013,
            roughness_after,
            slope_percent: 0.4,
            design_flow_litre_per_s: Some(10.0),
            velocity_min_m_per_s: 0.6,
            sources: assumed(&fields),
        }),
        ..HydraulicCheck::default()
    }
}

async fn flow(store: &Store, id: &str, check: HydraulicCheck) -> HydraulicCheck {
    match write(store, id, Body::HydraulicCheck(check)).await.unwrap() {
        Body::HydraulicCheck(check) => check,
        _ => panic!("another kind came back"),
    }
}

#[tokio::test]
async fn a_hydraulic_check_says_whether_the_lined_pipe_carries_what_the_host_did() {
    let store = with_liner().await;
    let result = flow(&store, "h-1", hydraulics(0.010)).await.result.unwrap();
    // Manning by hand: D 0.200 m, n 0.013, S 0.004: 20.7436 litre/s and 0.660288 m/s; lined with
    // 4.2 mm and n 0.010: 24.0511 litre/s, 115.94 percent.
    assert!((result.full_flow_before_litre_per_s - 20.7436).abs() < 1e-3);
    assert!((result.velocity_before_m_per_s - 0.660_288).abs() < 1e-5);
    assert!((result.full_flow_after_litre_per_s - 24.0511).abs() < 1e-3);
    assert!((result.capacity_percent - 115.9448).abs() < 1e-3);
    let kept = &result.findings[0];
    assert_eq!((kept.code.as_str(), kept.holds), ("capacity-kept", false));
    assert!(kept.message.contains("115.9 percent") && kept.message.contains("0.013 before"));
    assert!(
        kept.message.contains("an invented table"),
        "{}",
        kept.message
    );
    assert!(result.relative_depth_after.unwrap() < result.relative_depth_before.unwrap());
    let lost = flow(&store, "h-2", hydraulics(0.013)).await.result.unwrap();
    assert!(holds(&lost.findings, "capacity-lost"));
}

#[tokio::test]
async fn a_hydraulic_check_with_a_wrong_unit_or_without_sources_is_refused_at_once() {
    let store = with_liner().await;
    let mut check = hydraulics(0.1);
    let inputs = check.inputs.as_mut().unwrap();
    inputs.total_wall_mm = 60.0;
    inputs.sources.remove(4);
    let refused = write(&store, "h-1", Body::HydraulicCheck(check))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[
            (
                "hydraulic_check.inputs.roughness_after",
                "is 0.1, allowed is 0.008 to 0.02",
            ),
            (
                "hydraulic_check.inputs.sources",
                "no entry for slope_percent",
            ),
            ("hydraulic_check.inputs.total_wall_mm", "more than a fifth"),
        ],
    );
}

pub(super) fn pull_in() -> PullInCheck {
    let fields = [
        "host_inside_diameter_mm",
        "wet_wall_mm",
        "density_kg_per_m3",
        "films_percent",
        "length_m",
        "friction_coefficient",
        "uphill_slope_percent",
        "total_bend_degrees",
        "pull_force_allowed_kn",
        "elongation_percent",
        "elongation_max_percent",
        "internal_pressure_kpa",
        "groundwater_above_invert_m",
        "sewage_above_invert_m",
        "carry_modes",
    ];
    let mode = |mode: &str, carrier_count: i32, limit_kg: f64| CarryMode {
        mode: mode.into(),
        carrier_count,
        limit_kg,
    };
    PullInCheck {
        segments: vec![named("segments", "s-014")],
        liner: named("liners", "n-1"),
        certificate: named("certificates", "c-1"),
        inputs: Some(PullInInputs {
            host_inside_diameter_mm: 300.0,
            wet_wall_mm: 5.6,
            density_kg_per_m3: 1900.0,
            length_m: 100.0,
            friction_coefficient: 0.3,
            pull_force_allowed_kn: 10.0,
            elongation_percent: 0.5,
            elongation_max_percent: 1.0,
            carry_modes: vec![
                mode("eight people", 8, 25.0),
                mode("tracked carrier", 1, 1500.0),
            ],
            internal_pressure_kpa: 45.0,
            groundwater_above_invert_m: 1.2,
            sewage_above_invert_m: 2.0,
            sources: assumed(&fields),
            ..PullInInputs::default()
        }),
        ..PullInCheck::default()
    }
}

#[tokio::test]
async fn a_pull_in_check_gives_weight_force_carrying_and_pressure_with_their_limits() {
    let store = with_liner().await;
    let certificate = LinerCertificate {
        liner: named("liners", "n-1"),
        weight_kg: Some(1010.0),
        ..LinerCertificate::default()
    };
    put(&store, "certificates", "c-1", &certificate).await;
    let Body::PullInCheck(check) = write(&store, "p-1", Body::PullInCheck(pull_in()))
        .await
        .unwrap()
    else {
        panic!("another kind came back")
    };
    let result = check.result.unwrap();
    // 1900 * pi * 0.2944 * 0.0056 = 9.84 kg/m; 100 m at 0.3: 2.90 kN.
    assert!((result.mass_kg_per_m - 9.84).abs() < 0.005);
    assert!((result.pull_force_kn - 2.895).abs() < 0.005);
    // The sewage stands higher than the groundwater: 2.0 m * 9.81 kPa/m.
    assert!((result.outside_pressure_kpa - 19.62).abs() < 1e-9);
    assert!((result.pressure_margin_kpa - 25.38).abs() < 1e-9);
    assert!(holds(&result.findings, "carry-load-above-limit"));
    assert!(!holds(&result.findings, "pull-force-above-allowed"));
    let weighed = result
        .findings
        .iter()
        .find(|f| f.code == "weight-on-certificate")
        .unwrap();
    assert_eq!(weighed.records[0].name, named("certificates", "c-1"));
    let mut other = pull_in();
    other.certificate = String::new();
    let inputs = other.inputs.as_mut().unwrap();
    (inputs.elongation_percent, inputs.internal_pressure_kpa) = (1.5, 15.0);
    inputs.pull_force_allowed_kn = 2.0;
    let Body::PullInCheck(check) = write(&store, "p-2", Body::PullInCheck(other))
        .await
        .unwrap()
    else {
        panic!("another kind came back")
    };
    let findings = check.result.unwrap().findings;
    for code in [
        "pull-force-above-allowed",
        "elongation-above-limit",
        "pressure-below-outside",
        "allowed-force-without-certificate",
    ] {
        assert!(holds(&findings, code), "{code}");
    }
}

pub(super) fn pressure(hole_diameter_mm: Option<f64>) -> PressureDesign {
    let mut fields = vec![
        "internal_pressure_mpa",
        "long_term_flexural_strength_mpa",
        "long_term_tensile_strength_mpa",
        "safety_factor",
    ];
    fields.extend(hole_diameter_mm.map(|_| "hole_diameter_mm"));
    PressureDesign {
        segment: named("segments", "s-014"),
        design: named("designs", "d-1"),
        inputs: Some(PressureInputs {
            internal_pressure_mpa: 0.5,
            hole_diameter_mm,
            long_term_flexural_strength_mpa: 30.0,
            long_term_tensile_strength_mpa: 20.0,
            safety_factor: 2.0,
            sources: assumed(&fields),
        }),
        ..PressureDesign::default()
    }
}

#[tokio::test]
async fn a_pressure_design_takes_the_thicker_of_the_full_and_the_empty_pipe() {
    let mut inputs = sourced();
    inputs.set_host_condition(HostCondition::PartiallyDeteriorated);
    let store = with_design(inputs).await;
    let mut design = pressure(None);
    let Body::PressureDesign(hoop) = write(&store, "x-1", Body::PressureDesign(design.clone()))
        .await
        .unwrap()
    else {
        panic!("another kind came back")
    };
    let hoop = hoop.result.unwrap();
    // X1.7: DR = 2 + 2 * 20 / (0.5 * 2) = 42; 1219.2 / 42 = 29.03 mm; the empty pipe asks for 22.3.
    assert!((hoop.required_wall_thickness_mm - 1219.2 / 42.0).abs() < 1e-9);
    assert!((hoop.empty_pipe_wall_thickness_mm - 22.3).abs() < 0.05);
    assert_eq!(hoop.governing_check, "X1.7");
    design = pressure(Some(50.0));
    let Body::PressureDesign(plate) = write(&store, "x-2", Body::PressureDesign(design.clone()))
        .await
        .unwrap()
    else {
        panic!("another kind came back")
    };
    let plate = plate.result.unwrap();
    assert_eq!(plate.governing_check, "empty-pipe");
    assert!(
        plate.checks[0].wall_thickness_mm.is_some() && plate.checks[1].wall_thickness_mm.is_none()
    );
    // Over a hole of 1 mm X1.6 asks for next to nothing, which is shown and not rounded up:
    // DR = 1 + 1219.2 * sqrt(5.33 * 30 / (0.5 * 2)).
    let body = Body::PressureDesign(pressure(Some(1.0)));
    let Body::PressureDesign(thin) = write(&store, "x-4", body).await.unwrap() else {
        panic!("another kind came back")
    };
    let wall_mm = thin.result.unwrap().checks[0].wall_thickness_mm.unwrap();
    let expected_mm = 1219.2 / (1.0 + 1219.2 * (5.33 * 30.0_f64).sqrt());
    assert!((wall_mm - expected_mm).abs() < 1e-9, "{wall_mm}");
    design.segment = named("segments", "s-015");
    let refused = write(&store, "x-3", Body::PressureDesign(design))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("pressure_design.design", "name a design of this segment")],
    );
}

pub(super) fn as_built(basis: ThicknessBasis) -> AsBuiltCheck {
    let inputs = sourced();
    let fields = [
        "wall",
        "short_term_flexural_modulus_mpa",
        "short_term_flexural_strength_mpa",
    ];
    AsBuiltCheck {
        segment: named("segments", "s-014"),
        design: named("designs", "d-1"),
        inputs: Some(AsBuiltInputs {
            wall: Some(Thickness {
                wall_thickness_mm: 24.0,
                basis: basis.into(),
            }),
            short_term_flexural_modulus_mpa: inputs.short_term_flexural_modulus_mpa * 1.1,
            short_term_flexural_strength_mpa: inputs.short_term_flexural_strength_mpa,
            ovality_percent: None,
            sources: assumed(&fields),
        }),
        ..AsBuiltCheck::default()
    }
}

#[tokio::test]
async fn the_installed_liner_is_checked_on_the_designs_basis_and_is_no_pass_by_itself() {
    let store = with_design(sourced()).await;
    let refused = write(
        &store,
        "b-1",
        Body::AsBuiltCheck(as_built(ThicknessBasis::Composite)),
    )
    .await
    .unwrap_err();
    violates(
        &refused,
        &[("as_built_check.inputs.wall.basis", "on the design's basis")],
    );
    let body = Body::AsBuiltCheck(as_built(ThicknessBasis::Structural));
    let Body::AsBuiltCheck(stored) = write(&store, "b-1", body).await.unwrap() else {
        panic!("another kind came back")
    };
    let result = stored.result.unwrap();
    let equivalent = 24.0 * 1.1_f64.cbrt();
    assert!((result.equivalent_wall_thickness_mm - equivalent).abs() < 1e-9);
    // X1.3 bears q_t with (t_eq/t_req)^1.5 of the factor the design asks for.
    let soil = result.checks.iter().find(|c| c.equation == "X1.3").unwrap();
    let expected = 2.0 * (equivalent / result.required_wall_thickness_mm).powf(1.5);
    assert!(
        (soil.achieved_safety_factor - expected).abs() < 1e-6,
        "{soil:?}"
    );
    assert!(holds(&result.findings, "achieved-below-required"));
    assert!(
        result
            .findings
            .iter()
            .any(|f| f.message.contains("is no acceptance"))
    );
}

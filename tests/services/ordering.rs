//! What a tube loses between the order and the pipe: the maker's tolerance, and stretch.

use obvert_engineering::units::mm_from_in;
use obvert_proto::{
    common::v1::Provenance,
    design::v1::{InputSource, OrderInputs, WallDesign, WallInputs},
};

use super::{
    design::{check, create, sourced},
    pipe::with_liner,
    store::{named, violates},
};

fn ordered(order_tolerance_percent: f64, made_diameter_mm: Option<f64>) -> WallInputs {
    let mut inputs = sourced();
    inputs.order = Some(OrderInputs {
        order_tolerance_percent,
        made_diameter_mm,
    });
    inputs
}

#[tokio::test]
async fn the_order_makes_up_for_tolerance_and_stretch_so_that_the_required_wall_stands() {
    let plain = check(sourced()).await.unwrap();
    assert_eq!(
        plain.nominal_wall_thickness_mm,
        plain.required_wall_thickness_mm
    );
    assert_eq!(
        plain.installed_wall_thickness_mm,
        plain.order_wall_thickness_mm
    );
    let result = check(ordered(5.0, Some(1200.0))).await.unwrap();
    // By hand: 25.6148 * (1219.2 / 1200) / 0.95 = 27.394 mm, 27.5 on a grid of 3.0 + 0.5 mm.
    let required = result.required_wall_thickness_mm;
    assert_eq!(required, plain.required_wall_thickness_mm);
    let nominal = required * mm_from_in(48.0) / 1200.0 / 0.95;
    assert!((result.nominal_wall_thickness_mm - nominal).abs() < 1e-9);
    assert_eq!(result.order_wall_thickness_mm, 27.5);
    let left = 27.5 * 0.95 * 1200.0 / mm_from_in(48.0);
    assert!((result.installed_wall_thickness_mm - left).abs() < 1e-9);
    assert!(result.installed_wall_thickness_mm >= required);
}

#[tokio::test]
async fn a_tube_made_too_small_or_too_large_is_noted_and_folds_never_count_as_wall() {
    let codes = async |made: f64| {
        let result = check(ordered(0.0, Some(made))).await.unwrap();
        let codes = result.findings.into_iter().map(|finding| finding.code);
        (result.nominal_wall_thickness_mm, codes.collect::<Vec<_>>())
    };
    let (_, small) = codes(1100.0).await;
    assert!(small.contains(&"stretch-large".to_owned()), "{small:?}");
    let (nominal, large) = codes(1300.0).await;
    assert!(large.contains(&"tube-folds".to_owned()), "{large:?}");
    let plain = check(sourced()).await.unwrap();
    assert_eq!(nominal, plain.required_wall_thickness_mm);
    let refused = check(ordered(60.0, None)).await.unwrap_err();
    let field = "inputs.order.order_tolerance_percent";
    violates(
        &refused,
        &[(field, "is 60 percent, allowed is 0 to 30 percent")],
    );
}

#[tokio::test]
async fn a_stored_order_names_where_tolerance_and_diameter_come_from() {
    let store = with_liner().await;
    let design = |inputs: WallInputs| WallDesign {
        segment: named("segments", "s-014"),
        inputs: Some(inputs),
        ..WallDesign::default()
    };
    let mut inputs = ordered(5.0, Some(1200.0));
    let refused = create(&store, design(inputs.clone())).await.unwrap_err();
    let field = "wall_design.inputs.sources";
    violates(
        &refused,
        &[
            (field, "no entry for order_tolerance_percent"),
            (field, "no entry for made_diameter_mm"),
        ],
    );
    for field in ["order_tolerance_percent", "made_diameter_mm"] {
        inputs.sources.push(InputSource {
            field: field.into(),
            provenance: Provenance::MakerDeclared.into(),
            source: "the maker's sheet".into(),
            ..InputSource::default()
        });
    }
    let stored = create(&store, design(inputs)).await.unwrap();
    let result = stored.result.unwrap();
    assert_eq!(result.order_wall_thickness_mm, 27.5);
    assert!(result.program.starts_with("Obvert "), "{}", result.program);
}

#[tokio::test]
async fn an_ovality_is_held_against_the_larger_definition_of_its_diameters() {
    let measured = |most: f64, least: f64, ovality_percent: f64| {
        let mut inputs = sourced();
        inputs.host_inside_diameter_mm = 1000.0;
        inputs.host_diameter_max_mm = Some(most);
        inputs.host_diameter_min_mm = Some(least);
        inputs.ovality_percent = ovality_percent;
        inputs
    };
    // 100 * (1000 - 965) / 1000 is more than 100 * (1020 - 1000) / 1000.
    let refused = check(measured(1020.0, 965.0, 2.0)).await.unwrap_err();
    let field = "inputs.ovality_percent";
    violates(&refused, &[(field, "the diameters give 3.50 percent")]);
    assert!(check(measured(1020.0, 965.0, 3.5)).await.is_ok());
    assert!(
        check(measured(1010.0, 995.0, 2.0)).await.is_ok(),
        "an owner's minimum"
    );
    let mut alone = measured(1010.0, 995.0, 2.0);
    alone.host_diameter_min_mm = None;
    let refused = check(alone).await.unwrap_err();
    violates(
        &refused,
        &[("inputs.host_diameter_max_mm", "give both or neither")],
    );
    let refused = check(measured(990.0, 980.0, 2.0)).await.unwrap_err();
    violates(
        &refused,
        &[("inputs.host_inside_diameter_mm", "outside 980 to 990 mm")],
    );
}

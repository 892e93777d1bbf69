//! The calculation sheets of what stands beside the wall: flow, pull-in, pressure, installed liner.

use obvert_proto::{
    common::v1::ThicknessBasis,
    design::v1::{GetCalculationSheetRequest, HostCondition, SheetFormat, record::Body},
    material::v1::LinerCertificate,
};

use super::{
    design::{designs, sourced, write},
    design_checks::{as_built, hydraulics, pressure, pull_in, with_design},
    pipe::{put, with_liner},
    store::{Store, named},
};

async fn sheet(store: &Store, name: String, format: SheetFormat) -> Vec<u8> {
    let request = GetCalculationSheetRequest {
        name,
        format: format.into(),
        ..GetCalculationSheetRequest::default()
    };
    let answer = designs(store).get_calculation_sheet(request).await.unwrap();
    answer.into_inner().data.to_vec()
}

/// Stores the record and reads its page; every equation stands once in symbols and once in numbers,
/// and the PDF is one.
async fn page(store: &Store, collection: &str, body: Body) -> String {
    write(store, "x-9", body).await.unwrap();
    let name = named(collection, "x-9");
    let page = sheet(store, name.clone(), SheetFormat::Html).await;
    let page = String::from_utf8(page).unwrap();
    let equations = page
        .lines()
        .filter(|row| row.contains("class=\"equation\""));
    let equations: Vec<_> = equations.collect();
    assert!(equations.len() > 3 && equations.len() % 2 == 0, "{page}");
    for equation in equations {
        assert!(!equation.contains(['{', '}']), "{equation}");
    }
    for part in [
        "a licensed engineer checks the inputs",
        "Seal",
        "assumed by the designer",
    ] {
        assert!(page.contains(part), "{part} is missing");
    }
    let pdf = sheet(store, name, SheetFormat::Pdf).await;
    assert!(pdf.starts_with(b"%PDF-"));
    page.replace("&#x2F;", "/")
        .replace("&#39;", "'")
        .replace('\u{a0}', " ")
}

fn shows(page: &str, parts: &[&str]) {
    for part in parts {
        assert!(page.contains(part), "{part} is missing");
    }
}

#[tokio::test]
async fn the_sheet_of_a_hydraulic_check_shows_manning_before_and_after() {
    let store = with_liner().await;
    let check = hydraulics(0.010);
    let page = page(&store, "hydraulicChecks", Body::HydraulicCheck(check)).await;
    let parts = [
        "Calculation sheet: capacity of the lined pipe, segment Q-014",
        "191.60 mm = 200.00 mm − 2 · 4.20 mm",
        "0.02074 m³/s = 1/0.013 · π · 0.2000 m² / 4 · (0.2000 m / 4)^(2/3) · √0.004",
        "20.74 L/s",
        "24.05 L/s",
        "115.94 %",
        "limit: at least 100 %",
        "an invented table",
        "The lined pipe carries at least what the host pipe did: 115.9 % of it, with n 0.013 before \
         and 0.01 after.",
    ];
    shows(&page, &parts);
}

#[tokio::test]
async fn the_sheet_of_a_pull_in_check_shows_weight_force_carrying_and_pressure() {
    let store = with_liner().await;
    let certificate = LinerCertificate {
        liner: named("liners", "n-1"),
        ..LinerCertificate::default()
    };
    put(&store, "certificates", "c-1", &certificate).await;
    let page = page(&store, "pullInChecks", Body::PullInCheck(pull_in())).await;
    let parts = [
        "Calculation sheet: pull-in and handling, segment Q-014",
        "1,900 kg/m³ · π · (0.3000 m − 0.00560 m) · 0.00560 m · (1 + 0/100)",
        "9.841 kg/m",
        "2.90 kN",
        "at most 10.00 kN",
        "C-1",
        "Load of each carrier, eight people",
        "not met",
        "19.62 kPa",
        "no generic allowable is used",
    ];
    shows(&page, &parts);
}

#[tokio::test]
async fn the_sheet_of_a_pressure_design_shows_the_full_and_the_empty_pipe() {
    let mut inputs = sourced();
    inputs.set_host_condition(HostCondition::PartiallyDeteriorated);
    let store = with_design(inputs).await;
    let ring = page(
        &store,
        "pressureDesigns",
        Body::PressureDesign(pressure(None)),
    )
    .await;
    let parts = [
        "Calculation sheet: liner under internal pressure, segment Q-014",
        "42.0000 = 2 + 2 ·",
        "29.03 mm",
        "22.30 mm",
        "The ring in tension (X1.7) governs.",
        "from memory",
        "D-1, which checks the empty pipe",
    ];
    shows(&ring, &parts);
}

#[tokio::test]
async fn the_sheet_of_an_installed_liner_shows_each_check_run_backwards() {
    let store = with_design(sourced()).await;
    let body = Body::AsBuiltCheck(as_built(ThicknessBasis::Structural));
    let page = page(&store, "asBuiltChecks", body).await;
    let parts = [
        "Calculation sheet: installed liner, segment Q-014",
        "Wall of the design's modulus that is as stiff",
        "24.77 mm",
        "X1.3 at a factor of 1",
        "X1.4 capacity over demand",
        "limit: at least 2",
        "No acceptance.",
        "informs a disposition",
    ];
    shows(&page, &parts);
}

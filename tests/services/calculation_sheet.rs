//! The calculation sheet of a stored design, as PDF and as HTML.

use std::{env, fs, process::Command};

use obvert_ledger::{Caller, Draft, NewEntry};
use obvert_proto::{
    design::v1::{
        CheckWallRequest, DeflectionInputs, GetCalculationSheetRequest, HostCondition,
        OvalityPlace, SheetFormat, WallDesign, WallInputs,
    },
    project::v1::{Segment, record::Body},
};
use prost::{Message, Name};

use super::{
    design::{designs, najafi, sourced},
    store::{PROJECT, Store, contract, named, segment, violates},
};

/// Where a child of these tests puts its sheet.
const SHEET_FILE: &str = "OBVERT_TEST_SHEET_FILE";

/// Project, segment and design in one commit at a fixed time, so that the sheet depends on nothing
/// else.
async fn with_design(inputs: WallInputs) -> Store {
    let store = Store::empty().await;
    let pipe = Segment {
        owner_segment_id: "Q-<014> #1".into(),
        host_pipe_material: "clay".into(),
        ..segment("Q-014", "MH-7", "MH-8")
    };
    let request = CheckWallRequest {
        inputs: Some(inputs.clone()),
        with_sensitivities: true,
    };
    let checked = designs(&store)
        .check_wall(request)
        .await
        .unwrap()
        .into_inner();
    let design = WallDesign {
        segment: named("segments", "s-014"),
        inputs: Some(inputs),
        result: checked.result,
        ..WallDesign::default()
    };
    let Body::Project(project) = contract("America/New_York") else {
        panic!("a contract is a project")
    };
    let entries = vec![
        entry(format!("projects/{PROJECT}"), &project),
        entry(named("segments", "s-014"), &pipe),
        entry(named("designs", "d-1"), &design),
    ];
    let draft = Draft {
        project: PROJECT.into(),
        caller: Caller::default(),
        request_id: String::new(),
        request_digest: [0; 32],
        reason: String::new(),
        commit_time_ms: 1_772_460_000_000,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries,
    };
    store.ledger.commit(draft).await.unwrap();
    store
}

fn entry<M: Message + Name>(name: String, message: &M) -> NewEntry {
    NewEntry {
        name,
        type_name: M::full_name(),
        body: message.encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    }
}

async fn sheet(store: &Store, format: SheetFormat) -> Vec<u8> {
    let request = GetCalculationSheetRequest {
        name: named("designs", "d-1"),
        format: format.into(),
        ..GetCalculationSheetRequest::default()
    };
    let answer = designs(store)
        .get_calculation_sheet(request)
        .await
        .unwrap()
        .into_inner();
    assert!(
        answer.file_name.starts_with("calculation-d-1-r"),
        "{}",
        answer.file_name
    );
    answer.data.to_vec()
}

async fn html(inputs: WallInputs) -> String {
    let store = with_design(inputs).await;
    String::from_utf8(sheet(&store, SheetFormat::Html).await).unwrap()
}

#[tokio::test]
async fn the_pipe_of_najafi_pages_75_to_83_stands_on_the_sheet_with_its_numbers() {
    let page = html(sourced()).await;
    // Pages 75 to 80: R_w 0.835, B' 0.414, C 0.836, P 5.20 psi, q_t 14.947 psi (printed 14.90, an
    // arithmetic slip), walls of 1.01, 0.790, 0.878 and 0.376 in, 25.6 mm, DR 47.6.
    for printed in [
        "max(0.67, 1 − 0.33 · 8.00\u{a0}ft &#x2F; 16.00\u{a0}ft)",
        "= <strong>0.8350</strong>",
        "= <strong>0.4143</strong>",
        "= <strong>0.8358</strong>",
        "5.200\u{a0}psi",
        "14.947\u{a0}psi",
        "1.008\u{a0}in",
        "0.790\u{a0}in",
        "0.878\u{a0}in",
        "0.376\u{a0}in",
        "25.61\u{a0}mm",
        "47.6 required",
        "48.00\u{a0}in",
        "125,000\u{a0}psi",
        "Najafi 2010, pp. 75-77",
        "X1.3, buckling under soil, water and traffic, governs at station 0.00\u{a0}m",
        "a licensed engineer checks the inputs",
        "No conformity with them is claimed",
        "assumed by the designer",
    ] {
        let printed = printed.replace("&#x2F;", "/");
        let page = page.replace("&#x2F;", "/").replace("&#x27;", "'");
        assert!(page.contains(&printed), "{printed} is missing");
    }
}

#[tokio::test]
async fn indices_of_symbols_are_set_lower_on_the_page() {
    let page = html(sourced()).await;
    for symbol in [
        "E<sub>L</sub> = E · r",
        "<td>H<sub>w</sub></td>",
        "R<sub>w</sub> 0.8",
        "Load q<sub>t</sub>",
    ] {
        assert!(page.contains(symbol), "{symbol} is missing");
    }
    let lines = page.lines().filter(|line| line.contains("\"equation\""));
    let plain: Vec<_> = lines.filter(|line| line.contains('_')).collect();
    assert!(plain.is_empty(), "{plain:#?}");
}

#[tokio::test]
async fn what_a_record_holds_is_text_on_the_page_and_never_markup() {
    let mut inputs = sourced();
    inputs.sources[0].source = "<script>alert(1)</script> #panic() $x$".into();
    let store = with_design(inputs).await;
    let page = String::from_utf8(sheet(&store, SheetFormat::Html).await).unwrap();
    assert!(!page.contains("<script>") && page.contains("&lt;script&gt;"));
    assert!(page.contains("Q-&lt;014&gt; #1"));
    assert!(sheet(&store, SheetFormat::Pdf).await.starts_with(b"%PDF-"));
}

#[tokio::test]
async fn every_equation_is_laid_out_in_both_sets_of_constants_and_both_forms_of_x1_3() {
    let deflection = DeflectionInputs {
        trench_width_m: 1.8,
        trench_friction_coefficient: 0.13,
        bedding_constant: 0.083,
        deflection_lag: 1.25,
        deflection_max_percent: 5.0,
    };
    for constants in [1, 2] {
        for place in [OvalityPlace::InsideRoot, OvalityPlace::BeforeRoot] {
            let inputs = WallInputs {
                constants,
                ovality_place: place.into(),
                deflection: Some(deflection),
                ..sourced()
            };
            let store = with_design(inputs).await;
            let page = String::from_utf8(sheet(&store, SheetFormat::Html).await).unwrap();
            let lines: Vec<_> = page
                .lines()
                .filter(|l| l.contains("class=\"equation\""))
                .collect();
            // C, E_L, X1.4, P, R_w, B', q_t, X1.1, X1.2, X1.3, trench, deflection; two rows each.
            assert_eq!(lines.len(), 24);
            assert!(
                lines.iter().all(|line| !line.contains(['{', '}'])),
                "{lines:#?}"
            );
            assert!(sheet(&store, SheetFormat::Pdf).await.starts_with(b"%PDF-"));
        }
    }
}

#[tokio::test]
async fn a_dry_pipe_has_a_sheet_that_says_so() {
    let mut inputs = najafi(HostCondition::PartiallyDeteriorated);
    inputs.sections[0].groundwater_above_crown_m = 0.0;
    inputs.sections[0].groundwater_above_invert_m = Some(0.0);
    let store = with_design(inputs).await;
    let page = String::from_utf8(sheet(&store, SheetFormat::Html).await).unwrap();
    assert!(page.contains("none: dry pipe"));
    assert!(page.contains("There is no groundwater above the invert."));
    assert!(sheet(&store, SheetFormat::Pdf).await.starts_with(b"%PDF-"));
}

#[tokio::test]
async fn the_sheet_of_a_record_that_is_not_there_or_in_an_unknown_form_is_refused() {
    let store = with_design(sourced()).await;
    let mut request = GetCalculationSheetRequest {
        name: "projects/quillfern/designs/d-9".into(),
        ..GetCalculationSheetRequest::default()
    };
    let missing = designs(&store)
        .get_calculation_sheet(request.clone())
        .await
        .unwrap_err();
    assert_eq!(missing.code(), tonic::Code::NotFound);
    request.name = named("designs", "d-1");
    request.format = 9;
    let refused = designs(&store)
        .get_calculation_sheet(request)
        .await
        .unwrap_err();
    violates(&refused, &[("format", "SHEET_FORMAT_HTML")]);
}

#[tokio::test]
async fn a_sheet_has_the_same_bytes_in_another_time_zone_and_locale() {
    let store = with_design(sourced()).await;
    let mut bytes = sheet(&store, SheetFormat::Pdf).await;
    assert_eq!(bytes, sheet(&store, SheetFormat::Pdf).await);
    bytes.extend(sheet(&store, SheetFormat::Html).await);
    if let Some(file) = env::var_os(SHEET_FILE) {
        fs::write(file, bytes).unwrap();
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (zone, locale) in [("Pacific/Auckland", "tr_TR.UTF-8"), ("America/Denver", "C")] {
        let file = folder.path().join("sheet");
        let name = "services::calculation_sheet::a_sheet_has_the_same_bytes_in_another_time_zone_and_locale";
        let ended = Command::new(env::current_exe().unwrap())
            .args(["--exact", name])
            .env("TZ", zone)
            .env("LC_ALL", locale)
            .env("LANG", locale)
            .env(SHEET_FILE, &file)
            .output()
            .unwrap();
        assert!(
            ended.status.success(),
            "{}",
            String::from_utf8_lossy(&ended.stdout)
        );
        assert!(fs::read(&file).unwrap() == bytes, "in {zone}");
    }
}

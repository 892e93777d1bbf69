//! A plan explained by the command line: the whole of it, for programs as for people.

use std::{fs, path::Path, process::Command};

use obvert_closeout::plan::{LimitValue, explain, parse};
use serde_json::{Value, json};

use super::support::{Server, program};
use crate::closeout::plan::SMALL;

/// What `plan explain` prints of a plan's text.
fn explained(server: &Server, source: &str, json: bool) -> String {
    let folder = server.folder.path();
    server.write_office_key();
    fs::write(folder.join("plan.toml"), source).unwrap();
    let ended = Command::new(program("obvert"))
        .current_dir(folder)
        .args(["--server", &format!("http://{}", server.address)])
        .args(["--key-file", "office.key"])
        .args(json.then_some("--json"))
        .args(["plan", "explain", "plan.toml"])
        .output()
        .unwrap();
    assert!(ended.status.success(), "{ended:?}");
    String::from_utf8(ended.stdout).unwrap()
}

fn for_programs(server: &Server, source: &str) -> Value {
    serde_json::from_str(&explained(server, source, true)).unwrap()
}

/// The small plan with something in every part.
fn full() -> String {
    let changes = [
        (
            "[[limit]]",
            "[package]\nsections = [\"designs\"]\nplugin_sections = [\"working-hours\"]\n\n\
             [package.cover]\ntitle = \"Record of lining\"\nsigned_by = [\"Inspector\"]\n\n[[limit]]",
        ),
        (
            "source = \"owner's choice\"",
            "basis = \"wall to wall\"\nsource = \"owner's choice\"\nwho_may_vary = [\"engineer\", \
             \"owner\"]",
        ),
        (
            "evaluator = \"field-survey\"",
            "evaluator = \"field-survey\"\nsampling = \"one-per-batch\"",
        ),
        (
            "released_by = [\"owner\"]",
            "released_by = [\"owner\"]\nself_release = true",
        ),
    ];
    let mut plan = SMALL.to_owned();
    for (from, to) in changes {
        assert!(plan.contains(from), "{from}");
        plan = plan.replacen(from, to, 1);
    }
    plan
}

#[test]
fn a_program_gets_all_that_people_read_of_a_plan() {
    let server = Server::start("");
    let mut plan = for_programs(&server, &full());
    let points = plan["points"].take();
    let limit = json!({
        "parameter": "survey_length_difference_percent",
        "operator": "<=",
        "number": 2.0,
        "unit": "percent",
        "basis": "wall to wall",
        "source": "owner's choice",
        "whoMayVary": ["engineer", "owner"],
    });
    let wanted = json!({
        "title": "Small",
        "owner": "Marrowby Sanitary District",
        "planRevision": "A",
        "limits": [limit],
        "points": null,
        "package": {
            "leftOut": "cure logs, laboratory reports, papers and their comparisons, leak tests, \
                        laterals one by one, samples and custody",
            "pluginSections": ["working-hours"],
            "cover": [
                "title: \"Record of lining\"",
                "lines: nothing",
                "facts: nothing",
                "rows to be signed by hand: \"Inspector\"",
                "logo: that of the project",
            ],
        },
    });
    assert_eq!(plan, wanted);
    assert_eq!(points[0]["point"], "survey");
    let sampling = points[0]["sampling"].as_str().unwrap();
    assert!(
        sampling.starts_with("the first segment lined from each batch"),
        "{sampling}"
    );
    assert_eq!(points[1]["selfRelease"], true);
    let text = explained(&server, &full(), false);
    for part in [
        "Small, plan of Marrowby Sanitary District, revision A",
        "<= 2 percent, wall to wall (owner's choice); may be varied by engineer, owner",
        "the first segment lined from each batch",
        "who recorded the result may release it too",
        "a section is asked of the plug-ins working-hours",
        "owner's cover, title: \"Record of lining\"",
    ] {
        assert!(text.contains(part), "{part} is missing in {text}");
    }
}

#[test]
fn a_plan_that_states_little_has_the_same_keys() {
    let server = Server::start("");
    let keys = |plan: &Value| -> Vec<String> {
        let of = |value: &Value| {
            value
                .as_object()
                .unwrap()
                .keys()
                .cloned()
                .collect::<Vec<_>>()
        };
        [of(plan), of(&plan["package"])].concat()
    };
    let small = for_programs(&server, SMALL);
    assert_eq!(keys(&small), keys(&for_programs(&server, &full())));
    assert_eq!(small["package"]["leftOut"], "nothing");
    assert_eq!(small["package"]["cover"], json!([]));
}

#[test]
fn every_limit_and_point_of_the_example_plans_is_there_with_its_source() {
    let server = Server::start("");
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    for owner in ["marrowby", "ostervane", "hollinreed"] {
        let source = fs::read_to_string(root.join(format!("deploy/plans/{owner}.toml"))).unwrap();
        let plan = parse(&source).unwrap();
        let json = for_programs(&server, &source);
        let limits = json["limits"].as_array().unwrap();
        assert_eq!(limits.len(), plan.limits.len());
        for (limit, told) in plan.limits.iter().zip(limits) {
            assert_eq!(told["parameter"], limit.parameter.as_str());
            assert_eq!(told["source"], limit.source.as_str());
            match &limit.value {
                LimitValue::Number(number) => assert_eq!(told["number"], *number),
                LimitValue::Word(word) => assert_eq!(told["word"], word.as_str()),
            }
        }
        let told = json["points"].as_array().unwrap();
        let told: Vec<_> = told.iter().map(|point| &point["point"]).collect();
        let points: Vec<_> = explain(&plan).into_iter().map(|p| p.point).collect();
        assert_eq!(told, points.iter().collect::<Vec<_>>(), "{owner}");
    }
}

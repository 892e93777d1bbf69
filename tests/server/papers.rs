//! A paper from the office's typing to its issuer's answer, through the command line and the page.

use std::{fs, path::Path, process::Command};

use serde_json::Value;

use super::support::{Server, program};
use crate::closeout::plan::SMALL;

const PAPER: &str = "projects/quillfern/documents/d-1";
const SEGMENT: &str = "projects/quillfern/segments/s-1";

/// A small plan whose first point asks for the paper.
fn plan() -> String {
    let asks = "evaluator = \"evidence-present\"\n\
                parameters = { evidence_kind = \"laboratory-accreditation\" }";
    let plan = SMALL.replacen("evaluator = \"field-survey\"", asks, 1);
    assert_ne!(plan, SMALL);
    plan
}

/// A server with a project, a segment and one paper that the office typed from an original.
struct Site(Server);

impl Site {
    fn start() -> Self {
        let site = Self(Server::start(""));
        site.0.write_office_key();
        site.file("plan.toml", &plan());
        site.file("scan.txt", "Accreditation 4711 <script>alert(1)</script>\n");
        site.json(
            "project.json",
            r#"{"title": "Quillfern Lane <script>alert(1)</script>",
            "contractNumber": "MSD-2026-07", "owner": "Marrowby Sanitary District",
            "contractor": "Copperbeck Utilities", "timeZone": "America/New_York",
            "payLengthBasis": "LENGTH_BASIS_WALL_TO_WALL"}"#,
        );
        site.json(
            "segment.json",
            r#"{"ownerSegmentId": "S-1", "upstreamManhole": "MQ-1", "downstreamManhole": "MQ-2",
            "nominalDiameterMm": 200, "lengthCentreToCentreM": 91.4, "lengthWallToWallM": 90.2}"#,
        );
        site.paper("Fernmoss Materials Laboratory");
        let made = |words: &str| {
            let (code, printed) = site.obvert("office", words);
            assert_eq!(code, 0, "{words}: {printed}");
        };
        made("project create quillfern project.json");
        made("plan add small plan.toml --project quillfern");
        let project = site.read("project.json").replace(
            "\"owner\"",
            "\"plan\": \"projects/quillfern/plans/small\", \"owner\"",
        );
        site.file("project.json", &project);
        made("project revise projects/quillfern project.json --reason plan");
        made("segment create s-1 segment.json --project quillfern");
        made("attachment put scan scan.txt --project quillfern --media-type text/plain");
        made("document create d-1 paper.json --project quillfern");
        made("key new eng person/ada --role quillfern:engineer --out engineer.key");
        made("key new typist person/typist --role quillfern:office --out typist.key");
        made(
            "key new both person/both --role quillfern:engineer --role quillfern:office --out both.key",
        );
        site
    }

    fn folder(&self) -> &Path {
        self.0.folder.path()
    }

    fn file(&self, name: &str, text: &str) {
        fs::write(self.folder().join(name), text).unwrap();
    }

    fn json(&self, name: &str, text: &str) {
        serde_json::from_str::<Value>(text).unwrap();
        self.file(name, text);
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder().join(name)).unwrap()
    }

    fn paper(&self, issuer: &str) {
        let text = format!(
            r#"{{"evidenceKind": "laboratory-accreditation", "subjects": ["{SEGMENT}"],
            "attachments": ["projects/quillfern/attachments/scan"], "title": "Accreditation",
            "issuer": "{issuer}", "signedBy": "laboratory manager",
            "signedDate": {{"year": 2026, "month": 3, "day": 2}}}}"#
        );
        self.json("paper.json", &text);
    }

    /// Runs the command line with somebody's key: its exit code, and what it printed.
    fn obvert(&self, who: &str, words: &str) -> (i32, String) {
        let key = self.folder().join(format!("{who}.key"));
        let ended = Command::new(program("obvert"))
            .current_dir(self.folder())
            .arg("--server")
            .arg(format!("http://{}", self.0.address))
            .arg("--key-file")
            .arg(key)
            .args(words.split(' '))
            .output()
            .unwrap();
        let printed = [ended.stdout, ended.stderr].concat();
        let printed = String::from_utf8(printed).unwrap();
        (ended.status.code().unwrap(), printed)
    }

    /// State of the point that asks for the paper, and what holds it.
    fn point(&self) -> (String, String) {
        let (code, printed) = self.obvert("office", &format!("--json point list {SEGMENT}"));
        assert_eq!(code, 0, "{printed}");
        let status: Value = serde_json::from_str(&printed).unwrap();
        let point = &status[0]["points"][0];
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        (
            text(&point["state"]),
            text(&point["findings"][0]["message"]),
        )
    }

    #[track_caller]
    fn holds(&self, words: &str) {
        let (state, why) = self.point();
        assert!(
            state == "POINT_STATE_HELD" && why.contains(words),
            "{state}: {why}"
        );
    }

    #[track_caller]
    fn is_released(&self) {
        let (state, why) = self.point();
        assert_eq!(state, "POINT_STATE_RELEASED", "{why}");
    }

    /// Path of a new link to the issuer.
    fn link(&self) -> String {
        let words = format!("--json paper link {PAPER} --issuer Fernmoss");
        let (code, printed) = self.obvert("office", &words);
        assert_eq!(code, 0, "{printed}");
        let made: Value = serde_json::from_str(&printed).unwrap();
        let url = made["url"].as_str().unwrap();
        let server = format!("http://{}", self.0.address);
        url.strip_prefix(&server).unwrap().to_owned()
    }

    fn get(&self, path: &str) -> String {
        self.0.http(&format!("GET {path} HTTP/1.1"), "")
    }

    fn answer(&self, path: &str, origin: &str, form: &str) -> String {
        let head = format!(
            "POST {path} HTTP/1.1\r\norigin: {origin}\r\ncontent-type: application/x-www-form-urlencoded"
        );
        self.0.http(&head, form)
    }

    fn own(&self) -> String {
        format!("http://{}", self.0.address)
    }
}

#[test]
fn a_lone_transcription_holds_a_second_role_releases_and_a_digit_changed_after_it_holds_again() {
    let site = Site::start();
    site.holds("nobody else has compared the two");
    let check = format!("paper check {PAPER} --agrees");
    for (who, words) in [
        ("office", "was typed by you"),
        ("typist", "under the role office, which is yours"),
        ("both", "under the role office, which is yours"),
    ] {
        let (code, printed) = site.obvert(who, &check);
        assert!(code == 3 && printed.contains(words), "{who}: {printed}");
    }
    let (code, printed) = site.obvert("engineer", &check);
    assert!(
        code == 0 && printed.contains("checked by a second role"),
        "{printed}"
    );
    site.is_released();
    site.paper("Fernmoss Materials Laboratories");
    let revise = format!("document revise {PAPER} paper.json --reason misspelt");
    assert_eq!(site.obvert("office", &revise).0, 0);
    site.holds("it was revised since");
    assert_eq!(site.obvert("engineer", &check).0, 0);
    site.is_released();
    let put = format!(
        "attachment put page-2 scan.txt --project quillfern --media-type text/plain --subject {PAPER}"
    );
    assert_eq!(site.obvert("office", &put).0, 0);
    site.holds("it got another original since");
}

#[test]
fn a_check_of_a_revision_that_is_past_is_refused() {
    let site = Site::start();
    let (code, printed) = site.obvert(
        "engineer",
        &format!("paper check {PAPER} --agrees --revision 2"),
    );
    assert!(code == 6 && printed.contains("ETAG_STALE"), "{printed}");
}

#[test]
fn the_issuer_s_page_shows_values_beside_the_original_and_takes_one_answer() {
    let site = Site::start();
    let path = site.link();
    let page = site.get(&path);
    assert!(page.starts_with("HTTP/1.1 200"), "{page}");
    for part in [
        "<th scope=\"row\">signed date</th><td>2026-03-02</td>",
        "originals/1",
        "Quillfern Lane &lt;script&gt;",
        "frame-src 'self'",
        "cache-control: no-store",
        "referrer-policy: same-origin",
    ] {
        assert!(page.contains(part), "{part} is missing in {page}");
    }
    assert!(!page.contains("<script"), "{page}");
    let original = site.get(&format!("{path}/originals/1"));
    for part in [
        "HTTP/1.1 200",
        "content-type: text/plain; charset=utf-8",
        "x-content-type-options: nosniff",
        "content-disposition: inline; filename=\"scan.txt\"",
        "frame-ancestors 'self'",
        "Accreditation 4711",
    ] {
        assert!(original.contains(part), "{part} is missing in {original}");
    }
    assert!(site.get(&format!("{path}/originals/2")).contains("404"));
    let foreign = site.answer(&path, "http://other.invalid", "answer=agrees");
    assert!(foreign.starts_with("HTTP/1.1 403"), "{foreign}");
    let nothing = site.answer(&path, &site.own(), "answer=perhaps");
    assert!(nothing.starts_with("HTTP/1.1 400"), "{nothing}");
    site.holds("nobody else");
    let taken = site.answer(&path, &site.own(), "answer=agrees&remark=");
    assert!(
        taken.starts_with("HTTP/1.1 200") && taken.contains("equal your original"),
        "{taken}"
    );
    site.is_released();
    for again in [
        site.get(&path),
        site.get(&format!("{path}/originals/1")),
        site.answer(&path, &site.own(), "answer=differs&remark=no"),
    ] {
        assert!(again.starts_with("HTTP/1.1 410"), "{again}");
    }
    let (_, shown) = site.obvert("office", &format!("paper show {PAPER}"));
    assert!(
        shown.contains("compared by issuer/fernmoss, issuer: agrees")
            && shown.contains("confirmed by its issuer"),
        "{shown}"
    );
}

#[test]
fn an_issuer_s_no_holds_what_a_second_role_had_released() {
    let site = Site::start();
    let check = format!("paper check {PAPER} --agrees");
    assert_eq!(site.obvert("engineer", &check).0, 0);
    let path = site.link();
    let bare = site.answer(&path, &site.own(), "answer=differs&remark=");
    assert!(bare.starts_with("HTTP/1.1 400"), "{bare}");
    site.is_released();
    let form = "answer=differs&remark=the+number+is+4717";
    let taken = site.answer(&path, &site.own(), form);
    assert!(taken.contains("differ from your original"), "{taken}");
    site.holds("found that it differs (\"the number is 4717\")");
    let other = site.link();
    assert!(
        site.answer(&other, &site.own(), "answer=agrees")
            .contains("200")
    );
    site.is_released();
}

#[test]
fn a_link_that_was_changed_ended_or_overtaken_opens_nothing() {
    let site = Site::start();
    let path = site.link();
    let last = if path.ends_with('0') { "1" } else { "0" };
    let changed = format!("{}{last}", &path[..path.len() - 1]);
    assert!(site.get(&changed).starts_with("HTTP/1.1 404"));
    // The path is /issuer/issuer.{project}.{link}.{end}.{mark}.
    let id = path.split('.').nth(2).unwrap();
    let name = format!("projects/quillfern/issuerLinks/{id}");
    let (code, printed) = site.obvert("engineer", &format!("paper revoke-link {name} --reason x"));
    assert_eq!(code, 5, "{printed}");
    let (code, _) = site.obvert(
        "office",
        &format!("paper revoke-link {name} --reason sent-wrong"),
    );
    assert_eq!(code, 0);
    let revoked = site.get(&path);
    assert!(
        revoked.starts_with("HTTP/1.1 410") && revoked.contains("ended by its sender"),
        "{revoked}"
    );
    let path = site.link();
    site.paper("Fernmoss");
    let revise = format!("document revise {PAPER} paper.json --reason shorter");
    assert_eq!(site.obvert("office", &revise).0, 0);
    let overtaken = site.answer(&path, &site.own(), "answer=agrees");
    assert!(
        overtaken.starts_with("HTTP/1.1 410") && overtaken.contains("were changed"),
        "{overtaken}"
    );
    site.holds("nobody else");
}

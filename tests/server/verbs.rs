//! Links and a crew's key through the command line, up to the page that opens by them.

use std::{fs, os::unix::fs::PermissionsExt};

use jiff::{Timestamp, tz::TimeZone};
use qrcode::{QrCode, render::unicode::Dense1x2};
use serde_json::Value;

use super::{
    files::{obvert, started},
    support::Server,
};
use crate::closeout::fixture::PLAN;

/// Tomorrow at the site, which no shift there has left behind.
fn tomorrow() -> String {
    let zone = TimeZone::get("America/New_York").unwrap();
    let today = zone.to_datetime(Timestamp::now()).date();
    today.tomorrow().unwrap().to_string()
}

/// Path of an address of this server.
fn path(server: &Server, url: &str) -> String {
    let own = format!("http://{}", server.address);
    url.strip_prefix(&own).expect(url).to_owned()
}

fn status(server: &Server, path: &str) -> String {
    server.http(&format!("GET {path} HTTP/1.1"), "")[9..12].to_owned()
}

/// Signs in on the page with a key.
fn sign_in(server: &Server, key: &str) -> String {
    let head = format!(
        "POST /sign-in HTTP/1.1\r\norigin: http://{}\r\n\
         content-type: application/x-www-form-urlencoded",
        server.address
    );
    server.http(&head, &format!("key={key}"))
}

#[test]
fn a_link_is_made_listed_and_revoked_and_opens_its_page_in_between() {
    let server = started();
    let new = "link new district projects/quillfern --for district --days 3";
    let (code, printed) = obvert(&server, &format!("{new} --validate-only"));
    assert_eq!(
        (code, printed.trim()),
        (0, "a link could be made; none was")
    );
    let (code, printed) = obvert(&server, new);
    assert_eq!(code, 0, "{printed}");
    let page = path(&server, printed.lines().next().unwrap());
    assert!(page.starts_with("/links/"), "{printed}");
    assert!(
        printed.contains("projects/quillfern/links/district works until"),
        "{printed}"
    );
    assert_eq!(status(&server, &page), "200");
    let (_, listed) = obvert(&server, "--json link list --project quillfern");
    let rows: Value = serde_json::from_str(&listed).unwrap();
    assert_eq!(rows[0][0], "projects/quillfern/links/district", "{listed}");
    let (code, printed) = obvert(&server, "link revoke projects/quillfern/links/district");
    assert_eq!(code, 3, "it is asked why: {printed}");
    assert_eq!(status(&server, &page), "200");
    let revoke = "link revoke projects/quillfern/links/district --reason closed";
    let (code, printed) = obvert(&server, revoke);
    assert_eq!(code, 0, "{printed}");
    assert_eq!(status(&server, &page), "404");
    let (_, listed) = obvert(&server, "link list --project quillfern");
    assert!(listed.contains("revoked 20"), "{listed}");
    let (code, printed) = obvert(&server, "link new other projects/none --for district");
    assert_eq!(code, 4, "{printed}");
}

#[test]
fn a_link_of_no_days_and_one_of_a_taken_id_are_refused_with_what_is_allowed() {
    let server = started();
    let new = "link new district projects/quillfern --for district";
    let (code, printed) = obvert(&server, &format!("{new} --days 0"));
    assert_eq!(code, 3, "{printed}");
    assert!(printed.contains("1 to 366 days"), "{printed}");
    let (code, printed) = obvert(&server, new);
    assert_eq!(code, 0, "{printed}");
    let (code, printed) = obvert(&server, new);
    assert_eq!(code, 3, "{printed}");
    assert!(printed.contains("choose another id"), "{printed}");
    assert!(!printed.contains("revise it"), "{printed}");
}

#[test]
fn a_key_file_that_others_can_read_is_used_and_warned_of() {
    let server = started();
    let (code, printed) = obvert(&server, "key whoami");
    assert_eq!((code, printed.contains("chmod")), (0, false), "{printed}");
    let open = fs::Permissions::from_mode(0o644);
    fs::set_permissions(server.folder.path().join("office.key"), open).unwrap();
    let (code, printed) = obvert(&server, "key whoami");
    assert_eq!(code, 0, "{printed}");
    assert!(
        printed.contains("office.key can be read by others: chmod 600 office.key"),
        "{printed}"
    );
}

#[test]
fn a_plan_that_is_no_utf_8_is_refused_with_its_row_and_a_folder_as_one() {
    let server = started();
    let plan = |bytes: &[u8]| fs::write(server.folder.path().join("plan.toml"), bytes).unwrap();
    let refused = |words: &str| {
        let (code, printed) = obvert(&server, "plan check plan.toml");
        assert_eq!(code, 3, "{printed}");
        assert!(printed.contains(words), "{printed}");
    };
    plan(b"[plan]\ntitle = \"Stra\xdfe\"\n");
    refused("row 2 holds a character that is not in UTF-8: save it as UTF-8");
    plan(b"\xff\xfe[\0p\0");
    refused("it is in UTF-16: save it as UTF-8");
    let (code, printed) = obvert(&server, "plan check .");
    assert_eq!(code, 1, "{printed}");
    assert!(printed.contains("it is a folder: name a file"), "{printed}");
}

#[test]
fn a_plan_is_compared_at_revisions_that_are_and_equal_ones_are_said_to_be() {
    let server = started();
    fs::write(server.folder.path().join("plan.toml"), PLAN).unwrap();
    let (code, printed) = obvert(&server, "plan add itp plan.toml --project quillfern");
    assert_eq!(code, 0, "{printed}");
    let plan = "projects/quillfern/plans/itp";
    let at = printed.trim().strip_prefix(&format!("{plan}@")).unwrap();
    let diff = |older: &str| obvert(&server, &format!("plan diff {older} {plan}"));
    let same = format!("{plan}@{at} and {plan} have the same text\n");
    assert_eq!(diff(&format!("{plan}@{at}")), (0, same));
    for (revision, exit, words) in [
        ("0", 2, "revisions begin with 1"),
        ("1", 4, "does not exist at revision 1"),
        ("99999", 3, "is 99999, the newest of project quillfern is"),
    ] {
        let (code, printed) = diff(&format!("{plan}@{revision}"));
        assert_eq!(code, exit, "{printed}");
        assert!(printed.contains(words), "{printed}");
    }
}

#[test]
fn who_may_do_it_nowhere_is_told_where_each_of_its_roles_is_held() {
    let server = started();
    let new = "key new crew person/crew --role quillfern:crew --out crew.key";
    let (code, printed) = obvert(&server, new);
    assert_eq!(code, 0, "{printed}");
    let (code, printed) = obvert(
        &server,
        "plan add p office.key --project quillfern --key-file crew.key",
    );
    assert_eq!(code, 5, "{printed}");
    assert!(
        printed.contains("has the role crew in project quillfern and may not"),
        "{printed}"
    );
}

#[test]
fn a_crew_s_key_is_drawn_as_a_code_that_holds_the_address_it_signs_in_at() {
    let server = started();
    let day = tomorrow();
    let new = format!("key crew-day crew-2 --project quillfern --date {day} --ends 18:00");
    let (code, printed) = obvert(&server, &new);
    assert_eq!(code, 0, "{printed}");
    let url = printed
        .lines()
        .find(|row| row.starts_with("http://"))
        .unwrap();
    let drawn = QrCode::new(url).unwrap().render::<Dense1x2>().build();
    assert!(printed.starts_with(&drawn), "{printed}");
    assert!(
        printed.contains("projects/office/keys/crew-2 works until"),
        "{printed}"
    );
    let (page, key) = url.split_once('#').unwrap();
    assert_eq!(path(&server, page), "/sign-in");
    assert!(sign_in(&server, key).starts_with("HTTP/1.1 303"));
    let (code, printed) = obvert(&server, &new);
    assert_eq!(code, 3, "a second one of the same id: {printed}");
}

#[test]
fn a_crew_s_key_is_given_to_a_program_or_a_file_instead_of_a_screen() {
    let server = started();
    let day = tomorrow();
    let of = |id: &str| format!("key crew-day {id} --project quillfern --date {day} --ends 18:00");
    let (code, printed) = obvert(&server, &format!("--json {}", of("crew-3")));
    assert_eq!(code, 0, "{printed}");
    let told: Value = serde_json::from_str(&printed).unwrap();
    assert_eq!(told["name"], "projects/office/keys/crew-3");
    let (_, key) = told["url"].as_str().unwrap().split_once('#').unwrap();
    assert!(sign_in(&server, key).starts_with("HTTP/1.1 303"));
    let (code, printed) = obvert(&server, &format!("{} --out crew.key", of("crew-4")));
    assert_eq!(code, 0, "{printed}");
    assert!(!printed.contains("obv_"), "{printed}");
    let file = server.folder.path().join("crew.key");
    assert_eq!(
        fs::metadata(&file).unwrap().permissions().mode() & 0o777,
        0o600
    );
    let key = fs::read_to_string(&file).unwrap();
    assert!(sign_in(&server, key.trim()).starts_with("HTTP/1.1 303"));
    let (code, printed) = obvert(&server, &format!("{} --validate-only", of("crew-5")));
    assert_eq!((code, printed.trim()), (0, "a key could be made; none was"));
    let yesterday = of("crew-6").replace(&day, "2020-02-30");
    let (code, printed) = obvert(&server, &yesterday);
    assert!(code == 2 && printed.contains("YYYY-MM-DD"), "{printed}");
}

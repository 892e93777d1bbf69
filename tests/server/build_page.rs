//! The page of a build: its buttons, pressed as a browser presses them.

use std::time::{Duration, Instant};

use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::project::v1::Role;

use super::{
    matrix::world::{PROJECT, World},
    pages::session,
    support::{self, PATIENCE, Server},
};
use crate::{
    closeout::fixture::{full, many},
    package::{
        building::left,
        sample::{blobs, logged},
    },
};

const PAGE: &str = "/projects/quillfern/builds/b-left";
const GO_ON: &str = "/projects/quillfern/builds/b-left/resume";
const GIVE_UP: &str = "/projects/quillfern/builds/b-left/cancel";

/// A form of a page: where it is sent, and the fields that a browser sends without a choice.
#[derive(Debug, Clone)]
struct Form {
    action: String,
    fields: String,
}

/// Somebody in a browser.
struct Visitor<'a> {
    world: &'a World,
    cookie: String,
}

/// A server with an accepted segment, and a build that it stopped since who began it has no key here.
async fn stopped() -> World {
    let folder = support::prepared("");
    let config = LedgerConfig::new(folder.path().join("store"));
    let ledger = Ledger::open(config).await.unwrap();
    for blob in blobs().into_values() {
        ledger.blobs().put(blob).await.unwrap();
    }
    many::accepted(&ledger, &mut logged(), 1).await;
    left(&ledger, &full("builds/b-left")).await;
    ledger.close().await;
    let server = Server::start_in(folder);
    let channel = server.channel().await;
    let world = World { server, channel };
    let office = world.server.key();
    world.visitor(&office).until(PAGE, "stopped");
    world
}

impl World {
    fn visitor(&self, key: &str) -> Visitor<'_> {
        let cookie = session(&self.server, key);
        let world = self;
        Visitor { world, cookie }
    }

    /// Somebody with one role in the project.
    async fn visitor_as(&self, id: &str, role: Role) -> Visitor<'_> {
        let key = self.key(id, &[(PROJECT, role)]).await;
        self.visitor(&key)
    }

    fn own(&self) -> String {
        format!("\r\norigin: http://{}", self.server.address)
    }
}

impl Visitor<'_> {
    fn page(&self, path: &str) -> String {
        let head = format!("GET {path} HTTP/1.1\r\ncookie: {}", self.cookie);
        let page = self.world.server.http(&head, "");
        assert!(page.starts_with("HTTP/1.1 200"), "{page}");
        page
    }

    /// The page once the build is in a state.
    fn until(&self, path: &str, state: &str) -> String {
        let begun = Instant::now();
        loop {
            let page = self.page(path);
            if page.contains(&format!("<strong>{state}</strong>")) {
                return page;
            }
            assert!(begun.elapsed() < PATIENCE, "not {state}: {page}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Sends a form as a browser does that says it came from this origin.
    fn send(&self, form: &Form, origin: &str) -> String {
        let Form { action, fields } = form;
        let head = format!(
            "POST {action} HTTP/1.1\r\ncookie: {}{origin}\r\n\
             content-type: application/x-www-form-urlencoded",
            self.cookie
        );
        self.world.server.http(&head, fields)
    }

    /// Sends a form from this server's own page.
    fn press(&self, form: &Form) -> String {
        self.send(form, &self.world.own())
    }
}

/// Every form of a page but the one that signs out.
fn forms(page: &str) -> Vec<Form> {
    let forms = page.split("<form ").skip(1).map(|rest| {
        let (form, _) = rest.split_once("</form>").unwrap();
        assert_eq!(attribute(form, "method"), "post", "{form}");
        let inputs = form.split("<input ").skip(1);
        let tags = inputs.map(|input| input.split_once('>').unwrap().0);
        // A box that nobody ticks is not sent.
        let sent = tags.filter(|tag| attribute(tag, "type") != "checkbox");
        let pair = |tag| format!("{}={}", attribute(tag, "name"), attribute(tag, "value"));
        Form {
            action: attribute(form, "action").to_owned(),
            fields: sent.map(pair).collect::<Vec<_>>().join("&"),
        }
    });
    forms.filter(|form| form.action != "/sign-out").collect()
}

fn attribute<'a>(tag: &'a str, name: &str) -> &'a str {
    let (_, rest) = tag.split_once(&format!("{name}=\"")).unwrap();
    rest.split_once('"').unwrap().0
}

fn actions(page: &str) -> Vec<String> {
    forms(page).into_iter().map(|form| form.action).collect()
}

#[track_caller]
fn leads_to_the_page(answer: &str) {
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    assert!(
        answer.contains(&format!("location: {PAGE}\r\n")),
        "{answer}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stopped_build_has_its_buttons_for_who_may_and_only_from_its_own_page() {
    let world = stopped().await;
    let owner = world.visitor_as("owner", Role::Owner).await;
    let auditor = world.visitor_as("auditor", Role::Auditor).await;
    let shown = owner.page(PAGE);
    assert!(
        shown.contains("person/ruan-ashgill has no key in force"),
        "{shown}"
    );
    assert_eq!(actions(&shown), [GO_ON, GIVE_UP]);
    assert!(actions(&auditor.page(PAGE)).is_empty(), "it may only read");
    for form in forms(&shown) {
        let refused = auditor.press(&form);
        assert!(
            refused.starts_with("HTTP/1.1 403") && refused.contains("NOT_ALLOWED"),
            "{form:?}: {refused}"
        );
        for origin in ["\r\norigin: http://other.invalid", "\r\norigin: null", ""] {
            let refused = owner.send(&form, origin);
            assert!(
                refused.starts_with("HTTP/1.1 403") && refused.contains("came from another site"),
                "{form:?} {origin:?}: {refused}"
            );
        }
    }
    assert!(owner.page(PAGE).contains("<strong>stopped</strong>"));
}

#[tokio::test(flavor = "multi_thread")]
async fn who_presses_go_on_finishes_the_build_in_its_own_name() {
    let world = stopped().await;
    let owner = world.visitor_as("owner", Role::Owner).await;
    let buttons = forms(&owner.page(PAGE));
    leads_to_the_page(&owner.press(&buttons[0]));
    let done = owner.until(PAGE, "done");
    assert!(done.contains("begun by person/owner"), "{done}");
    assert!(
        done.contains("</strong>: 1 of 2 segments dealt with, 1 package made."),
        "{done}"
    );
    assert!(actions(&done).is_empty(), "nothing is left to press");
    for old in &buttons {
        let refused = owner.press(old);
        assert!(
            refused.starts_with("HTTP/1.1 400") && refused.contains("ACT_REFUSED"),
            "{old:?}: {refused}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn who_presses_give_up_ends_the_build_and_twice_is_no_fault() {
    let world = stopped().await;
    let owner = world.visitor_as("owner", Role::Owner).await;
    let buttons = forms(&owner.page(PAGE));
    for _ in 0..2 {
        leads_to_the_page(&owner.press(&buttons[1]));
        let ended = owner.page(PAGE);
        assert!(
            ended
                .contains("<strong>given up</strong>: 0 of 2 segments dealt with, no package made"),
            "{ended}"
        );
        assert!(actions(&ended).is_empty(), "nothing is left to press");
    }
    let refused = owner.press(&buttons[0]);
    assert!(
        refused.starts_with("HTTP/1.1 400") && refused.contains("ACT_REFUSED"),
        "{refused}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_button_of_a_project_begins_one_build_however_often_it_is_pressed() {
    let world = stopped().await;
    let owner = world.visitor_as("owner", Role::Owner).await;
    let auditor = world.visitor_as("auditor", Role::Auditor).await;
    let project = format!("/projects/{PROJECT}");
    assert!(
        actions(&auditor.page(&project)).is_empty(),
        "it may only read"
    );
    let [button] = &forms(&owner.page(&project))[..] else {
        panic!("one button")
    };
    assert!(auditor.press(button).starts_with("HTTP/1.1 403"));
    let foreign = owner.send(button, "\r\norigin: http://other.invalid");
    assert!(foreign.starts_with("HTTP/1.1 403"), "{foreign}");
    let page = |answer: &str| {
        let (_, rest) = answer.split_once("location: ").expect("it leads somewhere");
        rest.split_once('\r').unwrap().0.to_owned()
    };
    let first = page(&owner.press(button));
    assert_eq!(page(&owner.press(button)), first);
    let done = owner.until(&first, "done");
    assert!(
        done.contains(": 1 of 1 segment dealt with, 1 package made."),
        "{done}"
    );
}

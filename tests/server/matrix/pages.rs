//! Every cell of every page.

use obvert_access::{
    Cell,
    matrix::{Needs, PAGES},
};

use super::world::{PROJECT, World};

#[tokio::test]
async fn every_page_is_shown_and_refused_as_the_table_of_roles_says() {
    let world = World::start().await;
    let keys = world.keys(PROJECT).await;
    for (method, route, needs) in PAGES {
        let path = route
            .replace("{project}", PROJECT)
            .replace("{segment}", "s-1")
            .replace("{package}", "none")
            .replace("{build}", "none")
            .replace("{design}", "none")
            .replace("{place}", "0")
            .replace("{link}", "none");
        let origin = format!("origin: http://{}", world.server.address);
        let form = "content-type: application/x-www-form-urlencoded";
        let ask = |more: &str| {
            let head = format!("{method} {path} HTTP/1.1\r\n{origin}\r\n{form}{more}");
            let answer = world.server.http(&head, "");
            answer[9..12].to_owned()
        };
        match needs {
            Needs::Key => assert_eq!(ask(""), "303", "{method} {route} without a key"),
            Needs::Act(_) => assert_eq!(ask(""), "303", "{method} {route} without a key"),
            _ => continue,
        }
        for (role, key) in &keys {
            let answer = ask(&format!("\r\nauthorization: Bearer {key}"));
            let cell = match needs {
                Needs::Act(action) => action.cell(*role),
                _ => Cell::Allowed,
            };
            let denied = cell == Cell::Denied;
            assert_eq!(
                answer == "403",
                denied,
                "{method} {route} as {role:?}: {answer}"
            );
            assert_ne!(answer, "303", "{method} {route} as {role:?}");
        }
    }
}

//! The table as a page for people.

use std::fmt::Write as _;

use super::{Action, Cell, Needs, PAGES, ROLES, RPCS, TABLE, collections};
use crate::role_word;

const HEAD: &str = "\
# Who may do what

Written by `obvertd roles`; `tests/server/matrix` runs every cell and holds this page against the table.

- **yes**: in the projects where the role is held. **own**: only what the principal wrote itself, under ids that begin
  with the principal's. **-**: `NOT_ALLOWED`, before validation and before existence.
- Keys are the store's: \"yes\" needs the role in the reserved project `office`, or in `*`.
- Every key that may read also reads `office`, where makers' sheets lie; a subcontractor does not.
- Whoever may write a nonconformance writes one up. Who decides on its own only does not let the work stand as it is.
- \"any key\" answers only what its caller may see. A call without a row is refused.
";

/// The table in Markdown.
pub fn page() -> String {
    let mut text = HEAD.to_owned();
    heading(&mut text, "Actions", "action");
    for (action, cells) in TABLE.iter().filter(|(a, _)| !matches!(a, Action::Write(_))) {
        row(&mut text, &action.words(), &words(*cells));
    }
    heading(
        &mut text,
        "Records, by collection: create, revise, import",
        "collection",
    );
    for (action, cells) in TABLE {
        if let Action::Write(collection) = action {
            row(&mut text, collection, &words(*cells));
        }
    }
    heading(&mut text, "RPCs", "RPC");
    for (rpc, needs) in RPCS {
        row(&mut text, &format!("`{rpc}`"), &needed(rpc, *needs));
    }
    heading(&mut text, "Pages", "page");
    for (method, route, needs) in PAGES {
        row(
            &mut text,
            &format!("{method} `{route}`"),
            &needed("", *needs),
        );
    }
    text
}

fn heading(text: &mut String, title: &str, first: &str) {
    let roles = ROLES.map(role_word).join(" | ");
    let rules = "| --- ".repeat(ROLES.len() + 1);
    let _ = write!(text, "\n## {title}\n\n| {first} | {roles} |\n{rules}|\n");
}

fn row(text: &mut String, first: &str, cells: &[&str]) {
    let _ = writeln!(text, "| {first} | {} |", cells.join(" | "));
}

fn words(cells: [Cell; ROLES.len()]) -> Vec<&'static str> {
    let word = |cell| match cell {
        Cell::Allowed => "yes",
        Cell::Own => "own",
        Cell::Denied => "-",
    };
    cells.map(word).to_vec()
}

fn needed(rpc: &str, needs: Needs) -> Vec<&'static str> {
    let same = |word| vec![word; ROLES.len()];
    match needs {
        Needs::Nothing => same("no key"),
        Needs::Key => same("any key"),
        Needs::LinkToken => same("a link"),
        Needs::NotServed => same("not served"),
        Needs::Act(action) => words(action.cells()),
        Needs::KindWrite => {
            let package = rpc.rsplit_once('.').map_or("", |(package, _)| package);
            let kept = collections(&format!("obvert.{package}"));
            let may = |role| {
                kept.iter()
                    .any(|c| Action::Write(c).cell(role) != Cell::Denied)
            };
            let word = |role| if may(role) { "by collection" } else { "-" };
            ROLES.map(word).to_vec()
        }
    }
}

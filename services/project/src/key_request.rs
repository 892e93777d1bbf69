//! What a request for a key must say: ids, a principal that is a person or a machine, each role once.

use obvert_access::role_word;
use obvert_proto::{
    Problem, Violation,
    project::v1::{CreateKeyRequest, RoleBinding},
};
use obvert_records::names;

/// Holds a request for a key against what spans its fields.
pub(crate) fn check(request: &CreateKeyRequest) -> Result<(), Problem> {
    let mut wrong: Vec<_> = names::check_id("key_id", &request.key_id)
        .into_iter()
        .collect();
    let principal = &request.principal;
    let kind_and_id = principal.split_once('/');
    if !kind_and_id
        .is_some_and(|(kind, id)| ["person", "machine"].contains(&kind) && names::is_id(id))
    {
        let message = format!(
            "is \"{principal}\": write person/ or machine/ and an id, such as person/ines-holt"
        );
        wrong.push(Violation::new("principal", message));
    }
    for (i, RoleBinding { project, role }) in request.bindings.iter().enumerate() {
        if project != "*" && !names::is_id(project) {
            let message = format!("is \"{project}\": name a project's id, or * for every project");
            wrong.push(Violation::new(format!("bindings[{i}].project"), message));
        }
        let mut before = request.bindings[..i].iter();
        if before.any(|b| b.project == *project && b.role == *role) {
            let word = role_word(request.bindings[i].role());
            let message = format!("gives {word} in {project} again: give each role once");
            wrong.push(Violation::new(format!("bindings[{i}]"), message));
        }
    }
    checked(wrong)
}

/// Refusal of everything wrong at once, if anything is.
pub(crate) fn checked(wrong: Vec<Violation>) -> Result<(), Problem> {
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

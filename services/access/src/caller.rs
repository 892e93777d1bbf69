//! Who is calling.

use obvert_proto::{
    Problem,
    common::v1::Reason,
    project::v1::{Role, RoleBinding},
};
use tonic::{Request, Status};

use crate::{Action, keys::OFFICE};

/// Binding that stands for every project.
const EVERY_PROJECT: &str = "*";

/// A principal known by its key, and what the key may do.
#[derive(Debug, Clone)]
pub struct Caller {
    /// Principal, such as `person/ines-holt`.
    pub principal: String,
    /// Id of the key.
    pub key_id: String,
    /// Roles by project.
    pub bindings: Vec<RoleBinding>,
    /// When the key stops working, in milliseconds since 1970-01-01T00:00:00Z.
    pub expire_time_ms: i64,
}

impl Caller {
    /// Caller that the server's access layer put on a request.
    ///
    /// # Errors
    ///
    /// `NOT_AUTHENTICATED` when no valid key came with the call.
    pub fn of<T>(request: &Request<T>) -> Result<Self, Status> {
        request.extensions().get::<Self>().cloned().ok_or_else(|| {
            let message =
                "no valid key came with the call: send it as 'authorization: Bearer obv_...'";
            Problem::new(Reason::NotAuthenticated, message).into()
        })
    }

    /// Role under which the caller may do this in the project.
    ///
    /// The reserved project `office` is read by every key, since makers' sheets lie there.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED` when no role of the caller in the project has the action in its row, whether or
    /// not the project exists.
    pub fn may(&self, action: Action<'_>, project: &str) -> Result<Role, Problem> {
        let allowed = action.roles();
        let here = |b: &&RoleBinding| b.project == EVERY_PROJECT || b.project == project;
        let everywhere = project == OFFICE && action == Action::Read;
        let mut roles = self
            .bindings
            .iter()
            .filter(|b| everywhere || here(b))
            .map(RoleBinding::role);
        roles
            .find(|role| allowed.contains(role))
            .ok_or_else(|| self.denied(action, project))
    }

    /// Whether the caller has any role in the project.
    pub fn sees(&self, project: &str) -> bool {
        self.may(Action::Read, project).is_ok()
    }

    fn denied(&self, action: Action<'_>, project: &str) -> Problem {
        let here = |b: &&RoleBinding| b.project == EVERY_PROJECT || b.project == project;
        let held: Vec<_> = self
            .bindings
            .iter()
            .filter(here)
            .map(|b| role_word(b.role()))
            .collect();
        let held = if held.is_empty() {
            "no role".to_owned()
        } else {
            held.join(", ")
        };
        let needed: Vec<_> = action.roles().iter().map(|role| role_word(*role)).collect();
        let (what, needed) = (action.words(), needed.join(", "));
        let message = format!(
            "{} has {held} in project {project} and may not {what}: ask someone with the role {needed}",
            self.principal
        );
        Problem::new(Reason::NotAllowed, message)
            .fact("principal", &self.principal)
            .fact("key_id", &self.key_id)
            .fact("project", project)
            .fact("roles_held", held)
            .fact("roles_needed", needed)
    }
}

/// Role as the lower-case word that commits and messages carry.
pub fn role_word(role: Role) -> String {
    role.as_str_name()
        .trim_start_matches("ROLE_")
        .to_lowercase()
}

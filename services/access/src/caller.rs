//! Who is calling.

use obvert_proto::{
    Problem,
    common::v1::Reason,
    project::v1::{Role, RoleBinding, Shift},
};
use tonic::{Request, Status};

use crate::{Action, Cell, keys::OFFICE};

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
    /// Days of work that the key of a crew's day writes; none for any other key.
    pub shift: Option<Shift>,
}

/// What a caller may do, and under which role.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grant {
    /// Role that the commit will carry.
    pub role: Role,
    /// Whether it reaches only as far as what the principal wrote itself.
    pub own_only: bool,
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

    /// Role under which the caller may do this in the project without bounds.
    ///
    /// The reserved project `office` is read by every key whose role reads a whole project, since
    /// makers' sheets lie there.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED` when no role of the caller in the project has the action in its row, or only
    /// for what is its own, whether or not the project exists.
    pub fn may(&self, action: Action<'_>, project: &str) -> Result<Role, Problem> {
        let allowed = |role: &Role| action.cell(*role) == Cell::Allowed;
        let everywhere = project == OFFICE && action == Action::Read;
        self.roles(project, everywhere)
            .find(allowed)
            .ok_or_else(|| self.denied(action, project))
    }

    /// Role under which the caller may do this in the project, were it only with what is its own.
    ///
    /// Whoever asks this bounds the answer to what the principal wrote when the grant says so.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED` as [`Self::may`].
    pub fn may_own(&self, action: Action<'_>, project: &str) -> Result<Grant, Problem> {
        let all = self.may(action, project).map(|role| Grant {
            role,
            own_only: false,
        });
        all.or_else(|denied| {
            let own = |role: &Role| action.cell(*role) != Cell::Denied;
            let role = self.roles(project, action.is_of_store()).find(own);
            role.map(|role| Grant {
                role,
                own_only: true,
            })
            .ok_or(denied)
        })
    }

    /// Whether some role of the caller, in whatever project, may do something of this.
    pub fn may_somewhere(&self, action: Action<'_>) -> bool {
        let mut roles = self.bindings.iter().map(RoleBinding::role);
        roles.any(|role| action.cell(role) != Cell::Denied)
    }

    /// Roles held in a project, or anywhere.
    fn roles(&self, project: &str, anywhere: bool) -> impl Iterator<Item = Role> {
        let here =
            move |b: &&RoleBinding| anywhere || b.project == EVERY_PROJECT || b.project == project;
        self.bindings.iter().filter(here).map(RoleBinding::role)
    }

    /// Whether the caller has any role in the project.
    pub fn sees(&self, project: &str) -> bool {
        self.may(Action::Read, project).is_ok()
    }

    /// Refusal of an action in a project, or in every project for `*`; it says nothing of what
    /// exists.
    pub fn denied(&self, action: Action<'_>, project: &str) -> Problem {
        let words = |roles: Vec<Role>| {
            let words: Vec<_> = roles.into_iter().map(role_word).collect();
            words.join(", ")
        };
        let held = match project {
            // Where the question is of all projects, each role is said with its own.
            EVERY_PROJECT => {
                let held = self.bindings.iter().map(bound_word);
                held.collect::<Vec<_>>().join(", ")
            }
            project => words(self.roles(project, false).collect()),
        };
        let held = match held {
            none if none.is_empty() => "no role".to_owned(),
            held => format!("the role {held}"),
        };
        let (what, needed) = (action.words(), words(action.roles().collect()));
        let ask = match needed.as_str() {
            "" => "nobody may".to_owned(),
            needed => format!("ask someone with the role {needed}"),
        };
        let place = match project {
            EVERY_PROJECT => String::new(),
            "" => " in a project that is not named".to_owned(),
            project => format!(" in project {project}"),
        };
        let message = format!(
            "{} has {held}{place} and may not {what}: {ask}",
            self.principal
        );
        self.refused(message)
            .fact("project", project)
            .fact("roles_held", held)
            .fact("roles_needed", needed)
    }

    /// Refusal to touch what another principal wrote; the same whether or not that exists.
    pub fn not_own(&self, name: &str) -> Problem {
        let message = format!(
            "{} may only touch what it wrote itself, and did not write {name}: ask the office",
            self.principal
        );
        self.refused(message).fact("name", name)
    }

    /// Refusal of this caller for a reason beyond the table, such as a rule of the plan.
    pub fn refused(&self, message: impl Into<String>) -> Problem {
        Problem::new(Reason::NotAllowed, message)
            .fact("principal", &self.principal)
            .fact("key_id", &self.key_id)
    }
}

/// A role with where it is held, such as `crew in project quillfern`.
fn bound_word(binding: &RoleBinding) -> String {
    let place = match binding.project.as_str() {
        EVERY_PROJECT => "every project".to_owned(),
        project => format!("project {project}"),
    };
    format!("{} in {place}", role_word(binding.role()))
}

/// Role as the lower-case word that commits and messages carry.
pub fn role_word(role: Role) -> String {
    role.as_str_name()
        .trim_start_matches("ROLE_")
        .to_lowercase()
}

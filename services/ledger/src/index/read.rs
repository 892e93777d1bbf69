//! Questions to the index; answers are places in the journal.

use super::keys::{self, State};
use crate::journal::Position;
use crate::overlay::{IndexFault, View};
use crate::stored::{Head, project_of};

/// A record and where its state lies.
pub(crate) struct Found {
    pub(crate) name: String,
    pub(crate) state: State,
}

impl View<'_> {
    /// Newest commit of a project.
    pub(crate) fn head(&self, project: &str) -> Result<Head, IndexFault> {
        let value = self.get(&keys::head(project))?;
        Ok(value
            .and_then(|value| keys::decode_head(&value))
            .unwrap_or_default())
    }

    /// The revision to read at: 0 means the project's newest.
    pub(crate) fn resolve(&self, project: &str, at: i64) -> Result<i64, IndexFault> {
        if at > 0 {
            Ok(at)
        } else {
            Ok(self.head(project)?.revision)
        }
    }

    /// State of a record at a revision, or its latest for 0.
    pub(crate) fn state(&self, name: &str, at: i64) -> Result<Option<State>, IndexFault> {
        let latest = self
            .get(&keys::latest(name))?
            .and_then(|value| State::decode(&value));
        let Some(latest) = latest else {
            return Ok(None);
        };
        self.state_from(name, latest, at)
    }

    /// Records of a collection at a revision, by name, after a name.
    pub(crate) fn list(
        &self,
        prefix: &str,
        after: Option<&str>,
        limit: usize,
        at: i64,
    ) -> Result<Vec<Found>, IndexFault> {
        let mut found = Vec::new();
        let from = after.map_or_else(
            || keys::latest(prefix),
            |after| next_after(keys::latest(after)),
        );
        let prefix = keys::latest(prefix);
        self.scan(&prefix, from.as_slice().max(&prefix), &mut |key, value| {
            let name = keys::text(key, 1);
            let latest = State::decode(value);
            let state = latest
                .map(|latest| self.state_from(&name, latest, at))
                .transpose()?;
            found.extend(state.flatten().map(|state| Found { name, state }));
            Ok(found.len() < limit)
        })?;
        Ok(found)
    }

    /// Names of the records that refer to `target` at a revision, by name, after a name.
    pub(crate) fn sources(
        &self,
        target: &str,
        prefix: &str,
        after: Option<&str>,
        limit: usize,
        at: i64,
    ) -> Result<Vec<String>, IndexFault> {
        let project = project_of(target);
        let head = self.resolve(project, at)?;
        let mut names = Vec::new();
        let from = after.map_or_else(
            || keys::edge(target, prefix),
            |after| next_after(keys::edge(target, after)),
        );
        let skip = keys::edges(target).len();
        let prefix = keys::edge(target, prefix);
        self.scan(&prefix, from.as_slice().max(&prefix), &mut |key, value| {
            let name = keys::text(key, skip);
            let intervals = keys::decode_intervals(value);
            // Revisions of one project say nothing about another: there only the latest is known.
            let holds = match (project_of(&name) == project, at) {
                (true, _) => intervals.iter().any(|interval| interval.holds_at(head)),
                (false, 0) => intervals.last().is_some_and(|interval| interval.ended == 0),
                (false, _) => false,
            };
            if holds {
                names.push(name);
            }
            Ok(names.len() < limit)
        })?;
        Ok(names)
    }

    /// Names of the records of the target's project that referred to it before a revision and do not
    /// at it, each with the revision that gave the reference up.
    pub(crate) fn former_sources(
        &self,
        target: &str,
        at: i64,
    ) -> Result<Vec<(String, i64)>, IndexFault> {
        let project = project_of(target);
        let head = self.resolve(project, at)?;
        let mut left = Vec::new();
        let prefix = keys::edges(target);
        self.scan(&prefix, &prefix, &mut |key, value| {
            let name = keys::text(key, prefix.len());
            let intervals = keys::decode_intervals(value);
            let holds = intervals.iter().any(|interval| interval.holds_at(head));
            let ended = intervals.iter().map(|interval| interval.ended);
            let ended = ended.filter(|ended| (1..=head).contains(ended)).max();
            if let Some(ended) = ended.filter(|_| !holds && project_of(&name) == project) {
                left.push((name, ended));
            }
            Ok(true)
        })?;
        Ok(left)
    }

    /// States of a record written after a revision, oldest first.
    pub(crate) fn history(
        &self,
        name: &str,
        after: i64,
        limit: usize,
    ) -> Result<Vec<State>, IndexFault> {
        let mut states = Vec::new();
        let prefix = keys::versions(name);
        self.scan(&prefix, &prefix, &mut |_, value| {
            let state = State::decode(value).filter(|state| state.revision > after);
            let go_on = state.is_some();
            states.extend(state);
            Ok(go_on)
        })?;
        states.reverse();
        states.extend(self.state(name, 0)?.filter(|state| state.revision > after));
        states.truncate(limit);
        Ok(states)
    }

    /// Where one commit of a project lies.
    pub(crate) fn commit(
        &self,
        project: &str,
        revision: i64,
    ) -> Result<Option<Position>, IndexFault> {
        let (row, place) = keys::commit(project, revision);
        let row = self.get(&row)?.filter(|_| revision > 0).unwrap_or_default();
        Ok(keys::decode_positions(&row).nth(place))
    }

    /// Where the commits after a revision lie.
    pub(crate) fn commits(
        &self,
        project: &str,
        after: i64,
        limit: usize,
    ) -> Result<Vec<Position>, IndexFault> {
        let mut places = Vec::new();
        let (from, mut skip) = keys::commit(project, after.max(0).saturating_add(1));
        self.scan(&keys::commits(project), &from, &mut |_, row| {
            places.extend(keys::decode_positions(row).skip(skip));
            skip = 0;
            Ok(places.len() < limit)
        })?;
        places.truncate(limit);
        Ok(places)
    }

    /// Revision that a principal's request made, if it made one.
    pub(crate) fn request(
        &self,
        project: &str,
        principal: &str,
        request_id: &str,
    ) -> Result<Option<i64>, IndexFault> {
        let value = self.get(&keys::request(project, principal, request_id))?;
        let revision = value.and_then(|value| keys::decode_number(&value));
        Ok(revision.map(|revision| revision as i64))
    }

    /// Projects that have a commit.
    pub(crate) fn projects(&self) -> Result<Vec<String>, IndexFault> {
        let mut projects = Vec::new();
        self.scan(b"h", b"h", &mut |key, _| {
            projects.push(keys::text(key, 1));
            Ok(true)
        })?;
        Ok(projects)
    }

    fn state_from(&self, name: &str, latest: State, at: i64) -> Result<Option<State>, IndexFault> {
        if at <= 0 || latest.revision <= at {
            return Ok(Some(latest));
        }
        if latest.create_revision > at {
            return Ok(None);
        }
        let mut found = None;
        self.scan(
            &keys::versions(name),
            &keys::version(name, at),
            &mut |_, value| {
                found = State::decode(value);
                Ok(false)
            },
        )?;
        Ok(found)
    }
}

fn next_after(mut key: Vec<u8>) -> Vec<u8> {
    key.push(0);
    key
}

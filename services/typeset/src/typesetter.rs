//! Who typesets: this process, or children that may be stopped.

use std::{
    path::PathBuf,
    sync::{Mutex, PoisonError},
    time::Duration,
};

use crate::{Document, TypesetError, render, worker::Child};

/// Typesets documents, in this process or in children of it.
#[derive(Debug)]
pub enum Typesetter {
    /// In this process: for tests, and for programs that do nothing besides.
    Here,
    /// In children, so that no document can stall or exhaust the process that asks.
    Children(Children),
}

/// Children that typeset one document after the other and are kept for the next.
#[derive(Debug)]
pub struct Children {
    program: PathBuf,
    limits: ChildLimits,
    idle: Mutex<Vec<Child>>,
}

/// What one document may take.
#[derive(Debug, Clone, Copy)]
pub struct ChildLimits {
    /// Longest time for one document; the child is killed then.
    pub deadline: Duration,
    /// Most address space of a child, in bytes.
    pub memory_bytes: u64,
    /// Largest document that comes back, in bytes.
    pub pdf_bytes: usize,
}

impl Children {
    /// Children that run `program worker`, as [`serve`](crate::serve) answers. None is started yet.
    pub fn new(program: PathBuf, limits: ChildLimits) -> Self {
        Self {
            program,
            limits,
            idle: Mutex::default(),
        }
    }

    fn render(&self, document: &Document) -> Result<Vec<u8>, TypesetError> {
        let kept = self.idle().pop();
        let mut child = match kept {
            Some(child) => child,
            None => Child::start(&self.program, self.limits)?,
        };
        // A child that failed is dropped, which kills it; the next document gets a new one.
        let answered = child.typeset(document)?;
        self.idle().push(child);
        answered
    }

    fn idle(&self) -> std::sync::MutexGuard<'_, Vec<Child>> {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Typesetter {
    /// Typesets as [`render`] does, with the same bytes.
    ///
    /// # Errors
    ///
    /// As [`render`]; [`TypesetError::Child`] when a child took too long, too much, or ended.
    pub fn render(&self, document: &Document) -> Result<Vec<u8>, TypesetError> {
        match self {
            Self::Here => render(document),
            Self::Children(children) => children.render(document),
        }
    }
}

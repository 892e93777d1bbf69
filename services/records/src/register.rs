//! What a service says about its records.

use std::{marker::PhantomData, sync::Arc};

use obvert_ledger::{Assert, Ledger};
use obvert_proto::{Problem, Violation};
use prost::Message;

use crate::{KindTable, Named};

/// A service's records: which they are, and what makes one acceptable.
pub trait Register: Send + Sync + 'static {
    /// The service's `Record` message.
    type Record: Message + Default + Clone;

    /// Full name of that message, such as `obvert.design.v1.Record`.
    const RECORD_TYPE: &'static str;

    /// Violations across the fields of one record, beyond what the schema states of each field.
    fn check(record: &Self::Record) -> Vec<Violation>;

    /// Records to load besides those the record names, once those are known.
    fn related(_record: &Self::Record, _named: &Named) -> Vec<Related> {
        Vec::new()
    }

    /// Judges one record with those it names, and completes it.
    ///
    /// # Errors
    ///
    /// A problem when the record cannot stand beside what it names.
    fn judge(record: Self::Record, named: &Named) -> Result<Judged<Self::Record>, Problem>;
}

/// Asks for the records of a collection that refer to one record.
#[derive(Debug, Clone)]
pub struct Related {
    /// Record referred to.
    pub target: String,
    /// Collection of those that refer to it.
    pub collection: &'static str,
}

/// A record ready to commit.
#[derive(Debug)]
pub struct Judged<R> {
    /// Record with the values the server writes.
    pub record: R,
    /// What must be unique in the project while this state of the record is the latest.
    pub claims: Vec<String>,
    /// What must still hold when the commit is written.
    pub asserts: Vec<Assert>,
}

impl<R> Judged<R> {
    /// A record without claims and asserts.
    pub fn plain(record: R) -> Self {
        Self {
            record,
            claims: Vec::new(),
            asserts: Vec::new(),
        }
    }

    /// Adds a unique claim, such as `liner/n-0041`.
    #[must_use]
    pub fn claim(mut self, claim: impl Into<String>) -> Self {
        self.claims.push(claim.into());
        self
    }
}

/// The verbs of one service over a ledger.
pub struct Records<S> {
    pub(crate) ledger: Ledger,
    pub(crate) kinds: Arc<KindTable>,
    service: PhantomData<fn() -> S>,
}

impl<S> Clone for Records<S> {
    fn clone(&self) -> Self {
        Self {
            ledger: self.ledger.clone(),
            kinds: Arc::clone(&self.kinds),
            service: PhantomData,
        }
    }
}

impl<S: Register> Records<S> {
    /// Verbs of a service over a ledger.
    pub fn new(ledger: Ledger) -> Self {
        let kinds = Arc::new(KindTable::of(S::RECORD_TYPE));
        Self {
            ledger,
            kinds,
            service: PhantomData,
        }
    }

    /// The ledger beneath.
    pub fn ledger(&self) -> &Ledger {
        &self.ledger
    }

    /// Kinds the service keeps.
    pub fn kinds(&self) -> &KindTable {
        &self.kinds
    }
}

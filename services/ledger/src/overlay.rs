//! The part of the index that is not in sled yet, and reading the two as one.
//!
//! A layer holds puts and deletes by index key. Newer layers hide older ones and the tree.

use std::borrow::Cow;
use std::collections::{BTreeMap, btree_map};
use std::iter::Peekable;
use std::ops::Bound;

/// Changes to the index by key; none means deleted.
pub(crate) type Layer = BTreeMap<Vec<u8>, Option<Vec<u8>>>;

/// A layer without changes.
pub(crate) static EMPTY: Layer = Layer::new();

/// Sled refused or panicked; the index is made again at the next start.
#[derive(Clone, Debug)]
pub(crate) struct IndexFault(pub(crate) String);

impl From<sled::Error> for IndexFault {
    fn from(error: sled::Error) -> IndexFault {
        IndexFault(error.to_string())
    }
}

/// The index as a reader sees it.
#[derive(Clone, Copy)]
pub(crate) struct View<'a> {
    pub(crate) active: &'a Layer,
    pub(crate) frozen: &'a Layer,
    pub(crate) tree: &'a sled::Tree,
}

/// The index as the next draft of a group sees it: what earlier drafts changed lies on top.
pub(crate) struct Staged<'a> {
    pub(crate) top: Layer,
    pub(crate) below: View<'a>,
}

/// Takes a key and its value; answers whether to go on.
pub(crate) type Visit<'a> = &'a mut dyn FnMut(&[u8], &[u8]) -> Result<bool, IndexFault>;

type Pair<'a> = (Cow<'a, [u8]>, Option<Cow<'a, [u8]>>);

impl View<'_> {
    /// The value of a key.
    pub(crate) fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, IndexFault> {
        for layer in [self.active, self.frozen] {
            if let Some(value) = layer.get(key) {
                return Ok(value.clone());
            }
        }
        Ok(self.tree.get(key)?.map(|value| value.to_vec()))
    }

    /// Hands the pairs whose key is at least `from` and begins with `prefix` to `visit`, in order,
    /// until it answers false.
    pub(crate) fn scan(
        &self,
        prefix: &[u8],
        from: &[u8],
        visit: Visit<'_>,
    ) -> Result<(), IndexFault> {
        let mut active = layer_from(self.active, from).peekable();
        let mut frozen = layer_from(self.frozen, from).peekable();
        let mut stored = Stored {
            iter: self.tree.range(from.to_vec()..),
            next: None,
        };
        stored.advance(prefix)?;
        loop {
            let candidates = [
                active.peek().map(|(key, _)| key.as_ref()),
                frozen.peek().map(|(key, _)| key.as_ref()),
                stored.next.as_ref().map(|(key, _)| key.as_ref()),
            ];
            let Some(key) = candidates.iter().flatten().min().map(|key| key.to_vec()) else {
                return Ok(());
            };
            if !key.starts_with(prefix) {
                return Ok(());
            }
            let mut value = None;
            if stored
                .next
                .as_ref()
                .is_some_and(|(found, _)| found.as_ref() == key)
            {
                value = stored
                    .next
                    .take()
                    .map(|(_, value)| Cow::Owned(value.to_vec()));
                stored.advance(prefix)?;
            }
            for layer in [&mut frozen, &mut active] {
                if let Some(changed) = take_if(layer, &key) {
                    value = changed;
                }
            }
            if let Some(value) = value
                && !visit(&key, &value)?
            {
                return Ok(());
            }
        }
    }
}

impl Staged<'_> {
    pub(crate) fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, IndexFault> {
        match self.top.get(key) {
            Some(value) => Ok(value.clone()),
            None => self.below.get(key),
        }
    }

    pub(crate) fn put(&mut self, key: Vec<u8>, value: Vec<u8>) {
        self.top.insert(key, Some(value));
    }

    pub(crate) fn delete(&mut self, key: Vec<u8>) {
        self.top.insert(key, None);
    }
}

/// Sled's side of a merge: one pair ahead, ending where the prefix ends.
struct Stored {
    iter: sled::Iter,
    next: Option<(sled::IVec, sled::IVec)>,
}

impl Stored {
    fn advance(&mut self, prefix: &[u8]) -> Result<(), IndexFault> {
        let pair = self.iter.next().transpose()?;
        self.next = pair.filter(|(key, _)| key.starts_with(prefix));
        Ok(())
    }
}

type LayerIter<'a> = std::iter::Map<
    btree_map::Range<'a, Vec<u8>, Option<Vec<u8>>>,
    fn((&'a Vec<u8>, &'a Option<Vec<u8>>)) -> Pair<'a>,
>;

fn layer_from<'a>(layer: &'a Layer, from: &[u8]) -> LayerIter<'a> {
    let range = (Bound::Included(from), Bound::Unbounded);
    layer.range::<[u8], _>(range).map(|(key, value)| {
        (
            Cow::Borrowed(key.as_slice()),
            value.as_deref().map(Cow::Borrowed),
        )
    })
}

fn take_if<'a>(layer: &mut Peekable<LayerIter<'a>>, key: &[u8]) -> Option<Option<Cow<'a, [u8]>>> {
    layer
        .next_if(|(found, _)| found.as_ref() == key)
        .map(|(_, value)| value)
}

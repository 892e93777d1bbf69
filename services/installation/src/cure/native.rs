//! The native file on its way into the blobs: small ones at once, large ones in parts.

use bytes::{Bytes, BytesMut};
use obvert_ledger::{BlobError, Ledger};
use obvert_proto::{Problem, common::v1::Reason};

/// Bytes that are written at once.
const PART_BYTES: usize = 8 << 20;

/// A file that is being stored.
pub(super) struct NativeFile {
    ledger: Ledger,
    session: String,
    begun: bool,
    written: u64,
    buffer: BytesMut,
}

impl NativeFile {
    pub(super) fn new(ledger: Ledger, session: String) -> Self {
        Self {
            ledger,
            session,
            begun: false,
            written: 0,
            buffer: BytesMut::new(),
        }
    }

    /// Adds bytes.
    ///
    /// # Errors
    ///
    /// The store refuses.
    pub(super) async fn push(&mut self, data: &[u8]) -> Result<(), Problem> {
        self.buffer.extend_from_slice(data);
        if self.buffer.len() >= PART_BYTES {
            self.write().await?;
        }
        Ok(())
    }

    /// Makes the whole file a blob; nothing for a file without bytes.
    ///
    /// # Errors
    ///
    /// The store refuses.
    pub(super) async fn finish(mut self, sha256: [u8; 32]) -> Result<(), Problem> {
        if self.begun {
            self.write().await?;
            let (session, size) = (self.session, self.written);
            return self
                .ledger
                .blobs()
                .finish(session, size, sha256)
                .await
                .map_err(refused);
        }
        let data = self.buffer.freeze();
        if !data.is_empty() {
            self.ledger.blobs().put(data).await.map_err(refused)?;
        }
        Ok(())
    }

    /// Drops what was stored of it.
    pub(super) async fn abandon(self) {
        if self.begun
            && let Err(error) = self.ledger.blobs().abandon(self.session).await
        {
            tracing::warn!(%error, "a staged cure log was left behind");
        }
    }

    async fn write(&mut self) -> Result<(), Problem> {
        if !self.begun {
            self.ledger
                .blobs()
                .begin(self.session.clone())
                .await
                .map_err(refused)?;
            self.begun = true;
        }
        let data: Bytes = self.buffer.split().freeze();
        let written = self
            .ledger
            .blobs()
            .append(self.session.clone(), self.written, data);
        self.written = written.await.map_err(refused)?;
        Ok(())
    }
}

/// Problem that tells a caller why the blobs refused.
pub(super) fn refused(error: BlobError) -> Problem {
    let reason = match &error {
        BlobError::DiskFull => Reason::DiskFull,
        BlobError::Damaged { .. } => Reason::StoreCorrupt,
        _ => Reason::Internal,
    };
    tracing::error!(%error, "the blobs refused");
    Problem::new(reason, error.to_string())
}

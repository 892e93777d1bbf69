//! What packages are made with.

use obvert_typeset::Typesetter;

use super::Signer;

/// The key that signs packages, and who typesets their documents.
pub struct Press {
    /// The key.
    pub signer: Signer,
    /// The typesetter.
    pub typesetter: Typesetter,
}

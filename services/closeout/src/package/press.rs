//! What packages are made with.

use obvert_plugins::Plugins;
use obvert_typeset::Typesetter;

use super::Signer;

/// The key that signs packages, who typesets their documents, and how large they may grow.
pub struct Press {
    /// The key.
    pub signer: Signer,
    /// The typesetter.
    pub typesetter: Typesetter,
    /// The limits.
    pub limits: PackageLimits,
    /// Plug-ins of the server, some of which it asks for sections.
    pub plugins: Plugins,
}

/// How much a package may hold. Readers stop at the default, so that more serves nobody.
#[derive(Debug, Clone, Copy)]
pub struct PackageLimits {
    /// Most entries.
    pub entries: usize,
    /// Most bytes that it unpacks to.
    pub unpacked_bytes: usize,
    /// Most that its originals take together; what comes after that stays on the server.
    pub originals_bytes: i64,
}

impl Default for PackageLimits {
    fn default() -> Self {
        Self {
            entries: 1_000,
            unpacked_bytes: 200_000_000,
            originals_bytes: 120_000_000,
        }
    }
}

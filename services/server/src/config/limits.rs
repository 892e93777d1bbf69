//! Limits of the server: one row each, with default and range.

use std::time::Duration;

use obvert_closeout::package::PackageLimits;
use obvert_installation::cure::CureLimits;
use obvert_tables::toml_text::{Faults, Reader};

/// One row per limit makes its field, its default, its range and its key in the config.
macro_rules! limits {
    ($($(#[doc = $doc:literal])+ $name:ident: $default:expr, $least:literal to $most:literal;)+) => {
        /// Limits of the server. Each has a default, a range and a test that reaches it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub struct Limits {
            $($(#[doc = $doc])+ pub $name: u64,)+
        }

        impl Default for Limits {
            fn default() -> Self {
                Self { $($name: $default,)+ }
            }
        }

        impl Limits {
            pub(super) fn read(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Self {
                Self {
                    $($name: {
                        table.whole_or(stringify!($name), $default, $least..=$most, faults)
                    },)+
                }
            }

            /// Key and value of every limit.
            pub fn rows(&self) -> Vec<(&'static str, u64)> {
                vec![$((stringify!($name), self.$name),)+]
            }
        }
    };
}

limits! {
    /// Largest message.
    message_bytes: 4 << 20, 65_536 to 67_108_864;
    /// Largest list of headers of a request.
    header_list_bytes: 8 << 10, 1_024 to 65_536;
    /// Streams of one connection at a time.
    streams_per_connection: 100, 1 to 10_000;
    /// Connections at a time.
    connections: 1_000, 1 to 100_000;
    /// Calls and pages at a time; one more is answered UNAVAILABLE.
    calls: 512, 1 to 100_000;
    /// Streams open at a time, over all connections; one more is answered UNAVAILABLE.
    open_streams: 5_000, 1 to 1_000_000;
    /// Longest unary call, and longest making of a page.
    unary_deadline_s: 30, 1 to 3_600;
    /// Longest silence of a streaming caller.
    stream_idle_s: 60, 1 to 3_600;
    /// Longest TLS handshake.
    tls_handshake_s: 10, 1 to 600;
    /// Longest wait for the first bytes of a connection, and for the head of an HTTP/1.1 request.
    header_read_s: 10, 1 to 600;
    /// Time between pings to a silent client.
    keepalive_interval_s: 30, 1 to 3_600;
    /// Longest wait for a ping's answer.
    keepalive_timeout_s: 20, 1 to 3_600;
    /// Age at which a connection is asked to end.
    connection_age_s: 3_600, 1 to 604_800;
    /// Longest typesetting of one document.
    typeset_deadline_s: 60, 1 to 3_600;
    /// Most address space of a process that typesets.
    typeset_memory_bytes: 2 << 30, 16_777_216 to 68_719_476_736;
    /// Largest document.
    document_bytes: 64 << 20, 1_024 to 1_073_741_824;
    /// Largest part of an upload.
    upload_part_bytes: 1 << 20, 262_144 to 16_777_216;
    /// Most rows of one cure log.
    cure_rows: 2_000_000, 1 to 20_000_000;
    /// Largest cure log as a file.
    cure_file_bytes: 512 << 20, 1_048_576 to 4_294_967_296;
    /// Most entries of a package; readers take no more than the default.
    package_entries: 1_000, 32 to 1_000;
    /// Most bytes that a package unpacks to; readers take no more than the default.
    package_bytes: 200_000_000, 1_048_576 to 200_000_000;
    /// Most that the originals of one package take together; the rest stays on the server.
    package_originals_bytes: 120_000_000, 1 to 150_000_000;
    /// Longest wait for calls to end, at shutdown and on a connection past its age.
    shutdown_s: 30, 1 to 3_600;
}

impl Limits {
    /// Longest unary call.
    pub fn unary_deadline(&self) -> Duration {
        Duration::from_secs(self.unary_deadline_s)
    }

    /// Longest silence of a streaming caller.
    pub fn stream_idle(&self) -> Duration {
        Duration::from_secs(self.stream_idle_s)
    }

    /// How much one cure log may hold.
    pub fn cure(&self) -> CureLimits {
        CureLimits {
            rows: self.cure_rows as usize,
            file_bytes: self.cure_file_bytes,
        }
    }

    /// How much a package may hold.
    pub fn package(&self) -> PackageLimits {
        PackageLimits {
            originals_bytes: self.package_originals_bytes as i64,
            entries: self.package_entries as usize,
            unpacked_bytes: self.package_bytes as usize,
        }
    }
}

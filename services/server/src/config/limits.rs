//! Limits of the server: one row each, with default and range.

use std::time::Duration;

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
    /// Calls at a time; one more is answered UNAVAILABLE.
    calls: 512, 1 to 100_000;
    /// Longest unary call.
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
    typeset_memory_bytes: 2 << 30, 268_435_456 to 68_719_476_736;
    /// Largest document.
    document_bytes: 64 << 20, 1_048_576 to 1_073_741_824;
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
}

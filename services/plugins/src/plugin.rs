//! Registered plug-ins, each with its channel, its limits and its room.

use std::{collections::BTreeMap, path::PathBuf, sync::Arc, time::Duration};

use tokio::sync::Semaphore;
use tonic::transport::Channel;

use crate::{Address, Fault};

/// Silence after which a connection with a call under way is asked whether it lives.
const KEEPALIVE: Duration = Duration::from_secs(5);
/// Largest list of headers that a plug-in may send.
const HEADER_BYTES: u32 = 8 << 10;

/// Most bytes that a plug-in is sent at once where its registration says nothing else.
pub const REQUEST_BYTES: usize = 8 << 20;
/// Most bytes that it may answer at once where its registration says nothing else.
pub const ANSWER_BYTES: usize = 1 << 20;

/// What a plug-in does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Judges a point of a plan.
    Evaluator,
    /// Reads native cure logs.
    LogReader,
    /// Writes a section of a package's document.
    PackageSection,
}

/// A plug-in as the server's config names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Registration {
    /// Name by which plans and imports call it.
    pub id: String,
    /// What it does.
    pub kinds: Vec<Kind>,
    /// Where it listens.
    pub address: Address,
    /// Certificate of the authority that a plug-in behind TLS is trusted by.
    pub ca_file: Option<PathBuf>,
    /// Longest wait for an answer.
    pub deadline: Duration,
    /// Most bytes that it is sent at once.
    pub request_bytes: usize,
    /// Most bytes that it may answer at once.
    pub answer_bytes: usize,
    /// Calls to it at a time.
    pub calls: usize,
    /// Projects whose records it may see; all when empty.
    pub projects: Vec<String>,
}

/// A plug-in that can be called; cheap to clone.
#[derive(Clone)]
pub struct Plugin {
    pub(crate) registration: Arc<Registration>,
    pub(crate) channel: Channel,
    room: Arc<Semaphore>,
}

/// Every registered plug-in by its id; cheap to clone.
#[derive(Clone, Default)]
pub struct Plugins(Arc<BTreeMap<String, Plugin>>);

impl Kind {
    /// Every kind with its word in the config and the service that it serves.
    pub const ALL: [(Kind, &'static str, &'static str); 3] = [
        (Kind::Evaluator, "evaluator", "EvaluatorService"),
        (Kind::LogReader, "log-reader", "LogReaderService"),
        (
            Kind::PackageSection,
            "package-section",
            "PackageSectionService",
        ),
    ];

    /// Word of the config.
    pub fn word(self) -> &'static str {
        self.row().1
    }

    pub(crate) fn service(self) -> &'static str {
        self.row().2
    }

    fn row(self) -> (Kind, &'static str, &'static str) {
        Self::ALL[self as usize]
    }
}

impl Plugin {
    /// A plug-in that is connected to when it is first called. Needs a running tokio.
    ///
    /// # Errors
    ///
    /// A sentence when its address cannot be one, or its authority cannot be read.
    pub fn new(registration: Registration) -> Result<Self, String> {
        let ca_file = registration.ca_file.as_deref();
        let endpoint = registration.address.endpoint(ca_file)?;
        let endpoint = endpoint
            .connect_timeout(registration.deadline)
            .http2_keep_alive_interval(KEEPALIVE)
            .keep_alive_timeout(KEEPALIVE)
            .http2_max_header_list_size(HEADER_BYTES)
            .tcp_nodelay(true);
        let channel = endpoint.connect_lazy();
        Ok(Self {
            room: Arc::new(Semaphore::new(registration.calls)),
            registration: Arc::new(registration),
            channel,
        })
    }

    /// Name by which plans and imports call it.
    pub fn id(&self) -> &str {
        &self.registration.id
    }

    /// Whether it does something.
    pub fn is(&self, kind: Kind) -> bool {
        self.registration.kinds.contains(&kind)
    }

    /// Whether it may see a project's records.
    pub fn sees(&self, project: &str) -> bool {
        let projects = &self.registration.projects;
        projects.is_empty() || projects.iter().any(|seen| seen == project)
    }

    /// Calls to it at a time.
    pub fn calls(&self) -> usize {
        self.registration.calls
    }

    /// Runs one question in the plug-in's room and within its deadline.
    pub(crate) async fn within<T>(
        &self,
        question: impl Future<Output = Result<T, Fault>>,
    ) -> Result<T, Fault> {
        let _place = self.room.acquire().await;
        let deadline = self.registration.deadline;
        match tokio::time::timeout(deadline, question).await {
            Ok(answer) => answer,
            Err(_) => Err(Fault::late(self.id(), deadline)),
        }
    }
}

impl Plugins {
    /// Plug-ins of a config; ids are unique there.
    ///
    /// # Errors
    ///
    /// A sentence when an address cannot be one.
    pub fn new(registrations: Vec<Registration>) -> Result<Self, String> {
        let plugins = registrations.into_iter().map(|registration| {
            let id = registration.id.clone();
            Ok((id, Plugin::new(registration)?))
        });
        Ok(Self(Arc::new(plugins.collect::<Result<_, String>>()?)))
    }

    /// Plug-in of an id that does something.
    pub fn of(&self, id: &str, kind: Kind) -> Option<&Plugin> {
        self.0.get(id).filter(|plugin| plugin.is(kind))
    }

    /// Every plug-in, in order of their ids.
    pub fn iter(&self) -> impl Iterator<Item = &Plugin> {
        self.0.values()
    }
}

//! A writer of sections that answers what a test wants.

use std::sync::{
    Arc, Mutex,
    atomic::{AtomicUsize, Ordering},
};

use obvert_proto::{
    closeout::v1::{SectionBlock, section_block::Block},
    plugin::v1::{
        DescribeRequest, DescribeResponse, WriteSectionRequest, WriteSectionResponse,
        package_section_service_server::{PackageSectionService, PackageSectionServiceServer},
    },
};
use tonic::{Request, Response, Status, transport::Server};

use super::{fake::description, served::Served};

/// Id of the plug-in.
pub(super) const ID: &str = "working-hours";

pub(super) type Write = fn(WriteSectionRequest) -> Result<WriteSectionResponse, Status>;

/// The plug-in, of which another version may take the place.
#[derive(Clone)]
pub(super) struct Writer {
    now: Arc<Mutex<(&'static str, Write)>>,
    described: Arc<AtomicUsize>,
    asked: Arc<AtomicUsize>,
}

impl Writer {
    /// A version that answers by a function.
    pub(super) fn new(version: &'static str, write: Write) -> Self {
        Self {
            now: Arc::new(Mutex::new((version, write))),
            described: Arc::default(),
            asked: Arc::default(),
        }
    }

    /// Another version from now on.
    pub(super) fn becomes(&self, version: &'static str, write: Write) {
        *self.now.lock().unwrap() = (version, write);
    }

    pub(super) fn serve(&self) -> Served {
        let service = PackageSectionServiceServer::new(self.clone());
        Served::of(Server::builder().add_service(service))
    }

    /// How often it was asked who it is.
    pub(super) fn described_count(&self) -> usize {
        self.described.load(Ordering::SeqCst)
    }

    /// How often it was asked for a section.
    pub(super) fn asked_count(&self) -> usize {
        self.asked.load(Ordering::SeqCst)
    }
}

#[tonic::async_trait]
impl PackageSectionService for Writer {
    async fn describe(
        &self,
        _: Request<DescribeRequest>,
    ) -> Result<Response<DescribeResponse>, Status> {
        self.described.fetch_add(1, Ordering::SeqCst);
        let (version, _) = *self.now.lock().unwrap();
        Ok(Response::new(DescribeResponse {
            version: version.into(),
            ..description(ID)
        }))
    }

    async fn write_section(
        &self,
        request: Request<WriteSectionRequest>,
    ) -> Result<Response<WriteSectionResponse>, Status> {
        self.asked.fetch_add(1, Ordering::SeqCst);
        let (_, write) = *self.now.lock().unwrap();
        write(request.into_inner()).map(Response::new)
    }
}

/// A section of one paragraph about what was asked.
pub(super) fn paragraph(request: WriteSectionRequest, text: String) -> WriteSectionResponse {
    WriteSectionResponse {
        segment: request.segment,
        evidence_digest: request.evidence_digest,
        title: "A section".into(),
        blocks: vec![SectionBlock {
            block: Some(Block::Paragraph(text)),
        }],
    }
}

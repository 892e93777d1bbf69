//! Serves the example plug-ins on a unix socket or a port.
//!
//! `obvert-plugin-example unix:/run/obvert/example.sock` or `obvert-plugin-example 127.0.0.1:7501`.

use std::process::ExitCode;

use obvert_plugin_example::{HoursOnSite, SemicolonLogger, WorkingHours};
use obvert_proto::plugin::v1::{
    evaluator_service_server::EvaluatorServiceServer,
    log_reader_service_server::LogReaderServiceServer,
    package_section_service_server::PackageSectionServiceServer,
};
use tokio::net::{TcpListener, UnixListener};
use tokio_stream::wrappers::{TcpListenerStream, UnixListenerStream};
use tonic::transport::Server;

/// Most bytes of evidence taken at once; the server's own default is the same.
const MOST_BYTES: usize = 8 << 20;

#[tokio::main]
async fn main() -> ExitCode {
    let Some(address) = std::env::args().nth(1) else {
        println!("usage: obvert-plugin-example unix:PATH | HOST:PORT");
        return ExitCode::from(2);
    };
    match serve(&address).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            println!("{address}: {error}");
            ExitCode::FAILURE
        }
    }
}

async fn serve(address: &str) -> Result<(), Box<dyn std::error::Error>> {
    let evaluator = EvaluatorServiceServer::new(WorkingHours);
    let section = PackageSectionServiceServer::new(HoursOnSite);
    let server = Server::builder()
        .add_service(evaluator.max_decoding_message_size(MOST_BYTES))
        .add_service(section.max_decoding_message_size(MOST_BYTES))
        .add_service(LogReaderServiceServer::new(SemicolonLogger));
    match address.strip_prefix("unix:") {
        Some(path) => {
            // A socket file that an earlier run left behind would refuse the new one.
            let _ = std::fs::remove_file(path);
            let listener = UnixListener::bind(path)?;
            server
                .serve_with_incoming(UnixListenerStream::new(listener))
                .await?;
        }
        None => {
            let listener = TcpListener::bind(address).await?;
            server
                .serve_with_incoming(TcpListenerStream::new(listener))
                .await?;
        }
    }
    Ok(())
}

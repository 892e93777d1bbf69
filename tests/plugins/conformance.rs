//! `obvert plugin check`: the shipped example passes, and each fault of an author is a row.

use std::{
    net::TcpStream,
    path::Path,
    process::Command,
    time::{Duration, Instant},
};

use obvert_plugin_example::{HoursOnSite, SemicolonLogger, WorkingHours};
use obvert_proto::{
    closeout::v1::Verdict,
    plugin::v1::{
        evaluator_service_server::EvaluatorServiceServer,
        log_reader_service_server::LogReaderServiceServer,
        package_section_service_server::PackageSectionServiceServer,
    },
};
use tonic::transport::Server;

use super::{
    fake::{Fake, held, released},
    served::Served,
};
use crate::server::support::{PATIENCE, program};

/// Exit code and what was printed, messages after data.
async fn checked(socket: &Path, more: &[&str]) -> (i32, String) {
    checked_at(&format!("unix:{}", socket.display()), more).await
}

async fn checked_at(address: &str, more: &[&str]) -> (i32, String) {
    let mut command = Command::new(program("obvert"));
    command.args(["plugin", "check", "--deadline-s", "2"]);
    command.arg(address).args(more);
    let ended = tokio::task::spawn_blocking(move || command.output()).await;
    let ended = ended.unwrap().unwrap();
    let text = [ended.stdout, ended.stderr].concat();
    (
        ended.status.code().unwrap(),
        String::from_utf8(text).unwrap(),
    )
}

fn example() -> Served {
    let server = Server::builder()
        .add_service(EvaluatorServiceServer::new(WorkingHours))
        .add_service(PackageSectionServiceServer::new(HoursOnSite))
        .add_service(LogReaderServiceServer::new(SemicolonLogger));
    Served::of(server)
}

#[tokio::test]
async fn the_shipped_example_meets_every_requirement() {
    let served = example();
    let folder = tempfile::tempdir().unwrap();
    let sample = folder.path().join("sample.txt");
    let rows = (0..50).map(|row| format!("{};{row},25;0,29;101,5\n", 1_000 * row));
    let rows: String = rows.collect();
    std::fs::write(&sample, format!("quillfern;r-1;FM-0041;9\n{rows}")).unwrap();
    let sample = sample.display().to_string();
    let (code, told) = checked(&served.path(), &["--sample", &sample]).await;
    assert_eq!(code, 0, "{told}");
    for kind in ["evaluator", "log-reader", "package-section"] {
        assert!(told.contains(&format!("pass  {kind}")), "{told}");
    }
    assert!(told.contains("reads the sample alike twice"), "{told}");
    assert!(
        told.contains("requirements are met") && !told.contains("FAIL"),
        "{told}"
    );
}

#[tokio::test]
async fn the_example_as_a_process_on_a_port_meets_them_too() {
    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = free.local_addr().unwrap();
    drop(free);
    let example = Command::new(program("obvert-plugin-example"))
        .arg(address.to_string())
        .spawn();
    let mut example = example.unwrap();
    let begun = Instant::now();
    while TcpStream::connect(address).is_err() {
        assert!(begun.elapsed() < PATIENCE, "the example does not listen");
        std::thread::sleep(Duration::from_millis(20));
    }
    let (code, told) = checked_at(&address.to_string(), &[]).await;
    example.kill().unwrap();
    example.wait().unwrap();
    assert_eq!(code, 0, "{told}");
    assert!(told.contains("requirements are met"), "{told}");
}

#[tokio::test]
async fn one_that_releases_without_evidence_fails_its_row_with_what_to_do() {
    let (code, told) = checked(&Fake::releasing("careless").serve().path(), &[]).await;
    assert_eq!(code, 8, "{told}");
    let row = "FAIL  evaluator  holds without evidence, with a finding that holds";
    assert!(told.contains(row), "{told}");
}

#[tokio::test]
async fn each_fault_of_an_author_fails_the_row_that_names_it() {
    let count = std::sync::atomic::AtomicUsize::new(0);
    let changing = Fake::new("changing", move |request| {
        let count = count.fetch_add(1, std::sync::atomic::Ordering::SeqCst);
        Ok(held(&request, "held", &format!("answer {count}")))
    });
    let forgetful = Fake::new("forgetful", |request| {
        let mut answer = held(&request, "held", "no");
        answer.segment.clear();
        Ok(answer)
    });
    let lenient = Fake::new("lenient", |request| match request.evidence.len() {
        0 => Ok(held(&request, "held", "no")),
        _ => Ok(released(request)),
    });
    let wordless = Fake::new("wordless", |request| {
        let mut answer = held(&request, "held", "no");
        answer.findings.clear();
        answer.verdict = Verdict::Held.into();
        Ok(answer)
    });
    let cases = [
        (
            changing,
            "FAIL  evaluator  gives the same answer to the same request",
        ),
        (
            forgetful,
            "FAIL  evaluator  answers about the segment, point and evidence it was asked",
        ),
        (
            lenient,
            "FAIL  evaluator  holds on, or refuses, a body that is no message of its type",
        ),
        (
            wordless,
            "FAIL  evaluator  holds without evidence, with a finding that holds",
        ),
    ];
    for (fake, row) in cases {
        let (code, told) = checked(&fake.serve().path(), &[]).await;
        assert_eq!(code, 8, "{told}");
        assert!(told.contains(row), "{told}");
        assert!(!told.contains("have its author run"), "{told}");
    }
}

#[tokio::test]
async fn an_answer_larger_than_a_server_takes_by_default_fails_the_check_too() {
    let large = Fake::new("large", |request| {
        Ok(held(&request, "held", &"x".repeat(2 << 20)))
    });
    let (code, told) = checked(&large.serve().path(), &[]).await;
    assert_eq!(code, 8, "{told}");
    assert!(told.contains("it takes 1048576 bytes"), "{told}");
}

#[tokio::test]
async fn nobody_at_the_address_and_no_plug_in_at_all_fail_in_words() {
    let (code, told) = checked(Path::new("/nowhere/at-all"), &[]).await;
    assert_eq!(code, 8, "{told}");
    assert!(told.contains("cannot be reached"), "{told}");
    let none = Server::builder().add_routes(tonic::service::Routes::default());
    let (code, told) = checked(&Served::of(none).path(), &[]).await;
    assert_eq!(code, 8, "{told}");
    assert!(told.contains("serve obvert.plugin.v1"), "{told}");
}

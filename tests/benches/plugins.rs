//! A verdict asked of the example plug-in, as the server asks it.

use std::{
    net::TcpListener,
    process::{Child, Command},
    time::{Duration, Instant},
};

use obvert_plugins::{Address, Kind, Plugin, Question, Registration, ask_verdict};
use obvert_proto::{
    common::v1::RecordRef,
    installation::v1::{Run, RunStep},
    plugin::v1::{EvaluateRequest, EvaluateResponse, Evidence},
};
use prost::{Message, Name};
use prost_types::{Any, Timestamp};

use crate::{
    bare,
    calls::{self, ECHO, Payload},
    load::per_second,
    pairs,
    support::{PATIENCE, program},
};

/// Steps of the run that is sent.
const STEPS: i64 = 14;

/// Measures a verdict beside two echoes: the plug-in is asked who it is and then for the verdict.
pub(crate) async fn measure(bare: &bare::Child) {
    let example = Example::start();
    let plugin = Plugin::new(example.registration()).expect("an address");
    let asked = question();
    let answer = answered(&plugin, &asked).await;
    let echoes = calls::channels(bare.address).await;
    let sent = EvaluateRequest {
        segment: asked.segment.clone(),
        point: asked.point.clone(),
        parameters: asked.parameters.clone(),
        evidence: asked.evidence.clone(),
        evidence_digest: asked.evidence_digest.to_vec(),
    };
    let payload = Payload::of(sent.encoded_len(), answer.encoded_len(), 0);
    for callers in [1, 16] {
        let what = format!(
            "Verdict of a plug-in beside two bare calls, {callers} in flight ({} B in, {} B out)",
            sent.encoded_len(),
            answer.encoded_len()
        );
        let product = async || {
            let (plugin, asked) = (plugin.clone(), asked.clone());
            let call = move |_| {
                let (plugin, asked) = (plugin.clone(), asked.clone());
                async move {
                    answered(&plugin, &asked).await;
                }
            };
            per_second(callers, call).await
        };
        let ceiling = async || {
            // One connection, as the plug-in has.
            let (echo, payload) = (echoes[0].clone(), payload.clone());
            let call = move |_| {
                let (echo, payload) = (echo.clone(), payload.clone());
                async move {
                    calls::bare(echo.clone(), ECHO, Payload::of(2, 256, 0)).await;
                    calls::bare(echo, ECHO, payload).await;
                }
            };
            per_second(callers, call).await
        };
        pairs::measure_of("obvert-plugin", &what, product, ceiling).await;
    }
}

async fn answered(plugin: &Plugin, asked: &Question) -> EvaluateResponse {
    ask_verdict(plugin, asked).await.said.expect("a verdict")
}

fn question() -> Question {
    let step = |minute: i64| RunStep {
        start_time: Some(Timestamp {
            seconds: 1_777_900_000 + minute * 60,
            nanos: 0,
        }),
        end_time: Some(Timestamp {
            seconds: 1_777_900_060 + minute * 60,
            nanos: 0,
        }),
        ..RunStep::default()
    };
    let run = Run {
        segments: vec!["projects/quillfern/segments/s-1".into()],
        steps: (0..STEPS).map(step).collect(),
        ..Run::default()
    };
    let settings = [("begin", "00:00"), ("end", "23:59"), ("time_zone", "UTC")];
    let settings = settings.map(|(name, value)| (name.to_owned(), value.to_owned()));
    Question {
        segment: "projects/quillfern/segments/s-1".into(),
        point: "working-hours".into(),
        parameters: settings.into_iter().collect(),
        evidence: vec![Evidence {
            record: Some(RecordRef {
                name: "projects/quillfern/runs/r-1".into(),
                revision: 7,
            }),
            body: Some(Any {
                type_url: format!("type.googleapis.com/{}", Run::full_name()),
                value: run.encode_to_vec(),
            }),
        }],
        evidence_digest: [7; 32],
    }
}

/// The example as a process of its own; killed when dropped.
struct Example {
    process: Child,
    port: u16,
}

impl Example {
    fn start() -> Self {
        let free = TcpListener::bind(("127.0.0.1", 0)).expect("a port");
        let port = free.local_addr().expect("an address").port();
        drop(free);
        let process = Command::new(program("obvert-plugin-example"))
            .arg(format!("127.0.0.1:{port}"))
            .spawn()
            .expect("the example starts");
        let begun = Instant::now();
        while std::net::TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(begun.elapsed() < PATIENCE, "the example does not answer");
            std::thread::sleep(Duration::from_millis(20));
        }
        Self { process, port }
    }

    fn registration(&self) -> Registration {
        Registration {
            id: "working-hours".into(),
            kinds: vec![Kind::Evaluator],
            address: Address::Tcp {
                host: "127.0.0.1".into(),
                port: self.port,
            },
            ca_file: None,
            deadline: Duration::from_secs(10),
            request_bytes: 8 << 20,
            answer_bytes: 1 << 20,
            calls: 64,
            projects: Vec::new(),
        }
    }
}

impl Drop for Example {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

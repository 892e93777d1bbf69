//! Plug-ins behind TLS: heard with the right certificate, named and held with any other.

use std::{path::PathBuf, process::Command};

use obvert_plugins::{Address, Kind, Plugin, Registration};
use obvert_proto::closeout::v1::PointState;
use rcgen::{BasicConstraints, CertificateParams, IsCa, Issuer, KeyPair, date_time_ymd};
use tempfile::TempDir;
use tokio::{net::TcpListener, task::JoinHandle};
use tokio_stream::wrappers::TcpListenerStream;
use tonic::transport::{Identity, Server as Serving, ServerTlsConfig};

use super::{
    fake::Fake,
    served::registration,
    server::{filed, until},
    site::{Site, is_held_by, point},
};
use crate::{
    closeout::fixture::point_of,
    server::support::{Server, output, prepared, program, write_config},
};

/// An authority that signs certificates, with its own in a file.
struct Authority {
    folder: TempDir,
    issuer: Issuer<'static, KeyPair>,
}

impl Authority {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut of = CertificateParams::new(Vec::<String>::new()).unwrap();
        of.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let key = KeyPair::generate().unwrap();
        let own = of.self_signed(&key).unwrap();
        std::fs::write(folder.path().join("ca.pem"), own.pem()).unwrap();
        let issuer = Issuer::new(of, key);
        Self { folder, issuer }
    }

    fn file(&self) -> PathBuf {
        self.folder.path().join("ca.pem")
    }

    /// Certificate and key for a host, good until a year.
    fn identity(&self, host: &str, until_year: i32) -> Identity {
        let mut of = CertificateParams::new(vec![host.to_owned()]).unwrap();
        of.not_before = date_time_ymd(2020, 1, 1);
        of.not_after = date_time_ymd(until_year, 1, 1);
        let key = KeyPair::generate().unwrap();
        let made = of.signed_by(&key, &self.issuer).unwrap();
        Identity::from_pem(made.pem(), key.serialize_pem())
    }
}

/// A plug-in on a port of its own, served until it is dropped.
struct Encrypted {
    port: u16,
    task: JoinHandle<()>,
}

impl Encrypted {
    async fn serving(id: &str, identity: Identity) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let port = listener.local_addr().unwrap().port();
        let tls = ServerTlsConfig::new().identity(identity);
        let mut router = Serving::builder().tls_config(tls).unwrap();
        let router = router.add_service(Fake::releasing(id).service());
        let task = tokio::spawn(async move {
            let incoming = TcpListenerStream::new(listener);
            let _ = router.serve_with_incoming(incoming).await;
        });
        Self { port, task }
    }

    fn address(&self) -> String {
        format!("https://127.0.0.1:{}", self.port)
    }

    /// The plug-in as a server knows it that trusts an authority.
    fn plugin(&self, id: &str, trusted: &Authority) -> Plugin {
        let registration = Registration {
            address: Address::parse(&self.address()).unwrap(),
            ca_file: Some(trusted.file()),
            ..registration(id, Kind::Evaluator, PathBuf::new())
        };
        Plugin::new(registration).unwrap()
    }
}

impl Drop for Encrypted {
    fn drop(&mut self) {
        self.task.abort();
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_right_certificate_is_heard_and_every_other_holds_by_its_name() {
    let (own, foreign) = (Authority::new(), Authority::new());
    let cases = [
        ("right", own.identity("127.0.0.1", 2100), ""),
        (
            "foreign",
            foreign.identity("127.0.0.1", 2100),
            "another authority",
        ),
        ("expired", own.identity("127.0.0.1", 2021), "has expired"),
        (
            "other-name",
            own.identity("checks.example", 2100),
            "for another host",
        ),
    ];
    let points: String = cases.iter().map(|(id, ..)| point(id, "")).collect();
    let site = Site::under(&points).await;
    let before = site.status().await;
    let mut serving = Vec::new();
    let mut told = Vec::new();
    for (id, identity, part) in cases {
        let served = Encrypted::serving(id, identity).await;
        site.ask(served.plugin(id, &own));
        serving.push(served);
        told.push((id, part));
    }
    site.until("right", |point| point.state() == PointState::Released)
        .await;
    for (id, part) in told.into_iter().skip(1) {
        let status = site
            .until(id, |point| is_held_by(point, "plug-in-certificate"))
            .await;
        let mut findings = point_of(&status, id).findings.iter();
        assert!(
            findings.any(|finding| finding.message.contains(part)),
            "{status:?}"
        );
    }
    let after = site.status().await;
    for (one, other) in before.points.iter().zip(&after.points) {
        if !points.contains(&format!("id = \"{}\"", one.point)) {
            assert_eq!((&one.point, one.state()), (&other.point, other.state()));
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn one_that_speaks_no_tls_at_its_address_is_named() {
    let own = Authority::new();
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let plain = Serving::builder().add_service(Fake::releasing("plain").service());
    let task = tokio::spawn(async move {
        let _ = plain
            .serve_with_incoming(TcpListenerStream::new(listener))
            .await;
    });
    let served = Encrypted { port, task };
    let site = Site::under(&point("plain", "")).await;
    site.ask(served.plugin("plain", &own));
    site.until("plain", |point| is_held_by(point, "plug-in-tls"))
        .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_asks_the_plug_in_behind_tls_of_its_config() {
    let own = Authority::new();
    let served = Encrypted::serving("right", own.identity("127.0.0.1", 2100)).await;
    let folder = prepared("");
    let rows = format!(
        "[[plugin]]\nid = \"right\"\nkinds = [\"evaluator\"]\naddress = \"{}\"\n\
         ca_file = \"{}\"\n",
        served.address(),
        own.file().display()
    );
    write_config(folder.path(), "127.0.0.1:0", &rows);
    let server = Server::start_in(folder);
    filed(&server, &point("right", "")).await;
    until(&server, |status| {
        point_of(status, "right").state() == PointState::Released
    })
    .await;
}

#[test]
fn a_config_names_an_authority_where_there_is_tls_and_nowhere_else() {
    let own = Authority::new();
    let folder = prepared("");
    let empty = folder.path().join("empty.pem");
    std::fs::write(&empty, "").unwrap();
    let file = own.file();
    let cases = [
        (
            "https://checks.example:7501",
            String::new(),
            "no ca_file is given",
        ),
        (
            "127.0.0.1:7501",
            format!("ca_file = \"{}\"", file.display()),
            "reached without TLS",
        ),
        (
            "https://checks.example:7501",
            format!("ca_file = \"{}\"", empty.display()),
            "holds no certificate",
        ),
        (
            "https://checks.example:7501",
            "ca_file = \"/nowhere/ca.pem\"".to_owned(),
            "/nowhere/ca.pem: ",
        ),
    ];
    for (address, ca_file, part) in cases {
        let rows = format!(
            "[[plugin]]\nid = \"right\"\nkinds = [\"evaluator\"]\naddress = \"{address}\"\n{ca_file}\n"
        );
        write_config(folder.path(), "127.0.0.1:0", &rows);
        let (status, told) = output(folder.path(), &["config", "check"]);
        assert_eq!(status.code(), Some(64), "{told}");
        assert!(told.contains(part), "{told}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_author_checks_a_plug_in_behind_tls_with_its_authority() {
    let (own, foreign) = (Authority::new(), Authority::new());
    let served = Encrypted::serving("right", own.identity("127.0.0.1", 2100)).await;
    for (authority, code, part) in [
        (Some(&own), 8, "describes itself as the contract says"),
        (Some(&foreign), 8, "another authority"),
        (None, 2, "no ca_file is given"),
    ] {
        let mut command = Command::new(program("obvert"));
        command.args(["plugin", "check", &served.address()]);
        if let Some(authority) = authority {
            command.arg("--ca-file").arg(authority.file());
        }
        let ended = tokio::task::spawn_blocking(move || command.output()).await;
        let ended = ended.unwrap().unwrap();
        let told = String::from_utf8([ended.stdout, ended.stderr].concat()).unwrap();
        assert_eq!(ended.status.code(), Some(code), "{told}");
        assert!(told.contains(part), "{told}");
    }
}

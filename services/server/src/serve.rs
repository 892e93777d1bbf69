//! Serving: open the store, build the services, answer, and stop in order.

use std::{fs, path::Path, sync::Arc, time::Duration};

use obvert_acceptance::Acceptance;
use obvert_access::{AccessLog, Keys};
use obvert_closeout::{
    Closeout, Signer, Statuses, keep_plugin_answers,
    package::{self, Press},
};
use obvert_design::Design;
use obvert_installation::Installation;
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_material::Material;
use obvert_plugins::Plugins;
use obvert_project::{Access, Attachments, Links, PaperRpcs, Papers, Projects, keep_key_uses};
use obvert_proto::{
    Problem, SCHEMA,
    acceptance::v1::acceptance_service_server::AcceptanceServiceServer,
    closeout::v1::closeout_service_server::CloseoutServiceServer,
    design::v1::design_service_server::DesignServiceServer,
    installation::v1::installation_service_server::InstallationServiceServer,
    material::v1::material_service_server::MaterialServiceServer,
    project::v1::{
        access_service_server::AccessServiceServer,
        attachment_service_server::AttachmentServiceServer,
        paper_service_server::PaperServiceServer, project_service_server::ProjectServiceServer,
    },
};
use obvert_records::now_ms;
use tokio::{
    net::TcpListener,
    signal::unix::{Signal, SignalKind, signal},
    sync::watch,
    task::JoinHandle,
};
use tonic::service::Routes;
use tonic_health::{ServingStatus, server::HealthReporter};

use crate::{
    Config, Ended, Exit, accept::accept, boot, denials, foreign, guard, guard::Guard, pages,
    signing, tls, tools::opened, worker,
};

/// Names under which health knows the parts of the server; the empty name is the whole.
const HEALTH_NAMES: [&str; 10] = [
    "",
    "obvert.project.v1.ProjectService",
    "obvert.project.v1.AttachmentService",
    "obvert.project.v1.AccessService",
    "obvert.project.v1.PaperService",
    "obvert.design.v1.DesignService",
    "obvert.material.v1.MaterialService",
    "obvert.installation.v1.InstallationService",
    "obvert.acceptance.v1.AcceptanceService",
    "obvert.closeout.v1.CloseoutService",
];

/// How often the last use of keys is kept.
const KEEP_USES: Duration = Duration::from_secs(3_600);

/// Serves until SIGTERM or SIGINT, or until the store can no longer be written.
pub(crate) async fn serve(config: Config) -> Result<(), Ended> {
    // Heard from the first moment on, so that a stop during the start is an orderly one too.
    let signals = Signals::heard()?;
    let plugins = Plugins::new(config.plugins.clone())
        .map_err(|what| Ended::new(Exit::BadConfig, format!("[[plugin]]: {what}")))?;
    let press = press(&config, &plugins)?;
    let tls = config.tls.clone().map(tls::acceptor).transpose()?;
    let ledger = open(&config).await?;
    boot::bootstrap(&ledger, &config).await?;
    package::announce(&ledger, &press.signer, now_ms())
        .await
        .map_err(failed)?;
    let keys = Keys::new(ledger.clone());
    let (health, health_service) = tonic_health::server::health_reporter();
    set_health(&health, ServingStatus::Serving).await;
    let log = AccessLog::open(&config.store).map_err(opened)?;
    let secret = pages::session_secret(&config.store)?;
    let guard = Guard::new(keys.clone(), config.limits);
    let closeout = Closeout::new(ledger.clone(), Some(press));
    let statuses = closeout.statuses();
    let links = Links::new(ledger.clone(), secret.links());
    let doors = pages::Doors {
        papers: Papers::new(ledger.clone(), secret.links()),
        access: Access::new(ledger.clone(), keys.clone(), links.clone()),
        links,
        // Children of its own, so that a sheet never waits for a package.
        design: Design::new(ledger.clone(), worker::typesetter(&config.limits)?),
        log: log.clone(),
        statuses: statuses.clone(),
        closeout: closeout.clone(),
        guard: guard.clone(),
    };
    let services = services(&ledger, &doors, &plugins, &config)?;
    let services = services.add_service(health_service);
    let grpc = services.prepare().into_axum_router();
    let guarded = axum::middleware::from_fn_with_state(guard, guard::guard);
    let grpc = grpc.layer(guarded);
    let grpc = grpc.layer(axum::middleware::from_fn(foreign::only_calls));
    let router = pages::router(ledger.clone(), keys.clone(), secret, doors, grpc)?;
    let noting = axum::middleware::from_fn_with_state(log.clone(), denials::note);
    let router = router.layer(noting);
    let (stop, stopped) = watch::channel(false);
    let listener = listen(&config).await?;
    let asking = ask_plugins(&ledger, &statuses, &plugins, &stopped);
    let accepting = tokio::spawn(accept(listener, router, tls, config.limits, stopped));
    closeout.resume_builds().await.map_err(failed)?;
    let keeping = tokio::spawn(keep_uses(ledger.clone(), keys.clone()));
    let exit = wait_for_end(&ledger, signals).await;
    keeping.abort();
    set_health(&health, ServingStatus::NotServing).await;
    tracing::info!("stopping");
    let _ = stop.send(true);
    let _ = accepting.await;
    for task in asking {
        let _ = task.await;
    }
    keep_uses_once(&ledger, &keys).await;
    log.close().await;
    ledger.close().await;
    match exit {
        Exit::Ok => Ok(()),
        exit => Err(Ended::new(
            exit,
            "the store could not be written; all acknowledged records are kept",
        )),
    }
}

/// What packages are made with.
fn press(config: &Config, plugins: &Plugins) -> Result<Arc<Press>, Ended> {
    let key = signing::read(&config.signing_key)?;
    Ok(Arc::new(Press {
        signer: Signer::new(key, &config.fingerprint_source),
        typesetter: worker::typesetter(&config.limits)?,
        limits: config.limits.package(),
        plugins: plugins.clone(),
    }))
}

fn failed(problem: Problem) -> Ended {
    Ended::new(Exit::Failure, problem.message)
}

async fn set_health(health: &HealthReporter, status: ServingStatus) {
    for name in HEALTH_NAMES {
        health.set_service_status(name, status).await;
    }
}

/// A task for each plug-in that keeps its answers, so that one that hangs keeps no other waiting.
fn ask_plugins(
    ledger: &Ledger,
    statuses: &Statuses,
    plugins: &Plugins,
    stopped: &watch::Receiver<bool>,
) -> Vec<JoinHandle<()>> {
    let tasks = plugins.iter().map(|plugin| {
        let (plugin, stopped) = (plugin.clone(), stopped.clone());
        let statuses = statuses.clone();
        tokio::spawn(keep_plugin_answers(
            ledger.clone(),
            statuses,
            plugin,
            stopped,
        ))
    });
    tasks.collect()
}

/// Keeps when keys were last used, all together, once an hour.
async fn keep_uses(ledger: Ledger, keys: Keys) {
    loop {
        tokio::time::sleep(KEEP_USES).await;
        keep_uses_once(&ledger, &keys).await;
    }
}

async fn keep_uses_once(ledger: &Ledger, keys: &Keys) {
    if let Err(problem) = keep_key_uses(ledger, keys, now_ms()).await {
        tracing::warn!(%problem.message, "when keys were last used could not be kept");
    }
}

async fn open(config: &Config) -> Result<Ledger, Ended> {
    let failed = |error: std::io::Error| {
        Ended::new(
            Exit::Failure,
            format!("{}: {error}", config.store.display()),
        )
    };
    fs::create_dir_all(&config.store).map_err(failed)?;
    let ledger = Ledger::open(LedgerConfig::new(&config.store))
        .await
        .map_err(opened)?;
    Ok(ledger)
}

fn services(
    ledger: &Ledger,
    doors: &pages::Doors,
    plugins: &Plugins,
    config: &Config,
) -> Result<Routes, Ended> {
    let most = config.limits.message_bytes as usize;
    let reflection = tonic_reflection::server::Builder::configure()
        .register_encoded_file_descriptor_set(SCHEMA)
        .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
        .build_v1()
        .map_err(|error| Ended::new(Exit::Failure, format!("reflection: {error}")))?;
    let project = ProjectServiceServer::new(Projects::new(ledger.clone(), doors.log.clone()));
    let part_bytes = config.limits.upload_part_bytes as usize;
    let attachment = Attachments::with_part_limit(ledger.clone(), part_bytes);
    let attachment = AttachmentServiceServer::new(attachment);
    let access = AccessServiceServer::new(doors.access.clone());
    let paper = PaperServiceServer::new(PaperRpcs::new(doors.papers.clone()));
    let design = DesignServiceServer::new(doors.design.clone());
    let material = MaterialServiceServer::new(Material::new(ledger.clone()));
    let installation = Installation::with_limits(ledger.clone(), config.limits.cure())
        .with_plugins(plugins.clone());
    let installation = InstallationServiceServer::new(installation);
    let acceptance = AcceptanceServiceServer::new(Acceptance::new(ledger.clone()));
    let closeout = CloseoutServiceServer::new(doors.closeout.clone());
    Ok(Routes::new(reflection)
        .add_service(project.max_decoding_message_size(most))
        .add_service(attachment.max_decoding_message_size(most))
        .add_service(access.max_decoding_message_size(most))
        .add_service(paper.max_decoding_message_size(most))
        .add_service(design.max_decoding_message_size(most))
        .add_service(material.max_decoding_message_size(most))
        .add_service(installation.max_decoding_message_size(most))
        .add_service(acceptance.max_decoding_message_size(most))
        .add_service(closeout.max_decoding_message_size(most)))
}

async fn listen(config: &Config) -> Result<TcpListener, Ended> {
    let failed = |what: String| Ended::new(Exit::Failure, format!("{}: {what}", config.listen));
    let listener = TcpListener::bind(config.listen)
        .await
        .map_err(|error| failed(error.to_string()))?;
    let address = listener
        .local_addr()
        .map_err(|error| failed(error.to_string()))?;
    if let Some(file) = &config.address_file {
        write_whole(file, &format!("{address}\n")).map_err(|error| failed(error.to_string()))?;
    }
    tracing::info!(%address, "serving");
    Ok(listener)
}

/// Writes a small file so that a reader sees all of it or none.
fn write_whole(path: &Path, text: &str) -> std::io::Result<()> {
    let part = path.with_extension("part");
    fs::write(&part, text)?;
    fs::rename(part, path)
}

/// What asks the server to stop.
struct Signals {
    terminate: Signal,
    interrupt: Signal,
}

impl Signals {
    fn heard() -> Result<Self, Ended> {
        let heard = |kind: SignalKind| {
            signal(kind).map_err(|error| Ended::new(Exit::Failure, format!("signals: {error}")))
        };
        Ok(Self {
            terminate: heard(SignalKind::terminate())?,
            interrupt: heard(SignalKind::interrupt())?,
        })
    }
}

/// Waits for a signal or for the ledger to give up writing.
async fn wait_for_end(ledger: &Ledger, mut signals: Signals) -> Exit {
    let mut poisoned = ledger.poisoned();
    tokio::select! {
        _ = signals.terminate.recv() => Exit::Ok,
        _ = signals.interrupt.recv() => Exit::Ok,
        _ = poisoned.wait_for(|poisoned| *poisoned) => {
            tracing::error!("the store could not be written: no more writes are taken");
            tokio::time::sleep(Duration::from_millis(200)).await;
            Exit::Poisoned
        }
    }
}

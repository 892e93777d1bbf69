//! Pages for people: projects, segments, open points and packages, rendered on the server.
//!
//! No script but one on the sign-in page, no outside request; every template ends in `.html`, so
//! every value is escaped. A page reads the same statuses that the closeout service answers.

mod builds;
mod calculation;
mod crew_day;
mod download;
mod issuer;
mod issuer_original;
mod links;
mod origin;
mod plan_rows;
mod rows;
mod session;
mod sheet_links;
mod sign_in;
mod templates;
mod views;

use axum::{
    Extension, Router,
    extract::{MatchedPath, Request, State},
    http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header},
    middleware::{self, Next},
    response::{Html, IntoResponse, Response},
    routing::get,
};
use obvert_access::{AccessLog, Action, Caller, Keys, matrix::PAGES};
use obvert_closeout::{Closeout, Statuses};
use obvert_design::Design;
use obvert_ledger::Ledger;
use obvert_project::{Access, Links, Papers};
use obvert_proto::{Problem, common::v1::Reason, reason_word};
use obvert_records::now_ms;
use serde::Serialize;

use crate::{
    Ended,
    denials::Denied,
    guard::{self, Guard},
};
use origin::{refusal_of_foreign, same_origin};
use session::Secret;
pub(crate) use session::session_secret;
use templates::Templates;

/// What every page needs.
#[derive(Clone)]
pub(crate) struct Pages {
    ledger: Ledger,
    keys: Keys,
    secret: Secret,
    templates: Templates,
    doors: Doors,
}

/// Services that pages use besides the ledger.
#[derive(Clone)]
pub(crate) struct Doors {
    pub(crate) papers: Papers,
    pub(crate) access: Access,
    pub(crate) links: Links,
    pub(crate) design: Design,
    pub(crate) closeout: Closeout,
    pub(crate) log: AccessLog,
    pub(crate) guard: Guard,
    pub(crate) statuses: Statuses,
}

/// A page that could not be shown.
pub(crate) enum Unshown {
    /// The problem behind it.
    Problem(Box<Pages>, Problem),
    /// A form that was not sent from a page of this server.
    Foreign,
}

/// Router of the pages, with the calls behind them.
pub(crate) fn router(
    ledger: Ledger,
    keys: Keys,
    secret: Secret,
    doors: Doors,
    calls: Router,
) -> Result<Router, Ended> {
    let bounded = middleware::from_fn_with_state(doors.guard.clone(), guard::bounded);
    let pages = Pages {
        ledger,
        keys,
        secret,
        templates: Templates::new()?,
        doors,
    };
    Ok(Router::new()
        .route("/", get(views::projects))
        .route("/sign-in", get(sign_in::form).post(sign_in::sign_in))
        .route("/sign-out", axum::routing::post(sign_in::sign_out))
        .route("/projects/{project}", get(views::project))
        .route(
            "/projects/{project}/segments/{segment}",
            get(views::segment),
        )
        .route(
            "/projects/{project}/packages/{package}",
            get(download::package),
        )
        .route(
            "/projects/{project}/crew-day",
            get(crew_day::form).post(crew_day::make),
        )
        .route(
            "/projects/{project}/builds",
            axum::routing::post(builds::start),
        )
        .route("/projects/{project}/builds/{build}", get(builds::show))
        .route(
            "/projects/{project}/builds/{build}/cancel",
            axum::routing::post(builds::cancel),
        )
        .route(
            "/projects/{project}/builds/{build}/resume",
            axum::routing::post(builds::resume),
        )
        .route("/links/{link}", get(links::packages))
        .route("/links/{link}/packages/{package}", get(links::package))
        .route("/sign-in.js", get(sign_in::script))
        .route("/issuer/{link}", get(issuer::show).post(issuer::answer))
        .route(
            "/issuer/{link}/originals/{place}",
            get(issuer_original::original),
        )
        .route(
            "/projects/{project}/designs/{design}",
            get(calculation::page),
        )
        .route(
            "/projects/{project}/designs/{design}/calculation.pdf",
            get(calculation::pdf),
        )
        .route(
            "/projects/{project}/sheets/{collection}/{record}",
            get(calculation::page_of_any),
        )
        .route(
            "/projects/{project}/sheets/{collection}/{record}/calculation.pdf",
            get(calculation::pdf_of_any),
        )
        .route("/style.css", get(style))
        .route_layer(bounded)
        .route("/healthz", get(healthz))
        .route_layer(middleware::from_fn(known))
        .fallback_service(calls)
        .layer(middleware::from_fn(headers))
        .with_state(pages))
}

impl Pages {
    /// Caller of a page, by session or by bearer key.
    async fn caller(&self, request: &HeaderMap) -> Result<Caller, Unshown> {
        let refresh = self.keys.refresh().await.map_err(obvert_records::refusal);
        refresh.map_err(|problem| self.unshown(problem))?;
        let bearer = request
            .get(header::AUTHORIZATION)
            .and_then(|value| value.to_str().ok());
        let caller = match bearer.and_then(|value| value.strip_prefix("Bearer ")) {
            Some(key) => self.keys.caller(key, now_ms()),
            None => self.secret.caller(&self.keys, request, now_ms()),
        };
        caller.map_err(|problem| self.unshown(problem))
    }

    /// Caller of a form of a page, who may do in the project what the form asks for.
    async fn sender(
        &self,
        (uri, headers): (&Uri, &HeaderMap),
        action: Action<'_>,
        project: &str,
    ) -> Result<Caller, Unshown> {
        let caller = self.caller(headers).await?;
        let allowed = caller.may(action, project);
        allowed.map_err(|problem| self.unshown(problem))?;
        if same_origin(uri, headers) {
            Ok(caller)
        } else {
            Err(Unshown::Foreign)
        }
    }

    fn unshown(&self, problem: Problem) -> Unshown {
        Unshown::Problem(Box::new(self.clone()), problem)
    }

    fn page(&self, template: &str, data: &impl Serialize) -> Response {
        match self.templates.render(template, data) {
            Ok(html) => Html(html).into_response(),
            Err(error) => {
                tracing::error!(%error, template, "a page could not be rendered");
                (
                    StatusCode::INTERNAL_SERVER_ERROR,
                    "this page could not be rendered",
                )
                    .into_response()
            }
        }
    }
}

impl IntoResponse for Unshown {
    fn into_response(self) -> Response {
        let Self::Problem(pages, problem) = self else {
            return refusal_of_foreign();
        };
        let problem = problem.told();
        let status = match problem.reason {
            Reason::NotAuthenticated => {
                let to = [(header::LOCATION, "/sign-in")];
                return (StatusCode::SEE_OTHER, Extension(Denied(problem)), to).into_response();
            }
            Reason::NotAllowed => StatusCode::FORBIDDEN,
            Reason::RecordNotFound => StatusCode::NOT_FOUND,
            Reason::ClaimTaken => StatusCode::CONFLICT,
            Reason::FieldsInvalid | Reason::ActRefused => StatusCode::BAD_REQUEST,
            Reason::Overloaded | Reason::ShuttingDown => StatusCode::SERVICE_UNAVAILABLE,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        };
        #[derive(Serialize)]
        struct Data<'a> {
            reason: &'a str,
            message: &'a str,
        }
        let data = Data {
            reason: reason_word(problem.reason),
            message: &problem.message,
        };
        let page = pages.page("problem.html", &data);
        (status, Extension(Denied(problem)), page).into_response()
    }
}

async fn style() -> impl IntoResponse {
    (
        [(header::CONTENT_TYPE, "text/css; charset=utf-8")],
        include_str!("../templates/style.css"),
    )
}

async fn healthz(State(pages): State<Pages>) -> impl IntoResponse {
    match pages.ledger.state() {
        obvert_ledger::LedgerState::Poisoned => (StatusCode::SERVICE_UNAVAILABLE, "not serving\n"),
        _ => (StatusCode::OK, "serving\n"),
    }
}

/// Refuses a page without a row in the table of roles, so that none is forgotten there.
async fn known(method: Method, route: MatchedPath, request: Request, next: Next) -> Response {
    let method = if method == Method::HEAD {
        "GET"
    } else {
        method.as_str()
    };
    let row = PAGES
        .iter()
        .any(|(m, r, _)| *m == method && *r == route.as_str());
    if row {
        return next.run(request).await;
    }
    StatusCode::METHOD_NOT_ALLOWED.into_response()
}

/// Headers of every page: nothing from outside, no framing, no guessing of types, no copy of what a
/// session shows.
async fn headers(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let kind = response.headers().get(header::CONTENT_TYPE);
    if kind.is_some_and(|kind| kind.as_bytes().starts_with(b"application/grpc")) {
        return response;
    }
    let is_html = kind.is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    let policy = "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; \
                  frame-ancestors 'none'; base-uri 'none'";
    let headers = response.headers_mut();
    // A page that needs another policy has set it.
    headers
        .entry(header::CONTENT_SECURITY_POLICY)
        .or_insert(HeaderValue::from_static(policy));
    let kept = if is_html { "no-store" } else { "private" };
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static(kept));
    headers.insert(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    );
    // Under `no-referrer` a browser says `Origin: null` of a form of this very site.
    headers.insert(
        header::REFERRER_POLICY,
        HeaderValue::from_static("same-origin"),
    );
    response
}

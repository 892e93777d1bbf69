//! Signing in with a key, and out.

use axum::{
    Extension,
    extract::{Form, State},
    http::{HeaderMap, HeaderValue, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use obvert_access::digest_of;
use obvert_records::now_ms;
use serde::{Deserialize, Serialize};

use super::{Pages, origin::refused_as_foreign, session::Secret};
use crate::denials::Denied;

/// What the form sends.
#[derive(Deserialize)]
pub(crate) struct SignIn {
    key: String,
}

#[derive(Serialize)]
struct Data<'a> {
    message: &'a str,
}

/// The form.
pub(crate) async fn form(State(pages): State<Pages>) -> Response {
    with_script(pages.page("sign_in.html", &Data { message: "" }))
}

/// The one script of the pages; see its file for why.
pub(crate) async fn script() -> impl IntoResponse {
    (
        [(header::CONTENT_TYPE, "text/javascript; charset=utf-8")],
        include_str!("sign_in.js"),
    )
}

/// Lets this page, and no other, run the script of this server.
fn with_script(mut page: Response) -> Response {
    let policy = "default-src 'none'; style-src 'self'; script-src 'self'; form-action 'self'; \
                  frame-ancestors 'none'; base-uri 'none'";
    let headers = page.headers_mut();
    headers.insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(policy),
    );
    page
}

/// Takes a key and begins a session.
pub(crate) async fn sign_in(
    State(pages): State<Pages>,
    uri: Uri,
    headers: HeaderMap,
    Form(sent): Form<SignIn>,
) -> Response {
    if let Some(refused) = refused_as_foreign(&uri, &headers) {
        return refused;
    }
    let key = sent.key.trim();
    let known = match pages.keys.refresh().await {
        Ok(()) => pages.keys.caller(key, now_ms()),
        Err(error) => Err(obvert_records::refusal(error)),
    };
    match (known, digest_of(key)) {
        (Ok(_), Ok(digest)) => {
            let cookie = pages.secret.cookie(digest, now_ms());
            let to = [
                (header::LOCATION, "/".to_owned()),
                (header::SET_COOKIE, cookie),
            ];
            (StatusCode::SEE_OTHER, to).into_response()
        }
        (Err(problem), _) => {
            let data = Data {
                message: &problem.message,
            };
            let page = with_script(pages.page("sign_in.html", &data));
            (StatusCode::UNAUTHORIZED, Extension(Denied(problem)), page).into_response()
        }
        (Ok(_), Err(_)) => StatusCode::BAD_REQUEST.into_response(),
    }
}

/// Ends a session.
pub(crate) async fn sign_out(uri: Uri, headers: HeaderMap) -> Response {
    if let Some(refused) = refused_as_foreign(&uri, &headers) {
        return refused;
    }
    let to = [
        (header::LOCATION, "/sign-in".to_owned()),
        (header::SET_COOKIE, Secret::ended()),
    ];
    (StatusCode::SEE_OTHER, to).into_response()
}

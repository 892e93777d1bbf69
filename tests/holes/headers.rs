//! Headers of pages: no guessing of types, no frames, nothing from outside, nothing told to others.

use obvert_access::matrix::PAGES;

use crate::server::support::Server;

/// Value of a header of an answer.
fn header<'a>(answer: &'a str, name: &str) -> Option<&'a str> {
    let head = answer.split("\r\n\r\n").next().unwrap();
    let mut rows = head.lines().filter_map(|row| row.split_once(": "));
    rows.find(|(found, _)| found.eq_ignore_ascii_case(name))
        .map(|(_, value)| value)
}

#[test]
fn every_page_says_its_type_and_allows_nothing_from_outside() {
    let server = Server::start("");
    let key = server.key();
    let origin = format!("origin: http://{}", server.address);
    let form = "content-type: application/x-www-form-urlencoded";
    for (row, kind) in [
        ("GET / HTTP/1.1", "text/html; charset=utf-8"),
        ("GET /sign-in HTTP/1.1", "text/html; charset=utf-8"),
        ("GET /projects/none HTTP/1.1", "text/html; charset=utf-8"),
        (
            "GET /projects/none/segments/s HTTP/1.1",
            "text/html; charset=utf-8",
        ),
        (
            "GET /projects/none/packages/p HTTP/1.1",
            "text/html; charset=utf-8",
        ),
        ("GET /issuer/none HTTP/1.1", "text/html; charset=utf-8"),
        ("GET /style.css HTTP/1.1", "text/css; charset=utf-8"),
        ("GET /healthz HTTP/1.1", "text/plain; charset=utf-8"),
        ("GET /no/such/page HTTP/1.1", "text/plain; charset=utf-8"),
        ("DELETE / HTTP/1.1", ""),
        ("POST /sign-in HTTP/1.1", "text/html; charset=utf-8"),
        ("POST /sign-out HTTP/1.1", ""),
    ] {
        let head = format!("{row}\r\nauthorization: Bearer {key}\r\n{origin}\r\n{form}");
        let answer = server.http(&head, if row.starts_with("POST") { "key=x" } else { "" });
        let policy = header(&answer, "content-security-policy").unwrap_or_default();
        for part in [
            "default-src 'none'",
            "frame-ancestors 'none'",
            "base-uri 'none'",
        ] {
            assert!(policy.contains(part), "{row}: {answer}");
        }
        assert!(!policy.contains("unsafe"), "{row}");
        // Only the sign-in page runs a script, and only that of this server.
        let script = policy
            .split("; ")
            .find(|part| part.starts_with("script-src"));
        let signs_in = row.contains(" /sign-in ");
        assert_eq!(script, signs_in.then_some("script-src 'self'"), "{row}");
        assert_eq!(
            header(&answer, "x-content-type-options"),
            Some("nosniff"),
            "{row}"
        );
        assert_eq!(
            header(&answer, "referrer-policy"),
            Some("same-origin"),
            "{row}"
        );
        assert_eq!(
            header(&answer, "content-type").unwrap_or_default(),
            kind,
            "{row}"
        );
        assert_eq!(header(&answer, "server"), None, "{row}");
    }
}

#[test]
fn no_page_of_the_table_of_roles_lacks_a_header() {
    let server = Server::start("");
    let key = server.key();
    let origin = format!("origin: http://{}", server.address);
    for (method, route, _) in PAGES {
        let parts = route.split('/');
        let parts = parts.map(|part| if part.starts_with('{') { "none" } else { part });
        let path = parts.collect::<Vec<_>>().join("/");
        let head = format!("{method} {path} HTTP/1.1\r\nauthorization: Bearer {key}\r\n{origin}");
        let answer = server.http(&head, "");
        let policy = header(&answer, "content-security-policy").unwrap_or_default();
        for part in [
            "default-src 'none'",
            "frame-ancestors 'none'",
            "base-uri 'none'",
        ] {
            assert!(policy.contains(part), "{method} {route}: {answer}");
        }
        let sniffing = header(&answer, "x-content-type-options");
        assert_eq!(sniffing, Some("nosniff"), "{method} {route}");
        let referrer = header(&answer, "referrer-policy");
        assert_eq!(referrer, Some("same-origin"), "{method} {route}");
        // What a session shows stays in no cache after it has ended.
        if header(&answer, "content-type").is_some_and(|kind| kind.starts_with("text/html")) {
            let kept = header(&answer, "cache-control");
            assert_eq!(kept, Some("no-store"), "{method} {route}");
        }
    }
}

#[test]
fn what_is_no_call_and_no_page_is_not_found() {
    let server = Server::start("");
    for row in ["GET /favicon.ico HTTP/1.1", "POST /obvert.x/Y HTTP/1.1"] {
        let answer = server.http(row, "");
        assert!(answer.starts_with("HTTP/1.1 404"), "{answer}");
        assert!(!answer.contains("grpc-status"), "{answer}");
    }
}

#[test]
fn a_session_is_ended_and_begun_only_by_a_form_of_this_server() {
    let server = Server::start("");
    let key = server.key();
    let form = "content-type: application/x-www-form-urlencoded";
    for origin in [
        String::new(),
        "origin: null\r\n".into(),
        "origin: http://127.0.0.1\r\n".into(),
        format!("origin: http://{}.other.invalid\r\n", server.address),
        format!("origin: http://other.invalid/{}\r\n", server.address),
    ] {
        for path in ["/sign-in", "/sign-out"] {
            let head = format!("POST {path} HTTP/1.1\r\n{origin}{form}");
            let answer = server.http(&head, &format!("key={key}"));
            assert!(answer.starts_with("HTTP/1.1 403"), "{origin}{answer}");
            assert_eq!(header(&answer, "set-cookie"), None, "{origin}");
        }
    }
    let head = format!(
        "POST /sign-out HTTP/1.1\r\norigin: http://{}",
        server.address
    );
    let answer = server.http(&head, "");
    let cookie = header(&answer, "set-cookie").unwrap();
    for part in [
        "__Host-",
        "Max-Age=0",
        "Secure",
        "HttpOnly",
        "SameSite=Strict",
        "Path=/",
    ] {
        assert!(cookie.contains(part), "{cookie}");
    }
    assert!(!cookie.contains("Domain"), "{cookie}");
}

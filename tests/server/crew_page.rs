//! The page on which the office makes the key of a crew's day.

use jiff::{Timestamp, tz::TimeZone};
use qrcode::{Color, QrCode};

use super::matrix::world::{PROJECT, World};

#[tokio::test]
async fn the_page_shows_a_code_whose_key_signs_in_and_stands_in_no_address() {
    let world = World::start().await;
    let answer = make(&world, "crew-2");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    assert!(answer.contains("cache-control: no-store"), "{answer}");
    assert!(answer.contains("19:00, local time of the"), "{answer}");
    let back = format!("<a href=\"/projects/{PROJECT}\">Quillfern");
    assert!(
        answer.contains(&back),
        "the way back has the title: {answer}"
    );
    let secret = between(&answer, "<code>", "</code>");
    let origin = format!("http://{}", world.server.address);
    // What the drawing holds is read back from the outline and compared, module by module.
    let code = QrCode::new(format!("{origin}/sign-in#{secret}")).unwrap();
    let outline = between(&answer, "<path d=\"", "\"");
    let mut dark = 0;
    for (place, color) in code.to_colors().into_iter().enumerate() {
        let (x, y) = (place % code.width() + 4, place / code.width() + 4);
        let drawn = outline.contains(&format!("M{x} {y}h"));
        assert_eq!(drawn, color == Color::Dark, "module {x} {y}");
        dark += usize::from(drawn);
    }
    assert_eq!(outline.matches('M').count(), dark);
    let head = format!(
        "POST /sign-in HTTP/1.1\r\norigin: {origin}\r\ncontent-type: application/x-www-form-urlencoded"
    );
    let signed_in = world.server.http(&head, &format!("key={secret}"));
    assert!(signed_in.starts_with("HTTP/1.1 303"), "{signed_in}");
    assert!(!signed_in.contains(&secret), "{signed_in}");
}

#[tokio::test]
async fn a_second_key_of_the_same_crew_and_day_is_refused_on_the_page() {
    let world = World::start().await;
    make(&world, "crew-2");
    let again = make(&world, "crew-2");
    assert!(again.starts_with("HTTP/1.1 400"), "{again}");
    assert!(again.contains("exists since revision"), "{again}");
    assert!(!again.contains("obv_"), "{again}");
}

#[tokio::test]
async fn the_sign_in_page_takes_the_key_from_behind_the_sign_and_sends_nothing_by_itself() {
    let world = World::start().await;
    let page = world.server.http("GET /sign-in HTTP/1.1", "");
    assert!(page.contains("script-src 'self'"), "{page}");
    assert_eq!(page.matches("<script").count(), 1, "{page}");
    let script = world.server.http("GET /sign-in.js HTTP/1.1", "");
    assert!(script.contains("content-type: text/javascript"), "{script}");
    assert!(script.contains("history.replaceState"), "{script}");
    for way_out in ["fetch", "XMLHttp", "submit", "sendBeacon", "import"] {
        assert!(!script.contains(way_out), "{script}");
    }
}

/// Posts the form for tomorrow at the site.
fn make(world: &World, crew: &str) -> String {
    let zone = TimeZone::get("America/New_York").unwrap();
    let day = zone
        .to_datetime(Timestamp::now())
        .date()
        .tomorrow()
        .unwrap();
    let head = format!(
        "POST /projects/{PROJECT}/crew-day HTTP/1.1\r\norigin: http://{}\r\nauthorization: Bearer {}\r\n\
         content-type: application/x-www-form-urlencoded",
        world.server.address,
        world.server.key()
    );
    let form = format!("crew={crew}&work_date={day}&ends_at=18%3A00");
    world.server.http(&head, &form)
}

fn between(text: &str, from: &str, to: &str) -> String {
    let start = text.find(from).expect(from) + from.len();
    let end = text[start..].find(to).expect(to);
    text[start..start + end].to_owned()
}

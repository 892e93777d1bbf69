//! The owner's logo on the cover: printed when it is what it says, refused by name when not.

use obvert_closeout::package::{Logo, Sources, build, document};
use obvert_proto::project::v1::Project;
use prost::Message;

use super::sample::{VERSION, files, press, signed, signer, sources};

const SVG: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">
<circle cx="10" cy="10" r="8" fill="#1f2a30"/></svg>"##;

fn with_logo(media_type: &str, bytes: &[u8]) -> Sources {
    let mut fixture = signed();
    let name = "projects/quillfern";
    let mut project = Project::decode(fixture.records[name].body.clone()).unwrap();
    project.cover_lines = vec!["Office of Sewers".into()];
    fixture.records.get_mut(name).unwrap().body = project.encode_to_vec().into();
    let mut sources = sources(&fixture);
    sources.logo = Some(Logo {
        attachment: "projects/quillfern/attachments/logo".into(),
        media_type: media_type.into(),
        bytes: bytes.to_vec().into(),
    });
    sources
}

/// One dot of grey, as a PNG.
fn png() -> Vec<u8> {
    let chunk = |kind: &[u8], data: &[u8]| {
        let mut crc = flate2::Crc::new();
        crc.update(kind);
        crc.update(data);
        let size = (data.len() as u32).to_be_bytes();
        [&size[..], kind, data, &crc.sum().to_be_bytes()].concat()
    };
    let head = [0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0];
    let mut rows = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::fast());
    std::io::Write::write_all(&mut rows, &[0, 0x80]).unwrap();
    [
        b"\x89PNG\r\n\x1a\n".to_vec(),
        chunk(b"IHDR", &head),
        chunk(b"IDAT", &rows.finish().unwrap()),
        chunk(b"IEND", &[]),
    ]
    .concat()
}

#[test]
fn a_logo_and_the_owners_lines_stand_on_the_cover() {
    for (media_type, bytes) in [
        ("image/svg+xml", SVG.as_bytes().to_vec()),
        ("image/png", png()),
    ] {
        let sources = with_logo(media_type, &bytes);
        let printed = document(&sources, &signer()).unwrap();
        let cover = &printed.data["cover"];
        assert_eq!(cover["logo"]["alt"], "Logo of Marrowby Sanitary District");
        assert_eq!(cover["owner_lines"][0], "Office of Sewers");
        assert!(printed.files.values().any(|file| *file == bytes));
        let package = build(&sources, &press(), VERSION, |_| {}).unwrap();
        assert!(files(&package.bytes)["data/closeout.pdf"].starts_with(b"%PDF"));
    }
}

#[test]
fn a_logo_that_is_not_what_it_says_is_refused_with_what_is_wrong() {
    let large = format!("<svg>{}</svg>", " ".repeat(1 << 20));
    let script = SVG.replace("<circle", "<script>a()</script><circle");
    let outside = SVG.replace(
        "<circle",
        "<use href=\"http://elsewhere.example/a.svg\"/><circle",
    );
    let mut wide = png();
    wide[16..20].copy_from_slice(&5_000_u32.to_be_bytes());
    for (media_type, bytes, says) in [
        ("image/png", SVG.as_bytes(), "is no PNG"),
        ("image/svg+xml", &png()[..], "is no UTF-8 text"),
        ("image/svg+xml", b"<p>no picture</p>", "is no SVG"),
        (
            "image/svg+xml",
            large.as_bytes(),
            "a logo has 1048576 at most",
        ),
        ("image/svg+xml", script.as_bytes(), "contains <script"),
        ("image/svg+xml", outside.as_bytes(), "outside itself"),
        ("image/png", &wide, "has 5000 by 1 dots"),
        ("image/jpeg", &png(), "is filed as image/jpeg"),
    ] {
        let refused = build(&with_logo(media_type, bytes), &press(), VERSION, |_| {});
        let message = refused.err().unwrap().message;
        assert!(message.contains(says), "{message}");
        assert!(message.contains("attachments/logo"), "{message}");
    }
}

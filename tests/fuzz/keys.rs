//! Keys and signed links, as they come in a header or an address.

use obvert_access::{Link, LinkSigner, digest_of, fresh_key};

use super::Target;

#[test]
fn no_text_given_as_a_key_or_a_link_panics() {
    let signer = LinkSigner::new(&[7; 32]);
    let link = Link {
        purpose: "issuer".into(),
        project: "quillfern".into(),
        id: "l-1".into(),
        expire_time_ms: 1_790_000_000_000,
    };
    let seeds = vec![
        fresh_key([7; 32]).into_bytes(),
        signer.text(&link).into_bytes(),
    ];
    let right = seeds.clone();
    let mut play = |input: &[u8]| {
        let text = String::from_utf8_lossy(input);
        let known = right
            .iter()
            .any(|seed| seed.eq_ignore_ascii_case(text.as_bytes()));
        assert!(digest_of(&text).is_err() || text.starts_with("obv_"));
        assert!(
            signer.read("issuer", &text, 0).is_err() || known,
            "a link that was not made here is taken"
        );
    };
    Target {
        name: "keys",
        seeds,
        ordinary: 20_000,
        play: &mut play,
    }
    .run();
}

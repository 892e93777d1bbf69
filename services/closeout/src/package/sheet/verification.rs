//! Cautions of the trade, and how a reader verifies the package.

use obvert_typeset::segment_sheet::{Caution, Verification};

use super::View;

/// Short cautions; the document's layout adds whom to follow.
const CAUTIONS: [(&str, &str); 8] = [
    (
        "Confined space",
        "Manholes count as permit-required confined spaces until a competent person shows \
         otherwise. Test the air before entry and all the time, keep an attendant and a way out \
         without entry.",
    ),
    (
        "Ultraviolet light",
        "Light the lamps only inside the liner with both ends closed, and never look at a lit \
         lamp. Lamps are hot, fed with high voltage, and their glass may hold mercury.",
    ),
    (
        "Styrene",
        "Ventilate, keep people off the exhaust and traps full. Cutting and grinding release it \
         again. Send anyone unwell to a doctor.",
    ),
    (
        "Pressure",
        "Nobody stands in line with or above an end can. Bring the pressure down before opening.",
    ),
    (
        "Winch line",
        "Stay out of the bight and the line of pull; stop at the force limit.",
    ),
    (
        "Sewage",
        "Wear gloves, wash, cover cuts. Report a spill as the law asks.",
    ),
    (
        "Air test",
        "Compressed air in a pipe stores energy: brace the plugs and keep everyone out of the \
         manholes.",
    ),
    (
        "Rear easements",
        "Look for overhead wires, buried services and slopes; keep engines away from houses; wear \
         a respirator against glass dust.",
    ),
];

pub(super) fn cautions() -> Vec<Caution> {
    let caution = |(title, text): (&str, &str)| Caution {
        title: title.to_owned(),
        text: text.to_owned(),
    };
    CAUTIONS.into_iter().map(caution).collect()
}

pub(super) fn verification(view: &View<'_>) -> Verification {
    let command = |question: &str, command: &str| (question.to_owned(), command.to_owned());
    Verification {
        explanation: "The commands run in the unpacked folder; HOW-TO-VERIFY.txt repeats them. \
                      They show that no file was changed or lost, and who signed the list of \
                      files. They do not say that the work is good."
            .to_owned(),
        commands: vec![
            command(
                "Are all files whole?",
                "sha256sum -c manifest-sha256.txt && sha256sum -c tagmanifest-sha256.txt",
            ),
            command(
                "Who signed?",
                "openssl pkeyutl -verify -rawin -pubin -inkey signature/signer.pem \
                 -in tagmanifest-sha256.txt -sigfile signature/tagmanifest-sha256.sig",
            ),
            command(
                "Which key is it?",
                "openssl pkey -pubin -in signature/signer.pem -outform DER | tail -c 32 \
                 | sha256sum",
            ),
            command(
                "Was anything added around the files?",
                &format!(
                    "obvert package verify ../{}-r{}.zip --key {}",
                    view.file.segment_id(),
                    view.file.revision,
                    view.signer[0]
                ),
            ),
        ],
        fingerprint_note: format!(
            "The fingerprint of the signer's key is {}. Compare it with the one that reached you \
             another way. {}",
            spaced(view.signer[0]),
            view.signer[1]
        ),
    }
}

/// Digits in groups of four, so that two people can read them to each other.
pub(super) fn spaced(fingerprint: &str) -> String {
    let digits: Vec<char> = fingerprint.chars().collect();
    digits
        .chunks(4)
        .map(|four| four.iter().collect::<String>())
        .collect::<Vec<_>>()
        .join(" ")
}

//! Orders, batches, liners and their papers, from the maker to the crew.

use std::{collections::BTreeMap, io};

use serde_json::{Value, json};

use crate::{
    design::{MODULUS_MPA, STRENGTH_MPA},
    dice::{Dice, rounded},
    folder::{Folder, Row, name},
    maker,
    mistake::Mistake,
    site::{Liner, Run, Site, manhole_m},
    when::{at, instant, later, local_date},
    work::ENDS_M,
};

/// Writes orders without the revision of their designs, which only the server knows, and the rest.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let orders = |again: bool| {
        let own = site
            .liners
            .iter()
            .filter(move |liner| liner.on_reissue == again);
        own.map(|liner| order(site, liner)).collect::<Vec<_>>()
    };
    folder.records("orders.draft.jsonl", &orders(false))?;
    folder.records("orders-again.draft.jsonl", &orders(true))?;
    folder.records("batches.jsonl", &batches(site))?;
    let liners = site.liners.iter().map(|liner| {
        let body = json!({ "serial": liner.serial, "order": name("orders", &liner.order) });
        Row {
            id: liner.id.clone(),
            kind: "liner",
            observed: None,
            body,
        }
    });
    folder.records("liners.jsonl", &liners.collect::<Vec<_>>())?;
    let certificates: Vec<_> = site
        .liners
        .iter()
        .map(|liner| certificate(site, liner))
        .collect();
    folder.records("certificates.jsonl", &certificates)?;
    let checks: Vec<_> = site
        .liners
        .iter()
        .map(|liner| receiving(site, liner))
        .collect();
    folder.records("receiving-checks.jsonl", &checks)?;
    let moves: Vec<_> = site
        .liners
        .iter()
        .flat_map(|liner| movements(site, liner))
        .collect();
    folder.records("movements.jsonl", &moves)?;
    folder.records("refused/liner-release.jsonl", &refused_release(site))
}

fn wall(liner: &Liner) -> Value {
    json!({ "wallThicknessMm": liner.wall_mm, "basis": "THICKNESS_BASIS_COMPOSITE" })
}

fn diameter_mm(site: &Site, liner: &Liner) -> f64 {
    site.pipes[liner.pipes[0]].diameter_mm()
}

fn order(site: &Site, liner: &Liner) -> Row {
    let (packer_grip_m, sample_m, trim_m, reserve_m) = ENDS_M;
    let nominal = diameter_mm(site, liner);
    let segments: Vec<_> = liner
        .pipes
        .iter()
        .map(|place| {
            let id = &site.pipes[*place].id;
            let design = if liner.on_reissue {
                format!("{id}-r1")
            } else {
                id.clone()
            };
            json!({ "segment": name("segments", id), "design": name("designs", &design) })
        })
        .collect();
    let body = json!({
        "segments": segments,
        "makerSheet": name("makerSheets", maker::SHEET),
        "nominalDiameterMm": nominal,
        "hostDiameterMinMm": rounded(nominal * 0.96, 1),
        "hostDiameterMaxMm": rounded(nominal * 1.04, 1),
        "wall": wall(liner),
        "orderedLengthM": liner.ordered_m,
        "intermediateManholesM": manhole_m() * (liner.pipes.len() - 1) as f64,
        "packerGripM": packer_grip_m,
        "sampleLengthM": sample_m,
        "trimLengthM": trim_m,
        "reserveM": reserve_m,
        "orderDate": local_date(liner.ordered),
        "requiredByDate": local_date(site.pipes[liner.pipes[0]].day(4, 18)),
        "secondCheckBy": "superintendent",
    });
    Row {
        id: liner.order.clone(),
        kind: "linerOrder",
        observed: None,
        body,
    }
}

fn batches(site: &Site) -> Vec<Row> {
    let mut all = BTreeMap::new();
    for liner in &site.liners {
        let made = site.pipes[liner.pipes[0]].day(3, 5);
        for id in &liner.batches {
            all.entry(id).or_insert(made);
        }
    }
    let row = |(id, made): (&String, _)| {
        let (material, number) = id.split_once('-').unwrap_or((id, "0"));
        let body = json!({
            "material": material,
            "batchNumber": format!("{}-25{number}", material[..2].to_uppercase()),
            "madeDate": local_date(made),
        });
        Row {
            id: id.clone(),
            kind: "batch",
            observed: None,
            body,
        }
    };
    all.into_iter().map(row).collect()
}

fn certificate(site: &Site, liner: &Liner) -> Row {
    let mut dice = Dice::of(site.seed, &format!("certificate {}", liner.id));
    let batches: Vec<_> = liner.batches.iter().map(|id| name("batches", id)).collect();
    let length_m = liner.ordered_m + 0.1;
    // Own figure: 1.75 kg of wet liner for a metre, a millimetre of wall and 300 mm of diameter.
    let weight = 1.75 * length_m * liner.wall_mm * diameter_mm(site, liner) / 300.0;
    let body = json!({
        "liner": name("liners", &liner.id),
        "serial": liner.serial,
        "designation": maker::DESIGNATION,
        "batches": batches,
        "wetOutDate": local_date(liner.made),
        "expiryDate": local_date(liner.expires),
        "nominalDiameterMm": diameter_mm(site, liner),
        "wall": wall(liner),
        "lengthM": length_m,
        "weightKg": rounded(weight, 0),
        "factoryFlexuralModulusMpa": rounded(dice.scattered(MODULUS_MPA * 1.12, 250.0), 0),
        "factoryFlexuralStrengthMpa": rounded(dice.scattered(STRENGTH_MPA * 1.2, 8.0), 0),
        "attachments": [name("attachments", &format!("certificate-{}", liner.id))],
    });
    Row {
        id: liner.id.clone(),
        kind: "linerCertificate",
        observed: None,
        body,
    }
}

/// Names of the certificates that nobody compares with their originals, one a row.
pub(crate) fn uncompared(site: &Site) -> String {
    let left = |run: &&Run| {
        let mut pipes = run.pipes.iter().map(|place| &site.pipes[*place]);
        pipes.any(|pipe| pipe.has(Mistake::UncomparedCertificate))
    };
    let runs = site.runs.iter().filter(left);
    runs.map(|run| name("certificates", &site.liner_of(run).id) + "\n")
        .collect()
}

/// What the maker's own certificate says, a row for each value.
pub(crate) fn certificate_sheet(site: &Site, liner: &Liner) -> String {
    let body = certificate(site, liner).body;
    let rows = [
        ("serial", body["serial"].to_string()),
        ("designation", body["designation"].to_string()),
        ("batches", liner.batches.join(", ")),
        ("wet out", liner.made.to_string()),
        ("install by", liner.expires.to_string()),
        (
            "nominal diameter, mm",
            body["nominalDiameterMm"].to_string(),
        ),
        ("wall, composite, mm", liner.wall_mm.to_string()),
        ("length, m", body["lengthM"].to_string()),
        ("weight, kg", body["weightKg"].to_string()),
        (
            "flexural modulus, MPa",
            body["factoryFlexuralModulusMpa"].to_string(),
        ),
        (
            "flexural strength, MPa",
            body["factoryFlexuralStrengthMpa"].to_string(),
        ),
    ];
    rows.iter()
        .map(|(what, value)| format!("{what:<24} {}\n", value.trim_matches('"')))
        .collect()
}

fn receiving(site: &Site, liner: &Liner) -> Row {
    let mut dice = Dice::of(site.seed, &format!("receiving {}", liner.id));
    let body = json!({
        "liner": name("liners", &liner.id),
        "receivedTime": instant(liner.received, dice.between(480.0, 900.0)),
        "labelSerial": liner.serial,
        "nominalDiameterMm": diameter_mm(site, liner),
        "wall": wall(liner),
        "lengthM": liner.ordered_m + 0.1,
        "wetOutDate": local_date(liner.made),
        "packingIntact": true,
        "transportMinCelsius": rounded(dice.between(9.0, 12.0), 1),
        "transportMaxCelsius": rounded(dice.between(16.0, 22.0), 1),
        "labelPhotos": [name("attachments", &format!("label-{}", liner.id))],
        "checkedBy": "superintendent",
    });
    Row {
        id: liner.id.clone(),
        kind: "receivingCheck",
        observed: None,
        body,
    }
}

/// In the store, out to the crew, in the pipe. The left-over liner stays in the store.
fn movements(site: &Site, liner: &Liner) -> Vec<Row> {
    let mut dice = Dice::of(site.seed, &format!("movements {}", liner.id));
    let mut rows = vec![movement(
        liner,
        ("stored", "STORED"),
        at(liner.received, 960.0),
        &mut dice,
    )];
    let place = site.liners.iter().position(|other| other.id == liner.id);
    let run = place.and_then(|place| site.runs.get(place));
    let Some(run) = run else { return rows };
    let late = run
        .pipes
        .iter()
        .any(|place| site.pipes[*place].has(Mistake::OverAge));
    let handed = if late {
        later(liner.expires, -1)
    } else {
        later(run.date, -1)
    };
    let mut out = movement(
        liner,
        ("out", "RELEASED_TO_CREW"),
        at(handed, 900.0),
        &mut dice,
    );
    let segments = run
        .pipes
        .iter()
        .map(|place| name("segments", &site.pipes[*place].id));
    out.body["segments"] = segments.collect::<Vec<_>>().into();
    rows.push(out);
    let pulled = at(run.date, run.times.pull_in.1);
    rows.push(movement(liner, ("in", "INSTALLED"), pulled, &mut dice));
    rows
}

fn movement(
    liner: &Liner,
    (word, kind): (&str, &str),
    time: jiff::Timestamp,
    dice: &mut Dice,
) -> Row {
    let place = match word {
        "stored" => "dark store, Copperbeck yard",
        "out" => "crew's van",
        _ => "pipe",
    };
    let body = json!({
        "liner": name("liners", &liner.id),
        "movement": format!("MOVEMENT_KIND_{kind}"),
        "movementTime": time.to_string(),
        "place": place,
        "storageMinCelsius": rounded(dice.between(9.0, 12.0), 1),
        "storageMaxCelsius": rounded(dice.between(15.0, 20.0), 1),
    });
    Row {
        id: format!("{}-{word}", liner.id),
        kind: "linerMovement",
        observed: None,
        body,
    }
}

/// A release that must be refused: the left-over liner, handed out after its last day.
fn refused_release(site: &Site) -> Vec<Row> {
    let mut dice = Dice::of(site.seed, "refused release");
    let Some(liner) = site.liners.last() else {
        return Vec::new();
    };
    let late = at(later(liner.expires, 2), 480.0);
    let mut row = movement(liner, ("late", "RELEASED_TO_CREW"), late, &mut dice);
    row.body["segments"] = json!([name("segments", &site.pipes[liner.pipes[0]].id)]);
    vec![row]
}

//! The owner's tables: pipes, laterals, lots, and how lots have to do with pipes. They come in feet
//! and inches, under the owner's own heads.

use std::io;

use crate::{
    folder::{Column, Folder},
    site::{MANHOLE_RADIUS_FT, Pipe, Site, Tap, TapState},
};

const SEGMENTS: &str = "collection = \"segments\"\n\n[id]\ncolumn = \"PIPE\"\n";
const SEGMENT_COLUMNS: [Column; 13] = [
    Column {
        head: "PIPE",
        entry: "field = \"owner_segment_id\"",
    },
    Column {
        head: "UP_MH",
        entry: "field = \"upstream_manhole\"",
    },
    Column {
        head: "DN_MH",
        entry: "field = \"downstream_manhole\"",
    },
    Column {
        head: "DIA_IN",
        entry: "field = \"nominal_diameter_mm\"\nunit = \"in\"",
    },
    Column {
        head: "MATERIAL",
        entry: "field = \"host_pipe_material\"",
    },
    Column {
        head: "LEN_CC_FT",
        entry: "field = \"length_centre_to_centre_m\"\nunit = \"ft\"",
    },
    Column {
        head: "LEN_WW_FT",
        entry: "field = \"length_wall_to_wall_m\"\nunit = \"ft\"",
    },
    Column {
        head: "UP_RADIUS_FT",
        entry: "field = \"upstream_manhole_radius_m\"\nunit = \"ft\"",
    },
    Column {
        head: "DN_RADIUS_FT",
        entry: "field = \"downstream_manhole_radius_m\"\nunit = \"ft\"",
    },
    Column {
        head: "COVER_MIN_FT",
        entry: "field = \"cover_min_m\"\nunit = \"ft\"",
    },
    Column {
        head: "COVER_MAX_FT",
        entry: "field = \"cover_max_m\"\nunit = \"ft\"",
    },
    Column {
        head: "SLOPE_PCT",
        entry: "field = \"slope_percent\"\nunit = \"percent\"",
    },
    Column {
        head: "WHERE",
        entry: "field = \"location\"",
    },
];

const LATERALS: &str = "collection = \"laterals\"\n\n[id]\ncolumn = [\"PIPE\", \"TAP\"]\n\n\
    [[fixed]]\nfield = \"datum\"\nvalue = \"DATUM_INSIDE_WALL\"\n";
const LATERAL_COLUMNS: [Column; 9] = [
    Column {
        head: "PIPE",
        entry: "field = \"segment\"",
    },
    Column {
        head: "TAP",
        entry: "",
    },
    Column {
        head: "LOT",
        entry: "field = \"parcel\"\nprefix = \"lot-\"",
    },
    Column {
        head: "STATION_FT",
        entry: "field = \"station_m\"\nunit = \"ft\"",
    },
    Column {
        head: "CLOCK",
        entry: "field = \"clock_h\"",
    },
    Column {
        head: "DIA_IN",
        entry: "field = \"nominal_diameter_mm\"\nunit = \"in\"",
    },
    Column {
        head: "STATE",
        entry: "field = \"state\"\nwords = { live = \"LATERAL_STATE_ACTIVE\", \
                dead = \"LATERAL_STATE_INACTIVE\", \"given up\" = \"LATERAL_STATE_ABANDONED\", \
                \"not known\" = \"LATERAL_STATE_UNKNOWN\" }",
    },
    Column {
        head: "PROOF",
        entry: "field = \"live_proof\"\nblank = [\"none\"]\n\
                words = { water = \"LIVE_PROOF_RUNNING_WATER\", dye = \"LIVE_PROOF_DYE\", \
                camera = \"LIVE_PROOF_CAMERA\", record = \"LIVE_PROOF_OWNER_RECORD\" }",
    },
    Column {
        head: "MATERIAL",
        entry: "field = \"material\"",
    },
];

const PARCELS: &str = "collection = \"parcels\"\n\n[id]\ncolumn = \"LOT\"\nprefix = \"lot-\"\n";
const PARCEL_COLUMNS: [Column; 1] = [Column {
    head: "LOT",
    entry: "field = \"assessor_number\"",
}];

const RELATIONS: &str = "collection = \"parcelRelations\"\n\n[id]\ncolumn = [\"PIPE\", \"LOT\"]\n";
const RELATION_COLUMNS: [Column; 6] = [
    Column {
        head: "PIPE",
        entry: "field = \"segment\"",
    },
    Column {
        head: "LOT",
        entry: "field = \"parcel\"\nprefix = \"lot-\"",
    },
    Column {
        head: "TIES",
        entry: "field = \"ties\"\nlist = \";\"\nwords = { served = \"PARCEL_TIE_SERVED\", \
                crossed = \"PARCEL_TIE_CROSSED\", \"way in\" = \"PARCEL_TIE_ACCESS_ONLY\" }",
    },
    Column {
        head: "THROUGH_HOUSE",
        entry: "field = \"passage_through_dwelling\"",
    },
    Column {
        head: "GATE_FT",
        entry: "field = \"clear_width_m\"\nunit = \"ft\"",
    },
    Column {
        head: "CARRY_FT",
        entry: "field = \"carry_length_m\"\nunit = \"ft\"",
    },
];

/// Id of the lot over which the way to a pipe leads.
pub(crate) fn access_lot(place: usize) -> String {
    format!("lot-419-{:03}", place / 2 + 1)
}

/// Lots of a site, each once: those with laterals, then those with a way in.
pub(crate) fn lots(site: &Site) -> Vec<String> {
    let with_taps = site
        .pipes
        .iter()
        .flat_map(|pipe| &pipe.taps)
        .map(|tap| tap.lot.clone());
    let mut lots: Vec<String> = with_taps.collect();
    lots.extend((0..site.pipes.len()).step_by(2).map(access_lot));
    lots
}

/// Writes the four tables.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let segments: Vec<_> = site.pipes.iter().map(segment).collect();
    folder.table("segments", SEGMENTS, &SEGMENT_COLUMNS, &segments)?;
    let with_pipe = |pipe: &Pipe| {
        pipe.taps
            .iter()
            .map(|tap| lateral(pipe, tap))
            .collect::<Vec<_>>()
    };
    let laterals: Vec<_> = site.pipes.iter().flat_map(with_pipe).collect();
    folder.table("laterals", LATERALS, &LATERAL_COLUMNS, &laterals)?;
    let parcels: Vec<_> = lots(site).iter().map(|lot| vec![bare(lot)]).collect();
    folder.table("parcels", PARCELS, &PARCEL_COLUMNS, &parcels)?;
    let relations: Vec<_> = site.pipes.iter().enumerate().flat_map(relations).collect();
    folder.table("parcel-relations", RELATIONS, &RELATION_COLUMNS, &relations)
}

/// Assessor's number of a lot.
fn bare(lot: &str) -> String {
    lot.trim_start_matches("lot-").to_owned()
}

fn segment(pipe: &Pipe) -> Vec<String> {
    let material = if pipe.diameter_in < 12.0 {
        "vitrified clay"
    } else {
        "concrete"
    };
    vec![
        pipe.owner_id.clone(),
        pipe.upstream.clone(),
        pipe.downstream.clone(),
        pipe.diameter_in.to_string(),
        material.to_owned(),
        format!("{:.1}", pipe.centre_to_centre_ft),
        format!("{:.1}", pipe.wall_to_wall_ft()),
        MANHOLE_RADIUS_FT.to_string(),
        MANHOLE_RADIUS_FT.to_string(),
        pipe.cover_min_ft.to_string(),
        pipe.cover_max_ft.to_string(),
        "0.6".to_owned(),
        "rear easement of Quillfern Lane".to_owned(),
    ]
}

fn lateral(pipe: &Pipe, tap: &Tap) -> Vec<String> {
    let (state, proof) = match tap.state {
        TapState::Live if tap.clock_h < 6.0 => ("live", "dye"),
        TapState::Live => ("live", "water"),
        TapState::Dead => ("dead", "record"),
        TapState::GivenUp => ("given up", "record"),
        TapState::Unknown => ("not known", "none"),
    };
    vec![
        pipe.owner_id.clone(),
        tap.number.clone(),
        bare(&tap.lot),
        format!("{:.1}", tap.station_ft),
        tap.clock_h.to_string(),
        tap.diameter_in.to_string(),
        state.to_owned(),
        proof.to_owned(),
        "clay".to_owned(),
    ]
}

fn relations((place, pipe): (usize, &Pipe)) -> Vec<Vec<String>> {
    let row = |lot: &str, ties: &str, through: bool| {
        let (gate, carry) = if through {
            ("2.5", "60")
        } else {
            ("3.5", "110")
        };
        let through = if through { "yes" } else { "no" };
        vec![
            pipe.owner_id.clone(),
            bare(lot),
            ties.to_owned(),
            through.to_owned(),
            gate.to_owned(),
            carry.to_owned(),
        ]
    };
    let taps = pipe.taps.iter().map(|tap| {
        let ties = if tap.crossed {
            "served;crossed"
        } else {
            "served"
        };
        row(&tap.lot, ties, tap.through_dwelling)
    });
    let mut rows: Vec<_> = taps.collect();
    rows.push(row(&access_lot(place), "way in", false));
    rows
}

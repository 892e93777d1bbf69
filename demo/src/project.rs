//! The contract data sheet: first without its plan, since a plan lies inside its project.

use std::io;

use serde_json::json;

use crate::{
    folder::{Folder, name},
    when::ZONE,
};

/// Writes both forms of the sheet.
pub(crate) fn write(folder: &Folder) -> io::Result<()> {
    let mut sheet = json!({
        "title": "Quillfern Lane rear easements (invented)",
        "contractNumber": "MSD-25-17",
        "owner": "Marrowby Sanitary District",
        "contractor": "Copperbeck Utilities",
        "laboratory": "Fernmoss Materials Laboratory",
        "timeZone": ZONE,
        "payLengthBasis": "LENGTH_BASIS_WALL_TO_WALL",
        "paper": "PAPER_LETTER",
        "showUsUnits": true,
    });
    folder.record("project-without-plan.json", &sheet)?;
    sheet["plan"] = name("plans", "marrowby").into();
    folder.record("project.json", &sheet)
}

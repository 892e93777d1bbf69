//! Published moduli of soil, as tables that keep their source.
//!
//! The designer chooses; nothing here is looked up in silence. Typical values are 700 to 1500 psi
//! (Najafi, Trenchless Technology Piping, 2010, p. 78); one city prescribes 500 psi (Nashua NH
//! 2019, section 02651). Listed values scatter widely; some manuals reduce them to 75 percent.

/// A table of moduli.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilTable {
    /// What is listed.
    pub title: &'static str,
    /// Where it is printed, or that it is from memory.
    pub source: &'static str,
    /// Unit of all values.
    pub unit: &'static str,
    /// Heads of the columns.
    pub columns: &'static [&'static str],
    /// Soils, with one value for each column.
    pub rows: &'static [SoilRow],
}

/// One soil of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilRow {
    /// Soil and compaction in the words of the table.
    pub soil: &'static str,
    /// Values in the order of the columns.
    pub values: &'static [f64],
}

/// All tables of this module.
pub const SOIL_TABLES: &[SoilTable] = &[
    REACTION_BY_COMPACTION,
    REACTION_BY_DEPTH,
    CONSTRAINED_MODULUS,
];

/// Modulus of soil reaction by class and compaction. Fine-grained soil with a liquid limit above 50
/// has no value in it.
pub const REACTION_BY_COMPACTION: SoilTable = SoilTable {
    title: "initial modulus of soil reaction by compaction",
    source: "US Bureau of Reclamation, Howard 1977; values from memory",
    unit: "psi",
    columns: &[
        "dumped",
        "below 85 % Proctor",
        "85 to 95 % Proctor",
        "above 95 % Proctor",
    ],
    rows: &[
        SoilRow {
            soil: "fine-grained, liquid limit below 50, less than 25 % coarse",
            values: &[50.0, 200.0, 400.0, 1000.0],
        },
        SoilRow {
            soil: "fine-grained with more than 25 % coarse, or coarse with more than 12 % fines",
            values: &[100.0, 400.0, 1000.0, 2000.0],
        },
        SoilRow {
            soil: "coarse-grained, less than 12 % fines",
            values: &[200.0, 1000.0, 2000.0, 3000.0],
        },
        SoilRow {
            soil: "crushed rock",
            values: &[1000.0, 3000.0, 3000.0, 3000.0],
        },
    ],
};

/// Modulus of soil reaction by class, compaction and depth.
pub const REACTION_BY_DEPTH: SoilTable = SoilTable {
    title: "modulus of soil reaction by depth",
    source: "Hartley and Duncan 1987; values from memory",
    unit: "psi",
    columns: &["0 to 5 ft", "5 to 10 ft", "10 to 15 ft", "15 to 20 ft"],
    rows: &[
        SoilRow {
            soil: "fine, < 25 % sand, 85 %",
            values: &[500.0, 600.0, 700.0, 800.0],
        },
        SoilRow {
            soil: "fine, < 25 % sand, 90 %",
            values: &[700.0, 1000.0, 1200.0, 1300.0],
        },
        SoilRow {
            soil: "fine, < 25 % sand, 95 %",
            values: &[1000.0, 1400.0, 1600.0, 1800.0],
        },
        SoilRow {
            soil: "coarse with fines, 85 %",
            values: &[600.0, 900.0, 1000.0, 1100.0],
        },
        SoilRow {
            soil: "coarse with fines, 90 %",
            values: &[1000.0, 1400.0, 1500.0, 1600.0],
        },
        SoilRow {
            soil: "coarse with fines, 95 %",
            values: &[1200.0, 1800.0, 2100.0, 2400.0],
        },
        SoilRow {
            soil: "clean coarse, 85 %",
            values: &[700.0, 1000.0, 1050.0, 1100.0],
        },
        SoilRow {
            soil: "clean coarse, 90 %",
            values: &[1000.0, 1500.0, 1600.0, 1700.0],
        },
        SoilRow {
            soil: "clean coarse, 95 %",
            values: &[1600.0, 2200.0, 2400.0, 2500.0],
        },
    ],
};

/// Constrained modulus M_s, used by some in place of the modulus of soil reaction.
pub const CONSTRAINED_MODULUS: SoilTable = SoilTable {
    title: "constrained modulus by vertical stress",
    source: "Moser and Folkman, Buried Pipe Design, Table 3.5",
    unit: "MPa",
    columns: &["7 kPa", "35 kPa", "69 kPa", "138 kPa", "275 kPa", "413 kPa"],
    rows: &[
        SoilRow {
            soil: "SW95",
            values: &[13.8, 17.9, 20.7, 23.8, 29.3, 34.5],
        },
        SoilRow {
            soil: "SW90",
            values: &[8.8, 10.3, 11.2, 12.4, 14.5, 17.2],
        },
        SoilRow {
            soil: "SW85",
            values: &[3.2, 3.6, 3.9, 4.5, 5.7, 6.9],
        },
        SoilRow {
            soil: "ML95",
            values: &[9.8, 11.5, 12.2, 13.0, 14.4, 15.9],
        },
        SoilRow {
            soil: "ML90",
            values: &[4.6, 5.1, 5.2, 5.4, 6.2, 7.1],
        },
        SoilRow {
            soil: "ML85",
            values: &[2.5, 2.7, 2.8, 3.0, 3.5, 4.1],
        },
        SoilRow {
            soil: "CL95",
            values: &[3.7, 4.3, 4.8, 5.1, 5.6, 6.2],
        },
        SoilRow {
            soil: "CL90",
            values: &[1.8, 2.2, 2.4, 2.7, 3.2, 3.6],
        },
        SoilRow {
            soil: "CL85",
            values: &[0.9, 1.2, 1.4, 1.6, 2.0, 2.4],
        },
    ],
};

//! The equations as plain text, with the same keys and symbols as the layouts of the typesetter.

use super::equations_beside as beside;

/// Key, text with symbols in braces. The text serves readers who hear the page, and HTML.
const TEXTS: [(&str, &str); 17] = [
    ("pressure-us", "{P} = 62.4/144 · {h}"),
    ("pressure-si", "{P} = 0.00981 · {h}"),
    ("buoyancy", "{Rw} = max(0.67, 1 − 0.33 · {Hw} / {H})"),
    ("support-us", "{B} = 1 / (1 + 4 · e^(−0.065 · {H}))"),
    ("support-si", "{B} = 1 / (1 + 4 · e^(−0.213 · {H}))"),
    (
        "load-us",
        "{qt} = 0.433 · {Hw} + {w} · {H} · {Rw} / 144 + {Ws}",
    ),
    (
        "load-si",
        "{qt} = 0.00981 · {Hw} + {w} · {H} · {Rw} / 1000 + {Ws}",
    ),
    ("ovality", "{C} = ((1 − {q}/100) / (1 + {q}/100)²)³"),
    ("retention", "{EL} = {E} · {r}"),
    (
        "X1.1",
        "{t} = {D} / ( [2 · {K} · {EL} · {C} / ({P} · {N} · (1 − {nu}²))]^(1/3) + 1 )",
    ),
    (
        "X1.2",
        "1.5 · {delta} (1 + {delta}) · {DR}² − 0.5 (1 + {delta}) · {DR} = {sigma} / ({P} · {N}), \
         {t} = {D} / {DR}",
    ),
    (
        "X1.3",
        "{t} = (12/32)^(1/3) · {D} · [({N} · {qt})² / ({EL} · {Rw} · {B} · {Es} · {C})]^(1/3)",
    ),
    (
        "X1.3-before-2007",
        "{t} = (12/32)^(1/3) · {D} · [({N} · {qt} / {C})² / ({EL} · {Rw} · {B} · {Es})]^(1/3)",
    ),
    ("X1.4", "{t} = {D} · [12 · {S} / {E}]^(1/3)"),
    (
        "trench-us",
        "{W} = (1 − e^(−2 · {km} · {H} / {Bd})) / (2 · {km}) · {w} · {Bd} / 144",
    ),
    (
        "trench-si",
        "{W} = (1 − e^(−2 · {km} · {H} / {Bd})) / (2 · {km}) · {w} · {Bd} / 1000",
    ),
    (
        "deflection",
        "{Y} = 100 · {Kb} · ({DL} · {W} + {Ws}) / ({E} / (1.5 · ({DR} − 1)³) + 0.061 · {Es})",
    ),
];

/// Symbols by their keys.
const SYMBOLS: [(&str, &str); 29] = [
    ("t", "t"),
    ("D", "D"),
    ("DR", "DR"),
    ("P", "P"),
    ("h", "h"),
    ("H", "H"),
    ("Hw", "H_w"),
    ("w", "w"),
    ("Ws", "W_s"),
    ("Rw", "R_w"),
    ("B", "B′"),
    ("qt", "q_t"),
    ("q", "q"),
    ("C", "C"),
    ("E", "E"),
    ("EL", "E_L"),
    ("r", "r"),
    ("K", "K"),
    ("N", "N"),
    ("nu", "ν"),
    ("sigma", "σ_L"),
    ("delta", "δ"),
    ("Es", "E′_s"),
    ("S", "S_min"),
    ("Bd", "B_d"),
    ("km", "kμ′"),
    ("W", "W"),
    ("Kb", "K_b"),
    ("DL", "D_L"),
];

/// Deflection has a symbol of its own.
const DEFLECTION: (&str, &str) = ("Y", "Δ");

/// The equation with its symbols.
pub(super) fn with_symbols(key: &str) -> String {
    let symbols = SYMBOLS
        .into_iter()
        .chain([DEFLECTION])
        .chain(beside::SYMBOLS);
    filled(key, symbols.map(|(name, symbol)| (name, symbol.to_owned())))
}

/// The equation with numbers by symbol.
pub(super) fn with_numbers<'a>(
    key: &str,
    numbers: impl IntoIterator<Item = (&'a str, String)>,
) -> String {
    filled(key, numbers)
}

fn filled<'a>(key: &str, values: impl IntoIterator<Item = (&'a str, String)>) -> String {
    let text = TEXTS
        .iter()
        .chain(&beside::TEXTS)
        .find(|(name, _)| *name == key)
        .map_or("", |(_, text)| text);
    values
        .into_iter()
        .fold(text.to_owned(), |text, (name, value)| {
            text.replace(&format!("{{{name}}}"), &value)
        })
}

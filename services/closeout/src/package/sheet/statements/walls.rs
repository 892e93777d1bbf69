//! Walls of one chain, held against each other.
//!
//! Two that differ are printed with as many digits as show it, here and in the table above.

use obvert_proto::common::v1::{Thickness, ThicknessBasis};
use obvert_typeset::{
    figures::{WALL_DECIMALS, decimals_apart},
    segment_sheet::{Mark, Statement},
};

use super::{SAME, Said, agree, design_basis, mean, statement};
use crate::package::sheet::{View, chain::Chain};

/// What one record says of the wall.
#[derive(Clone)]
struct Wall {
    by: &'static str,
    mm: f64,
    basis: ThicknessBasis,
    /// Words before and behind the figure.
    around: (&'static str, &'static str),
    record: String,
}

impl Wall {
    fn said(&self, view: &View<'_>, decimals: usize) -> Said {
        let (before, behind) = self.around;
        let figure = view.units.wall_to(self.mm, decimals).text;
        Said {
            by: self.by,
            text: format!("{before}{figure}{behind}"),
            record: self.record.clone(),
        }
    }
}

/// Two walls, and what is asked of the first.
struct Pair {
    first: Wall,
    second: Wall,
    exact: bool,
}

impl Pair {
    fn new(first: &Option<Wall>, second: &Option<Wall>, exact: bool) -> Option<Self> {
        Some(Self {
            first: first.clone()?,
            second: second.clone()?,
            exact,
        })
    }

    fn comparable(&self) -> bool {
        self.first.basis == self.second.basis
    }

    fn agrees(&self) -> bool {
        let (first, second) = (self.first.mm, self.second.mm);
        if self.exact {
            (first - second).abs() < SAME
        } else {
            first + 1e-9 >= second
        }
    }

    fn compared(&self, view: &View<'_>, decimals: usize) -> Statement {
        let (first, second) = (&self.first, &self.second);
        let verdict = if !self.comparable() {
            let (a, b) = (first.basis.word(), second.basis.word());
            let words = format!("not comparable, one counts {a}, the other {b}");
            (Mark::NotApplicable, words)
        } else if self.exact {
            agree(self.agrees(), "they differ")
        } else if self.agrees() {
            (Mark::Met, "reached".to_owned())
        } else {
            let short = view.units.wall_to(second.mm - first.mm, decimals).text;
            (Mark::Failed, format!("{short} short"))
        };
        let (first, second) = (first.said(view, decimals), second.said(view, decimals));
        statement("Thickness", &first, &second, verdict)
    }
}

/// Every comparison of walls.
pub(super) fn of(view: &View<'_>, chain: &Chain<'_>) -> Vec<Statement> {
    let pairs = pairs(view, chain);
    let decimals = decimals_of(&pairs);
    let compared = |pair: &Pair| pair.compared(view, decimals);
    pairs.iter().map(compared).collect()
}

/// Decimals with which the walls of a chain are printed.
pub(in crate::package::sheet) fn wall_decimals(view: &View<'_>, chain: &Chain<'_>) -> usize {
    decimals_of(&pairs(view, chain))
}

fn decimals_of(pairs: &[Pair]) -> usize {
    let differing = pairs.iter().filter(|p| p.comparable() && !p.agrees());
    let decimals = differing.map(|pair| decimals_apart(pair.first.mm, pair.second.mm));
    decimals.max().unwrap_or(WALL_DECIMALS)
}

fn pairs(view: &View<'_>, chain: &Chain<'_>) -> Vec<Pair> {
    let required = view.file.design().and_then(|design| {
        Some(Wall {
            by: "the design",
            mm: design.result.as_ref()?.required_wall_thickness_mm,
            basis: design_basis(view),
            around: ("at least ", ""),
            record: view.record(design),
        })
    });
    let wall = |by, wall: Option<&Thickness>, record: String| {
        wall.map(|wall| Wall {
            by,
            mm: wall.wall_thickness_mm,
            basis: wall.basis(),
            around: ("", ""),
            record,
        })
    };
    let ordered = chain
        .order
        .and_then(|o| wall("the order", o.wall.as_ref(), view.record(o)));
    let certified = chain
        .certificate
        .and_then(|c| wall("the certificate", c.wall.as_ref(), view.record(c)));
    let received = chain
        .receiving
        .and_then(|r| wall("the receiving check", r.wall.as_ref(), view.record(r)));
    let measured = chain.report.map(|report| Wall {
        by: "the laboratory",
        mm: mean(&report.wall_readings_mm),
        basis: report.thickness_basis(),
        around: ("", " as the mean"),
        record: view.record(report),
    });
    let pairs = [
        Pair::new(&ordered, &required, false),
        Pair::new(&certified, &ordered, true),
        Pair::new(&received, &ordered, true),
        Pair::new(&measured, &required, false),
    ];
    pairs.into_iter().flatten().collect()
}

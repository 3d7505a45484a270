//! Which plies come off which roll, what is left, what is missing.
//!
//! Never pieces a ply from two rolls.

use std::collections::BTreeMap;
use std::sync::Arc;

use tiewright_marker::plan::Lay as Counted;
use tiewright_marker::plan::rolls::allot;

use super::articles::Articles;
use super::plan::{Asked, Planned};
use crate::orders::rolls::Roll;

/// What one roll gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The roll.
    pub roll: Roll,
    /// Lays, by their place in the plan, and how many plies each gets from it.
    pub plies: Vec<(usize, u32)>,
    /// What is left on it, mm.
    pub left: f64,
}

/// Plies of one cloth for which there is no roll.
#[derive(Debug, Clone, PartialEq)]
pub struct Missing {
    /// The cloth.
    pub cloth: Arc<str>,
    /// Lays, by their place in the plan, and how many plies each misses.
    pub plies: Vec<(usize, u32)>,
    /// What they need with their end losses, mm.
    pub length: f64,
}

/// What the rolls give to a plan.
#[derive(Debug, Default)]
pub struct Allotted {
    /// The rolls of cloths that are needed, cloth by cloth.
    pub rolls: Vec<Drawn>,
    /// What is missing, cloth by cloth.
    pub missing: Vec<Missing>,
}

impl Allotted {
    /// The rolls of a cloth that give plies to a lay, and how many.
    pub fn of<'a>(
        &'a self,
        lay: usize,
        cloth: &'a str,
    ) -> impl Iterator<Item = (&'a str, u32)> + 'a {
        let rolls = self
            .rolls
            .iter()
            .filter(move |drawn| *drawn.roll.cloth == *cloth);
        rolls.flat_map(move |drawn| {
            let plies = drawn.plies.iter().filter(move |(of, _)| *of == lay);
            plies.map(|(_, plies)| (&*drawn.roll.name, *plies))
        })
    }
}

/// Allots the plies of the plan to `rolls`.
pub fn allotted(
    planned: &Planned,
    articles: &Articles,
    asked: &Asked<'_>,
    rolls: &[Roll],
) -> Allotted {
    let mut needed: BTreeMap<&str, Vec<(usize, f64, u32)>> = BTreeMap::new();
    for (index, lay) in planned.lays.iter().enumerate() {
        for (stuff, plies) in planned.spread(lay, articles) {
            let list = needed.entry(&stuff.cloth.name).or_default();
            list.push((index, planned.length(lay), plies));
        }
    }
    let mut out = Allotted::default();
    for (cloth, lays) in needed {
        let own: Vec<&Roll> = rolls.iter().filter(|roll| *roll.cloth == *cloth).collect();
        let lengths: Vec<f64> = own.iter().map(|roll| roll.length).collect();
        let counted: Vec<Counted> = lays
            .iter()
            .map(|(_, length, plies)| Counted {
                counts: Vec::new(),
                plies: vec![*plies],
                length: *length,
            })
            .collect();
        let allotment = allot(&counted, 0, asked.ends() / 2.0, &lengths);
        let named = |plies: &[u32]| -> Vec<(usize, u32)> {
            let all = lays
                .iter()
                .map(|(index, ..)| *index)
                .zip(plies.iter().copied());
            all.filter(|(_, plies)| *plies > 0).collect()
        };
        out.rolls.extend(
            own.into_iter()
                .zip(&allotment.rolls)
                .map(|(roll, drawn)| Drawn {
                    roll: roll.clone(),
                    plies: named(&drawn.plies),
                    left: drawn.left,
                }),
        );
        let plies = named(&allotment.missing);
        if !plies.is_empty() {
            out.missing.push(Missing {
                cloth: cloth.into(),
                plies,
                length: allotment.short,
            });
        }
    }
    out
}

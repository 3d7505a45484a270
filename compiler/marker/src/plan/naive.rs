//! What one would do without a plan: each order for itself.
//!
//! Never shares a marker.

use super::check;
use super::greedy::singles;
use super::model::{Left, Model};
use super::{Group, Lay, Lengths, Plan, PlanError, Rule, Table};

/// One order of a group.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// The number of its cloth in the group.
    pub cloth: usize,
    /// How many of each article.
    pub counts: Vec<u32>,
}

/// A marker for each order: all its ties on one ply, or a part of them on several, whichever is
/// the cheapest that fits; an order too long for the table is cut in as many markers as it needs.
/// Each order is met exactly, and so is a group whose wanted numbers are the sums of its orders.
/// The bounds of the plan are 0.
///
/// # Errors
/// As [`super::plan`]; [`PlanError::Group`] also for an order that is not of the group.
pub fn naive(
    group: &Group,
    table: &Table,
    orders: &[Order],
    lengths: &mut dyn Lengths,
) -> Result<Plan, PlanError> {
    check::sound(group, table)?;
    let mut model = Model::new(group, table, &Rule::default(), lengths);
    let mut lays = Vec::new();
    for order in orders {
        if order.cloth >= model.cloths || order.counts.len() != model.articles {
            return Err(PlanError::Group);
        }
        lays.extend(alone(&mut model, order)?);
    }
    Ok(Plan {
        cost: model.cost(&lays),
        lays,
        bound: 0.0,
        proven: false,
        bound_at_lengths: 0.0,
        best_at_lengths: false,
    })
}

/// The lays of one order.
fn alone(model: &mut Model, order: &Order) -> Result<Vec<Lay>, PlanError> {
    let all = order.counts.iter().fold(0, |g, n| gcd(g, *n));
    if all == 0 {
        return Ok(Vec::new());
    }
    let mut best: Option<(f64, Lay)> = None;
    for plies in (1..=all.min(model.plies)).filter(|p| all % p == 0) {
        let counts: Vec<u32> = order.counts.iter().map(|n| n / plies).collect();
        if model.length(&counts) > model.longest || model.true_length(&counts) > model.longest {
            continue;
        }
        let lay = lay(model, order.cloth, counts, plies);
        let cost = model.lay(&lay.plies, lay.length);
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, lay));
        }
    }
    match best {
        Some((_, lay)) => Ok(vec![lay]),
        None => pieces(model, order),
    }
}

fn lay(model: &mut Model, cloth: usize, counts: Vec<u32>, number: u32) -> Lay {
    let mut plies = vec![0; model.cloths];
    plies[cloth] = number;
    let length = model.true_length(&counts);
    Lay {
        counts,
        plies,
        length,
    }
}

/// An order that fits no marker: filled marker by marker, single plies of what fits.
fn pieces(model: &mut Model, order: &Order) -> Result<Vec<Lay>, PlanError> {
    let mut left = order.counts.clone();
    let mut lays = Vec::new();
    while left.iter().any(|n| *n > 0) {
        let Some(counts) = filled(model, &left) else {
            return rest(model, order.cloth, &left, lays);
        };
        let plies = counts.iter().zip(&left).filter(|(n, _)| **n > 0);
        let plies = plies.map(|(n, l)| l / n).min().unwrap_or(1);
        let plies = plies.min(model.plies).max(1);
        for (l, n) in left.iter_mut().zip(&counts) {
            *l -= n * plies;
        }
        lays.push(lay(model, order.cloth, counts, plies));
    }
    Ok(lays)
}

/// As many of what is left as truly fit.
fn filled(model: &mut Model, left: &[u32]) -> Option<Vec<u32>> {
    let mut counts = model.trim(left);
    while counts.iter().any(|n| *n > 0) {
        if model.true_length(&counts) <= model.longest {
            return Some(counts);
        }
        if let Some(most) = counts.iter_mut().max() {
            *most -= 1;
        }
    }
    None
}

/// What is left, tie by tie; an error if a tie does not fit.
fn rest(
    model: &mut Model,
    cloth: usize,
    left: &[u32],
    mut lays: Vec<Lay>,
) -> Result<Vec<Lay>, PlanError> {
    let cells = model.cloths * model.articles;
    let mut cell = vec![0; cells];
    for (a, n) in left.iter().enumerate() {
        cell[cloth * model.articles + a] = i64::from(*n);
        if *n > 0 {
            super::verify::tie_fits(model, a)?;
        }
    }
    let left = Left {
        low: cell.clone(),
        high: cell,
    };
    lays.extend(singles(model, &left));
    Ok(lays)
}

/// The greatest number that divides both.
pub(crate) fn gcd(mut a: u32, mut b: u32) -> u32 {
    while b > 0 {
        (a, b) = (b, a % b);
    }
    a
}

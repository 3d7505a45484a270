//! Whether what goes in and what comes out is sound.
//!
//! Shares nothing with the search.

use super::{Group, Lay, PlanError, Rule, Table};

/// By how much a ply may be longer than the table, millimetres: rounding of sums of lengths, far
/// below what can be measured on cloth.
pub(crate) const ROUNDING: f64 = 1e-6;

/// The most ties of one article in one cloth: products and sums of such numbers stay exact.
const MOST_WANTED: u64 = 1 << 24;

/// Whether all numbers are sound.
pub(crate) fn sound(group: &Group, table: &Table) -> Result<(), PlanError> {
    let measure = |v: f64| v.is_finite() && v >= 0.0;
    let articles = group.articles.iter().all(|a| measure(*a));
    let cloths = &group.cloths;
    let fits = |d: &super::Demand| measure(d.price) && d.wanted.len() == group.articles.len();
    let width = measure(group.width) && group.width > 0.0;
    if !articles || !width || !cloths.iter().all(fits) {
        return Err(PlanError::Group);
    }
    let longest = table.longest.unwrap_or(1.0);
    let prices = [longest, table.end_loss, table.set_up, table.spreading];
    if !prices.into_iter().all(measure) || longest == 0.0 || table.plies == Some(0) {
        return Err(PlanError::Table);
    }
    let sum: u64 = cloths
        .iter()
        .flat_map(|d| d.wanted.iter().map(|w| u64::from(*w)))
        .sum();
    if sum > MOST_WANTED {
        return Err(PlanError::TooMany);
    }
    Ok(())
}

/// See [`super::fault`].
pub(crate) fn fault(
    lays: &[Lay],
    group: &Group,
    table: &Table,
    rule: &Rule,
) -> Option<&'static str> {
    let longest = table.longest.unwrap_or(f64::INFINITY) + ROUNDING;
    let most = table.plies.map_or(u64::MAX, u64::from);
    for lay in lays {
        if lay.counts.len() != group.articles.len() || lay.plies.len() != group.cloths.len() {
            return Some("a lay has not one number for each article and cloth");
        }
        let plies: u64 = lay.plies.iter().map(|p| u64::from(*p)).sum();
        if plies == 0 || lay.counts.iter().all(|n| *n == 0) {
            return Some("a lay is empty");
        }
        if plies > most {
            return Some("a lay has too many plies");
        }
        let ply = lay.length + 2.0 * table.end_loss;
        if !(lay.length.is_finite() && lay.length >= 0.0 && ply <= longest) {
            return Some("a lay is too long");
        }
    }
    for (c, cloth) in group.cloths.iter().enumerate() {
        for (a, wanted) in cloth.wanted.iter().enumerate() {
            let given: u64 = lays
                .iter()
                .map(|l| u64::from(l.counts[a]) * u64::from(l.plies[c]))
                .sum();
            let wanted = u64::from(*wanted);
            let more = if wanted > 0 {
                u64::from(rule.surplus)
            } else {
                0
            };
            if given < wanted {
                return Some("less is cut than wanted");
            }
            if given > wanted + more {
                return Some("more is cut than allowed");
            }
        }
    }
    None
}

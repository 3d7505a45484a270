//! Plans made by estimated lengths and accepted by true ones.
//!
//! Never takes a lay whose true length the table does not hold.

use super::bound::{Proven, prove};
use super::exact::SAME_COST;
use super::model::{Left, Model};
use super::search::MOST_MARKERS;
use super::{Effort, Group, Lay, Lengths, Plan, PlanError, Rule, Table, check, greedy, search};

/// How often a plan is made anew with what the true lengths of the last one taught.
const ROUNDS: usize = 6;

/// The best plan whose lays truly fit.
pub(crate) fn verified(
    group: &Group,
    table: &Table,
    rule: &Rule,
    lengths: &mut dyn Lengths,
    effort: &Effort,
) -> Result<Plan, PlanError> {
    let mut model = Model::new(group, table, rule, lengths);
    for a in wanted(&model) {
        tie_fits(&mut model, a)?;
    }
    let mut best: Option<Vec<Lay>> = None;
    let left = model.wanted.clone();
    let single = greedy::singles(&mut model, &left);
    if let Some(lays) = truly(&mut model, single) {
        keep(&model, &mut best, lays);
    }
    if let Some(lays) = start(&mut model, group, table, rule, effort) {
        keep(&model, &mut best, lays);
    }
    for round in 0..ROUNDS {
        model.correct();
        // Later rounds start from a plan that is good already.
        let effort = Effort {
            steps: effort.steps >> round,
            ..effort.clone()
        };
        let found = search::search(&mut model, &left, &effort, best.as_deref());
        let Some(lays) = found else {
            break;
        };
        let sure = lays.iter().all(|l| model.is_sure(&l.counts));
        if let Some(lays) = truly(&mut model, lays) {
            keep(&model, &mut best, lays);
        }
        if sure {
            break;
        }
    }
    let mut lays = best.unwrap_or_default();
    lays.sort_by(|x, y| {
        let work = |l: &Lay| model.lay(&l.plies, l.length);
        work(y)
            .total_cmp(&work(x))
            .then_with(|| (&x.counts, &x.plies).cmp(&(&y.counts, &y.plies)))
    });
    let cost = model.cost(&lays);
    let total = cost.total();
    let (ideal, likely) = bounds(&mut model, &left, total, effort);
    Ok(Plan {
        cost,
        lays,
        bound: ideal.bound.min(total),
        proven: ideal.bound >= total * (1.0 - SAME_COST),
        bound_at_lengths: likely.bound.max(ideal.bound).min(total),
        best_at_lengths: likely.complete && likely.bound >= total * (1.0 - SAME_COST),
    })
}

/// Takes the lays if they cost less than the best so far.
fn keep(model: &Model, best: &mut Option<Vec<Lay>>, lays: Vec<Lay>) {
    let cheaper = |b: &Vec<Lay>| model.total(&lays) < model.total(b);
    if best.as_ref().is_none_or(cheaper) {
        *best = Some(lays);
    }
}

/// What no plan costs less than: however markers are arranged, and at the lengths reckoned with.
fn bounds(model: &mut Model, left: &Left, total: f64, effort: &Effort) -> (Proven, Proven) {
    let mut steps = effort.steps;
    model.set_ideal(true);
    let ideal = prove(model, left, MOST_MARKERS, total, &mut steps);
    model.set_ideal(false);
    let mut steps = effort.steps;
    let likely = prove(model, left, MOST_MARKERS, total, &mut steps);
    (ideal, likely)
}

/// The articles that are wanted.
fn wanted(model: &Model) -> Vec<usize> {
    let any = |a: &usize| (0..model.cloths).any(|c| model.wanted.low[c * model.articles + a] > 0);
    (0..model.articles).filter(any).collect()
}

/// Whether one tie of the article fits on the table.
pub(crate) fn tie_fits(model: &mut Model, article: usize) -> Result<(), PlanError> {
    let mut counts = vec![0; model.articles];
    counts[article] = 1;
    let length = model.true_length(&counts);
    if !(length.is_finite() && length >= 0.0) {
        return Err(PlanError::Length(article));
    }
    if length > model.longest {
        return Err(PlanError::TooLong(article));
    }
    Ok(())
}

/// The lays with true lengths; `None` if one does not fit.
fn truly(model: &mut Model, mut lays: Vec<Lay>) -> Option<Vec<Lay>> {
    let mut all = true;
    for lay in &mut lays {
        lay.length = model.true_length(&lay.counts);
        all &= lay.length.is_finite() && lay.length <= model.longest;
    }
    all.then_some(lays)
}

/// The plan known already, if it is one.
fn start(
    model: &mut Model,
    group: &Group,
    table: &Table,
    rule: &Rule,
    effort: &Effort,
) -> Option<Vec<Lay>> {
    let shaped =
        |l: &Lay| l.counts.len() == group.articles.len() && l.counts.iter().any(|n| *n > 0);
    if effort.start.is_empty() || !effort.start.iter().all(shaped) {
        return None;
    }
    let lays = truly(model, effort.start.clone())?;
    check::fault(&lays, group, table, rule)
        .is_none()
        .then_some(lays)
}

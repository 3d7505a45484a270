//! Plans made by estimated lengths and accepted by true ones.
//!
//! Never takes a lay whose true length the table does not hold.

use super::bound::{Proven, prove};
use super::exact::SAME_COST;
use super::model::{Left, Model};
use super::program::Program;
use super::search::MOST_MARKERS;
use super::{Effort, Group, Lay, Lengths, Plan, PlanError, Rule, Table, check, greedy, search};

/// How often what too long lays no longer give is planned anew before single ties give it.
const MENDS: usize = 4;
/// What ties are worth besides their area in such plans.
const SPICE: f64 = 0.05;

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
    for round in 0..effort.rounds {
        model.correct();
        // Markers as long as the table by their estimates are too long half the time: every other
        // round leaves room.
        model.set_reserved(round % 2 == 1);
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
        let lays = mended(&mut model, &left, lays);
        keep(&model, &mut best, lays);
        if sure {
            break;
        }
    }
    model.set_reserved(false);
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
    model.set_ideal(true);
    let ideal = bound(model, left, total, effort);
    model.set_ideal(false);
    let likely = bound(model, left, total, effort);
    (ideal, likely)
}

/// The bound by looking at all plans, and what that leaves open, by the linear program.
fn bound(model: &mut Model, left: &Left, total: f64, effort: &Effort) -> Proven {
    let mut steps = effort.steps;
    let mut proven = prove(model, left, MOST_MARKERS, total, &mut steps);
    let Some((frame, lays)) = proven.open.take() else {
        return proven;
    };
    if let Some(mut program) = Program::new(model, left, &frame, lays) {
        let mut steps = effort.steps;
        // A plan found on the way may cost less than the one known.
        let least = proven.lays.as_ref().map_or(total, |l| model.total(l));
        proven.bound = program.bound(proven.bound, least, &mut steps);
        proven.complete = proven.bound >= least * (1.0 - SAME_COST);
    }
    proven
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

/// The lays as they truly fit: those that are too long made smaller, and what they no longer give
/// planned anew, at last as single ties.
fn mended(model: &mut Model, left: &Left, lays: Vec<Lay>) -> Vec<Lay> {
    let mut rest = left.clone();
    let mut kept = Vec::with_capacity(lays.len());
    let mut more = lays;
    for _ in 0..MENDS {
        for lay in more {
            let counts = shorter(model, lay.counts);
            rest.change(&counts, &lay.plies, -1);
            kept.push(Lay {
                length: model.true_length(&counts),
                counts,
                plies: lay.plies,
            });
        }
        let quick = (!rest.done()).then(|| greedy::greedy(model, &rest, SPICE, &mut |_| 0));
        more = quick.flatten().unwrap_or_default();
        if more.is_empty() {
            break;
        }
    }
    kept.extend(greedy::singles(model, &rest));
    kept
}

/// The counts of a marker made fewer until it truly fits; a single tie does.
fn shorter(model: &mut Model, mut counts: Vec<u32>) -> Vec<u32> {
    loop {
        let length = model.true_length(&counts);
        let sum: u32 = counts.iter().sum();
        if length <= model.longest || sum <= 1 {
            return counts;
        }
        let share = if length.is_finite() {
            model.longest / length
        } else {
            0.5
        };
        // Not a whole part of each, which would leave nothing of small counts.
        let target = ((f64::from(sum) * share) as u32).clamp(1, sum - 1);
        for _ in target..sum {
            let most = counts.iter_mut().max();
            most.into_iter().for_each(|n| *n -= 1);
        }
    }
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

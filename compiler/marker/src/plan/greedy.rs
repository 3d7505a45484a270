//! Plans made lay by lay, each time the one that gives most for its cost.

use super::Lay;
use super::model::{Left, Model};

/// The most of the leading article on the markers tried.
const MULTIPLES: i64 = 12;

/// A lay and what it costs for what it gives.
pub(crate) struct Offer {
    pub(crate) lay: Lay,
    /// Cost over value given: the less the better.
    pub(crate) rate: f64,
}

/// The lays worth trying next, the best first, each once.
pub(crate) fn offers(model: &mut Model, left: &Left) -> Vec<Offer> {
    let mut found: Vec<Offer> = Vec::new();
    let mut leads: Vec<Vec<u32>> = Vec::new();
    for a in 0..model.articles {
        let needs: Vec<i64> = (0..model.cloths)
            .map(|c| left.low[c * model.articles + a].max(0))
            .collect();
        let most = needs.iter().copied().max().unwrap_or(0);
        for multiple in 1..=most.min(MULTIPLES) {
            let plies: Vec<i64> = needs.iter().map(|n| n / multiple).collect();
            leads.extend(within(&plies, model.plies));
        }
    }
    leads.sort();
    leads.dedup();
    for plies in leads {
        let counts = model.fill(left, &plies);
        if counts.iter().all(|n| *n == 0) {
            continue;
        }
        let counts = model.trim(&counts);
        found.extend(offer(model, left, counts));
    }
    for a in 0..model.articles {
        let mut counts = vec![0; model.articles];
        counts[a] = 1;
        found.extend(offer(model, left, counts));
    }
    let key = |o: &Offer| (o.lay.counts.clone(), o.lay.plies.clone());
    found.sort_by(|x, y| x.rate.total_cmp(&y.rate).then_with(|| key(x).cmp(&key(y))));
    found.dedup_by(|x, y| x.lay == y.lay);
    found
}

/// Plies that the table takes: as they are, or the largest first, or all in proportion.
fn within(plies: &[i64], most: u32) -> Vec<Vec<u32>> {
    let most = i64::from(most);
    let sum: i64 = plies.iter().sum();
    if sum == 0 {
        return Vec::new();
    }
    let whole = |list: Vec<i64>| list.iter().map(|p| *p as u32).collect::<Vec<u32>>();
    if sum <= most {
        return vec![whole(plies.to_vec())];
    }
    let mut order: Vec<usize> = (0..plies.len()).collect();
    order.sort_by_key(|c| std::cmp::Reverse(plies[*c]));
    let (mut first, mut room) = (vec![0; plies.len()], most);
    for c in order {
        first[c] = plies[c].min(room);
        room -= first[c];
    }
    let shared: Vec<i64> = plies.iter().map(|p| p * most / sum).collect();
    let mut ways = vec![whole(first)];
    if shared.iter().any(|p| *p > 0) {
        ways.push(whole(shared));
    }
    ways
}

/// A marker with as many plies as it can have.
fn offer(model: &mut Model, left: &Left, counts: Vec<u32>) -> Option<Offer> {
    if counts.iter().all(|n| *n == 0) || !model.fits(&counts) {
        return None;
    }
    let plies = model.spread(left, &counts);
    let length = model.length(&counts);
    let mut value = 0.0;
    for (c, p) in plies.iter().enumerate() {
        for (a, n) in counts.iter().enumerate() {
            let given = i64::from(*n) * i64::from(*p);
            let useful = given.min(left.low[c * model.articles + a]).max(0);
            value += useful as f64 * (model.ply(c, model.area[a]) + model.set_up);
        }
    }
    let cost = model.lay(&plies, length);
    let lay = Lay {
        counts,
        plies,
        length,
    };
    let rate = cost / value;
    (value > 0.0 && rate.is_finite()).then_some(Offer { lay, rate })
}

/// The plan of the best lay each time.
pub(crate) fn greedy(model: &mut Model, left: &Left) -> Vec<Lay> {
    let mut left = left.clone();
    let mut lays = Vec::new();
    while !left.done() {
        let Some(best) = offers(model, &left).into_iter().next() else {
            break;
        };
        left = left.after(&best.lay.counts, &best.lay.plies);
        lays.push(best.lay);
    }
    lays
}

/// The plan of single ties: always possible, and a last resort.
pub(crate) fn singles(model: &mut Model, left: &Left) -> Vec<Lay> {
    let mut left = left.clone();
    let mut lays = Vec::new();
    for a in 0..model.articles {
        let mut counts = vec![0; model.articles];
        counts[a] = 1;
        loop {
            let plies = model.spread(&left, &counts);
            if plies.iter().all(|p| *p == 0) {
                break;
            }
            left = left.after(&counts, &plies);
            let length = model.length(&counts);
            lays.push(Lay {
                counts: counts.clone(),
                plies,
                length,
            });
        }
    }
    lays
}

//! Plans made lay by lay, each time the one that gives most for its cost.
//!
//! Never goes back on a lay it made.

use super::Lay;
use super::model::{Left, Model};

/// The most of the leading article on the markers tried.
const MULTIPLES: i64 = 12;

/// The most plies tried of themselves, from one on.
const MOST_FEW: i64 = 3;

/// What a tie is worth at least, and each millimetre of it, so that a group whose cloth costs
/// nothing still has full markers first; far below any price.
const LEAST_WORTH: f64 = 1e-6;

/// A lay and what it costs for what it gives.
pub(crate) struct Offer {
    pub(crate) lay: Lay,
    /// Cost over value given: the less the better.
    pub(crate) rate: f64,
}

/// The lays worth trying next, the best first, each once. `spice` is how much of the cost that
/// every lay and ply has, besides its ties, each tie is worth: with none the fullest markers come
/// first, with more those that give many ties.
pub(crate) fn offers(model: &mut Model, left: &Left, spice: f64) -> Vec<Offer> {
    let mut found: Vec<Offer> = Vec::new();
    let mut leads: Vec<Vec<u32>> = Vec::new();
    for a in 0..model.articles {
        let needs: Vec<i64> = (0..model.cloths)
            .map(|c| left.low[c * model.articles + a].max(0))
            .collect();
        let most = needs.iter().copied().max().unwrap_or(0);
        let many = (1..=MOST_FEW).map(|few| most / few);
        let mut multiples: Vec<i64> = (1..=most.min(MULTIPLES)).chain(many).collect();
        multiples.retain(|m| *m > 0);
        for multiple in multiples {
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
        found.extend(offer(model, left, counts, spice));
    }
    for a in 0..model.articles {
        let mut counts = vec![0; model.articles];
        counts[a] = 1;
        found.extend(offer(model, left, counts, spice));
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
fn offer(model: &mut Model, left: &Left, counts: Vec<u32>, spice: f64) -> Option<Offer> {
    if counts.iter().all(|n| *n == 0) || !model.fits(&counts) {
        return None;
    }
    let plies = model.spread(left, &counts);
    let length = model.length(&counts);
    let mut value = 0.0;
    for (c, p) in plies.iter().enumerate() {
        let besides = spice * (model.ply(c, 0.0) + model.set_up);
        for (a, n) in counts.iter().enumerate() {
            let given = i64::from(*n) * i64::from(*p);
            let worth = model.price[c] * model.area[a] + besides;
            let worth = worth + LEAST_WORTH * (1.0 + model.area[a]);
            let useful = given.min(left.low[c * model.articles + a]).max(0);
            value += useful as f64 * worth;
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

/// A plan of a good lay each time: the one that `choose` takes, by its place, of so many. `None`
/// if at some point no lay fits.
pub(crate) fn greedy(
    model: &mut Model,
    left: &Left,
    spice: f64,
    choose: &mut dyn FnMut(usize) -> usize,
) -> Option<Vec<Lay>> {
    let mut left = left.clone();
    let mut lays = Vec::new();
    while !left.done() {
        let mut offers = offers(model, &left, spice);
        if offers.is_empty() {
            return None;
        }
        let place = choose(offers.len()).min(offers.len() - 1);
        let lay = offers.swap_remove(place).lay;
        // The same once more as long as it can be, since nothing else has changed by much.
        while model.spread(&left, &lay.counts) == lay.plies && !left.done() {
            left = left.after(&lay.counts, &lay.plies);
            lays.push(lay.clone());
        }
    }
    Some(lays)
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

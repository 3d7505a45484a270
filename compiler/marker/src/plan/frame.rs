//! What no plan can do without: least numbers of lays and plies, and the least cost of so many.
//!
//! A marker is taken to be at least `end + Σ slope[a] · n[a]` long, with slopes chosen and the end
//! found from all markers that fit, so that it holds for each of them. Plies of one cloth are then
//! at least its ties, weighed by any weights, over the heaviest marker. Lays are at least as many
//! as their plies need, and, where nothing may be cut too much, as the rank of the table of what
//! is wanted: each lay adds a table of rank one.

use super::model::{Left, Model};
use crate::random::Random;

/// Bounds of what is left to be given.
pub(crate) struct Frame {
    /// Every marker that fits, if `complete`; else samples of small and of full ones.
    pub(crate) markers: Vec<Vec<u32>>,
    pub(crate) complete: bool,
    /// The least number of lays.
    pub(crate) lays: usize,
    /// The least number of plies of each cloth.
    pub(crate) plies: Vec<u32>,
    /// What each cloth costs besides its plies, at least.
    pub(crate) fixed: Vec<f64>,
    /// What each ply of a cloth costs besides, at least.
    pub(crate) ply: Vec<f64>,
    set_up: f64,
}

/// Rounding that a sum of weights may carry, as a share: far above that of a few hundred terms,
/// far below one ply in the most that are counted.
const SHARE: f64 = 1e-9;

impl Frame {
    /// The bounds; markers are looked at up to `limit`.
    pub(crate) fn new(model: &mut Model, left: &Left, limit: usize) -> Frame {
        let (mut markers, complete) = markers(model, left, limit);
        if !complete {
            markers = samples(model, left);
        }
        let lengths: Vec<f64> = markers.iter().map(|n| model.length(n)).collect();
        let plies: Vec<u32> = (0..model.cloths)
            .map(|c| least_plies(model, left, c, &markers, complete))
            .collect();
        let mut frame = Frame {
            lays: least_lays(model, left, &plies),
            markers,
            complete,
            plies,
            fixed: vec![0.0; model.cloths],
            ply: vec![model.spreading; model.cloths],
            set_up: model.set_up,
        };
        if model.is_ideal() && !complete {
            // The area holds for every marker, seen or not.
            let area = model.area.clone();
            frame.lean(model, left, &area, &[]);
            return frame;
        }
        for slope in slopes(model, &frame.markers, &lengths) {
            frame.lean(model, left, &slope, &lengths);
        }
        frame
    }

    /// Takes the slopes if they give a better bound.
    fn lean(&mut self, model: &Model, left: &Left, slope: &[f64], lengths: &[f64]) {
        let over = |(n, length): (&Vec<u32>, &f64)| length - weigh(slope, n);
        let end = if lengths.is_empty() {
            0.0
        } else {
            let all = self.markers.iter().zip(lengths).map(over);
            all.fold(f64::INFINITY, f64::min)
        };
        if !end.is_finite() {
            return;
        }
        let ply: Vec<f64> = (0..model.cloths).map(|c| model.ply(c, end)).collect();
        if ply.iter().any(|p| *p < 0.0) {
            return;
        }
        let fixed: Vec<f64> = (0..model.cloths)
            .map(|c| model.price[c] * weigh_left(slope, left, c))
            .collect();
        let sum = |fixed: &[f64], ply: &[f64]| -> f64 {
            let plies = self.plies.iter().zip(ply).map(|(n, p)| f64::from(*n) * p);
            plies.sum::<f64>() + fixed.iter().sum::<f64>()
        };
        if sum(&fixed, &ply) > sum(&self.fixed, &self.ply) {
            (self.fixed, self.ply) = (fixed, ply);
        }
    }

    /// What one cloth costs at least, without set-up.
    pub(crate) fn row(&self, cloth: usize) -> f64 {
        self.fixed[cloth] + f64::from(self.plies[cloth]) * self.ply[cloth]
    }

    /// What a plan of this many lays or more costs at least.
    pub(crate) fn cost(&self, lays: usize) -> f64 {
        let rows: f64 = (0..self.plies.len()).map(|c| self.row(c)).sum();
        lays as f64 * self.set_up + rows
    }
}

fn weigh(weights: &[f64], counts: &[u32]) -> f64 {
    let ties = weights.iter().zip(counts);
    ties.map(|(w, n)| w * f64::from(*n)).sum()
}

/// The weight of all that must still be given in a cloth.
fn weigh_left(weights: &[f64], left: &Left, cloth: usize) -> f64 {
    let row = &left.low[cloth * weights.len()..(cloth + 1) * weights.len()];
    let ties = weights.iter().zip(row);
    ties.map(|(w, n)| w * (*n).max(0) as f64).sum()
}

/// All markers that fit and hold no more than can be used, up to a limit; whether these are all.
fn markers(model: &mut Model, left: &Left, limit: usize) -> (Vec<Vec<u32>>, bool) {
    let most: Vec<u32> = (0..model.articles)
        .map(|a| {
            let cells = (0..model.cloths).map(|c| left.high[c * model.articles + a]);
            let wanted = (0..model.cloths).any(|c| left.low[c * model.articles + a] > 0);
            let most = cells.max().unwrap_or(0).max(0);
            if wanted {
                u32::try_from(most).unwrap_or(u32::MAX)
            } else {
                0
            }
        })
        .collect();
    let mut found = Vec::new();
    let mut counts = vec![0; model.articles];
    // Counting up like the digits of a number; a digit that no longer fits carries.
    loop {
        let mut a = 0;
        while a < model.articles {
            counts[a] += 1;
            if counts[a] <= most[a] && model.fits(&counts) {
                break;
            }
            counts[a] = 0;
            a += 1;
        }
        if a == model.articles {
            return (found, true);
        }
        if found.len() == limit {
            return (found, false);
        }
        found.push(counts.clone());
    }
}

/// Markers of one article and of mixed ones, from the smallest to the fullest.
fn samples(model: &mut Model, left: &Left) -> Vec<Vec<u32>> {
    const MIXES: usize = 200;
    const MOST_ALIKE: u32 = 200;
    let wanted: Vec<usize> = (0..model.articles)
        .filter(|a| (0..model.cloths).any(|c| left.low[c * model.articles + a] > 0))
        .collect();
    let mut found = Vec::new();
    for a in &wanted {
        let mut counts = vec![0; model.articles];
        while counts[*a] < MOST_ALIKE {
            counts[*a] += 1;
            if !model.fits(&counts) {
                break;
            }
            found.push(counts.clone());
        }
    }
    let mut random = Random::new(1);
    for _ in 0..MIXES {
        let mut counts = vec![0; model.articles];
        for _ in 0..MOST_ALIKE {
            let a = wanted[random.below(wanted.len())];
            counts[a] += 1;
            if !model.fits(&counts) {
                counts[a] -= 1;
                break;
            }
        }
        found.push(counts);
    }
    found.retain(|n| n.iter().any(|n| *n > 0));
    found
}

/// Slopes to try: the growth of a marker with ties of one article, and the area alone.
fn slopes(model: &mut Model, markers: &[Vec<u32>], lengths: &[f64]) -> Vec<Vec<f64>> {
    let mut ways = vec![model.area.clone(), vec![0.0; model.articles]];
    // The steepest line under all markers of one article, in areas.
    let longest = markers
        .iter()
        .zip(lengths)
        .max_by(|x, y| x.1.total_cmp(y.1));
    if let Some((counts, length)) = longest {
        let area = weigh(&model.area, counts);
        let small = markers
            .iter()
            .zip(lengths)
            .min_by(|x, y| x.1.total_cmp(y.1));
        if let Some((n, l)) = small {
            let grown = area - weigh(&model.area, n);
            if grown > 0.0 && length > l {
                let steep = (length - l) / grown;
                ways.push(model.area.iter().map(|a| a * steep).collect());
            }
        }
        if area > 0.0 {
            let steep = length / area;
            ways.push(model.area.iter().map(|a| a * steep).collect());
        }
    }
    let mut own = model.area.clone();
    for (a, slope) in own.iter_mut().enumerate() {
        let mut one = vec![0; model.articles];
        let most = markers.iter().map(|n| n[a]).max().unwrap_or(0);
        if most > 1 {
            one[a] = 1;
            let first = model.length(&one);
            one[a] = most;
            *slope = ((model.length(&one) - first) / f64::from(most - 1)).max(0.0);
        }
    }
    ways.push(own);
    ways
}

/// The least plies of a cloth: by area, and by number and area of the fullest markers.
fn least_plies(
    model: &Model,
    left: &Left,
    cloth: usize,
    markers: &[Vec<u32>],
    complete: bool,
) -> u32 {
    let row = &left.low[cloth * model.articles..(cloth + 1) * model.articles];
    let mut least = u32::from(row.iter().any(|l| *l > 0));
    let mut need = |weight: f64, most: f64| {
        if most > 0.0 && most.is_finite() {
            least = least.max((weight / most * (1.0 - SHARE)).ceil() as u32);
        }
    };
    if complete {
        // One article at a time, all ties alike, and by area.
        let mut ways = vec![vec![1.0; model.articles], model.area.clone()];
        for a in 0..model.articles {
            let mut one = vec![0.0; model.articles];
            one[a] = 1.0;
            ways.push(one);
        }
        for weights in ways {
            let most = markers.iter().map(|n| weigh(&weights, n));
            let most = most.fold(0.0, f64::max);
            need(weigh_left(&weights, left, cloth), most);
        }
    } else {
        need(weigh_left(&model.area, left, cloth), model.longest);
    }
    least
}

fn least_lays(model: &Model, left: &Left, plies: &[u32]) -> usize {
    let sum: u64 = plies.iter().map(|p| u64::from(*p)).sum();
    let by_plies = sum.div_ceil(u64::from(model.plies)) as usize;
    let exact = left.low == left.high;
    let by_rank = if exact { rank(model, left) } else { 0 };
    by_plies.max(by_rank).max(usize::from(!left.done()))
}

/// The rank of the table modulo a prime: never above the true one, and exact arithmetic.
fn rank(model: &Model, left: &Left) -> usize {
    const PRIME: i64 = 2_147_483_647;
    let mut rows: Vec<Vec<i64>> = left
        .low
        .chunks(model.articles.max(1))
        .map(|row| row.iter().map(|w| w.rem_euclid(PRIME)).collect())
        .collect();
    let mut rank = 0;
    for column in 0..model.articles {
        let Some(found) = (rank..rows.len()).find(|r| rows[*r][column] != 0) else {
            continue;
        };
        rows.swap(rank, found);
        let (done, rest) = rows.split_at_mut(rank + 1);
        let pivot = &done[rank];
        for row in rest {
            let (p, q) = (pivot[column], row[column]);
            for (x, y) in row.iter_mut().zip(pivot) {
                *x = (*x * p - *y * q).rem_euclid(PRIME);
            }
        }
        rank += 1;
    }
    rank
}

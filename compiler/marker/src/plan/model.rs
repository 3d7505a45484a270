//! What the searches work on: limits, costs, and lengths as far as they are known.
//!
//! Nothing here chooses.

use std::collections::HashMap;

use super::check::ROUNDING;
use super::{Cost, Group, Lay, Lengths, Rule, Table};

/// Millimetres of a metre: prices are a metre.
const METRE: f64 = 1000.0;

/// A group on its table.
pub(crate) struct Model<'l> {
    /// How many articles and cloths.
    pub(crate) articles: usize,
    pub(crate) cloths: usize,
    /// The price of a millimetre of each cloth.
    pub(crate) price: Vec<f64>,
    /// The net area of each article over the width: the length it takes at best.
    pub(crate) area: Vec<f64>,
    /// The longest marker and the most plies.
    pub(crate) longest: f64,
    pub(crate) plies: u32,
    /// Lost at both ends of a ply together.
    pub(crate) ends: f64,
    pub(crate) set_up: f64,
    pub(crate) spreading: f64,
    /// What is wanted.
    pub(crate) wanted: Left,
    lengths: &'l mut dyn Lengths,
    /// True lengths by counts, as far as they were asked for.
    sure: HashMap<Vec<u32>, f64>,
    /// True lengths over estimates, as far as seen: on the whole, and the greatest of markers that
    /// turned out too long.
    correction: f64,
    misfit: f64,
    /// Whether markers are to leave room for such a misfit.
    reserved: bool,
    /// The length no marker with the article is shorter than.
    least: Vec<f64>,
    /// Whether lengths are for now the least that any arrangement could have.
    ideal: bool,
    /// How often a length was asked for: the measure of work besides nodes.
    asked: u64,
}

/// What is left to be given, cell by cell: cloth × articles + article.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct Left {
    /// At least so many; below 0 where there is a surplus already.
    pub(crate) low: Vec<i64>,
    /// At most so many.
    pub(crate) high: Vec<i64>,
}

impl Left {
    /// Whether nothing more must be given.
    pub(crate) fn done(&self) -> bool {
        self.low.iter().all(|l| *l <= 0)
    }

    /// What is left after a lay; the lay must fit.
    pub(crate) fn after(&self, counts: &[u32], plies: &[u32]) -> Left {
        let mut left = self.clone();
        left.change(counts, plies, -1);
        left
    }

    /// What is left if a lay is taken out again.
    pub(crate) fn change(&mut self, counts: &[u32], plies: &[u32], sign: i64) {
        for (c, p) in plies.iter().enumerate() {
            for (a, n) in counts.iter().enumerate() {
                let given = sign * i64::from(*n) * i64::from(*p);
                self.low[c * counts.len() + a] += given;
                self.high[c * counts.len() + a] += given;
            }
        }
    }
}

impl<'l> Model<'l> {
    pub(crate) fn new(
        group: &Group,
        table: &Table,
        rule: &Rule,
        lengths: &'l mut dyn Lengths,
    ) -> Model<'l> {
        let cells = || group.cloths.iter().flat_map(|d| d.wanted.iter());
        let ends = 2.0 * table.end_loss;
        let sound = |l: f64| if l.is_finite() { l.max(0.0) } else { 0.0 };
        let articles = 0..group.articles.len();
        let least = articles.map(|a| sound(lengths.least(a))).collect();
        Model {
            articles: group.articles.len(),
            cloths: group.cloths.len(),
            price: group.cloths.iter().map(|d| d.price / METRE).collect(),
            area: group.articles.iter().map(|a| a / group.width).collect(),
            longest: table.longest.unwrap_or(f64::INFINITY) - ends + ROUNDING,
            plies: table.plies.unwrap_or(u32::MAX),
            ends,
            set_up: table.set_up,
            spreading: table.spreading,
            wanted: Left {
                low: cells().map(|w| i64::from(*w)).collect(),
                high: cells()
                    .map(|w| i64::from(*w) + if *w > 0 { i64::from(rule.surplus) } else { 0 })
                    .collect(),
            },
            lengths,
            sure: HashMap::new(),
            correction: 1.0,
            misfit: 1.0,
            reserved: false,
            least,
            ideal: false,
            asked: 0,
        }
    }

    /// From now on lengths are the least that any arrangement could have: the area over the
    /// width, and no shorter than the articles allow. Or no longer so.
    pub(crate) fn set_ideal(&mut self, ideal: bool) {
        self.ideal = ideal;
    }

    /// Whether lengths are the least that any arrangement could have.
    pub(crate) fn is_ideal(&self) -> bool {
        self.ideal
    }

    fn ideal_length(&self, counts: &[u32]) -> f64 {
        let (mut area, mut least) = (0.0, 0.0_f64);
        for (a, n) in counts.iter().enumerate().filter(|(_, n)| **n > 0) {
            area += self.area[a] * f64::from(*n);
            least = least.max(self.least[a]);
        }
        least.max(area)
    }

    /// The length to reckon with: the true one where it is known.
    pub(crate) fn length(&mut self, counts: &[u32]) -> f64 {
        self.asked += 1;
        if self.ideal {
            return self.ideal_length(counts);
        }
        let sure = self.sure.get(counts).copied();
        sure.unwrap_or_else(|| self.lengths.estimate(counts) * self.correction)
    }

    /// How often a length was asked for so far.
    pub(crate) fn asked(&self) -> u64 {
        self.asked
    }

    /// The true length.
    pub(crate) fn true_length(&mut self, counts: &[u32]) -> f64 {
        if let Some(length) = self.sure.get(counts) {
            return *length;
        }
        let length = self.lengths.length(counts);
        self.sure.insert(counts.to_vec(), length);
        length
    }

    /// Whether the true length is known.
    pub(crate) fn is_sure(&self, counts: &[u32]) -> bool {
        self.sure.contains_key(counts)
    }

    /// Reckons anew with lengths not yet known, by what the known ones teach.
    pub(crate) fn correct(&mut self) {
        let mut seen: Vec<(&Vec<u32>, f64)> = self.sure.iter().map(|(n, l)| (n, *l)).collect();
        seen.sort_by_key(|(counts, _)| *counts);
        let mut pairs = Vec::with_capacity(seen.len());
        for (counts, length) in seen {
            let estimate = self.lengths.estimate(counts);
            if estimate.is_finite() && length.is_finite() {
                pairs.push((length, estimate));
            }
        }
        let sum = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>();
        let (sure, reckoned) = (sum(|p| p.0), sum(|p| p.1));
        if reckoned > 0.0 {
            self.correction = sure / reckoned;
        }
        let long = pairs.iter().filter(|(length, _)| *length > self.longest);
        let off = long.map(|(length, estimate)| length / (estimate * self.correction));
        self.misfit = off.fold(1.0, f64::max);
    }

    /// From now on markers of unknown length leave room on the table for the greatest misfit seen.
    /// Or no longer so.
    pub(crate) fn set_reserved(&mut self, reserved: bool) {
        self.reserved = reserved;
    }

    /// Whether a marker can lie on the table.
    pub(crate) fn fits(&mut self, counts: &[u32]) -> bool {
        let length = self.length(counts);
        let spare = self.reserved && !self.ideal && self.misfit > 1.0 && !self.is_sure(counts);
        length * if spare { self.misfit } else { 1.0 } <= self.longest
    }

    /// What one ply costs.
    pub(crate) fn ply(&self, cloth: usize, length: f64) -> f64 {
        self.price[cloth] * (length + self.ends) + self.spreading
    }

    /// What a lay costs.
    pub(crate) fn lay(&self, plies: &[u32], length: f64) -> f64 {
        let spread = plies.iter().enumerate();
        let sum: f64 = spread
            .map(|(c, p)| f64::from(*p) * self.ply(c, length))
            .sum();
        self.set_up + sum
    }

    /// What lays cost.
    pub(crate) fn total(&self, lays: &[Lay]) -> f64 {
        lays.iter().map(|l| self.lay(&l.plies, l.length)).sum()
    }

    /// The same by kind of cost.
    pub(crate) fn cost(&self, lays: &[Lay]) -> Cost {
        let mut cost = Cost::default();
        for lay in lays {
            cost.set_up += self.set_up;
            for (c, p) in lay.plies.iter().enumerate() {
                cost.spreading += f64::from(*p) * self.spreading;
                cost.cloth += f64::from(*p) * self.price[c] * (lay.length + self.ends);
            }
        }
        cost
    }

    /// The most plies of each cloth under a marker: no more than any article needs or may have,
    /// the cloth with the most first where the table takes no more.
    pub(crate) fn spread(&self, left: &Left, counts: &[u32]) -> Vec<u32> {
        let mut plies: Vec<u32> = (0..self.cloths)
            .map(|c| self.most_plies(left, counts, c))
            .collect();
        let mut order: Vec<usize> = (0..self.cloths).collect();
        order.sort_by_key(|c| std::cmp::Reverse(plies[*c]));
        let mut room = self.plies;
        for c in order {
            plies[c] = plies[c].min(room);
            room -= plies[c];
        }
        plies
    }

    /// The most plies of a cloth under a marker.
    pub(crate) fn most_plies(&self, left: &Left, counts: &[u32], cloth: usize) -> u32 {
        let row = cloth * self.articles..(cloth + 1) * self.articles;
        let (low, high) = (&left.low[row.clone()], &left.high[row]);
        let (mut may, mut need) = (i64::MAX, 0);
        for (a, n) in counts.iter().enumerate().filter(|(_, n)| **n > 0) {
            let n = i64::from(*n);
            may = may.min(high[a] / n);
            need = need.max((low[a] + n - 1).div_euclid(n));
        }
        u32::try_from(may.min(need).max(0)).unwrap_or(u32::MAX)
    }

    /// The most of each article on a marker with these plies, before the length is looked at.
    pub(crate) fn fill(&self, left: &Left, plies: &[u32]) -> Vec<u32> {
        let most = |a: usize| {
            let (mut may, mut need) = (i64::MAX, 0);
            for (c, p) in plies.iter().enumerate().filter(|(_, p)| **p > 0) {
                let (cell, p) = (c * self.articles + a, i64::from(*p));
                may = may.min(left.high[cell] / p);
                need = need.max((left.low[cell] + p - 1).div_euclid(p));
            }
            u32::try_from(may.min(need).max(0)).unwrap_or(u32::MAX)
        };
        (0..self.articles).map(most).collect()
    }

    /// The counts made fewer, in proportion and then filled up one by one, until the marker fits.
    pub(crate) fn trim(&mut self, counts: &[u32]) -> Vec<u32> {
        if self.fits(counts) {
            return counts.to_vec();
        }
        let sum: u64 = counts.iter().map(|n| u64::from(*n)).sum();
        let scaled = |of: u64| -> Vec<u32> {
            let part = |n: &u32| (u64::from(*n) * of / sum.max(1)) as u32;
            counts.iter().map(part).collect()
        };
        let (mut fits, mut long) = (0, sum);
        while long - fits > 1 {
            let middle = fits + (long - fits) / 2;
            let some = scaled(middle);
            let empty = some.iter().all(|n| *n == 0);
            if empty || self.fits(&some) {
                fits = middle;
            } else {
                long = middle;
            }
        }
        let mut kept = scaled(fits);
        let mut order: Vec<usize> = (0..self.articles).collect();
        order.sort_by(|a, b| self.area[*b].total_cmp(&self.area[*a]));
        for a in order {
            while kept[a] < counts[a] {
                kept[a] += 1;
                if !self.fits(&kept) {
                    kept[a] -= 1;
                    break;
                }
            }
        }
        kept
    }
}

//! The cheapest plan of a given number of lays, by looking at all of them.
//!
//! What is wanted is a table of articles and cloths; each lay gives the product of a column of
//! counts and a row of plies. Either the plies of all lays are chosen first, and then the counts of
//! each article in turn, or the markers first and then the plies of each cloth: whichever has fewer
//! first choices. Choices that cannot meet what is wanted, or cost too much, are cut off.
//! Never: more steps than it is given.

use super::Lay;
use super::frame::Frame;
use super::model::{Left, Model};

/// What came of a search.
pub(crate) struct Outcome {
    /// The cheapest plan below the cost given.
    pub(crate) lays: Option<Vec<Lay>>,
    /// Whether all plans were looked at.
    pub(crate) complete: bool,
}

/// Costs nearer than this share of them are the same: rounding of sums.
pub(crate) const SAME_COST: f64 = 1e-9;

/// The most first choices of one lay.
const MOST_VECTORS: usize = 60_000;

/// Searches plans of exactly `number` lays that cost less than `below`, `steps` at most.
pub(crate) fn search(
    model: &mut Model,
    left: &Left,
    frame: &Frame,
    number: usize,
    below: f64,
    steps: &mut u64,
) -> Outcome {
    let unknown = Outcome {
        lays: None,
        complete: false,
    };
    if number == 0 || *steps == 0 {
        return unknown;
    }
    let limit = usize::try_from(*steps).map_or(MOST_VECTORS, |s| s.min(MOST_VECTORS));
    let spreads = spreads(model, left, limit);
    let markers = frame.complete.then_some(&frame.markers);
    let (vectors, plies_first) = match (spreads, markers) {
        (Some(s), Some(m)) if s.len() > m.len() => (m.clone(), false),
        (Some(s), _) => (s, true),
        (None, Some(m)) => (m.clone(), false),
        (None, None) => return unknown,
    };
    let mut search = Search::new(model, left, frame, number, below, vectors, plies_first);
    search.steps = *steps;
    search.first(0, 0, 0.0);
    *steps = search.steps;
    Outcome {
        complete: search.steps > 0,
        lays: search.best,
    }
}

/// All rows of plies a lay could have; `None` if they are too many.
fn spreads(model: &Model, left: &Left, limit: usize) -> Option<Vec<Vec<u32>>> {
    let most: Vec<u32> = left
        .low
        .chunks(model.articles.max(1))
        .map(|row| row.iter().copied().max().unwrap_or(0).max(0) as u32)
        .collect();
    let mut found = Vec::new();
    let mut plies = vec![0; model.cloths];
    loop {
        let mut c = 0;
        while c < model.cloths {
            plies[c] += 1;
            if plies[c] <= most[c] && plies.iter().sum::<u32>() <= model.plies {
                break;
            }
            plies[c] = 0;
            c += 1;
        }
        if c == model.cloths {
            return Some(found);
        }
        if found.len() >= limit {
            return None;
        }
        found.push(plies.clone());
    }
}

struct Search<'s, 'l> {
    model: &'s mut Model<'l>,
    frame: &'s Frame,
    /// Lays of the plan.
    number: usize,
    /// What a first choice can be: plies, or markers; the largest sum first.
    vectors: Vec<Vec<u32>>,
    sums: Vec<u64>,
    plies_first: bool,
    /// The least sum of sums of the first choices.
    need: u64,
    /// Rows of the second choice and what each must give for each entry of a first choice.
    rows: Vec<Row>,
    /// The most of the second choice in one lay.
    most: i64,
    /// First choices taken.
    chosen: Vec<usize>,
    /// Second choices taken: by lay, then by row.
    taken: Vec<Vec<u32>>,
    /// The ways of each row, one after the other: how many in each lay.
    ways: Vec<Vec<u32>>,
    /// The way being made, and what is left of its row before each lay.
    way: Vec<u32>,
    left: Vec<(Vec<i64>, Vec<i64>)>,
    below: f64,
    /// No plan of so many lays costs less.
    floor: f64,
    best: Option<Vec<Lay>>,
    steps: u64,
}

/// An article, or a cloth, and what is wanted of it.
struct Row {
    number: usize,
    low: Vec<i64>,
    high: Vec<i64>,
    /// What it costs at least, if it is a cloth.
    cost: f64,
}

impl<'s, 'l> Search<'s, 'l> {
    fn new(
        model: &'s mut Model<'l>,
        left: &Left,
        frame: &'s Frame,
        number: usize,
        below: f64,
        mut vectors: Vec<Vec<u32>>,
        plies_first: bool,
    ) -> Search<'s, 'l> {
        let sum = |v: &Vec<u32>| v.iter().map(|x| u64::from(*x)).sum::<u64>();
        vectors.sort_by(|x, y| sum(y).cmp(&sum(x)).then_with(|| y.cmp(x)));
        let ties: i64 = left.low.iter().map(|l| (*l).max(0)).sum();
        let need = if plies_first {
            frame.plies.iter().map(|p| u64::from(*p)).sum()
        } else {
            (ties as u64).div_ceil(u64::from(model.plies))
        };
        let most = if plies_first {
            let most = frame.markers.iter().flat_map(|n| n.iter()).max();
            if frame.complete {
                most.map_or(0, |n| i64::from(*n))
            } else {
                i64::from(u32::MAX)
            }
        } else {
            i64::from(model.plies)
        };
        let rows = rows(model, left, frame, plies_first);
        let entries = vectors.first().map_or(0, Vec::len);
        Search {
            ways: vec![Vec::new(); rows.len()],
            way: vec![0; number],
            left: vec![(vec![0; entries], vec![0; entries]); number + 1],
            rows,
            sums: vectors.iter().map(sum).collect(),
            taken: vec![
                vec![
                    0;
                    if plies_first {
                        model.articles
                    } else {
                        model.cloths
                    }
                ];
                number
            ],
            floor: frame.cost(number),
            model,
            frame,
            number,
            vectors,
            plies_first,
            need,
            most,
            chosen: Vec::new(),
            below,
            best: None,
            steps: 0,
        }
    }

    /// Nothing cheaper can come.
    fn done(&self) -> bool {
        self.steps == 0 || self.floor >= self.below - self.below.abs() * SAME_COST
    }

    fn dear(&self, cost: f64) -> bool {
        cost >= self.below - self.below.abs() * SAME_COST
    }

    /// Chooses the plies, or the marker, of the next lay, from the number `from` on.
    fn first(&mut self, from: usize, sum: u64, plies: f64) {
        if self.chosen.len() == self.number {
            if sum >= self.need {
                self.second();
            }
            return;
        }
        let open = (self.number - self.chosen.len()) as u64;
        for v in from..self.vectors.len() {
            if self.done() || sum + open.saturating_mul(self.sums[v]) < self.need {
                return;
            }
            self.steps -= 1;
            let spread = if self.plies_first {
                let all = self.vectors[v].iter().zip(&self.frame.ply);
                plies + all.map(|(p, cost)| f64::from(*p) * cost).sum::<f64>()
            } else {
                0.0
            };
            let fixed: f64 = self.frame.fixed.iter().sum();
            if self.plies_first
                && self.dear(self.number as f64 * self.model.set_up + fixed + spread)
            {
                continue;
            }
            self.chosen.push(v);
            self.first(v, sum + self.sums[v], spread);
            self.chosen.pop();
        }
    }

    /// Lists all ways of each row, then chooses among them; nothing if a row has none.
    fn second(&mut self) {
        for row in 0..self.rows.len() {
            self.ways[row].clear();
            self.left[0] = (self.rows[row].low.clone(), self.rows[row].high.clone());
            self.list(row, 0);
            if self.ways[row].is_empty() {
                return;
            }
        }
        let mut order: Vec<usize> = (0..self.rows.len()).collect();
        order.sort_by_key(|r| (self.ways[*r].len(), *r));
        self.row(&order, self.number as f64 * self.model.set_up);
    }

    /// Lists the ways of a row from a lay on.
    fn list(&mut self, row: usize, lay: usize) {
        if lay == self.number {
            if self.left[lay].0.iter().all(|l| *l <= 0) {
                self.ways[row].extend_from_slice(&self.way);
            }
            return;
        }
        let (least, most) = self.range(lay);
        let vector = self.chosen[lay];
        for take in (least..=most).rev() {
            if self.steps == 0 {
                return;
            }
            self.steps -= 1;
            self.way[lay] = take as u32;
            let (before, after) = self.left.split_at_mut(lay + 1);
            let (from, to) = (&before[lay], &mut after[0]);
            for (j, entry) in self.vectors[vector].iter().enumerate() {
                let given = take * i64::from(*entry);
                to.0[j] = from.0[j] - given;
                to.1[j] = from.1[j] - given;
            }
            self.list(row, lay + 1);
        }
    }

    /// Chooses a way for each of the rows, in their order.
    fn row(&mut self, rows: &[usize], cost: f64) {
        let Some((&row, rest)) = rows.split_first() else {
            self.leaf();
            return;
        };
        let least: f64 = rows.iter().map(|r| self.rows[*r].cost).sum();
        if !self.plies_first && self.dear(cost + least) {
            return;
        }
        let number = self.rows[row].number;
        for from in (0..self.ways[row].len()).step_by(self.number) {
            if self.done() {
                break;
            }
            self.steps -= 1;
            let mut more = Some(cost);
            for lay in 0..self.number {
                self.taken[lay][number] = self.ways[row][from + lay];
                more = more.and_then(|sum| Some(sum + self.fits(lay, number)?));
            }
            if let Some(cost) = more {
                self.row(rest, cost);
            }
        }
        for taken in &mut self.taken {
            taken[number] = 0;
        }
    }

    /// The least and the most that a lay can take of what a row still needs.
    fn range(&self, lay: usize) -> (i64, i64) {
        let (low, high) = &self.left[lay];
        let (mut least, mut most) = (0, self.most);
        for (j, entry) in self.vectors[self.chosen[lay]].iter().enumerate() {
            let later = &self.chosen[lay + 1..];
            let later: i64 = later.iter().map(|v| i64::from(self.vectors[*v][j])).sum();
            let short = low[j] - later.saturating_mul(self.most);
            let entry = i64::from(*entry);
            if entry > 0 {
                most = most.min(high[j].div_euclid(entry));
                least = least.max((short + entry - 1).div_euclid(entry));
            } else if short > 0 {
                return (1, 0);
            }
        }
        (least, most)
    }

    /// Whether the lay still fits on the table, and what the new number costs.
    fn fits(&mut self, lay: usize, number: usize) -> Option<f64> {
        let taken = &self.taken[lay];
        if self.plies_first {
            return (taken[number] == 0 || self.model.fits(taken)).then_some(0.0);
        }
        let plies: u64 = taken.iter().map(|p| u64::from(*p)).sum();
        if plies > u64::from(self.model.plies) {
            return None;
        }
        let length = self.model.length(&self.vectors[self.chosen[lay]]);
        Some(f64::from(taken[number]) * self.model.ply(number, length))
    }

    /// A whole plan.
    fn leaf(&mut self) {
        let mut lays = Vec::with_capacity(self.number);
        for (vector, taken) in self.chosen.iter().zip(&self.taken) {
            let (first, second) = (self.vectors[*vector].clone(), taken.clone());
            if second.iter().all(|n| *n == 0) {
                continue;
            }
            let (counts, plies) = if self.plies_first {
                (second, first)
            } else {
                (first, second)
            };
            let length = self.model.length(&counts);
            lays.push(Lay {
                counts,
                plies,
                length,
            });
        }
        let cost = self.model.total(&lays);
        if !self.dear(cost) {
            self.below = cost;
            self.best = Some(lays);
        }
    }
}

/// The rows of the second choice, those that leave fewest ways first.
fn rows(model: &Model, left: &Left, frame: &Frame, plies_first: bool) -> Vec<Row> {
    let cell = |a: usize, c: usize| c * model.articles + a;
    let mut rows: Vec<Row> = if plies_first {
        let row = |a: usize| Row {
            number: a,
            low: (0..model.cloths).map(|c| left.low[cell(a, c)]).collect(),
            high: (0..model.cloths).map(|c| left.high[cell(a, c)]).collect(),
            cost: 0.0,
        };
        (0..model.articles).map(row).collect()
    } else {
        let row = |c: usize| Row {
            number: c,
            low: (0..model.articles).map(|a| left.low[cell(a, c)]).collect(),
            high: (0..model.articles).map(|a| left.high[cell(a, c)]).collect(),
            cost: frame.row(c),
        };
        (0..model.cloths).map(row).collect()
    };
    rows.retain(|r| r.low.iter().any(|l| *l > 0));
    rows.sort_by_key(|r| (std::cmp::Reverse(r.low.iter().sum::<i64>()), r.number));
    rows
}

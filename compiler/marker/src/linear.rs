//! Linear programs whose rows tie few neighbouring unknowns together.
//!
//! In: unknowns free in sign, a cost for each, and rows `Σ aᵢ·xᵢ ≥ b` of at most five terms. Out:
//! the unknowns of least cost. Never: what they stand for.
//!
//! Mehrotra's predictor and corrector (SIAM J. Optim. 2, 1992) from any start. The matrix of its
//! steps is as narrow as the rows: with pieces numbered along the cloth it is a band, and a step
//! for some hundred pieces takes milliseconds.

/// `Σ aᵢ·xᵢ ≥ least`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    terms: [(u32, f64); 5],
    count: usize,
    least: f64,
}

impl Row {
    /// A row without terms.
    pub(crate) fn at_least(least: f64) -> Row {
        Row {
            terms: [(0, 0.0); 5],
            count: 0,
            least,
        }
    }

    /// The row with one term more; the sixth is left out, and so is a term of 0.
    pub(crate) fn with(mut self, unknown: usize, factor: f64) -> Row {
        if factor != 0.0 && self.count < self.terms.len() {
            self.terms[self.count] = (unknown as u32, factor);
            self.count += 1;
        }
        self
    }

    /// Whether it has no term.
    pub(crate) fn is_empty(&self) -> bool {
        self.count == 0
    }

    fn terms(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.terms[..self.count]
            .iter()
            .map(|&(i, a)| (i as usize, a))
    }

    fn value(&self, x: &[f64]) -> f64 {
        self.terms().map(|(i, a)| a * x[i]).sum()
    }
}

/// A symmetric matrix, of which each row is kept from its first entry to the diagonal.
struct Band {
    first: Vec<usize>,
    start: Vec<usize>,
    entries: Vec<f64>,
}

impl Band {
    fn new(unknowns: usize, rows: &[Row]) -> Band {
        let mut first: Vec<usize> = (0..unknowns).collect();
        for row in rows {
            let least = row.terms().map(|(i, _)| i).min().unwrap_or(0);
            for (i, _) in row.terms() {
                first[i] = first[i].min(least);
            }
        }
        let mut start = Vec::with_capacity(unknowns + 1);
        let mut total = 0;
        for (i, f) in first.iter().enumerate() {
            start.push(total);
            total += i - f + 1;
        }
        Band {
            first,
            start,
            entries: vec![0.0; total],
        }
    }

    /// The sum of `weight · aᵀa` over all rows.
    fn fill(&mut self, rows: &[Row], weight: &[f64]) {
        self.entries.fill(0.0);
        for (row, w) in rows.iter().zip(weight) {
            for (i, a) in row.terms() {
                for (j, b) in row.terms().filter(|(j, _)| *j <= i) {
                    self.entries[self.start[i] + j - self.first[i]] += w * a * b;
                }
            }
        }
    }

    /// The Cholesky factor in place. A pivot lost to rounding belongs to an unknown that no longer
    /// moves: it is made endless.
    fn factor(&mut self) {
        const LOST: f64 = 1e-13;
        const ENDLESS: f64 = 1e30;
        for i in 0..self.first.len() {
            let (fi, si) = (self.first[i], self.start[i]);
            for j in fi..i {
                let (fj, sj) = (self.first[j], self.start[j]);
                let from = fi.max(fj);
                let a = &self.entries[si + from - fi..si + j - fi];
                let b = &self.entries[sj + from - fj..sj + j - fj];
                let sum = dot(a, b);
                let pivot = self.entries[sj + j - fj];
                self.entries[si + j - fi] = (self.entries[si + j - fi] - sum) / pivot;
            }
            let row = &self.entries[si..si + i - fi];
            let whole = self.entries[si + i - fi];
            let left = whole - dot(row, row);
            self.entries[si + i - fi] = if left > LOST * whole {
                left.sqrt()
            } else {
                ENDLESS
            };
        }
    }

    /// Solves with the factor, in place.
    fn solve(&self, x: &mut [f64]) {
        for i in 0..x.len() {
            let (f, s) = (self.first[i], self.start[i]);
            let sum = dot(&self.entries[s..s + i - f], &x[f..i]);
            x[i] = (x[i] - sum) / self.entries[s + i - f];
        }
        for i in (0..x.len()).rev() {
            let (f, s) = (self.first[i], self.start[i]);
            x[i] /= self.entries[s + i - f];
            let value = x[i];
            for (below, entry) in x[f..i].iter_mut().zip(&self.entries[s..s + i - f]) {
                *below -= entry * value;
            }
        }
    }
}

/// Sum of products, in four strands so that the machine need not wait for each sum.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (fours_a, fours_b) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest = fours_a.remainder().iter().zip(fours_b.remainder());
    let rest: f64 = rest.map(|(x, y)| x * y).sum();
    for (x, y) in fours_a.zip(fours_b) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    sums[0] + sums[1] + (sums[2] + sums[3]) + rest
}

/// The workings of one program.
struct Interior<'r> {
    rows: &'r [Row],
    cost: &'r [f64],
    x: Vec<f64>,
    /// By how much each row is more than it must be.
    slack: Vec<f64>,
    /// What each row costs.
    price: Vec<f64>,
    band: Band,
    /// How far rows and costs are from being met.
    short_row: Vec<f64>,
    short_cost: Vec<f64>,
    weight: Vec<f64>,
    dx: Vec<f64>,
    dslack: Vec<f64>,
    dprice: Vec<f64>,
}

/// Steps after which the program ends in any case; 20 to 35 are usual.
const MOST_STEPS: usize = 60;
/// The products of slack and price at which it ends, millimetres: with ten thousand rows the
/// length is then within 1e-7 mm of the least.
const DONE: f64 = 1e-11;
/// Share of the way to the nearest bound that a step goes.
const STAY_INSIDE: f64 = 0.995;

/// The unknowns of least cost, from a start of all 0. The answer is to be checked by the caller:
/// rows that cannot be met together give an answer that does not meet them.
pub(crate) fn least(cost: &[f64], rows: &[Row]) -> Vec<f64> {
    let mut program = Interior::new(cost, rows);
    for _ in 0..MOST_STEPS {
        let mean = program.measure();
        let short = program
            .short_row
            .iter()
            .fold(0.0_f64, |m, s| m.max(s.abs()));
        if mean < DONE && short < DONE {
            break;
        }
        program.step(mean);
    }
    program.x
}

impl<'r> Interior<'r> {
    fn new(cost: &'r [f64], rows: &'r [Row]) -> Interior<'r> {
        let slack: Vec<f64> = rows.iter().map(|r| (-r.least).max(1.0)).collect();
        let price = vec![1.0 / (rows.len() as f64).sqrt().max(1.0); rows.len()];
        Interior {
            rows,
            cost,
            x: vec![0.0; cost.len()],
            slack,
            price,
            band: Band::new(cost.len(), rows),
            short_row: vec![0.0; rows.len()],
            short_cost: vec![0.0; cost.len()],
            weight: vec![0.0; rows.len()],
            dx: vec![0.0; cost.len()],
            dslack: vec![0.0; rows.len()],
            dprice: vec![0.0; rows.len()],
        }
    }

    /// How far from the end: the mean product of slack and price.
    fn measure(&mut self) -> f64 {
        self.short_cost.copy_from_slice(self.cost);
        let mut sum = 0.0;
        for (k, row) in self.rows.iter().enumerate() {
            self.short_row[k] = row.least + self.slack[k] - row.value(&self.x);
            for (i, a) in row.terms() {
                self.short_cost[i] -= a * self.price[k];
            }
            sum += self.slack[k] * self.price[k];
        }
        sum / self.rows.len().max(1) as f64
    }

    fn step(&mut self, mean: f64) {
        for k in 0..self.rows.len() {
            self.weight[k] = self.price[k] / self.slack[k];
        }
        self.band.fill(self.rows, &self.weight);
        self.band.factor();
        let aim: Vec<f64> = (0..self.rows.len())
            .map(|k| -self.slack[k] * self.price[k])
            .collect();
        self.direction(&aim);
        let (a, b) = (
            longest(&self.slack, &self.dslack),
            longest(&self.price, &self.dprice),
        );
        let count = self.rows.len().max(1) as f64;
        let reached: f64 = (0..self.rows.len())
            .map(|k| (self.slack[k] + a * self.dslack[k]) * (self.price[k] + b * self.dprice[k]))
            .sum();
        let ratio = (reached / count / mean).max(0.0);
        let centre = ratio * ratio * ratio * mean;
        let aim: Vec<f64> = (0..self.rows.len())
            .map(|k| centre - self.slack[k] * self.price[k] - self.dslack[k] * self.dprice[k])
            .collect();
        self.direction(&aim);
        let a = (longest(&self.slack, &self.dslack) * STAY_INSIDE).min(1.0);
        let b = (longest(&self.price, &self.dprice) * STAY_INSIDE).min(1.0);
        add(&mut self.x, &self.dx, a);
        add(&mut self.slack, &self.dslack, a);
        add(&mut self.price, &self.dprice, b);
    }

    /// The step towards products that change by `aim`.
    fn direction(&mut self, aim: &[f64]) {
        for (d, short) in self.dx.iter_mut().zip(&self.short_cost) {
            *d = -short;
        }
        for (k, row) in self.rows.iter().enumerate() {
            let pull = aim[k] / self.slack[k] + self.weight[k] * self.short_row[k];
            for (i, a) in row.terms() {
                self.dx[i] += a * pull;
            }
        }
        self.band.solve(&mut self.dx);
        for (k, row) in self.rows.iter().enumerate() {
            self.dslack[k] = row.value(&self.dx) - self.short_row[k];
            self.dprice[k] = aim[k] / self.slack[k] - self.weight[k] * self.dslack[k];
        }
    }
}

/// How far values above 0 can go along a step before one is 0.
fn longest(values: &[f64], step: &[f64]) -> f64 {
    values
        .iter()
        .zip(step)
        .filter(|(_, d)| **d < 0.0)
        .map(|(v, d)| -v / d)
        .fold(1.0 / STAY_INSIDE, f64::min)
}

fn add(values: &mut [f64], step: &[f64], share: f64) {
    for (value, d) in values.iter_mut().zip(step) {
        *value += share * d;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_of_a_polygon() {
        // least −x − 2y with x + y ≤ 4, x ≤ 3, y ≤ 2, x, y ≥ 0: at (2, 2).
        let rows = [
            Row::at_least(-4.0).with(0, -1.0).with(1, -1.0),
            Row::at_least(-3.0).with(0, -1.0),
            Row::at_least(-2.0).with(1, -1.0),
            Row::at_least(0.0).with(0, 1.0),
            Row::at_least(0.0).with(1, 1.0),
        ];
        let x = least(&[-1.0, -2.0], &rows);
        assert!(
            (x[0] - 2.0).abs() < 1e-8 && (x[1] - 2.0).abs() < 1e-8,
            "{x:?}"
        );
    }

    #[test]
    fn a_long_chain_ends_at_its_length() {
        let count = 300;
        let mut rows: Vec<Row> = (1..count)
            .map(|i| Row::at_least(1.5).with(i, 1.0).with(i - 1, -1.0))
            .collect();
        rows.push(Row::at_least(2.0).with(0, 1.0));
        let mut cost = vec![0.0; count];
        cost[count - 1] = 1.0;
        let x = least(&cost, &rows);
        let end = 2.0 + 1.5 * (count - 1) as f64;
        assert!((x[count - 1] - end).abs() < 1e-7, "{}", x[count - 1]);
    }
}

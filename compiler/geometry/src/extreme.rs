//! The least value of a function of one parameter on [0, 1].
//!
//! Input: a function that is smooth, or has a kink, on the scale of a sixteenth. Output: a
//! parameter and the value there, found by a scan and, in every dip of the scan that may reach
//! below the others, R. P. Brent's minimisation ("Algorithms for Minimization without
//! Derivatives", 1973, chapter 5). Nothing is known about the function beyond its values.

/// Steps of the scan before the refinement.
const SCAN: usize = 16;

/// Evaluations of the refinement at most; a kink takes forty, a smooth minimum about ten.
const REFINE: usize = 48;

/// The smaller part of a bracket divided by the golden section.
const GOLDEN: f64 = 0.381_966_011_250_105_1;

/// Parameter. Two places nearer than this are one for the search: a smooth minimum is flat to
/// 1e-14 of its size there, and a kink in a metre of edge is off by 1e-5 mm.
const STEP: f64 = 1e-8;

/// Value, no unit, from which on a scan without refinement is trusted to stay above a small
/// limit: between two places of the scan a smooth share does not lose half of all there is.
const AMPLE: f64 = 0.5;

/// Where the function is least, and the value there.
pub fn least(f: impl Fn(f64) -> f64) -> (f64, f64) {
    deepest(&scan(&f), &f)
}

/// A parameter where the function is below `limit` (or not a number), if there is one.
pub fn falls_below(limit: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let values = scan(&f);
    if values.iter().all(|value| *value >= AMPLE) {
        return None;
    }
    let (t, value) = deepest(&values, &f);
    // Not `value < limit`: a value that is not a number falls below every limit.
    let holds = value >= limit;
    (!holds).then_some(t)
}

/// The values at the places of the scan.
fn scan(f: &impl Fn(f64) -> f64) -> [f64; SCAN + 1] {
    std::array::from_fn(|i| f(place(i)))
}

fn place(i: usize) -> f64 {
    i as f64 / SCAN as f64
}

/// The least of the refined dips of a scan; of equally deep ones the first.
fn deepest(values: &[f64; SCAN + 1], f: &impl Fn(f64) -> f64) -> (f64, f64) {
    // A value that is not a number counts as the lowest.
    let lower = |a: f64, b: f64| a < b || (a.is_nan() && !b.is_nan());
    let mut best = (0.0, values[0]);
    for (i, value) in values.iter().enumerate() {
        if lower(*value, best.1) {
            best = (place(i), *value);
        }
    }
    if best.1.is_nan() {
        return best;
    }
    best = refine(best, f);
    for (i, value) in values.iter().enumerate() {
        let beside = [i.checked_sub(1), Some(i + 1)].map(|j| values.get(j?).copied());
        let is_dip = beside.iter().flatten().all(|other| value <= other);
        // Between two places a function of this scale falls no farther than it does beside them.
        let fall = beside
            .iter()
            .flatten()
            .fold(0.0, |fall: f64, other| fall.max(other - value));
        if is_dip && value - fall < best.1 {
            let found = refine((place(i), *value), f);
            best = if found.1 < best.1 { found } else { best };
        }
    }
    best
}

/// The three best places so far and the last two steps.
struct Search {
    best: (f64, f64),
    second: (f64, f64),
    third: (f64, f64),
    step: f64,
    step_before: f64,
}

fn refine(coarse: (f64, f64), f: &impl Fn(f64) -> f64) -> (f64, f64) {
    let width = 1.0 / SCAN as f64;
    let (mut low, mut high) = ((coarse.0 - width).max(0.0), (coarse.0 + width).min(1.0));
    let (best, second, third) = (coarse, coarse, coarse);
    let mut search = Search {
        best,
        second,
        third,
        step: 0.0,
        step_before: 0.0,
    };
    for _ in 0..REFINE {
        let x = search.best.0;
        if (x - low).max(high - x) <= 2.0 * STEP {
            break;
        }
        let step = search.next(low, high);
        let t = x + if step.abs() >= STEP {
            step
        } else {
            STEP.copysign(step)
        };
        let t = t.clamp(0.0, 1.0);
        let value = f(t);
        if value <= search.best.1 {
            if t >= x { low = x } else { high = x }
        } else if t < x {
            low = t;
        } else {
            high = t;
        }
        search.add((t, value));
    }
    // Of equally low places the first, so that an end or a plateau is named by its own place.
    if search.best.1 < coarse.1 {
        search.best
    } else {
        coarse
    }
}

impl Search {
    /// The step to the least point of the parabola through the three best places; of golden
    /// section where that leaves the bracket or the steps do not shrink.
    fn next(&mut self, low: f64, high: f64) -> f64 {
        let (x, fx) = self.best;
        let r = (x - self.second.0) * (fx - self.third.1);
        let q = (x - self.third.0) * (fx - self.second.1);
        let p = (x - self.third.0) * q - (x - self.second.0) * r;
        let step = -p / (2.0 * (q - r));
        let inside = x + step > low + STEP && x + step < high - STEP;
        if self.step_before.abs() > STEP && inside && step.abs() < 0.5 * self.step_before.abs() {
            self.step_before = self.step;
            self.step = step;
        } else {
            self.step_before = if x < 0.5 * (low + high) {
                high - x
            } else {
                low - x
            };
            self.step = GOLDEN * self.step_before;
        }
        self.step
    }

    fn add(&mut self, new: (f64, f64)) {
        if new.1 <= self.best.1 {
            (self.third, self.second, self.best) = (self.second, self.best, new);
        } else if new.1 <= self.second.1 || self.second.0 == self.best.0 {
            (self.third, self.second) = (self.second, new);
        } else if new.1 <= self.third.1
            || self.third.0 == self.best.0
            || self.third.0 == self.second.0
        {
            self.third = new;
        }
    }
}

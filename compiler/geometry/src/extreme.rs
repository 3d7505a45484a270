//! The least value of a function of one parameter on [0, 1].
//!
//! Input: a function that is smooth on the scale of a sixteenth. Output: a parameter and the
//! value there. Nothing is known about the function beyond its values.

/// Steps of the scan before the refinement.
const SCAN: usize = 16;

/// Steps of golden section: the bracket of two scan steps shrinks to 3e-7, and a smooth minimum
/// is flat to 1e-13 of its size there.
const REFINE: usize = 27;

/// The golden section of a bracket.
const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// Value, no unit, from which on a scan without refinement is trusted to stay above a small
/// limit: between two places of the scan a smooth share does not lose half of all there is.
const AMPLE: f64 = 0.5;

/// Where the function is least, and the value there.
pub fn least(f: impl Fn(f64) -> f64) -> (f64, f64) {
    refine(scan(&f), &f)
}

/// A parameter where the function is below `limit` (or not a number), if there is one.
pub fn falls_below(limit: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let coarse = scan(&f);
    if coarse.1 >= AMPLE {
        return None;
    }
    let (t, value) = refine(coarse, &f);
    // Not `value < limit`: a value that is not a number falls below every limit.
    let holds = value >= limit;
    (!holds).then_some(t)
}

fn scan(f: &impl Fn(f64) -> f64) -> (f64, f64) {
    let mut best = (0.0, f(0.0));
    for i in 1..=SCAN {
        best = lower(best, i as f64 / SCAN as f64, f);
    }
    best
}

fn refine(coarse: (f64, f64), f: &impl Fn(f64) -> f64) -> (f64, f64) {
    let step = 1.0 / SCAN as f64;
    let (mut low, mut high) = ((coarse.0 - step).max(0.0), (coarse.0 + step).min(1.0));
    let mut best = coarse;
    let mut a = high - GOLDEN * (high - low);
    let mut b = low + GOLDEN * (high - low);
    let (mut at_a, mut at_b) = (f(a), f(b));
    for _ in 0..REFINE {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - GOLDEN * (high - low);
            at_a = f(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + GOLDEN * (high - low);
            at_b = f(b);
        }
    }
    for (t, value) in [(a, at_a), (b, at_b)] {
        if value < best.1 {
            best = (t, value);
        }
    }
    best
}

/// The lower of `best` and the value at `t`; a value that is not a number counts as lowest.
fn lower(best: (f64, f64), t: f64, f: &impl Fn(f64) -> f64) -> (f64, f64) {
    let value = f(t);
    if best.1 <= value || best.1.is_nan() {
        best
    } else {
        (t, value)
    }
}

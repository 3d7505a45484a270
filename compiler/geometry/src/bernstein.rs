//! Roots of polynomials in Bernstein form on the unit interval.
//!
//! Input: the Bernstein coefficients, degree six at most. Output: the roots in rising order.
//! Descartes' rule on the coefficients isolates each root by halving, and a bracketed Newton
//! iteration finishes it (R. T. Farouki, "The Bernstein polynomial basis: a centennial
//! retrospective", Computer Aided Geometric Design 29 (2012), section 5). No root of odd order is
//! missed; of a root of even order that rounding lifts off zero nothing is seen. Never allocates.

/// Width of the parameter interval below which a cluster of roots counts as one.
const CLUSTER: f64 = 1e-11;

/// The most roots kept: the highest degree is six, and both ends may be added by callers.
const MOST: usize = 8;

/// A short list of parameters in [0, 1].
#[derive(Debug, Clone, Copy, Default)]
pub struct Roots {
    values: [f64; MOST],
    count: usize,
}

impl Roots {
    /// A single value.
    pub fn one(t: f64) -> Self {
        let mut roots = Self::default();
        roots.push(t);
        roots
    }

    /// Adds a value; one more than fits, or one equal to the last, is left out.
    pub fn push(&mut self, t: f64) {
        let last = self.count.checked_sub(1).and_then(|i| self.values.get(i));
        if last == Some(&t) {
            return;
        }
        if let Some(slot) = self.values.get_mut(self.count) {
            *slot = t;
            self.count += 1;
        }
    }

    /// The values in the order they were added.
    pub fn iter(&self) -> impl Iterator<Item = f64> + '_ {
        self.values.iter().take(self.count).copied()
    }
}

/// The roots in [0, 1] of the polynomial with the given Bernstein coefficients. The zero
/// polynomial and coefficients that are not numbers have none.
pub fn roots<const N: usize>(coefficients: &[f64; N]) -> Roots {
    let mut found = Roots::default();
    if N < 2
        || coefficients.iter().any(|c| !c.is_finite())
        || coefficients.iter().all(|c| *c == 0.0)
    {
        return found;
    }
    if coefficients[0] == 0.0 {
        found.push(0.0);
    }
    isolate(coefficients, 0.0, 1.0, &mut found);
    if coefficients[N - 1] == 0.0 {
        found.push(1.0);
    }
    found
}

/// Roots strictly inside (`low`, `high`), where `c` are the coefficients on that interval.
fn isolate<const N: usize>(c: &[f64; N], low: f64, high: f64, found: &mut Roots) {
    match sign_changes(c) {
        0 => {}
        1 => found.push(low + (high - low) * bracketed(c)),
        _ if high - low < CLUSTER => found.push(0.5 * (low + high)),
        _ => {
            let (a, b) = halve(c);
            let middle = 0.5 * (low + high);
            isolate(&a, low, middle, found);
            if b[0] == 0.0 {
                found.push(middle);
            }
            isolate(&b, middle, high, found);
        }
    }
}

/// How often the coefficients change sign, zeros left out.
fn sign_changes<const N: usize>(c: &[f64; N]) -> usize {
    let mut changes = 0;
    let mut last = 0.0;
    for &value in c {
        if value != 0.0 {
            if last * value.signum() < 0.0 {
                changes += 1;
            }
            last = value.signum();
        }
    }
    changes
}

/// De Casteljau's halving: the coefficients on the two halves.
fn halve<const N: usize>(c: &[f64; N]) -> ([f64; N], [f64; N]) {
    let (mut a, mut b) = (*c, *c);
    for i in 1..N {
        for j in (i..N).rev() {
            a[j] = 0.5 * (a[j - 1] + a[j]);
        }
    }
    for i in 1..N {
        for j in 0..N - i {
            b[j] = 0.5 * (b[j] + b[j + 1]);
        }
    }
    (a, b)
}

/// The single root of a polynomial whose coefficients change sign once.
fn bracketed<const N: usize>(c: &[f64; N]) -> f64 {
    let before = c
        .iter()
        .copied()
        .find(|v| *v != 0.0)
        .unwrap_or(1.0)
        .signum();
    let (mut low, mut high) = (0.0, 1.0);
    // The coefficient polygon's own crossing is a good first guess.
    let mut t = c[0] / (c[0] - c[N - 1]);
    if !(t > 0.0 && t < 1.0) {
        t = 0.5;
    }
    for _ in 0..80 {
        let (value, slope) = value_and_slope(c, t);
        if value == 0.0 {
            break;
        }
        if value * before > 0.0 {
            low = t;
        } else {
            high = t;
        }
        let step = t - value / slope;
        let next = if step > low && step < high {
            step
        } else {
            0.5 * (low + high)
        };
        if (next - t).abs() <= f64::EPSILON * 0.25 || next <= low && next >= high {
            t = next;
            break;
        }
        t = next;
    }
    t
}

/// Value and derivative at `t`, by de Casteljau's scheme.
fn value_and_slope<const N: usize>(c: &[f64; N], t: f64) -> (f64, f64) {
    let mut b = *c;
    let u = 1.0 - t;
    for i in 1..N - 1 {
        for j in 0..N - i {
            b[j] = u * b[j] + t * b[j + 1];
        }
    }
    (u * b[0] + t * b[1], (N - 1) as f64 * (b[1] - b[0]))
}

//! What the tests share: short names, a must-succeed, random curves.

use proptest::prelude::*;
use tiewright_geometry::{Curve, Point};

pub fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

#[track_caller]
pub fn must<T, E: std::fmt::Debug>(result: Result<T, E>) -> T {
    match result {
        Ok(value) => value,
        Err(error) => panic!("{error:?}"),
    }
}

#[track_caller]
pub fn close(found: f64, expected: f64, tolerance: f64) {
    let off = (found - expected).abs();
    assert!(
        off <= tolerance,
        "{found} instead of {expected}: off by {off}, allowed {tolerance}"
    );
}

#[track_caller]
pub fn close_points(found: Point, expected: Point, tolerance: f64) {
    let off = found.distance(expected);
    assert!(
        off <= tolerance,
        "{found} instead of {expected}: off by {off}"
    );
}

/// A quarter circle round the origin from the x axis to the y axis, true to 2.8e-4 of `r`; its
/// ends and its middle lie on the circle.
pub fn quarter(r: f64) -> Curve {
    let k = 4.0 / 3.0 * (2.0_f64.sqrt() - 1.0) * r;
    must(Curve::cubic(p(r, 0.0), p(r, k), p(k, r), p(0.0, r)))
}

/// Points of a curve at `n` even steps of length, ends included.
pub fn along(curve: &Curve, n: usize) -> Vec<Point> {
    let length = curve.length();
    let at = |i: usize| curve.place_at_length(length * i as f64 / n as f64);
    (0..=n)
        .filter_map(at)
        .map(|place| curve.eval(place))
        .collect()
}

/// A taper as ties have: half widths in mm over a run, level at its narrow end.
pub fn tapers() -> impl Strategy<Value = Curve> {
    (
        20.0..60.0_f64,
        10.0..19.0_f64,
        150.0..900.0_f64,
        0.0..0.7_f64,
    )
        .prop_map(|(wide, narrow, run, lead)| {
            let second = wide - lead * (wide - narrow);
            let control = [
                p(0.0, wide),
                p(run / 3.0, second),
                p(run / 1.5, narrow),
                p(run, narrow),
            ];
            must(Curve::cubic(control[0], control[1], control[2], control[3]))
        })
}

/// Any cubic within a metre.
pub fn cubics() -> impl Strategy<Value = Curve> {
    let point = || (-500.0..500.0_f64, -500.0..500.0_f64).prop_map(|(x, y)| p(x, y));
    (point(), point(), point(), point())
        .prop_filter_map("has length", |(a, b, c, d)| Curve::cubic(a, b, c, d).ok())
}

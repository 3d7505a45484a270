//! Curves against closed forms and under motions that keep length.

use crate::common::{along, close, close_points, cubics, must, p, quarter};
use proptest::prelude::*;
use tiewright_geometry::{Affine, Curve, GeometryError, PathSeg, Place, Point, Vec2};

#[test]
fn a_circle_like_cubic_has_its_length_curvature_and_extent() {
    for r in [0.5, 10.0, 300.0, 5000.0] {
        let arc = quarter(r);
        close(arc.length(), r * std::f64::consts::FRAC_PI_2, 3e-4 * r);
        let middle = arc.place_at_length(arc.length() / 2.0).expect("on the arc");
        close(middle.t, 0.5, 1e-9);
        close(arc.curvature(middle) * r, 1.0, 0.01);
        close(arc.bounds().x1, r, 1e-12 * r);
        close_points(
            arc.eval(middle),
            p(
                r * std::f64::consts::FRAC_1_SQRT_2,
                r * std::f64::consts::FRAC_1_SQRT_2,
            ),
            3e-4 * r,
        );
        let (place, d) = arc.nearest(p(2.0 * r, 2.0 * r));
        close(place.t, 0.5, 1e-9);
        close(
            d,
            2.0 * r * 2.0_f64.sqrt() - arc.eval(middle).to_vec2().length(),
            1e-9 * r,
        );
    }
}

/// The parabola y = x² has the length (2√5 + asinh 2)/4 from 0 to 1.
#[test]
fn a_parabola_has_the_length_of_its_closed_form() {
    for scale in [1.0, 50.0, 2000.0] {
        let at = |x: f64, y: f64| p(x * scale, y * scale);
        let curve = must(Curve::from_segments(vec![PathSeg::Quad(kurbo_quad(
            at(0.0, 0.0),
            at(0.5, 0.0),
            at(1.0, 1.0),
        ))]));
        let expected = (2.0 * 5.0_f64.sqrt() + 2.0_f64.asinh()) / 4.0 * scale;
        close(curve.length(), expected, 1e-7);
        for f in [0.1, 0.37, 0.5, 0.9] {
            let place = curve.place_at_length(f * expected).expect("on the curve");
            close(curve.length_to(place), f * expected, 1e-8);
        }
    }
}

fn kurbo_quad(a: Point, b: Point, c: Point) -> kurbo::QuadBez {
    kurbo::QuadBez::new(a, b, c)
}

#[test]
fn vertical_crossings_include_ends_and_joints_once() {
    let level = must(Curve::line(p(0.0, 0.0), p(10.0, 0.0)));
    let rise = must(Curve::line(p(10.0, 0.0), p(10.0, 5.0)));
    let back = must(Curve::line(p(10.0, 5.0), p(0.0, 5.0)));
    let curve = must(Curve::chain(&[level, rise, back]));
    let points = |x: f64| -> Vec<Point> {
        curve
            .places_at_x(x)
            .iter()
            .map(|place| curve.eval(*place))
            .collect()
    };
    assert_eq!(points(0.0), [p(0.0, 0.0), p(0.0, 5.0)]);
    assert_eq!(points(4.0), [p(4.0, 0.0), p(4.0, 5.0)]);
    assert_eq!(points(10.0), [p(10.0, 0.0), p(10.0, 5.0)]);
    assert_eq!(points(10.1), []);
}

#[test]
fn corners_are_turns_above_a_milliradian() {
    let bend = |angle: f64| {
        let first = must(Curve::line(p(0.0, 0.0), p(10.0, 0.0)));
        let second = must(Curve::line(
            p(10.0, 0.0),
            p(10.0 + 10.0 * angle.cos(), 10.0 * angle.sin()),
        ));
        must(Curve::chain(&[first, second])).corners()
    };
    assert_eq!(bend(0.0009), []);
    assert_eq!(bend(0.0011), [Place { seg: 0, t: 1.0 }]);
    assert_eq!(bend(-1.0), [Place { seg: 0, t: 1.0 }]);
}

#[test]
fn tangents_survive_handles_on_the_ends() {
    let curve = must(Curve::cubic(
        p(0.0, 0.0),
        p(0.0, 0.0),
        p(10.0, 10.0),
        p(10.0, 0.0),
    ));
    let diagonal = Vec2::new(1.0, 1.0) / 2.0_f64.sqrt();
    assert!((curve.start_tangent() - diagonal).length() < 1e-12);
    assert!((curve.end_tangent() - Vec2::new(0.0, -1.0)).length() < 1e-12);
    let both = must(Curve::cubic(
        p(0.0, 0.0),
        p(0.0, 0.0),
        p(10.0, 0.0),
        p(10.0, 0.0),
    ));
    assert!(both.is_straight());
}

#[test]
fn running_on_lengthens_a_straight_end_in_place() {
    let curve = must(Curve::line(p(0.0, 0.0), p(10.0, 0.0)));
    let longer = curve.extended(5.0, 7.0);
    assert_eq!(longer.segments().len(), 1);
    assert_eq!((longer.start(), longer.end()), (p(-5.0, 0.0), p(17.0, 0.0)));
    let arc = quarter(10.0).extended(3.0, 4.0);
    assert_eq!(arc.segments().len(), 3);
    close_points(arc.start(), p(10.0, -3.0), 1e-12);
    close_points(arc.end(), p(-4.0, 10.0), 1e-12);
}

#[test]
fn what_is_not_a_curve_is_refused() {
    let nan = p(f64::NAN, 0.0);
    let far = p(1e300, 0.0);
    assert_eq!(
        Curve::line(p(0.0, 0.0), nan),
        Err(GeometryError::OutOfRange)
    );
    assert_eq!(
        Curve::line(p(0.0, 0.0), far),
        Err(GeometryError::OutOfRange)
    );
    assert_eq!(
        Curve::line(p(1.0, 1.0), p(1.0, 1.0)),
        Err(GeometryError::NoLength)
    );
    assert_eq!(
        Curve::from_segments(Vec::new()),
        Err(GeometryError::NoLength)
    );
    let (a, b) = (
        must(Curve::line(p(0.0, 0.0), p(1.0, 0.0))),
        must(Curve::line(p(1.1, 0.0), p(2.0, 0.0))),
    );
    let gap = GeometryError::Gap {
        end: p(1.0, 0.0),
        start: p(1.1, 0.0),
    };
    assert_eq!(Curve::chain(&[a.clone(), b]), Err(gap));
    assert_eq!(
        a.sub(a.end_place(), a.start_place()),
        Err(GeometryError::EmptyStretch)
    );
    assert_eq!(
        gap.to_string(),
        "the parts do not meet: one ends at (1.00, 0.00), the next starts at (1.10, 0.00)"
    );
}

proptest! {
    #[test]
    fn moving_and_reversing_keep_the_length(curve in cubics(), angle in -3.0..3.0_f64, dx in -500.0..500.0_f64) {
        let whole = curve.length();
        let moved = curve.transformed(Affine::translate((dx, -dx)) * Affine::rotate(angle));
        prop_assert!((moved.length() - whole).abs() < 1e-6);
        prop_assert!((curve.transformed(Affine::FLIP_X).length() - whole).abs() < 1e-6);
        prop_assert!((curve.reversed().length() - whole).abs() < 1e-6);
        prop_assert_eq!(curve.reversed().reversed(), curve);
    }

    #[test]
    fn cutting_and_chaining_keep_length_and_points(curve in cubics(), f in 0.05..0.95_f64) {
        let whole = curve.length();
        let place = curve.place_at_length(f * whole).expect("on the curve");
        let first = must(curve.sub(curve.start_place(), place));
        let second = must(curve.sub(place, curve.end_place()));
        prop_assert!((first.length() - f * whole).abs() < 1e-6);
        let joined = must(Curve::chain(&[first, second]));
        prop_assert!((joined.length() - whole).abs() < 1e-6);
        for (a, b) in along(&curve, 20).into_iter().zip(along(&joined, 20)) {
            prop_assert!(a.distance(b) < 1e-5);
        }
    }

    #[test]
    fn nothing_sampled_is_nearer_than_the_nearest(curve in cubics(), x in -800.0..800.0_f64, y in -800.0..800.0_f64) {
        let (place, d) = curve.nearest(p(x, y));
        prop_assert!((curve.eval(place).distance(p(x, y)) - d).abs() < 1e-9);
        for i in 0..=500 {
            let sample = curve.eval(Place { seg: 0, t: f64::from(i) / 500.0 });
            prop_assert!(sample.distance(p(x, y)) >= d - 1e-9);
        }
    }

    #[test]
    fn every_sampled_vertical_crossing_is_found(curve in cubics(), x in -500.0..500.0_f64) {
        let found = curve.places_at_x(x);
        for place in &found {
            prop_assert!((curve.eval(*place).x - x).abs() < 2e-6);
        }
        let sides: Vec<bool> = (0..=400).map(|i| curve.eval(Place { seg: 0, t: f64::from(i) / 400.0 }).x > x).collect();
        let changes = sides.windows(2).filter(|pair| pair[0] != pair[1]).count();
        prop_assert!(found.len() >= changes);
    }
}

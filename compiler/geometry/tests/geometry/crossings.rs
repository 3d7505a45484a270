//! Crossings against closed forms and against an outside library.

use crate::common::{close_points, cubics, must, p, quarter};
use lyon_geom::CubicBezierSegment;
use proptest::prelude::*;
use tiewright_geometry::{Affine, Curve, GeometryError, Line, PathSeg, Point, Track, meet};

fn points(a: impl Into<Track>, b: impl Into<Track>) -> Vec<Point> {
    must(meet(&a.into(), &b.into()))
        .iter()
        .map(|m| m.point)
        .collect()
}

#[test]
fn lines_cross_once_or_never() {
    let a = Line::at_angle(p(0.0, 0.0), 0.3);
    assert_eq!(points(a, a.offset(1.0)), []);
    assert_eq!(points(a, Line::at_angle(p(5.0, 0.0), 0.3 + 1e-3)).len(), 1);
    let overlap = meet(&a.into(), &a.reversed().into());
    assert!(
        matches!(overlap, Err(GeometryError::Overlap { .. })),
        "{overlap:?}"
    );
}

#[test]
fn a_line_touches_a_curve_once() {
    let arc = quarter(100.0);
    let top = Line::at_angle(p(-50.0, 100.0), 0.0);
    let found = points(arc.clone(), top);
    assert_eq!(found.len(), 1);
    close_points(found[0], p(0.0, 100.0), 1e-6);
    let bump = must(Curve::cubic(
        p(-90.0, 0.0),
        p(-30.0, 40.0),
        p(30.0, 40.0),
        p(90.0, 0.0),
    ));
    let summit = Line::at_angle(p(-70.0, 30.0), 0.0);
    let found = points(summit, bump);
    assert_eq!(found.len(), 1);
    close_points(found[0], p(0.0, 30.0), 1e-3);
}

#[test]
fn curves_that_share_an_end_meet_there_once() {
    let arc = quarter(100.0);
    let turn = Affine::rotate(std::f64::consts::FRAC_PI_2);
    // The arc continued smoothly, mirrored back in a cusp, and turned off at a corner.
    for other in [
        turn,
        Affine::FLIP_X,
        Affine::translate((0.0, 100.0)) * Affine::rotate(-2.0) * Affine::translate((0.0, -100.0)),
    ] {
        let found = points(arc.clone(), arc.transformed(other));
        assert_eq!(found.len(), 1, "{found:?}");
        close_points(found[0], p(0.0, 100.0), 1e-5);
    }
}

#[test]
fn curves_that_touch_inside_meet_once() {
    let arc = |r: f64| quarter(r).transformed(Affine::rotate(std::f64::consts::FRAC_PI_4));
    let small = arc(50.0).transformed(Affine::translate((0.0, 50.0)));
    let found = points(arc(100.0), small.clone());
    assert_eq!(found.len(), 1, "{found:?}");
    close_points(found[0], p(0.0, 100.0), 0.02);
    assert_eq!(
        points(
            arc(100.0),
            small.transformed(Affine::translate((0.0, 0.01)))
        )
        .len(),
        2
    );
}

#[test]
fn common_stretches_are_reported_as_such() {
    let curve = must(Curve::cubic(
        p(0.0, 0.0),
        p(100.0, 80.0),
        p(200.0, -80.0),
        p(300.0, 0.0),
    ));
    let place = |f: f64| {
        curve
            .place_at_length(f * curve.length())
            .expect("on the curve")
    };
    let first = must(curve.sub(curve.start_place(), place(0.6)));
    let last = must(curve.sub(place(0.4), curve.end_place()));
    for (a, b) in [(&curve, &curve), (&curve, &first), (&first, &last)] {
        for b in [b.clone(), b.reversed()] {
            let found = meet(&a.clone().into(), &b.into());
            assert!(
                matches!(found, Err(GeometryError::Overlap { .. })),
                "{found:?}"
            );
        }
    }
    let lines = [(0.0, 10.0, 5.0, 20.0), (0.0, 10.0, 20.0, -5.0)];
    for (a, b, c, d) in lines {
        let first = must(Curve::line(p(a, 1.0), p(b, 1.0)));
        let second = must(Curve::line(p(c, 1.0), p(d, 1.0)));
        assert!(meet(&first.into(), &second.into()).is_err());
    }
    let end_to_end =
        [(0.0, 10.0), (10.0, 20.0)].map(|(a, b)| must(Curve::line(p(a, 1.0), p(b, 1.0))));
    assert_eq!(
        points(end_to_end[0].clone(), end_to_end[1].clone()),
        [p(10.0, 1.0)]
    );
}

#[test]
fn near_parallels_neither_meet_nor_take_for_ever() {
    let curve = must(Curve::cubic(
        p(0.0, 0.0),
        p(100.0, 80.0),
        p(200.0, -80.0),
        p(300.0, 0.0),
    ));
    for gap in [1.0, 1e-2, 1e-4] {
        let beside = must(tiewright_geometry::offset(&curve, gap));
        // The fit itself may be off by five thousandths, so a smaller gap may be crossed.
        let found = meet(&curve.clone().into(), &beside.into());
        if gap > 0.005 {
            assert_eq!(must(found).len(), 0);
        }
    }
}

#[test]
fn a_figure_of_eight_passes_its_crossing_twice() {
    let loop_ = must(Curve::cubic(
        p(0.0, 0.0),
        p(200.0, 150.0),
        p(-100.0, 150.0),
        p(100.0, 0.0),
    ));
    let across = Line::at_angle(p(50.0, 0.0), std::f64::consts::FRAC_PI_2);
    let found = must(meet(&loop_.into(), &across.into()));
    assert_eq!(found.len(), 3);
    close_points(found[0].point, found[2].point, 1e-6);
}

fn as_lyon(curve: &Curve) -> Option<CubicBezierSegment<f64>> {
    let PathSeg::Cubic(c) = curve.segments().first()? else {
        return None;
    };
    let at = |p: Point| lyon_geom::point(p.x, p.y);
    Some(CubicBezierSegment {
        from: at(c.p0),
        ctrl1: at(c.p1),
        ctrl2: at(c.p2),
        to: at(c.p3),
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn cubics_cross_where_an_outside_library_says(a in cubics(), b in cubics()) {
        let found = must(meet(&a.clone().into(), &b.clone().into()));
        for m in &found {
            let (s, t) = (m.on_a.place().expect("on a"), m.on_b.place().expect("on b"));
            prop_assert!(a.eval(s).distance(m.point) <= 1e-6);
            prop_assert!(b.eval(t).distance(m.point) <= 1e-6);
        }
        if let (Some(la), Some(lb)) = (as_lyon(&a), as_lyon(&b)) {
            let theirs = la.cubic_intersections(&lb);
            prop_assert_eq!(theirs.len(), found.len());
            for q in &theirs {
                prop_assert!(found.iter().any(|m| m.point.distance(p(q.x, q.y)) < 1e-3));
            }
        }
    }

    #[test]
    fn crossings_do_not_depend_on_order_or_direction(a in cubics(), b in cubics()) {
        let one = points(a.clone(), b.clone());
        for other in [points(b.clone(), a.clone()), points(a.reversed(), b.clone()), points(a, b.reversed())] {
            prop_assert_eq!(one.len(), other.len());
            for q in other {
                prop_assert!(one.iter().any(|r| r.distance(q) < 1e-6));
            }
        }
    }

    #[test]
    fn a_line_crosses_a_cubic_where_it_changes_sides(a in cubics(), angle in 0.0..3.1_f64, y in -300.0..300.0_f64) {
        let line = Line::at_angle(p(0.0, y), angle);
        let found = must(meet(&a.clone().into(), &line.into()));
        for m in &found {
            prop_assert!(line.side(m.point).abs() < 1e-9);
            prop_assert!(line.at(m.on_b.along().expect("on the line")).distance(m.point) < 1e-9);
        }
        let differ = line.side(a.start()) * line.side(a.end()) < 0.0;
        prop_assert_eq!(found.len() % 2 == 1, differ);
    }
}

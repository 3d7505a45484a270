//! Outlines: closing edges, measures, parts.

use std::sync::Arc;

use proptest::prelude::*;
use tiewright_geometry::{
    Affine, Curve, Edge, Line, Point, Ring, RingError, Track, Vec2, clearance, gap,
};

use crate::common::{along, close, close_points, must, p, quarter, tapers};

fn named(name: &str, track: impl Into<Track>) -> (Arc<str>, Track) {
    (Arc::from(name), track.into())
}

fn names(ring: &Ring) -> Vec<&str> {
    ring.edges().iter().map(|edge| &*edge.name).collect()
}

/// A polygon with edges named a, b, c, ... in the order given.
pub fn polygon(corners: &[Point]) -> Result<Ring, RingError> {
    let next = corners.iter().cycle().skip(1);
    let edges = corners
        .iter()
        .zip(next)
        .zip('a'..)
        .map(|((from, to), name)| Edge {
            name: Arc::from(name.to_string()),
            curve: must(Curve::line(*from, *to)),
        });
    Ring::from_edges(edges.collect())
}

fn square(side: f64) -> Ring {
    must(polygon(&[
        p(0.0, 0.0),
        p(0.0, side),
        p(side, side),
        p(side, 0.0),
    ]))
}

/// A circle of four arcs.
fn circle(r: f64) -> Ring {
    let turn = |k: usize| Affine::rotate(-std::f64::consts::FRAC_PI_2 * k as f64);
    let arc = |k: usize| Edge {
        name: Arc::from("arc"),
        curve: quarter(r).reversed().transformed(turn(k)),
    };
    must(Ring::from_edges((0..4).map(arc).collect()))
}

/// A tie's end: a taper above and below, a point of two lines, a straight end.
fn tie_end(taper: &Curve) -> Result<Ring, RingError> {
    let x = taper.end().x - 20.0;
    Ring::from_tracks(vec![
        named("upper-point", Line::at_angle(p(-80.0, 0.0), 0.8)),
        named("upper", taper.clone()),
        named("join", Line::at_angle(p(x, 0.0), 0.9)),
        named("lower", taper.transformed(Affine::FLIP_Y)),
        named("lower-point", Line::at_angle(p(-80.0, 0.0), -0.8)),
    ])
}

#[test]
fn a_circle_has_its_area_perimeter_and_centre() {
    for r in [1.0, 50.0, 2000.0] {
        let ring = circle(r).transformed(Affine::translate((300.0, -40.0)));
        close(ring.area() / (std::f64::consts::PI * r * r), 1.0, 4e-4);
        close(ring.perimeter() / (std::f64::consts::TAU * r), 1.0, 2e-4);
        close_points(ring.centroid(), p(300.0, -40.0), 1e-9 * r.max(100.0));
        close(ring.bounds().width(), 2.0 * r, 1e-9 * r);
        close(ring.signed_distance(p(300.0, -40.0)), r, 1e-6 * r);
        close(
            ring.signed_distance(p(300.0 + 3.0 * r, -40.0)),
            -2.0 * r,
            1e-6 * r,
        );
    }
}

#[test]
fn outlines_are_walked_clockwise_whichever_way_they_are_given() {
    let clockwise = square(10.0);
    let other = must(polygon(&[
        p(0.0, 0.0),
        p(10.0, 0.0),
        p(10.0, 10.0),
        p(0.0, 10.0),
    ]));
    for ring in [&clockwise, &other, &clockwise.transformed(Affine::FLIP_X)] {
        let first = &ring.edges()[0].curve;
        let outside = first.eval(first.start_place())
            + Vec2::new(-first.start_tangent().y, first.start_tangent().x);
        assert!(ring.signed_distance(outside) < 0.0);
        close(ring.area(), 100.0, 1e-12);
    }
    assert_eq!(names(&other), ["a", "d", "c", "b"]);
}

#[test]
fn flattening_keeps_its_tolerance() {
    for r in [3.0, 50.0, 1000.0] {
        for tol in [1.0, 0.1, 0.01, 0.001] {
            let points = circle(r).flatten(tol);
            let next = points.iter().cycle().skip(1);
            for (a, b) in points.iter().zip(next) {
                assert!(a.distance(*b) > 1e-6);
                let side = must(Curve::line(*a, *b));
                for point in along(&side, 8) {
                    assert!(circle(r).signed_distance(point).abs() <= tol);
                }
            }
            // The fewest sides a circle needs at this tolerance, and half as many more.
            let fewest = std::f64::consts::PI / (1.0 - (tol / r).min(0.5)).acos();
            assert!(
                (points.len() as f64) < 1.5 * fewest + 8.0,
                "{} of {fewest}",
                points.len()
            );
        }
    }
    assert_eq!(
        square(10.0).flatten(0.1),
        [p(0.0, 0.0), p(0.0, 10.0), p(10.0, 10.0), p(10.0, 0.0)]
    );
    assert_eq!(square(10.0).flatten(f64::NAN).len(), 4);
}

#[test]
fn edges_too_long_and_too_short_meet_at_their_corners() {
    let short = must(Curve::line(p(3.0, 10.0), p(4.0, 10.0)));
    let long = must(Curve::line(p(50.0, 0.0), p(-50.0, 0.0)));
    let ring = must(Ring::from_tracks(vec![
        named(
            "left",
            Line::at_angle(p(0.0, 7.0), std::f64::consts::FRAC_PI_2),
        ),
        named("top", short),
        named(
            "right",
            Line::at_angle(p(10.0, 7.0), std::f64::consts::FRAC_PI_2),
        ),
        named("bottom", long),
    ]));
    close(ring.area(), 100.0, 1e-9);
    assert_eq!(names(&ring), ["left", "top", "right", "bottom"]);
}

#[test]
fn of_two_crossings_the_one_that_trims_least_is_taken() {
    // The arch crosses the sill twice; each end of the arch belongs to the crossing near it.
    let arch = must(Curve::cubic(
        p(-50.0, -10.0),
        p(-50.0, 60.0),
        p(50.0, 60.0),
        p(50.0, -10.0),
    ));
    let ring = must(Ring::from_tracks(vec![
        named("arch", arch.clone()),
        named("sill", Line::at_angle(p(0.0, 0.0), 0.0)),
    ]));
    let kept = &ring.edges()[0].curve;
    assert!(kept.length() > arch.length() - 25.0);
    close(kept.start().y, 0.0, 1e-9);
    close(kept.end().y, 0.0, 1e-9);
}

#[test]
fn an_edge_that_runs_on_into_the_next_is_kept_whole() {
    let taper = must(Curve::cubic(
        p(0.0, 40.0),
        p(200.0, 30.0),
        p(400.0, 16.0),
        p(600.0, 16.0),
    ));
    let ring = must(Ring::from_tracks(vec![
        named(
            "front",
            Line::at_angle(p(0.0, 0.0), std::f64::consts::FRAC_PI_2),
        ),
        named("taper", taper.clone()),
        named("neck", Line::at_angle(p(0.0, 16.0), 0.0)),
        named(
            "end",
            Line::at_angle(p(900.0, 0.0), std::f64::consts::FRAC_PI_2),
        ),
        named("centre", Line::at_angle(p(0.0, 0.0), 0.0)),
    ]));
    close_points(ring.edges()[1].curve.end(), p(600.0, 16.0), 1e-6);
    close(ring.edges()[2].curve.length(), 300.0, 1e-6);
}

#[test]
fn outlines_that_cannot_be_made_say_why() {
    let line = |x: f64, y: f64, angle: f64| Line::at_angle(p(x, y), angle);
    assert_eq!(
        Ring::from_tracks(vec![named("a", line(0.0, 0.0, 0.0))]),
        Err(RingError::TooFewEdges { edges: 1 })
    );
    let parallel = vec![
        named("a", line(0.0, 0.0, 0.0)),
        named("b", line(0.0, 5.0, 0.0)),
        named("c", line(0.0, 0.0, 1.0)),
    ];
    assert_eq!(
        Ring::from_tracks(parallel),
        Err(RingError::NoMeeting { a: 0, b: 1 })
    );
    let touching = must(Curve::line(p(0.0, 0.0), p(10.0, 0.0)));
    let swallowed = vec![
        named("a", line(-1.0, 0.0, std::f64::consts::FRAC_PI_2)),
        named("b", touching),
        named("c", line(-1.0, 0.0, std::f64::consts::FRAC_PI_2)),
    ];
    assert!(Ring::from_tracks(swallowed).is_err());
    let bow = polygon(&[p(0.0, 0.0), p(10.0, 10.0), p(10.0, 0.0), p(0.0, 10.0)]);
    assert_eq!(
        bow,
        Err(RingError::CrossesItself {
            at: p(5.0, 5.0),
            a: 0,
            b: 2
        })
    );
    let gap = vec![
        Edge {
            name: Arc::from("a"),
            curve: must(Curve::line(p(0.0, 0.0), p(1.0, 0.0))),
        },
        Edge {
            name: Arc::from("b"),
            curve: must(Curve::line(p(1.0, 1.0), p(0.0, 0.0))),
        },
    ];
    assert_eq!(
        Ring::from_edges(gap),
        Err(RingError::NoMeeting { a: 0, b: 1 })
    );
    let knot = must(Curve::cubic(
        p(0.0, 0.0),
        p(200.0, 150.0),
        p(-100.0, 150.0),
        p(100.0, 0.0),
    ));
    let looped = Ring::from_tracks(vec![
        named("knot", knot),
        named("base", line(0.0, 0.0, 0.0)),
    ]);
    assert!(
        matches!(looped, Err(RingError::CrossesItself { a: 0, b: 0, .. })),
        "{looped:?}"
    );
    let there_and_back = polygon(&[p(0.0, 0.0), p(10.0, 0.0)]);
    assert!(matches!(
        there_and_back,
        Err(RingError::CrossesItself { a: 0, b: 1, .. })
    ));
}

#[test]
fn a_cut_keeps_names_and_one_side() {
    let ring = square(10.0);
    let across = Line::at_angle(p(0.0, 4.0), 0.0);
    let above = must(ring.cut_along(&across, p(5.0, 9.0), Arc::from("cut")));
    close(above.area(), 60.0, 1e-12);
    let mut kept = names(&above);
    kept.sort_unstable();
    assert_eq!(kept, ["a", "b", "c", "cut"]);
    let miss = ring.cut_along(
        &Line::at_angle(p(0.0, 40.0), 0.0),
        p(5.0, 9.0),
        Arc::from("cut"),
    );
    assert_eq!(miss, Err(RingError::NotDivided));
    let side = ring.cut_along(
        &Line::at_angle(p(0.0, 10.0), 0.0),
        p(5.0, 9.0),
        Arc::from("cut"),
    );
    assert_eq!(side, Err(RingError::NotDivided));
    let corner = ring.cut_along(
        &Line::at_angle(p(10.0, 10.0), -0.7),
        p(5.0, 5.0),
        Arc::from("cut"),
    );
    assert_eq!(corner, Err(RingError::NotDivided));
    let diagonal = Line::through(p(0.0, 0.0), p(10.0, 10.0)).expect("two points");
    let half = must(ring.cut_along(&diagonal, p(1.0, 9.0), Arc::from("cut")));
    close(half.area(), 50.0, 1e-12);
    assert_eq!(half.edges().len(), 3);
    let on = ring.cut_along(&diagonal, p(5.0, 5.0), Arc::from("cut"));
    assert_eq!(on, Err(RingError::NotDivided));
}

/// A comb of two teeth, pointing up.
fn comb() -> Ring {
    let corners = [
        (0.0, 0.0),
        (0.0, 10.0),
        (3.0, 10.0),
        (3.0, 2.0),
        (7.0, 2.0),
        (7.0, 10.0),
        (10.0, 10.0),
        (10.0, 0.0),
    ];
    must(polygon(&corners.map(|(x, y)| p(x, y))))
}

#[test]
fn a_cut_that_leaves_many_parts_says_how_many() {
    let level = Line::at_angle(p(0.0, 6.0), 0.0);
    let teeth = comb().cut_along(&level, p(1.0, 9.0), Arc::from("cut"));
    assert_eq!(teeth, Err(RingError::ManyParts { parts: 2 }));
    let below = comb().cut_along(&level, p(1.0, 1.0), Arc::from("cut"));
    assert_eq!(below, Err(RingError::NotDivided).or(below.clone()));
    let slope = Line::through(p(0.0, 9.0), p(3.0, 9.0)).expect("two points");
    assert!(
        comb()
            .cut_along(
                &slope.transformed(Affine::translate((0.0, -8.0))),
                p(1.0, 0.5),
                Arc::from("cut")
            )
            .is_ok()
    );
}

#[test]
fn clipping_keeps_the_parts_inside_in_order() {
    let level = must(Curve::line(p(-5.0, 5.0), p(15.0, 5.0)));
    let parts = comb().clip(&level);
    let ends: Vec<(Point, Point)> = parts
        .iter()
        .map(|part| (part.start(), part.end()))
        .collect();
    assert_eq!(
        ends,
        [(p(0.0, 5.0), p(3.0, 5.0)), (p(7.0, 5.0), p(10.0, 5.0))]
    );
    let floor = must(Curve::line(p(-5.0, 0.0), p(15.0, 0.0)));
    assert_eq!(comb().clip(&floor).len(), 1);
    close(comb().clip(&floor)[0].length(), 10.0, 1e-9);
    let outside = must(Curve::line(p(-5.0, -1.0), p(15.0, -1.0)));
    assert_eq!(comb().clip(&outside), []);
    let inside = must(Curve::cubic(
        p(1.0, 1.0),
        p(4.0, 0.2),
        p(6.0, 1.8),
        p(9.0, 1.0),
    ));
    assert_eq!(comb().clip(&inside), [inside]);
}

#[test]
fn a_chord_is_the_stretch_round_the_point() {
    let east = Vec2::new(3.0, 0.0);
    assert_eq!(
        comb().chord(p(1.0, 5.0), east),
        Some((p(0.0, 5.0), p(3.0, 5.0)))
    );
    assert_eq!(
        comb().chord(p(8.0, 5.0), -east),
        Some((p(10.0, 5.0), p(7.0, 5.0)))
    );
    assert_eq!(comb().chord(p(5.0, 5.0), east), None);
    assert_eq!(
        comb().chord(p(1.0, 2.0), east).map(|chord| chord.1),
        Some(p(10.0, 2.0))
    );
    assert_eq!(comb().chord(p(1.0, 5.0), Vec2::ZERO), None);
}

#[test]
fn clearance_is_signed() {
    let outer = square(100.0);
    let inner = |x: f64, y: f64| square(20.0).transformed(Affine::translate((x, y)));
    close(clearance(&inner(10.0, 30.0), &outer), 10.0, 1e-4);
    close(clearance(&inner(-5.0, 30.0), &outer), -5.0, 1e-4);
    close(clearance(&inner(130.0, 30.0), &outer), -50.0, 1e-4);
    close(clearance(&outer, &outer), 0.0, 1e-9);
    close(clearance(&circle(30.0), &circle(50.0)), 20.0, 0.02);
    // The corner of the step digs into the middle of the inner side.
    let step = must(polygon(&[
        p(0.0, 0.0),
        p(0.0, 50.0),
        p(47.3, 50.0),
        p(47.3, 30.0),
        p(100.0, 30.0),
        p(100.0, 0.0),
    ]));
    let wedge = must(polygon(&[p(1.0, 1.0), p(1.0, 49.0), p(90.0, 1.0)]));
    let corner = Line::through(p(1.0, 49.0), p(90.0, 1.0)).expect("two points");
    let expected = corner.side(p(47.3, 30.0)).abs();
    assert!(expected > 0.5);
    close(clearance(&wedge, &step), expected.min(1.0), 1e-4);
}

#[test]
fn gaps_are_least_and_greatest() {
    let base = must(Curve::line(p(0.0, 0.0), p(100.0, 0.0)));
    let rising = must(Curve::line(p(0.0, 5.0), p(100.0, 25.0)));
    let found = gap(&rising, &base);
    close(found.0, 5.0, 1e-9);
    close(found.1, 25.0, 1e-9);
    let across = must(Curve::line(p(50.0, -1.0), p(50.0, 30.0)));
    assert_eq!(gap(&across, &base).0, 0.0);
    let arch = must(Curve::cubic(
        p(0.0, 10.0),
        p(30.0, 50.0),
        p(70.0, 50.0),
        p(100.0, 10.0),
    ));
    close(gap(&arch, &base).1, 40.0, 1e-6);
    close(gap(&base, &rising).0, 5.0, 1e-9);
}

proptest! {
    #[test]
    fn motions_keep_area_perimeter_and_names(taper in tapers(), angle in -3.0..3.0_f64, dx in -900.0..900.0_f64) {
        let ring = must(tie_end(&taper));
        let motion = Affine::translate((dx, 17.0)) * Affine::rotate(angle);
        for map in [motion, motion * Affine::FLIP_Y] {
            let moved = ring.transformed(map);
            prop_assert!((moved.area() - ring.area()).abs() < 1e-6);
            prop_assert!((moved.perimeter() - ring.perimeter()).abs() < 1e-6);
            prop_assert!(moved.centroid().distance(map * ring.centroid()) < 1e-6);
            prop_assert_eq!(moved.edges()[0].name.clone(), ring.edges()[0].name.clone());
        }
    }

    #[test]
    fn the_two_sides_of_a_cut_make_the_whole(taper in tapers(), x in 0.15..0.8_f64, angle in 0.4..2.7_f64) {
        let ring = must(tie_end(&taper));
        let line = Line::at_angle(p(x * taper.end().x, 0.0), angle);
        let sides = [line.offset(1.0).point, line.offset(-1.0).point];
        let [left, right] = sides.map(|keep| ring.cut_along(&line, keep, Arc::from("cut")));
        prop_assume!(left.is_ok() && right.is_ok());
        let (left, right) = (must(left), must(right));
        prop_assert!((left.area() + right.area() - ring.area()).abs() < 1e-6);
        let seam = must(left.edge("cut").map(|edge| edge.curve.length()).ok_or("no cut"));
        prop_assert!((left.perimeter() + right.perimeter() - 2.0 * seam - ring.perimeter()).abs() < 1e-5);
        prop_assert!((must(right.edge("cut").map(|edge| edge.curve.length()).ok_or("no cut")) - seam).abs() < 1e-9);
    }

    #[test]
    fn the_order_of_a_walk_does_not_matter(taper in tapers(), shift in 0usize..5) {
        let ring = must(tie_end(&taper));
        let mut tracks: Vec<_> = ring.edges().iter().map(|e| (e.name.clone(), Track::Curve(e.curve.clone()))).collect();
        tracks.rotate_left(shift);
        let turned = must(Ring::from_tracks(tracks.clone()));
        prop_assert!((turned.area() - ring.area()).abs() < 1e-6);
        let backwards = tracks.into_iter().rev().map(|(name, track)| match track {
            Track::Curve(curve) => (name, Track::Curve(curve.reversed())),
            line => (name, line),
        });
        prop_assert!((must(Ring::from_tracks(backwards.collect())).area() - ring.area()).abs() < 1e-6);
    }

    #[test]
    fn a_point_is_inside_when_its_polygon_says_so(taper in tapers(), x in -120.0..900.0_f64, y in -70.0..70.0_f64) {
        let ring = must(tie_end(&taper));
        let d = ring.signed_distance(p(x, y));
        prop_assume!(d.abs() > 0.01);
        let points = ring.flatten(0.001);
        let next = points.iter().cycle().skip(1);
        let crossings = points.iter().zip(next).filter(|(a, b)| {
            (a.y <= y) != (b.y <= y) && a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x) > x
        });
        let inside = crossings.count() % 2 == 1;
        prop_assert_eq!(d > 0.0, inside);
        prop_assert_eq!(ring.contains(p(x, y)), inside);
        prop_assert_eq!(ring.chord(p(x, y), Vec2::new(1.0, 0.3)).is_some(), inside);
    }

    #[test]
    fn clipped_parts_and_chords_agree(taper in tapers(), y in -9.9..9.9_f64) {
        let ring = must(tie_end(&taper));
        let across = must(Curve::line(p(-500.0, y), p(1500.0, y)));
        let parts = ring.clip(&across);
        prop_assert_eq!(parts.len(), 1);
        let chord = must(ring.chord(p(taper.end().x / 2.0, y), Vec2::new(1.0, 0.0)).ok_or("outside"));
        prop_assert!(parts[0].start().distance(chord.0) < 1e-6 && parts[0].end().distance(chord.1) < 1e-6);
    }
}

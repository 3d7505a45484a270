//! Parallels, unfolding and refolding: distances kept, folding undone.

use proptest::prelude::*;
use tiewright_geometry::tolerance::FIT;
use tiewright_geometry::{
    Affine, Crease, Curve, GeometryError, Line, Place, Point, Refold, Track, Vec2, ease, gap,
    offset, unfold_curve, unfold_line, unfold_point,
};

use crate::common::{along, close, close_points, must, p, quarter, tapers};

#[test]
fn the_parallel_of_a_circle_is_a_circle() {
    for r in [5.0, 40.0, 600.0] {
        // The drawn arc turns left, so its left is inside.
        for inward in [-0.5 * r, -0.01 * r, 0.01 * r, 0.5 * r, 0.9 * r] {
            let beside = must(offset(&quarter(r), inward));
            for point in along(&beside, 100) {
                close(point.to_vec2().length(), r - inward, FIT + 3e-4 * r);
            }
            close_points(beside.start(), p(r - inward, 0.0), 1e-9);
            close_points(beside.end(), p(0.0, r - inward), 1e-9);
        }
        let tight = offset(&quarter(r), 1.01 * r);
        assert!(
            matches!(tight, Err(GeometryError::TooTight { .. })),
            "{tight:?}"
        );
    }
}

#[test]
fn the_parallel_of_an_s_keeps_its_distance_everywhere() {
    let curve = must(Curve::cubic(
        p(0.0, 0.0),
        p(100.0, 80.0),
        p(200.0, -80.0),
        p(300.0, 0.0),
    ));
    for distance in [-20.0, -6.0, -0.1, 0.1, 6.0, 20.0] {
        let beside = must(offset(&curve, distance));
        for i in 0..=400 {
            let t = f64::from(i) / 400.0;
            let place = Place { seg: 0, t };
            let tangent = curve.tangent(place);
            let normal = Vec2::new(-tangent.y, tangent.x);
            let (_, off) = beside.nearest(curve.eval(place) + distance * normal);
            assert!(off <= FIT, "{distance} at {t}: {off}");
        }
        let (least, greatest) = gap(&beside, &curve);
        close(least, distance.abs(), FIT);
        close(greatest, distance.abs(), FIT);
        assert!(beside.segments().len() <= 8, "{}", beside.segments().len());
    }
}

#[test]
fn corners_are_mitred_outside_and_trimmed_inside() {
    let up = must(Curve::line(p(0.0, 0.0), p(0.0, 100.0)));
    let right = must(Curve::line(p(0.0, 100.0), p(100.0, 100.0)));
    let angle = must(Curve::chain(&[up, right]));
    let outside = must(offset(&angle, 10.0));
    let ends = |curve: &Curve| -> Vec<Point> {
        curve
            .segments()
            .iter()
            .map(kurbo::ParamCurve::end)
            .collect()
    };
    assert_eq!(outside.start(), p(-10.0, 0.0));
    assert_eq!(ends(&outside), [p(-10.0, 110.0), p(100.0, 110.0)]);
    let inside = must(offset(&angle, -10.0));
    assert_eq!(ends(&inside), [p(10.0, 90.0), p(100.0, 90.0)]);
    assert_eq!(
        offset(&angle, -101.0),
        Err(GeometryError::TooTight { at: p(0.0, 100.0) })
    );
    let back = must(Curve::from_segments(vec![
        kurbo::PathSeg::Line(kurbo::Line::new(p(0.0, 0.0), p(100.0, 0.0))),
        kurbo::PathSeg::Line(kurbo::Line::new(p(100.0, 0.0), p(0.0, 0.0))),
    ]));
    assert!(offset(&back, 5.0).is_err());
}

/// For the crease `y = h(x)` and the line `y = −r` the flat edge is `(x − h'(h + r), 2h + r)`.
#[test]
fn the_unfolded_edge_follows_the_formula() {
    let crease = must(Curve::cubic(
        p(0.0, 40.0),
        p(200.0, 30.0),
        p(400.0, 16.0),
        p(600.0, 16.0),
    ));
    for r in [-5.0, 0.0, 10.0, 60.0] {
        let line = Line::at_angle(p(7.0, -r), 0.0);
        for line in [line, line.reversed()] {
            for crease in [crease.clone(), crease.reversed()] {
                let flat = must(unfold_line(&line, &crease));
                for i in 0..=500 {
                    let place = Place {
                        seg: 0,
                        t: f64::from(i) / 500.0,
                    };
                    let (at, tangent) = (crease.eval(place), crease.tangent(place));
                    let slope = tangent.y / tangent.x;
                    let expected = p(at.x - slope * (at.y + r), 2.0 * at.y + r);
                    let (_, off) = flat.nearest(expected);
                    assert!(off <= FIT, "{r} at {i}: {off}");
                }
                assert!(flat.segments().len() <= 3);
            }
        }
    }
}

#[test]
fn a_straight_crease_mirrors_exactly() {
    let crease = must(Curve::line(p(0.0, 30.0), p(100.0, 10.0)));
    let mirror = Line::through(crease.start(), crease.end())
        .expect("two points")
        .mirror();
    let flat = must(unfold_line(&Line::at_angle(p(0.0, -5.0), 0.0), &crease));
    assert_eq!(flat.segments().len(), 1);
    for end in [flat.start(), flat.end()] {
        close((mirror * end).y, -5.0, 1e-12);
    }
    let curve = must(Curve::cubic(
        p(0.0, 0.0),
        p(30.0, 20.0),
        p(60.0, -20.0),
        p(90.0, 0.0),
    ));
    let image = must(unfold_curve(&curve, &crease));
    for (a, b) in along(&image, 30).into_iter().zip(along(&curve, 30)) {
        close_points(a, mirror * b, 1e-7);
    }
}

#[test]
fn a_crease_that_cannot_be_unfolded_is_refused() {
    let line = Line::at_angle(p(0.0, 0.0), 0.0);
    let bent = must(Curve::from_segments(vec![
        kurbo::PathSeg::Line(kurbo::Line::new(p(0.0, 10.0), p(50.0, 10.0))),
        kurbo::PathSeg::Line(kurbo::Line::new(p(50.0, 10.0), p(100.0, 20.0))),
    ]));
    assert_eq!(
        unfold_line(&line, &bent),
        Err(GeometryError::CornerInCrease { at: p(50.0, 10.0) })
    );
    assert_eq!(
        unfold_curve(&bent, &bent),
        Err(GeometryError::CornerInCrease { at: p(50.0, 10.0) })
    );
    let steep = must(Curve::line(p(10.0, 10.0), p(10.0, 50.0)));
    assert_eq!(
        unfold_line(&line, &steep),
        Err(GeometryError::NeverReached { at: p(10.0, 10.0) })
    );
    let tight = must(Curve::cubic(
        p(0.0, 100.0),
        p(20.0, 100.0),
        p(40.0, 110.0),
        p(50.0, 125.0),
    ));
    assert!(matches!(
        unfold_line(&line, &tight),
        Err(GeometryError::TooTight { .. })
    ));
}

#[test]
fn ease_of_a_parabola_is_its_closed_form() {
    // h = 20 + x²/1000 on 0..100, so h'' = 1/500 and the strain is 2/500·(h + r).
    let quad = kurbo::QuadBez::new(p(0.0, 20.0), p(50.0, 20.0), p(100.0, 30.0));
    let crease = must(Curve::from_segments(vec![kurbo::PathSeg::Quad(quad)]));
    for crease in [crease.clone(), crease.reversed()] {
        for line in [
            Line::at_angle(p(0.0, -10.0), 0.0),
            Line::at_angle(p(0.0, -10.0), std::f64::consts::PI),
        ] {
            let found = ease(&line.into(), std::slice::from_ref(&crease));
            close(found.least, 2.0 / 500.0 * 30.0, 1e-9);
            close(found.greatest, 2.0 / 500.0 * 40.0, 1e-9);
            close_points(found.least_at, p(0.0, 20.0), 1e-6);
            close_points(found.greatest_at, p(100.0, 30.0), 1e-6);
        }
        let turned = Affine::rotate(1.0);
        let line = Line::at_angle(p(0.0, -10.0), 0.0).transformed(turned);
        close(
            ease(&line.into(), &[crease.transformed(turned)]).greatest,
            0.16,
            1e-9,
        );
        let mirrored = ease(
            &Line::at_angle(p(0.0, 10.0), 0.0).into(),
            &[crease.transformed(Affine::FLIP_Y)],
        );
        close(mirrored.least, 0.12, 1e-9);
    }
    let straight = must(Curve::line(p(0.0, 20.0), p(10.0, 30.0)));
    let none = ease(&Line::at_angle(p(0.0, 0.0), 0.0).into(), &[straight]);
    assert_eq!((none.least, none.greatest), (0.0, 0.0));
}

/// An arc folded over arcs about the same middle is as much shorter or longer as its radius.
#[test]
fn ease_over_several_creases_is_length_over_length() {
    let creases = [quarter(100.0), quarter(120.0)];
    // From 90 over 100 to 110, over 120 to 130.
    let edge: Track = quarter(90.0).into();
    for (count, flat) in [(1, 110.0), (2, 130.0)] {
        let found = ease(&edge, &creases[..count]);
        close(found.least, 90.0 / flat - 1.0, 0.01);
        close(found.greatest, 90.0 / flat - 1.0, 0.01);
    }
    let none = ease(&edge, &[]);
    assert_eq!((none.least, none.greatest), (0.0, 0.0));
    let straight = [20.0, 40.0].map(|y| must(Curve::line(p(0.0, y), p(100.0, y + 5.0))));
    let line = Line::at_angle(p(0.0, 0.0), 0.0).into();
    close(ease(&line, &straight).greatest, 0.0, 1e-12);
}

/// Joints that stand almost beside each other leave no scrap of a part between them.
#[test]
fn unfolding_passes_over_joints_beside_an_end() {
    let half = |x: f64, y: f64| {
        must(Curve::cubic(
            p(x, y),
            p(x + 100.0, y - 4.0),
            p(x + 200.0, y - 9.0),
            p(x + 300.0, y - 15.0),
        ))
    };
    let crease = must(Curve::chain(&[
        half(0.0, 60.0),
        must(Curve::cubic(
            p(300.0, 45.0),
            p(400.0, 39.0),
            p(500.0, 34.0),
            p(600.0, 30.0),
        )),
    ]));
    let joint = crease.eval(Place { seg: 1, t: 0.0 });
    let normal = crease.tangent(Place { seg: 1, t: 0.0 });
    let below = joint + 40.0 * Vec2::new(normal.y, -normal.x);
    for past in [-0.05, 0.05] {
        let edge = must(Curve::chain(&[
            must(Curve::line(p(10.0, 15.0), below + past * normal)),
            must(Curve::line(below + past * normal, p(590.0, -5.0))),
        ]));
        let flat = must(unfold_curve(&edge, &crease));
        assert!(
            flat.segments()
                .iter()
                .all(|seg| Curve::from_segments(vec![*seg]).is_ok_and(|c| c.length() > 1.0))
        );
        for point in along(&edge, 200) {
            close(flat.nearest(unfold_point(point, &crease)).1, 0.0, FIT);
        }
    }
}

/// A strip of three widths folded in three: the second crease turns what the first laid over.
#[test]
fn folding_in_three_turns_the_last_third_twice() {
    let up = |x: f64| Crease::Line(Line::at_angle(p(x, 0.0), -std::f64::consts::FRAC_PI_2));
    let fold = Refold::new(vec![up(20.0), up(0.0)]);
    let found = fold.point(p(55.0, 3.0));
    close_points(found.point, p(-15.0, 3.0), 1e-12);
    assert_eq!(found.turns, 1);
    let over = Refold::new(vec![
        up(20.0),
        Crease::Line(Line::at_angle(p(0.0, 0.0), std::f64::consts::FRAC_PI_2)),
    ]);
    let found = over.point(p(55.0, 3.0));
    close_points(found.point, p(15.0, 3.0), 1e-12);
    assert_eq!(found.turns, 2);
    let strip = vec![p(0.0, 0.0), p(0.0, 10.0), p(60.0, 10.0), p(60.0, 0.0)];
    // A second strip on top of the first: a stack that is turned over comes up in reverse.
    let layers = over.layers(&[strip.clone(), strip], 0.01);
    let order: Vec<(u32, usize)> = layers.iter().map(|l| (l.turns, l.sheet)).collect();
    assert_eq!(order, [(0, 0), (0, 1), (1, 1), (1, 0), (2, 0), (2, 1)]);
    for layer in &layers {
        close(polygon_area(&layer.outline), 200.0, 1e-9);
        assert!(
            layer
                .outline
                .iter()
                .all(|q| q.x > -1e-9 && q.x < 20.0 + 1e-9)
        );
    }
}

/// Knife pleats, by hand: a fold takes the cloth back for a depth and what lies beyond comes on twice
/// the depth nearer, its own side up. A later pleat may hide cloth across an earlier one.
#[test]
fn pleats_take_in_twice_their_depth_and_keep_the_side() {
    let level = |y: f64| Line::at_angle(p(0.0, y), 0.0);
    let pleat = |y: f64, depth: f64| Crease::Pleat(level(y), level(y + depth));
    // Folds 10 apart, 8 deep; the second hides cloth below the first.
    let fold = Refold::new(vec![pleat(10.0, 8.0), pleat(20.0, 12.0)]);
    let lies = [
        (9.0, 9.0, 0),
        (13.0, 7.0, 1),
        (18.0, 2.0, 1),
        (20.0, 4.0, 2),
        (35.0, 19.0, 2),
        (40.0, 16.0, 3),
        (47.0, 9.0, 3),
        (50.0, 10.0, 4),
        (60.0, 20.0, 4),
    ];
    for (flat, laid, turns) in lies {
        let found = fold.point(p(5.0, flat));
        close_points(found.point, p(5.0, laid), 1e-12);
        assert_eq!(found.turns, turns, "cloth {flat} up");
    }
    let band = vec![p(0.0, 0.0), p(0.0, 60.0), p(90.0, 60.0), p(90.0, 0.0)];
    let layers = fold.layers(&[band], 0.01);
    let strips: Vec<(u32, f64, f64)> = layers
        .iter()
        .map(|layer| {
            let ends = layer.outline.iter().map(|q| q.y);
            let low = ends.clone().fold(f64::INFINITY, f64::min);
            (layer.turns, low, ends.fold(f64::NEG_INFINITY, f64::max))
        })
        .collect();
    // From the face: every strip behind the one before it.
    let wanted = [
        (0, 0.0, 10.0),
        (1, 2.0, 10.0),
        (2, 2.0, 20.0),
        (3, 8.0, 20.0),
        (4, 8.0, 20.0),
    ];
    assert_eq!(strips.len(), wanted.len());
    for (found, wanted) in strips.iter().zip(wanted) {
        assert_eq!(found.0, wanted.0);
        close(found.1, wanted.1, 1e-9);
        close(found.2, wanted.2, 1e-9);
    }
    let area: f64 = layers.iter().map(|l| polygon_area(&l.outline)).sum();
    close(area, 60.0 * 90.0, 1e-9);
}

/// Folding adds corners only where an edge bends or is cut. A band folded over one bend after another
/// once had four times the corners after each fold.
#[test]
fn folded_layers_keep_few_corners() {
    let crease = must(Curve::cubic(
        p(0.0, 20.0),
        p(130.0, 20.0),
        p(260.0, 16.0),
        p(390.0, 16.0),
    ));
    let parallel = |by: f64| Crease::Curve(must(offset(&crease, by)));
    let fold = Refold::new(vec![
        parallel(60.0),
        parallel(30.0),
        Crease::Curve(crease.clone()),
    ]);
    let band = vec![
        p(0.0, -20.0),
        p(0.0, 100.0),
        p(390.0, 100.0),
        p(390.0, -20.0),
    ];
    let layers = fold.layers(&[band], 0.05);
    let corners: usize = layers.iter().map(|layer| layer.outline.len()).sum();
    assert!(
        corners < 250,
        "{corners} corners in {} layers",
        layers.len()
    );
}

/// A pleat without depth hides nothing.
#[test]
fn a_pleat_of_no_depth_leaves_the_cloth_as_it_lies() {
    let line = Line::at_angle(p(0.0, 10.0), 0.3);
    let fold = Refold::new(vec![Crease::Pleat(line, line)]);
    for flat in [p(5.0, 2.0), p(5.0, 40.0), p(-30.0, 12.0)] {
        close_points(fold.point(flat).point, flat, 1e-12);
    }
}

#[test]
fn creases_that_chase_each_other_come_to_an_end() {
    let left = Crease::Line(Line::at_angle(p(0.0, 0.0), std::f64::consts::FRAC_PI_2));
    let right = Crease::Line(Line::at_angle(p(1.0, 0.0), -std::f64::consts::FRAC_PI_2));
    let fold = Refold::new(vec![left, right]);
    let found = fold.point(p(100.0, 0.0));
    assert!(found.turns <= 16);
    assert!(
        fold.layers(&[vec![p(0.0, 0.0), p(100.0, 0.0), p(0.0, 1.0)]], 0.1)
            .len()
            <= 256
    );
}

fn polygon_area(points: &[Point]) -> f64 {
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| a.to_vec2().cross(b.to_vec2()))
        .sum();
    (twice / 2.0).abs()
}

proptest! {
    #[test]
    fn folding_undoes_unfolding(crease in tapers(), reach in 0.0..25.0_f64) {
        let line = Line::at_angle(p(0.0, -reach), 0.0);
        let flat = must(unfold_line(&line, &crease));
        let fold = Refold::new(vec![Crease::Curve(crease.clone())]);
        for point in along(&flat, 60) {
            let folded = fold.point(point);
            prop_assert!((folded.point.y + reach).abs() <= FIT, "{point} came to {}", folded.point);
            prop_assert_eq!(folded.turns, 1);
        }
        for point in fold.curve(&flat, 0.05) {
            prop_assert!((point.y + reach).abs() <= FIT);
        }
        let ends = [flat.start(), flat.end()].map(|end| fold.point(end).point);
        prop_assert!((ends[1].x - crease.end().x).abs() < 1e-6);
    }

    #[test]
    fn unfolding_a_point_is_its_own_inverse(crease in tapers(), f in -0.2..1.2_f64, depth in 0.5..60.0_f64) {
        let x = f * crease.end().x;
        let point = p(x, crease.end().y - depth);
        let flat = unfold_point(point, &crease);
        prop_assert!(unfold_point(flat, &crease).distance(point) < 1e-6);
        let folded = Refold::new(vec![Crease::Curve(crease)]).point(flat).point;
        prop_assert!(folded.distance(point) < 1e-6);
    }

    #[test]
    fn a_curve_unfolds_point_by_point(crease in tapers(), a in -20.0..10.0_f64, b in -40.0..10.0_f64) {
        let run = crease.end().x;
        let curve = must(Curve::cubic(p(-50.0, a), p(run * 0.3, b), p(run * 0.6, a), p(run + 80.0, b)));
        let flat = must(unfold_curve(&curve, &crease));
        for point in along(&curve, 60) {
            let (_, off) = flat.nearest(unfold_point(point, &crease));
            prop_assert!(off <= FIT, "{point} misses by {off}");
        }
        let fold = Refold::new(vec![Crease::Curve(crease)]);
        for point in along(&flat, 60) {
            let (_, off) = curve.nearest(fold.point(point).point);
            prop_assert!(off <= FIT, "{point} folds {off} off");
        }
    }

    #[test]
    fn parallels_of_tapers_keep_their_distance(crease in tapers(), distance in -30.0..30.0_f64) {
        prop_assume!(distance.abs() > 0.01);
        let beside = must(offset(&crease, distance));
        let (least, greatest) = gap(&beside, &crease.extended(100.0, 100.0));
        prop_assert!((least - distance.abs()).abs() <= FIT);
        prop_assert!((greatest - distance.abs()).abs() <= FIT);
        let back = must(offset(&beside, -distance));
        prop_assert!(gap(&back, &crease).1 <= 2.0 * FIT);
    }

    #[test]
    fn ease_bounds_every_place(crease in tapers(), reach in 0.0..25.0_f64) {
        let found = ease(&Line::at_angle(p(0.0, -reach), 0.0).into(), std::slice::from_ref(&crease));
        for i in 0..=300 {
            let place = Place { seg: 0, t: f64::from(i) / 300.0 };
            let tangent = crease.tangent(place);
            let second = crease.curvature(place) / tangent.x.powi(3);
            let strain = 2.0 * second * (crease.eval(place).y + reach);
            prop_assert!(strain >= found.least - 1e-9 && strain <= found.greatest + 1e-9);
        }
    }

    #[test]
    fn folded_layers_keep_the_cloth(crease in tapers(), low in 30.0..90.0_f64) {
        let run = crease.end().x;
        let cloth = [vec![p(0.0, -low), p(0.0, 100.0), p(run, 100.0), p(run, -low)]];
        let layers = Refold::new(vec![Crease::Line(Line::at_angle(p(0.0, 50.0), 0.3))]).layers(&cloth, 0.05);
        let whole: f64 = layers.iter().map(|layer| polygon_area(&layer.outline)).sum();
        prop_assert!((whole - run * (100.0 + low)).abs() < 1e-6 * whole);
        let layers = Refold::new(vec![Crease::Curve(crease.clone())]).layers(&cloth, 0.05);
        prop_assert_eq!(layers.len(), 2);
        let below = layers.iter().find(|l| l.turns == 0).map(|l| polygon_area(&l.outline));
        let under: f64 = along(&crease, 2000).windows(2).map(|w| (w[1].x - w[0].x) * (w[0].y + w[1].y) / 2.0).sum();
        prop_assert!((below.expect("a layer that stays") - under - run * low).abs() < 0.05 * (run + 200.0));
    }
}

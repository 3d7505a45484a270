//! How long single measures of curves and outlines take, beside other libraries where they have
//! the same. The others are asked for the same accuracy.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kurbo::{CubicBez, ParamCurveArclen, ParamCurveNearest, PathSeg};
use lyon_geom::CubicBezierSegment;
use tiewright_geometry::tolerance::{ARC, FIT, GAP, SAME};
use tiewright_geometry::{
    Crease, Curve, Edge, Line, Point, Refold, Ring, Track, clearance, gap, meet, offset,
    unfold_curve, unfold_line,
};

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// The taper of a blade.
fn cubic() -> CubicBez {
    CubicBez::new(
        p(41.0, 41.0),
        p(261.0, 32.0),
        p(481.0, 16.0),
        p(701.0, 16.0),
    )
}

/// A curve that crosses the taper twice.
fn other() -> CubicBez {
    CubicBez::new(p(41.0, 20.0), p(261.0, 45.0), p(481.0, 45.0), p(701.0, 2.0))
}

fn curve(c: CubicBez) -> Curve {
    Curve::cubic(c.p0, c.p1, c.p2, c.p3).expect("a curve")
}

/// The crease of a whole side: a taper, a straight neck and a taper back.
fn crease() -> Curve {
    let neck = Curve::line(p(701.0, 16.0), p(1020.0, 16.0));
    let tail = Curve::cubic(
        p(1020.0, 16.0),
        p(1155.0, 16.0),
        p(1290.0, 20.0),
        p(1425.0, 22.0),
    );
    let parts = [
        curve(cubic()),
        neck.expect("a line"),
        tail.expect("a curve"),
    ];
    Curve::chain(&parts).expect("a crease")
}

fn lyon(c: CubicBez) -> CubicBezierSegment<f64> {
    let at = |q: Point| lyon_geom::point(q.x, q.y);
    CubicBezierSegment {
        from: at(c.p0),
        ctrl1: at(c.p1),
        ctrl2: at(c.p2),
        to: at(c.p3),
    }
}

/// A strip between a curve and its mirror image, ends closed.
fn strip(side: &Curve) -> Ring {
    let below = side.transformed(kurbo::Affine::FLIP_Y).reversed();
    let edge = |name: &str, curve: Curve| Edge {
        name: name.into(),
        curve,
    };
    let close = |a: Point, b: Point| Curve::line(a, b).expect("a line");
    let right = close(side.end(), below.start());
    let left = close(below.end(), side.start());
    Ring::from_edges(vec![
        edge("side", side.clone()),
        edge("right", right),
        edge("below", below),
        edge("left", left),
    ])
    .expect("a ring")
}

fn beside_others(criterion: &mut Criterion) {
    let (c, d) = (cubic(), other());
    let (a, b) = (curve(c), curve(d));
    let q = p(300.0, 10.0);

    let mut group = criterion.benchmark_group("nearest point");
    group.bench_function("tiewright", |bench| bench.iter(|| a.nearest(black_box(q))));
    group.bench_function("kurbo", |bench| {
        bench.iter(|| c.nearest(black_box(q), SAME))
    });
    group.finish();

    let mut group = criterion.benchmark_group("length");
    group.bench_function("tiewright", |bench| bench.iter(|| black_box(&a).length()));
    group.bench_function("kurbo", |bench| {
        bench.iter(|| black_box(PathSeg::Cubic(c)).arclen(ARC))
    });
    group.bench_function("lyon", |bench| {
        bench.iter(|| black_box(lyon(c)).approximate_length(ARC))
    });
    group.finish();

    let (track_a, track_b) = (Track::Curve(a.clone()), Track::Curve(b));
    let mut group = criterion.benchmark_group("crossings of two cubics");
    group.bench_function("tiewright", |bench| {
        bench.iter(|| meet(black_box(&track_a), &track_b))
    });
    group.bench_function("lyon", |bench| {
        bench.iter(|| black_box(lyon(c)).cubic_intersections_t(&lyon(d)))
    });
    group.finish();

    let mut group = criterion.benchmark_group("parallel");
    group.bench_function("tiewright", |bench| {
        bench.iter(|| offset(black_box(&a), 6.35))
    });
    group.bench_function("kurbo", |bench| {
        bench.iter(|| {
            let mut path = kurbo::BezPath::new();
            kurbo::offset::offset_cubic(black_box(c), 6.35, FIT, &mut path);
            path
        });
    });
    group.finish();
}

fn folding(criterion: &mut Criterion) {
    let crease = crease();
    let back = Line::at_angle(p(0.0, -13.0), 0.0);
    let edge = unfold_line(&back, &crease).expect("an edge");
    let inner = offset(&crease, -3.0).expect("a parallel");
    let refold = Refold::new(vec![Crease::Curve(crease.clone())]);
    criterion.bench_function("unfold a line", |bench| {
        bench.iter(|| unfold_line(black_box(&back), &crease));
    });
    criterion.bench_function("unfold a curve", |bench| {
        bench.iter(|| unfold_curve(black_box(&inner), &crease));
    });
    criterion.bench_function("refold a point", |bench| {
        bench.iter(|| refold.point(black_box(p(300.0, 60.0))));
    });
    criterion.bench_function("refold a curve", |bench| {
        bench.iter(|| refold.curve(black_box(&edge), 0.002));
    });
    let (outside, inside) = (strip(&crease), strip(&inner));
    criterion.bench_function(&format!("clearance within {GAP} mm"), |bench| {
        bench.iter(|| clearance(black_box(&inside), &outside));
    });
    criterion.bench_function("gap of two curves", |bench| {
        bench.iter(|| gap(black_box(&inner), &crease));
    });
}

criterion_group!(benches, beside_others, folding);
criterion_main!(benches);

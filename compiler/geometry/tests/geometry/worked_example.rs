//! The plain four-in-hand of 57 in by 3 1/4 in, against an independent calculation of its
//! measures to 0.01 mm and mm².

use std::sync::Arc;

use crate::common::{close, must, p};
use tiewright_geometry::{
    Crease, Curve, Edge, Line, Point, Refold, Ring, Track, Vec2, clearance, ease, gap, offset,
    unfold_curve, unfold_line, unfold_point, with_allowance,
};

const INCH: f64 = 25.4;
const LENGTH: f64 = 57.0 * INCH;
const HALF_BLADE: f64 = 1.625 * INCH;
const HALF_NECK: f64 = 0.625 * INCH;
const HALF_TAIL: f64 = 0.875 * INCH;
const TAPER_RUN: f64 = 26.0 * INCH;
const TAIL_RUN: f64 = 16.0 * INCH;
const LEAD: f64 = 0.35;
const SEAM: f64 = 0.25 * INCH;
const MARGIN: f64 = 0.375 * INCH;
/// Overlap a side, edge turn and turn of cloth.
fn reach(edge_turn: f64) -> f64 {
    let (thick, thin) = (1.6, 0.3);
    let turn_of_cloth = (std::f64::consts::PI - 2.0) * (thick + thin) / 2.0 - thin;
    0.125 * INCH + edge_turn + turn_of_cloth
}

fn taper(from: Point, run: f64, wide: f64, narrow: f64) -> Curve {
    let x = |f: f64| from.x + f * run;
    must(Curve::cubic(
        from,
        p(x(1.0 / 3.0), wide - LEAD * (wide - narrow)),
        p(x(2.0 / 3.0), narrow),
        p(x(1.0), narrow),
    ))
}

/// The finished edge of one side: parallel to the front corner's end, taper, neck, tail taper.
fn crease() -> Curve {
    let corner = HALF_BLADE;
    let front = taper(p(corner, HALF_BLADE), TAPER_RUN, HALF_BLADE, HALF_NECK);
    let tail_corner = LENGTH - HALF_TAIL;
    let turn = Vec2::new(2.0 * tail_corner, 0.0);
    let tail = taper(p(tail_corner, HALF_TAIL), TAIL_RUN, HALF_TAIL, HALF_NECK)
        .transformed(tiewright_geometry::Affine::new([
            -1.0, 0.0, 0.0, 1.0, turn.x, turn.y,
        ]))
        .reversed();
    let neck = must(Curve::line(front.end(), tail.start()));
    must(Curve::chain(&[front, neck, tail]))
}

fn named(name: &str, track: impl Into<Track>) -> (Arc<str>, Track) {
    (Arc::from(name), track.into())
}

/// A point's edge through the finished point, moved out by the margin and the seam.
fn point_edge(x: f64, angle_degrees: f64, out: f64) -> Line {
    Line::at_angle(p(x, 0.0), angle_degrees.to_radians()).offset(out)
}

fn shell() -> Ring {
    let raw = Line::through(p(0.0, -reach(SEAM)), p(1.0, -reach(SEAM))).expect("two points");
    let top = must(unfold_line(&raw, &crease()));
    let mirror = tiewright_geometry::Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 0.0]);
    let bottom = top.transformed(mirror);
    let out = MARGIN + SEAM;
    must(Ring::from_tracks(vec![
        named("front-upper", point_edge(0.0, 45.0, out)),
        named("upper", top),
        named("tail-upper", point_edge(LENGTH, -45.0, out)),
        named("tail-lower", point_edge(LENGTH, 225.0, out)),
        named("lower", bottom),
        named("front-lower", point_edge(0.0, 135.0, out)),
    ]))
}

#[test]
fn flat_shell_has_the_calculated_corner_and_area() {
    let shell = shell();
    let corner = shell.edge("upper").expect("the upper edge").curve.start();
    close(corner.x, 68.3357, 0.005);
    close(corner.y, 90.7864, 0.005);
    close(shell.bounds().x0, -22.4506, 1e-3);
    close(shell.area(), 153_736.9, 0.3);
    assert_eq!(shell.edges().len(), 6);
}

fn panels() -> [Ring; 3] {
    let shell = shell();
    let seam = |x: f64| Line::at_angle(p(x, 0.0), 45.0_f64.to_radians());
    let (first, second) = (seam(31.0 * INCH), seam(LENGTH - 15.0 * INCH));
    let cut =
        |ring: &Ring, line: &Line, x: f64| must(ring.cut_along(line, p(x, 0.0), Arc::from("join")));
    let blade = cut(&shell, &first, 100.0);
    let neck = cut(&cut(&shell, &first, 900.0), &second, 900.0);
    let tail = cut(&shell, &second, 1400.0);
    [blade, neck, tail]
}

#[test]
fn panels_have_the_calculated_areas_and_seams() {
    let panels = panels();
    for (panel, net) in panels.iter().zip([93_885.7, 23_536.8, 36_314.4]) {
        close(panel.area(), net, 0.3);
    }
    close(
        panels[0].edge("join").expect("a join").curve.length(),
        118.962,
        0.01,
    );
    close(
        panels[2].edge("join").expect("a join").curve.length(),
        120.536,
        0.01,
    );
    let whole: f64 = panels.iter().map(Ring::area).sum();
    close(whole, shell().area(), 1e-6);
    for (panel, cut) in panels.iter().zip([94_600.8, 24_976.2, 37_038.7]) {
        let allowances: Vec<f64> = panel
            .edges()
            .iter()
            .map(|edge| if &*edge.name == "join" { SEAM } else { 0.0 })
            .collect();
        close(must(with_allowance(panel, &allowances)).area(), cut, 0.3);
    }
}

#[test]
fn edge_ease_is_as_calculated() {
    let back = Line::through(p(0.0, -reach(0.0)), p(1.0, -reach(0.0))).expect("two points");
    let found = ease(&back.into(), &[crease()]);
    close(found.greatest, 0.0090, 0.000_05);
    close(found.least, -0.0095, 0.000_05);
}

#[test]
fn folding_the_shell_again_brings_the_raw_edge_to_its_line() {
    let fold = Refold::new(vec![Crease::Curve(crease())]);
    let upper = shell().edge("upper").expect("the upper edge").curve.clone();
    let folded = fold.curve(&upper, 0.01);
    assert!(folded.len() > 10);
    for point in folded {
        close(point.y, -reach(SEAM), 0.005);
    }
}

#[test]
fn all_ways_to_unfold_agree() {
    let line = Line::through(p(0.0, -reach(SEAM)), p(1.0, -reach(SEAM))).expect("two points");
    let crease = crease();
    let flat = must(unfold_line(&line, &crease));
    let back = must(Curve::line(p(0.0, -reach(SEAM)), p(LENGTH, -reach(SEAM))));
    let general = must(unfold_curve(&back, &crease));
    let (_, greatest) = gap(&flat, &general);
    assert!(greatest < 0.01, "{greatest}");
    let half = flat.place_at_length(300.0).expect("on the curve");
    let folded = unfold_point(flat.eval(half), &crease);
    close(folded.y, -reach(SEAM), 0.005);
}

#[test]
fn an_inset_keeps_its_distance() {
    let crease = crease();
    let inset = must(offset(&crease, -0.8));
    let (least, greatest) = gap(&inset, &crease);
    close(least, 0.8, 0.005);
    close(greatest, 0.8, 0.005);
    let close_up = |curve: &Curve| {
        let mirror = tiewright_geometry::Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 0.0]);
        let lower = curve.transformed(mirror).reversed();
        let ends = [
            must(Curve::line(curve.end(), lower.start())),
            must(Curve::line(lower.end(), curve.start())),
        ];
        let edge = |name: &str, curve: &Curve| Edge {
            name: Arc::from(name),
            curve: curve.clone(),
        };
        must(Ring::from_edges(vec![
            edge("upper", curve),
            edge("end", &ends[0]),
            edge("lower", &lower),
            edge("start", &ends[1]),
        ]))
    };
    let inner = close_up(&must(inset.sub(
        inset.place_at_length(5.0).expect("on the curve"),
        inset.place_at_length(1200.0).expect("on the curve"),
    )));
    close(clearance(&inner, &close_up(&crease)), 0.8, 0.005);
}

//! The pieces as DXF (R12, a block a piece, layers as commonly read) and as SVG, written directly.

use std::fmt::Write;

use kurbo::{BezPath, PathEl, Point, Shape, Vec2};

use crate::tie::Piece;

/// Asked of the flattener, which overshoots by up to a fifth, to stay within 0.05 mm.
const FLATTEN: f64 = 0.04;
/// A turn with a cosine below this is a corner.
const CORNER: f64 = 0.999;

/// A drawing with one block a piece, each inserted once.
pub fn dxf(style: &str, pieces: &[Piece]) -> String {
    let mut out = String::with_capacity(1 << 16);
    out.push_str("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n0\nSECTION\n2\nTABLES\n0\nENDSEC\n");
    out.push_str("0\nSECTION\n2\nBLOCKS\n");
    pieces.iter().for_each(|piece| block(&mut out, piece));
    out.push_str("0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    for piece in pieces {
        let _ = write!(
            out,
            "0\nINSERT\n8\n1\n2\n{}\n10\n0.0\n20\n0.0\n30\n0.0\n",
            piece.name
        );
    }
    text(&mut out, Point::ORIGIN, &format!("Style Name: {style}"));
    text(&mut out, Point::new(0.0, -10.0), "Units: METRIC");
    out.push_str("0\nENDSEC\n0\nEOF\n");
    out
}

fn block(out: &mut String, piece: &Piece) {
    let _ = write!(
        out,
        "0\nBLOCK\n8\n1\n2\n{}\n70\n0\n10\n0.0\n20\n0.0\n30\n0.0\n",
        piece.name
    );
    let ring = flat(&piece.outline);
    line(out, 1, true, &ring);
    for (i, p) in ring.iter().enumerate() {
        let before = ring[(i + ring.len() - 1) % ring.len()];
        let after = ring[(i + 1) % ring.len()];
        let layer = if turns(before, *p, after) { 2 } else { 3 };
        point(out, layer, *p);
    }
    piece
        .fold
        .iter()
        .for_each(|path| line(out, 8, false, &flat(path)));
    piece
        .sew
        .iter()
        .for_each(|path| line(out, 14, false, &flat(path)));
    for (at, inwards) in &piece.notches {
        point(out, 4, *at);
        let _ = write!(
            out,
            "39\n3.0\n50\n{:.4}\n",
            inwards.y.atan2(inwards.x).to_degrees()
        );
    }
    let (from, to) = piece.grain;
    out.push_str("0\nLINE\n8\n7\n");
    coordinates(out, 0, from);
    coordinates(out, 1, to);
    let middle = from.midpoint(to);
    text(out, middle, &format!("Piece Name: {}", piece.name));
    text(out, middle - Vec2::new(0.0, 8.0), "Quantity: 1");
    text(
        out,
        middle - Vec2::new(0.0, 16.0),
        &format!("Material: {}", piece.cloth),
    );
    out.push_str("0\nENDBLK\n8\n1\n");
}

/// The path as points, within tolerance, no point twice.
fn flat(path: &BezPath) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    kurbo::flatten(path, FLATTEN, |el| {
        if let PathEl::MoveTo(p) | PathEl::LineTo(p) = el
            && points.last().is_none_or(|q| q.distance(p) > 1e-6)
        {
            points.push(p);
        }
    });
    if points.len() > 2 && points[0].distance(points[points.len() - 1]) < 1e-6 {
        points.pop();
    }
    points
}

fn turns(before: Point, at: Point, after: Point) -> bool {
    let (a, b) = (at - before, after - at);
    a.dot(b) < CORNER * a.hypot() * b.hypot()
}

fn line(out: &mut String, layer: u8, closed: bool, points: &[Point]) {
    let _ = write!(
        out,
        "0\nPOLYLINE\n8\n{layer}\n66\n1\n70\n{}\n",
        u8::from(closed)
    );
    for p in points {
        let _ = write!(out, "0\nVERTEX\n8\n{layer}\n");
        coordinates(out, 0, *p);
    }
    let _ = write!(out, "0\nSEQEND\n8\n{layer}\n");
}

fn point(out: &mut String, layer: u8, p: Point) {
    let _ = write!(out, "0\nPOINT\n8\n{layer}\n");
    coordinates(out, 0, p);
}

fn coordinates(out: &mut String, which: u8, p: Point) {
    let _ = write!(
        out,
        "1{which}\n{:.4}\n2{which}\n{:.4}\n3{which}\n0.0\n",
        p.x, p.y
    );
}

fn text(out: &mut String, at: Point, words: &str) {
    out.push_str("0\nTEXT\n8\n1\n");
    coordinates(out, 0, at);
    let _ = write!(out, "40\n5.0\n1\n{words}\n");
}

/// A sheet at full size with the pieces below one another.
pub fn svg(pieces: &[Piece]) -> String {
    let boxes: Vec<_> = pieces
        .iter()
        .map(|piece| piece.outline.bounding_box())
        .collect();
    let width = boxes.iter().map(|b| b.width()).fold(0.0, f64::max) + 30.0;
    let height = boxes.iter().map(|b| b.height() + 15.0).sum::<f64>() + 15.0;
    let mut out = String::with_capacity(1 << 14);
    let _ = writeln!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3}mm" height="{height:.3}mm" viewBox="0 0 {width:.3} {height:.3}">"#
    );
    let mut top = 15.0;
    for (piece, bounds) in pieces.iter().zip(&boxes) {
        let place = Vec2::new(15.0 - bounds.x0, top + bounds.y1);
        group(&mut out, piece, place);
        top += bounds.height() + 15.0;
    }
    out.push_str("</svg>\n");
    out
}

fn group(out: &mut String, piece: &Piece, place: Vec2) {
    let _ = writeln!(out, r#"<g id="piece-{}">"#, piece.name);
    path(out, "cut", "", &piece.outline, place);
    piece
        .fold
        .iter()
        .for_each(|p| path(out, "fold", r#" stroke-dasharray="6 3""#, p, place));
    piece
        .sew
        .iter()
        .for_each(|p| path(out, "sew", r#" stroke-dasharray="2 2""#, p, place));
    for (at, inwards) in &piece.notches {
        path(out, "notch", "", &segment(*at, *at + *inwards * 3.0), place);
    }
    path(
        out,
        "grain",
        "",
        &segment(piece.grain.0, piece.grain.1),
        place,
    );
    let at = piece.grain.0.midpoint(piece.grain.1);
    let _ = writeln!(
        out,
        r#"<text x="{:.3}" y="{:.3}" font-size="5" text-anchor="middle">{} - {}</text></g>"#,
        at.x + place.x,
        place.y - at.y,
        piece.name,
        piece.cloth
    );
}

fn segment(from: Point, to: Point) -> BezPath {
    let mut path = BezPath::new();
    path.move_to(from);
    path.line_to(to);
    path
}

fn path(out: &mut String, class: &str, extra: &str, path: &BezPath, place: Vec2) {
    let _ = write!(
        out,
        r#"<path class="{class}" fill="none" stroke="black" stroke-width="0.3"{extra} d=""#
    );
    let mut at = |letter: char, points: &[Point]| {
        out.push(letter);
        for p in points {
            let _ = write!(out, " {:.3} {:.3}", p.x + place.x, place.y - p.y);
        }
    };
    for el in path.elements() {
        match el {
            PathEl::MoveTo(p) => at('M', &[*p]),
            PathEl::LineTo(p) => at('L', &[*p]),
            PathEl::QuadTo(p, q) => at('Q', &[*p, *q]),
            PathEl::CurveTo(p, q, r) => at('C', &[*p, *q, *r]),
            PathEl::ClosePath => at('Z', &[]),
        }
    }
    out.push_str("\"/>\n");
}

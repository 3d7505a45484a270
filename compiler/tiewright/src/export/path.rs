//! Curves as path data: `M`, `L`, `C` and `Z` with absolute coordinates, cubics kept as they are.

use tiewright_geometry::{Curve, PathSeg, Point, Ring};

use super::number::{Zeros, push_fixed};

/// How coordinates become numbers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plot {
    /// Added to every `x`.
    pub dx: f64,
    /// Added to every `y`, after turning it over.
    pub dy: f64,
    /// Whether `y` runs down.
    pub down: bool,
    /// Decimals.
    pub places: usize,
}

impl Plot {
    /// Coordinates as they are, with `places` decimals.
    pub fn plain(places: usize) -> Self {
        Plot {
            dx: 0.0,
            dy: 0.0,
            down: false,
            places,
        }
    }

    /// `p` as it is written.
    pub fn map(&self, p: Point) -> Point {
        Point::new(p.x + self.dx, self.dy + if self.down { -p.y } else { p.y })
    }

    /// Appends the two numbers of `p`.
    pub fn point(&self, out: &mut String, p: Point) {
        let p = self.map(p);
        push_fixed(out, p.x, self.places, Zeros::Dropped);
        out.push(' ');
        push_fixed(out, p.y, self.places, Zeros::Dropped);
    }

    /// Appends an open curve.
    pub fn curve(&self, out: &mut String, curve: &Curve) {
        out.push('M');
        self.point(out, curve.start());
        for segment in curve.segments() {
            self.segment(out, segment);
        }
    }

    /// Appends a straight stretch as a path of its own.
    pub fn stretch(&self, out: &mut String, from: Point, to: Point) {
        out.push('M');
        self.point(out, from);
        out.push('L');
        self.point(out, to);
    }

    /// Appends a closed outline.
    pub fn ring(&self, out: &mut String, ring: &Ring) {
        for (index, edge) in ring.edges().iter().enumerate() {
            if index == 0 {
                out.push('M');
                self.point(out, edge.curve.start());
            }
            for segment in edge.curve.segments() {
                self.segment(out, segment);
            }
        }
        out.push('Z');
    }

    /// Appends a closed polygon.
    pub fn polygon(&self, out: &mut String, corners: &[Point]) {
        for (index, corner) in corners.iter().enumerate() {
            out.push(if index == 0 { 'M' } else { 'L' });
            self.point(out, *corner);
        }
        out.push('Z');
    }

    /// Appends one segment, from wherever the path is.
    pub fn segment(&self, out: &mut String, segment: &PathSeg) {
        match segment {
            PathSeg::Line(line) => {
                out.push('L');
                self.point(out, line.p1);
            }
            PathSeg::Quad(_) | PathSeg::Cubic(_) => {
                let cubic = segment.to_cubic();
                out.push('C');
                self.point(out, cubic.p1);
                out.push(' ');
                self.point(out, cubic.p2);
                out.push(' ');
                self.point(out, cubic.p3);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cubics_stay_cubics_and_y_can_run_down() {
        let curve = Curve::cubic(
            Point::new(0.0, 0.0),
            Point::new(1.0, 2.0),
            Point::new(3.0, 2.0),
            Point::new(4.0, 0.0),
        )
        .expect("a curve");
        let mut out = String::new();
        Plot::plain(3).curve(&mut out, &curve);
        assert_eq!(out, "M0 0C1 2 3 2 4 0");
        out.clear();
        Plot {
            dx: 1.0,
            dy: 10.0,
            down: true,
            places: 3,
        }
        .curve(&mut out, &curve);
        assert_eq!(out, "M1 10C2 8 4 8 5 10");
    }
}

//! The pieces of the plain four-in-hand with its default measures and any length.

use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

use kurbo::{Affine, BezPath, CubicBez, Line, ParamCurve, PathSeg, Point, Vec2};

/// A piece to cut. Lengths in millimetres.
pub struct Piece {
    /// Name.
    pub name: &'static str,
    /// Cloth.
    pub cloth: &'static str,
    /// Closed outline to cut.
    pub outline: BezPath,
    /// Lines to sew on.
    pub sew: Vec<BezPath>,
    /// Lines to fold on.
    pub fold: Vec<BezPath>,
    /// Notches: place on the outline and direction inwards.
    pub notches: Vec<(Point, Vec2)>,
    /// Both ends of the grain arrow.
    pub grain: (Point, Point),
}

const ALLOWANCE: f64 = 6.35;
const MARGIN: f64 = 9.525;
const BACK: f64 = 3.175;
const NECK: f64 = 15.875;
/// Pieces a taper's unfolded edge is fitted with; the fit is then within 0.005 mm.
const FIT_PIECES: usize = 4;

/// One end of the tie: half width at the corner, run and distance of the join from the point.
struct End {
    half: f64,
    run: f64,
    join: f64,
}

impl End {
    /// Half width, slope and second derivative at `x` from the point of a 90 degree end.
    fn profile(&self, x: f64) -> (f64, f64, f64) {
        let t = (x - self.half) / self.run;
        let (a, d) = (self.half, NECK);
        let b = a - 0.35 * (a - d);
        let u = 1.0 - t;
        (
            a * u * u * u + 3.0 * b * u * u * t + 3.0 * d * u * t * t + d * t * t * t,
            3.0 * ((b - a) * u * u + 2.0 * (d - b) * u * t) / self.run,
            6.0 * ((d - 2.0 * b + a) * u + (b - d) * t) / (self.run * self.run),
        )
    }

    /// The finished side edge along the taper.
    fn side(&self) -> CubicBez {
        let x = |t: f64| self.half + self.run * t;
        let b = self.half - 0.35 * (self.half - NECK);
        CubicBez::new(
            (x(0.0), self.half),
            (x(1.0 / 3.0), b),
            (x(2.0 / 3.0), NECK),
            (x(1.0), NECK),
        )
    }

    /// The edge unfolded to `reach` past the centre, from corner to neck.
    fn unfolded(&self, reach: f64) -> Vec<PathSeg> {
        let at = |x: f64| {
            let (h, h1, h2) = self.profile(x);
            let point = Point::new(x - h1 * (h + reach), 2.0 * h + reach);
            (point, Vec2::new(1.0 - h2 * (h + reach) - h1 * h1, 2.0 * h1))
        };
        let step = self.run / FIT_PIECES as f64;
        (0..FIT_PIECES)
            .map(|i| {
                let (p, v) = at(self.half + step * i as f64);
                let (q, w) = at(self.half + step * (i + 1) as f64);
                let third = step / 3.0;
                PathSeg::Cubic(CubicBez::new(p, p + v * third, q - w * third, q))
            })
            .collect()
    }
}

/// All pieces of a tie of `length`.
pub fn pieces(length: f64) -> Vec<Piece> {
    let blade = End {
        half: 41.275,
        run: 660.4,
        join: 787.4,
    };
    let tail = End {
        half: 22.225,
        run: 406.4,
        join: 381.0,
    };
    let turn = (PI - 2.0) * 0.95 - 0.3;
    let raw = BACK + 6.35 + turn;
    // Seen from the tail's point the tie is mirrored, so the seams lean the other way.
    let home = Affine::new([-1.0, 0.0, 0.0, 1.0, length, 0.0]);
    let mut shell = blade.unfolded(raw);
    let far: Vec<PathSeg> = tail.unfolded(raw);
    let neck_y = 2.0 * NECK + raw;
    let bridge = Line::new((701.675, neck_y), (length - 428.625, neck_y));
    shell.push(PathSeg::Line(bridge));
    shell.extend(far.iter().rev().map(|s| home * s.reverse()));
    let lower: Vec<PathSeg> = shell.iter().map(|s| Affine::FLIP_Y * *s).collect();
    let first = seam(&shell, &lower, blade.join);
    let second = seam(&shell, &lower, length - tail.join);
    let fold = finished(&blade, &tail, length);
    let fold_lower: Vec<PathSeg> = fold.iter().map(|s| Affine::FLIP_Y * *s).collect();
    let start = Place(0, 0.0, fold[0].start());
    let end = Place(fold.len() - 1, 1.0, fold[fold.len() - 1].end());
    let joins = [blade.join, length - tail.join].map(|x| seam(&fold, &fold_lower, x));
    let folds = |from: (Place, Place), to: (Place, Place)| {
        vec![drawn(&fold, from.0, to.0), drawn(&fold_lower, from.1, to.1)]
    };
    let out = (MARGIN + ALLOWANCE) * SQRT_2;
    let apex = |x: f64, way: f64| Line::new((x, 0.0), (x + way * 400.0, 400.0));
    let front = cross(&shell, apex(-out, 1.0));
    let back = cross(&shell, apex(length + out, -1.0));
    vec![
        panel(
            "blade",
            &shell,
            Some((front, -out)),
            Some(first),
            None,
            folds((start, start), joins[0]),
        ),
        panel_between("neck", &shell, first, second, folds(joins[0], joins[1])),
        panel(
            "tail",
            &shell,
            Some((back, length + out)),
            None,
            Some(second),
            folds(joins[1], (end, end)),
        ),
        tipping("tipping", front, 150.0, Affine::IDENTITY, &shell),
        tipping("tail-tipping", back, 100.0, home, &shell),
        interlining(&blade, &tail, length),
        strip("keeper", 95.0, 50.0),
    ]
}

/// A place on a chain of segments: which one, where on it, and the point.
#[derive(Clone, Copy)]
struct Place(usize, f64, Point);

/// Where a straight line meets a chain of segments first.
fn cross(chain: &[PathSeg], line: Line) -> Place {
    chain
        .iter()
        .enumerate()
        .find_map(|(i, s)| {
            s.intersect_line(line)
                .first()
                .map(|hit| Place(i, hit.segment_t, s.eval(hit.segment_t)))
        })
        .unwrap_or(Place(0, 0.0, chain[0].start()))
}

/// Upper and lower end of the seam that crosses the centre at `x`.
fn seam(upper: &[PathSeg], lower: &[PathSeg], x: f64) -> (Place, Place) {
    let line = Line::new((x - 300.0, -300.0), (x + 300.0, 300.0));
    (cross(upper, line), cross(lower, line))
}

/// The part of a chain from one place to another.
fn between(chain: &[PathSeg], from: Place, to: Place) -> Vec<PathSeg> {
    (from.0..=to.0)
        .map(|i| {
            let start = if i == from.0 { from.1 } else { 0.0 };
            let end = if i == to.0 { to.1 } else { 1.0 };
            chain[i].subsegment(start..end)
        })
        .collect()
}

/// Corner points of the allowance past a seam, the sharp corner trimmed; `side` +1 to the tail.
fn allowance(chain: &[PathSeg], (up, low): (Place, Place), side: f64) -> [Point; 4] {
    let along = |place: Place, flip: f64| {
        let d = tangent(&chain[place.0], place.1);
        Vec2::new(d.x, d.y * flip)
    };
    let out = Vec2::new(FRAC_1_SQRT_2, -FRAC_1_SQRT_2) * side;
    let end = |corner: Point, other: Point, tangent: Vec2| {
        let inwards = tangent * -side;
        let seam = (other - corner).normalize();
        let share = inwards.dot(seam);
        let way = if share > 0.0 {
            seam * (2.0 * share) - inwards
        } else {
            -inwards
        };
        corner + way * (ALLOWANCE / way.dot(out))
    };
    [
        up.2,
        end(up.2, low.2, along(up, 1.0)),
        end(low.2, up.2, along(low, -1.0)),
        low.2,
    ]
}

fn tangent(segment: &PathSeg, t: f64) -> Vec2 {
    let d = match segment {
        PathSeg::Cubic(c) => {
            let u = 1.0 - t;
            (c.p1 - c.p0) * (u * u) + (c.p2 - c.p1) * (2.0 * u * t) + (c.p3 - c.p2) * (t * t)
        }
        other => other.end() - other.start(),
    };
    d.normalize()
}

fn flipped(p: Point) -> Point {
    Point::new(p.x, -p.y)
}

fn flipped_back(part: &[PathSeg]) -> Vec<PathSeg> {
    part.iter()
        .rev()
        .map(|s| Affine::FLIP_Y * s.reverse())
        .collect()
}

/// Adds segments to a closed outline, beginning it where there is none yet.
fn append(path: &mut BezPath, part: &[PathSeg]) {
    for s in part {
        if path.elements().is_empty() {
            path.move_to(s.start());
        }
        path.push(s.as_path_el());
    }
}

/// An end panel: from its point to one seam.
fn panel(
    name: &'static str,
    chain: &[PathSeg],
    point: Option<(Place, f64)>,
    after: Option<(Place, Place)>,
    before: Option<(Place, Place)>,
    fold: Vec<BezPath>,
) -> Piece {
    let (corner, apex) = point.unwrap_or((Place(0, 0.0, Point::ORIGIN), 0.0));
    let seam = after.or(before).unwrap_or((corner, corner));
    let mut outline = BezPath::new();
    outline.move_to((apex, 0.0));
    let side = if after.is_some() { 1.0 } else { -1.0 };
    let ends = allowance(chain, seam, side);
    let (top, bottom) = if after.is_some() {
        (
            between(chain, corner, seam.0),
            flipped_back(&between(chain, corner, seam.1)),
        )
    } else {
        let back: Vec<PathSeg> = between(chain, seam.0, corner)
            .iter()
            .rev()
            .map(PathSeg::reverse)
            .collect();
        (
            back,
            between(chain, seam.1, corner)
                .iter()
                .map(|s| Affine::FLIP_Y * *s)
                .collect(),
        )
    };
    outline.line_to(corner.2);
    append(&mut outline, &top);
    ends.iter().for_each(|p| outline.line_to(*p));
    append(&mut outline, &bottom);
    outline.line_to(flipped(corner.2));
    outline.close_path();
    let middle = apex + 120.0 * side;
    Piece {
        name,
        cloth: "shell",
        outline,
        sew: vec![
            straight(&[ends[0], ends[3]]),
            straight(&tipping_seam(corner.2, apex)),
        ],
        fold,
        notches: seam_notches(ends).to_vec(),
        grain: bias(Point::new(middle, 0.0)),
    }
}

/// The panel between two seams.
fn panel_between(
    name: &'static str,
    chain: &[PathSeg],
    first: (Place, Place),
    second: (Place, Place),
    fold: Vec<BezPath>,
) -> Piece {
    let start = allowance(chain, first, -1.0);
    let end = allowance(chain, second, 1.0);
    let mut outline = BezPath::new();
    outline.move_to(start[3]);
    [start[2], start[1], start[0]]
        .iter()
        .for_each(|p| outline.line_to(*p));
    append(&mut outline, &between(chain, first.0, second.0));
    end.iter().for_each(|p| outline.line_to(*p));
    append(
        &mut outline,
        &flipped_back(&between(chain, first.1, second.1)),
    );
    outline.close_path();
    let notches = [seam_notches(start), seam_notches(end)].concat();
    Piece {
        name,
        cloth: "shell",
        outline,
        sew: vec![straight(&[start[0], start[3]]), straight(&[end[0], end[3]])],
        fold,
        notches,
        grain: bias(start[0].midpoint(end[3])),
    }
}

fn straight(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    points.iter().enumerate().for_each(|(i, p)| {
        if i == 0 {
            path.move_to(*p)
        } else {
            path.line_to(*p)
        }
    });
    path
}

/// The line the tipping is sewn on: inside the cut line by the allowance.
fn tipping_seam(corner: Point, apex: f64) -> [Point; 3] {
    let way = if corner.x > apex { 1.0 } else { -1.0 };
    let shift = Vec2::new(way * ALLOWANCE * SQRT_2, 0.0);
    [
        corner + shift,
        Point::new(apex, 0.0) + shift,
        flipped(corner) + shift,
    ]
}

/// Two notches where the seam meets the cut line of the allowance.
fn seam_notches(ends: [Point; 4]) -> [(Point, Vec2); 2] {
    let inwards = (ends[0] - ends[1]).normalize();
    [
        (ends[1].lerp(ends[2], 0.3), inwards),
        (ends[1].lerp(ends[2], 0.7), inwards),
    ]
}

/// A grain arrow of 100 mm at 45 degrees.
fn bias(middle: Point) -> (Point, Point) {
    let half = Vec2::new(50.0 * FRAC_1_SQRT_2, 50.0 * FRAC_1_SQRT_2) * 0.8;
    (middle - half, middle + half)
}

/// The finished edge above the centre, corner to corner: the sides fold here.
fn finished(blade: &End, tail: &End, length: f64) -> Vec<PathSeg> {
    let home = Affine::new([-1.0, 0.0, 0.0, 1.0, length, 0.0]);
    let near = PathSeg::Cubic(blade.side());
    let far = home * PathSeg::Cubic(tail.side()).reverse();
    vec![near, PathSeg::Line(Line::new(near.end(), far.start())), far]
}

/// The part of a chain from one place to another, as a path of its own.
fn drawn(chain: &[PathSeg], from: Place, to: Place) -> BezPath {
    let mut path = BezPath::new();
    append(&mut path, &between(chain, from, to));
    path
}

/// The lining of an end: its point inside the finished edge, its foot level with the shell's.
fn tipping(
    name: &'static str,
    corner: Place,
    height: f64,
    home: Affine,
    chain: &[PathSeg],
) -> Piece {
    let seen = home * chain[corner.0].eval(corner.1);
    let along = (seen.x + seen.y) * FRAC_1_SQRT_2;
    let inset = MARGIN - ALLOWANCE;
    let foot = Point::new(
        (along + inset) * FRAC_1_SQRT_2,
        (along - inset) * FRAC_1_SQRT_2,
    );
    let apex = Point::new(inset * SQRT_2, 0.0);
    let ring = [
        apex,
        foot,
        Point::new(apex.x + height, foot.y),
        Point::new(apex.x + height, -foot.y),
        flipped(foot),
    ];
    let mut outline = straight(&ring);
    outline.close_path();
    let shift = Vec2::new(ALLOWANCE * SQRT_2, 0.0);
    let mut sew = straight(&[foot + shift, apex + shift, flipped(foot) + shift]);
    sew.apply_affine(home);
    outline.apply_affine(home);
    Piece {
        name,
        cloth: "tipping",
        outline,
        sew: vec![sew],
        fold: Vec::new(),
        notches: Vec::new(),
        grain: bias(home * Point::new(height / 2.0, 0.0)),
    }
}

/// The interlining: the finished outline moved inwards, 0.8 mm at the sides and 2 at the points.
fn interlining(blade: &End, tail: &End, length: f64) -> Piece {
    let home = Affine::new([-1.0, 0.0, 0.0, 1.0, length, 0.0]);
    let inside = |end: &End| -> Vec<PathSeg> {
        let mut path = BezPath::new();
        kurbo::offset::offset_cubic(end.side(), -0.8, 0.005, &mut path);
        path.segments().collect()
    };
    let mut top = inside(blade);
    let far = inside(tail);
    let y = NECK - 0.8;
    top.push(PathSeg::Line(Line::new(
        (701.675, y),
        (length - 428.625, y),
    )));
    top.extend(far.iter().rev().map(|s| home * s.reverse()));
    let gap = 2.0 * SQRT_2;
    let from = cross(&top, Line::new((gap, 0.0), (gap + 200.0, 200.0)));
    let to = cross(
        &top,
        Line::new((length - gap, 0.0), (length - gap - 200.0, 200.0)),
    );
    let edge = between(&top, from, to);
    let mut outline = BezPath::new();
    outline.move_to((gap, 0.0));
    outline.line_to(from.2);
    append(&mut outline, &edge);
    outline.line_to((length - gap, 0.0));
    outline.line_to(flipped(to.2));
    append(&mut outline, &flipped_back(&edge));
    outline.close_path();
    Piece {
        name: "interlining",
        cloth: "interlining",
        outline,
        sew: Vec::new(),
        fold: Vec::new(),
        notches: vec![(Point::new(gap, 0.0), Vec2::new(1.0, 0.0))],
        grain: bias(Point::new(length / 2.0, 0.0)),
    }
}

/// A strip folded lengthwise in four.
fn strip(name: &'static str, length: f64, width: f64) -> Piece {
    let corner = |x: f64, y: f64| Point::new(x * length, y * width);
    let mut outline = straight(&[
        corner(0.0, 0.0),
        corner(0.0, 1.0),
        corner(1.0, 1.0),
        corner(1.0, 0.0),
    ]);
    outline.close_path();
    let fold = [0.25, 0.5, 0.75].map(|y| straight(&[corner(0.0, y), corner(1.0, y)]));
    Piece {
        name,
        cloth: "shell",
        outline,
        sew: Vec::new(),
        fold: fold.to_vec(),
        notches: Vec::new(),
        grain: bias(corner(0.5, 0.5)),
    }
}

//! Works out what is marked on pieces: notches on their edges, lines, drill holes and words, with
//! their mirror images.

use std::sync::Arc;

use tiewright_geometry::{Curve, Line, Point, Ring, Track, Vec2, tolerance};

use super::outline::{IN_CENTRE, transformed};
use super::value::{PieceValue, RawKind, RawMark, Value};
use super::{Evaluator, Fault, Result, fail};
use crate::diagnostic::Code;
use crate::draft::{self, NotchKind};
use crate::format::quantity;
use crate::kind::Kind;
use crate::program::{Mark, MarkKind, Node};
use crate::source::Span;

/// Millimetres. A notch this near its edge is on it.
const NOTCH_OFF_EDGE: f64 = 0.05;

/// The marks a piece has from its pattern: notches only where their edge is still there.
pub fn inherited(base: &PieceValue, drawn: &Ring) -> Vec<RawMark> {
    let stays = |mark: &&RawMark| match &mark.what {
        RawKind::Notch { edge, at, .. } => on_edge(drawn, edge, *at).is_some(),
        _ => true,
    };
    base.marks.iter().filter(stays).cloned().collect()
}

/// Where on which edge of this name a point lies, with the outward direction there.
fn on_edge(ring: &Ring, edge: &str, at: Point) -> Option<(Point, Vec2)> {
    ring.edges()
        .iter()
        .filter(|e| &*e.name == edge)
        .find_map(|e| {
            let (place, away) = e.curve.nearest(at);
            // Outside is on the left of a clockwise ring.
            (away <= NOTCH_OFF_EDGE).then(|| (e.curve.eval(place), left(e.curve.tangent(place))))
        })
}

fn left(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

/// Puts a mark on a piece, and its mirror image if it is on both sides.
pub fn place(
    evaluator: &Evaluator<'_>,
    mark: &Mark,
    drawn: &Ring,
    left_out: &[Arc<str>],
    out: &mut Vec<RawMark>,
) -> Result<()> {
    let what = match &mark.what {
        MarkKind::Sew(node) => RawKind::Sew(evaluator.track(node)?),
        MarkKind::Fold(node) => RawKind::Fold(evaluator.track(node)?),
        MarkKind::Place(node) => RawKind::Place(evaluator.track(node)?),
        MarkKind::Drill(node) => RawKind::Drill(evaluator.point(node)?),
        MarkKind::Notch {
            kind,
            edge,
            at,
            depth,
            width,
        } => {
            let at = notch_point(evaluator, drawn, left_out, (edge, at))?;
            let (depth, width) = notch_size(evaluator, *kind, (depth, width.as_ref()), mark.span)?;
            RawKind::Notch {
                kind: *kind,
                edge: edge.clone(),
                at,
                depth,
                width,
            }
        }
        MarkKind::Text { words, at, turned } => {
            let angle = match turned {
                Some(node) => evaluator.number(node)?,
                None => 0.0,
            };
            RawKind::Text {
                text: evaluator.message(words)?.into(),
                at: evaluator.point(at)?,
                angle,
            }
        }
    };
    let image = mark.both_sides.then(|| RawMark {
        what: mirrored(&what, drawn),
        name: mark.name.as_ref().map(|name| draft::mirrored(name)),
        span: mark.span,
    });
    out.push(RawMark {
        what,
        name: mark.name.clone(),
        span: mark.span,
    });
    out.extend(image);
    Ok(())
}

/// How deep a notch is and how wide it opens, mm.
fn notch_size(
    evaluator: &Evaluator<'_>,
    kind: NotchKind,
    (depth, width): (&Node, Option<&Node>),
    span: Span,
) -> Result<(f64, f64)> {
    let depth = evaluator.number(depth)?;
    let width = match (width, kind) {
        (Some(width), _) => evaluator.number(width)?,
        (None, NotchKind::Slit) => 0.0,
        // A V or T opens as wide as it is deep unless something else is said.
        (None, NotchKind::V | NotchKind::T) => depth,
    };
    if depth <= 0.0 || width < 0.0 {
        return fail(
            Code::BadNotch,
            span,
            format!(
                "this notch is {} deep and {} wide",
                quantity(depth, Kind::LENGTH),
                quantity(width, Kind::LENGTH)
            ),
            "give it a depth above zero, such as `depth 3 mm`, and a width of zero or more",
        );
    }
    Ok((depth, width))
}

fn mirrored(what: &RawKind, drawn: &Ring) -> RawKind {
    match what {
        RawKind::Sew(track) => RawKind::Sew(transformed(track, IN_CENTRE)),
        RawKind::Fold(track) => RawKind::Fold(transformed(track, IN_CENTRE)),
        RawKind::Place(track) => RawKind::Place(transformed(track, IN_CENTRE)),
        RawKind::Drill(p) => RawKind::Drill(IN_CENTRE * *p),
        RawKind::Notch {
            kind,
            edge,
            at,
            depth,
            width,
        } => {
            let twin = draft::mirrored(edge);
            let edge = if drawn.edge(&twin).is_some() {
                twin
            } else {
                edge.clone()
            };
            RawKind::Notch {
                kind: *kind,
                edge,
                at: IN_CENTRE * *at,
                depth: *depth,
                width: *width,
            }
        }
        RawKind::Text { text, at, angle } => RawKind::Text {
            text: text.clone(),
            at: IN_CENTRE * *at,
            angle: -angle,
        },
    }
}

fn notch_point(
    evaluator: &Evaluator<'_>,
    drawn: &Ring,
    left_out: &[Arc<str>],
    (edge, at): (&str, &Node),
) -> Result<Point> {
    let Some(found) = drawn.edge(edge) else {
        if left_out.iter().any(|name| &**name == edge) {
            return fail(
                Code::NoPart,
                at.span,
                format!("edge `{edge}` is not cut here, because its condition does not hold"),
                "leave the notch out by the same condition",
            );
        }
        return fail(
            Code::NoPart,
            at.span,
            format!("nothing is left of edge `{edge}`"),
            "a cut took it away: put the notch on an edge that is left",
        );
    };
    match evaluator.node(at)? {
        Value::Point(p) => match on_edge(drawn, edge, p) {
            Some((on, _)) => Ok(on),
            None => {
                let away = quantity(found.curve.nearest(p).1, Kind::LENGTH);
                fail(
                    Code::NotchOffEdge,
                    at.span,
                    format!("this point lies {away} away from edge `{edge}`"),
                    "name a point on the edge, or a length along it",
                )
            }
        },
        Value::Number(along) => {
            let whole = found.curve.length();
            let from_start = if along < 0.0 { whole + along } else { along };
            match found.curve.place_at_length(from_start) {
                Some(place) => Ok(found.curve.eval(place)),
                None => fail(
                    Code::PastTheEnd,
                    at.span,
                    format!(
                        "edge `{edge}` is only {} long",
                        quantity(whole, Kind::LENGTH)
                    ),
                    "put the notch nearer to the start of the edge, or make the edge longer",
                ),
            }
        }
        _ => Err(Fault::Silent),
    }
}

/// A notch at a point of a drawn edge on the cut outline: where it starts and which way it goes in,
/// both on the table.
pub fn cut_notch(piece: &PieceValue, edge: &str, at: Point) -> Option<(Point, Vec2)> {
    let (on, outward) = on_edge(&piece.flat(), edge, piece.give.relax() * at)?;
    let allowance = piece
        .allowances
        .iter()
        .find(|a| &*a.edge == edge)
        .map_or(0.0, |a| a.amount);
    Some((on + outward * allowance, -outward))
}

/// The curve of a named line drawn on a piece, where it lies on the piece in one stretch, as it
/// hangs.
pub fn named_mark(piece: &PieceValue, name: &str) -> Option<Curve> {
    let mark = piece
        .marks
        .iter()
        .find(|mark| mark.name.as_deref() == Some(name))?;
    let (RawKind::Sew(track) | RawKind::Fold(track) | RawKind::Place(track)) = &mark.what else {
        return None;
    };
    let mut parts = clipped(&piece.hanging_cut(), track);
    if parts.len() == 1 { parts.pop() } else { None }
}

/// The parts of a track inside a ring.
pub fn clipped(ring: &Ring, track: &Track) -> Vec<Curve> {
    match track {
        Track::Curve(curve) => ring.clip(curve),
        Track::Line(line) => {
            long_enough(ring, line).map_or_else(Vec::new, |curve| ring.clip(&curve))
        }
    }
}

/// A stretch of an endless line that reaches across a ring on both sides.
fn long_enough(ring: &Ring, line: &Line) -> Option<Curve> {
    let bounds = ring.bounds();
    let middle = line.along(bounds.center());
    let reach = bounds.width() + bounds.height() + 1.0;
    if reach > tolerance::FARTHEST {
        return None;
    }
    Curve::line(line.at(middle - reach), line.at(middle + reach)).ok()
}

//! Sews and folds the drafted pieces again: where each comes to lie, and what the folded work
//! measures. The folding is the geometry's `refold`, which shares nothing with the unfolding the
//! draft was made by. All is as it hangs.

use std::sync::Arc;

use tiewright_geometry::{Affine, Crease, Curve, Line, Point, Refold, Ring, Track};

use super::mark::clipped;
use super::outline::{IN_CENTRE, own_image, reversed, transformed};
use super::value::{AssemblyValue, PieceValue, Placed, RawKind, Seam, Value};
use super::work::{ring_weight, track_weight};
use super::{Evaluator, Fault, Result, fail};
use crate::diagnostic::Code;
use crate::draft::{FoldedMark, Shown, mirrored};
use crate::program::{self, Assembly, AssemblyStep, Node, SlotId};
use crate::source::Span;

/// Millimetres. How far the samples of a folded curve may stray from it.
const FOLDED: f64 = 0.002;

/// How far the directions of the two lines of a pleat may differ, as a sine: a hundredth of a
/// millimetre on a metre.
const PARALLEL: f64 = 1e-5;

/// What folding costs in pairs of segments, for each segment and crease: it follows a curve in many
/// short steps.
pub const FOLD_WORK: u64 = 20;

/// How many points of each edge of the finished outline are looked at for cloth.
const COVER_SAMPLES: u32 = 24;

/// Works out an assembly.
pub fn work_out(evaluator: &Evaluator<'_>, assembly: &Assembly) -> Result<AssemblyValue> {
    let mut placed: Vec<Placed> = Vec::new();
    let mut seams = Vec::new();
    let mut creases = Vec::new();
    let mut segments = 1;
    let mut shown = Vec::new();
    let mut finish = None;
    let mut marked = Vec::new();
    for step in &assembly.steps {
        if !evaluator.holds(step.when.as_ref())? {
            continue;
        }
        match &step.what {
            AssemblyStep::Lay(slot, span) => {
                let piece = self::piece(evaluator, *slot, *span)?;
                placed.push(Placed {
                    slot: *slot,
                    piece,
                    place: Affine::IDENTITY,
                });
            }
            AssemblyStep::Sew { moved, to, span } => {
                let (place, seam) = sew(evaluator, &placed, moved, to, *span)?;
                seams.push(seam);
                if !placed.iter().any(|p| p.slot == moved.0) {
                    let piece = self::piece(evaluator, moved.0, *span)?;
                    placed.push(Placed {
                        slot: moved.0,
                        piece,
                        place,
                    });
                }
            }
            AssemblyStep::Fold(node, both_sides, _) => {
                let track = evaluator.track(node)?;
                segments += 2 * track_weight(&track);
                // A crease square to the centre is its own image.
                let twin = (*both_sides && !own_image(&track)).then(|| below(&track));
                creases.push(crease(track));
                creases.extend(twin.map(crease));
            }
            AssemblyStep::Pleat {
                lines,
                both_sides,
                span,
            } => {
                let pleat = pleat(evaluator, lines, *span)?;
                segments += 4;
                creases.push(Crease::Pleat(pleat.0, pleat.1));
                if *both_sides {
                    let twin = |line: Line| line.transformed(IN_CENTRE).reversed();
                    creases.push(Crease::Pleat(twin(pleat.0), twin(pleat.1)));
                }
            }
            AssemblyStep::Finish(node) => finish = Some(evaluator.outline(node)?),
            AssemblyStep::Show(show) => shown.push(Shown {
                outline: evaluator.outline(&show.outline)?,
                cloth: evaluator.role(show.cloth)?,
                lies: show.lies,
            }),
            // Endless ones are cut off at the finished outline, which may be stated further down.
            AssemblyStep::Mark(mark) => marked.push((mark, evaluator.track(&mark.line)?)),
        }
    }
    let mut marks = Vec::new();
    for (mark, track) in marked {
        marks.extend(folded_marks(mark, &track, finish.as_deref())?);
    }
    Ok(AssemblyValue {
        placed,
        seams,
        refold: Refold::new(creases),
        creases: segments,
        finish,
        shown,
        marks,
    })
}

/// A mark on the finished work, with its mirror image if it is on both sides. A curve stays as it is.
fn folded_marks(
    mark: &program::FoldedMark,
    track: &Track,
    finish: Option<&Ring>,
) -> Result<Vec<FoldedMark>> {
    let curves = match (track, finish) {
        (Track::Curve(curve), _) => vec![curve.clone()],
        (Track::Line(_), Some(finish)) => clipped(finish, track),
        (Track::Line(_), None) => {
            return fail(
                Code::NoFinish,
                mark.span,
                "the assembly has no finished outline to end this line at",
                "add `finish OUTLINE` to it, or mark a part of the line",
            );
        }
    };
    let mut out = Vec::new();
    for curve in curves {
        if mark.both_sides {
            out.push(FoldedMark {
                name: mirrored(&mark.name),
                curve: curve.transformed(IN_CENTRE),
                side: mark.side,
                span: mark.span,
            });
        }
        out.push(FoldedMark {
            name: mark.name.clone(),
            curve,
            side: mark.side,
            span: mark.span,
        });
    }
    Ok(out)
}

/// The image of a crease below the centre, walked the other way, so that outside stays on the left.
fn below(track: &Track) -> Track {
    reversed(transformed(track, IN_CENTRE))
}

/// The two lines of a pleat; they must be straight, and the second to the left of the first.
fn pleat(evaluator: &Evaluator<'_>, lines: &(Node, Node), span: Span) -> Result<(Line, Line)> {
    let straight = |node: &Node| match evaluator.track(node)? {
        Track::Line(line) => Ok(line),
        Track::Curve(curve) if curve.is_straight() => Ok(Line {
            point: curve.start(),
            direction: curve.start_tangent(),
        }),
        Track::Curve(_) => fail(
            Code::NotStraight,
            node.span,
            "this curve is not straight, so no pleat can be folded on it",
            "fold pleats on straight lines",
        ),
    };
    let (first, second) = (straight(&lines.0)?, straight(&lines.1)?);
    let turned = first.direction.cross(second.direction).abs() > PARALLEL
        || first.direction.dot(second.direction) < 0.0;
    if turned || first.side(second.point) < -FOLDED {
        return fail(
            Code::Backwards,
            span,
            "the second line of a pleat must run beside the first, to its left and the same way",
            "swap the lines, or draw both the same way",
        );
    }
    Ok((first, second))
}

fn crease(track: Track) -> Crease {
    match track {
        Track::Line(line) => Crease::Line(line),
        Track::Curve(curve) => Crease::Curve(curve),
    }
}

fn piece(evaluator: &Evaluator<'_>, slot: SlotId, span: Span) -> Result<Arc<PieceValue>> {
    let name = evaluator.shape().slot(slot).map_or("", |s| &*s.name);
    match evaluator.value(slot)? {
        Value::Piece(piece) if piece.exists => Ok(piece.clone()),
        Value::Piece(_) => fail(
            Code::NoPiece,
            span,
            format!("`{name}` is not cut under these parameters, so it cannot be sewn"),
            "give the assembly only pieces that exist",
        ),
        _ => Err(Fault::Silent),
    }
}

/// Where `moved` comes to lie when its edge is sewn to an edge of a piece already placed.
fn sew(
    evaluator: &Evaluator<'_>,
    placed: &[Placed],
    moved: &(SlotId, Arc<str>),
    to: &(SlotId, Arc<str>),
    span: Span,
) -> Result<(Affine, Seam)> {
    let name = |slot| evaluator.shape().slot(slot).map_or("", |s| &*s.name);
    let Some(fixed) = placed.iter().find(|p| p.slot == to.0) else {
        return fail(
            Code::NotSewn,
            span,
            format!("`{}` does not lie in this assembly yet", name(to.0)),
            format!(
                "write `lay {}` before this, or sew it to a piece that lies there",
                name(to.0)
            ),
        );
    };
    let piece = self::piece(evaluator, moved.0, span)?;
    let (Some(edge), Some(partner)) = (piece.drawn.edge(&moved.1), fixed.piece.drawn.edge(&to.1))
    else {
        for (piece, (slot, edge)) in [(&piece, moved), (&fixed.piece, to)] {
            if piece.left_out.contains(edge) {
                return super::piece::missing_part(piece, name(*slot), edge, span);
            }
        }
        return fail(
            Code::NoPart,
            span,
            "one of these edges was cut away",
            "sew edges that are still there",
        );
    };
    // Both rings are walked clockwise, so sewn edges run against each other.
    let onto = partner.curve.reversed().transformed(fixed.place);
    let place = match placed.iter().find(|p| p.slot == moved.0) {
        Some(before) => before.place,
        None => align(&edge.curve, &onto),
    };
    let difference = (edge.curve.length() - partner.curve.length()).abs();
    let ours = notches(&piece, &moved.1, place);
    let theirs = notches(&fixed.piece, &to.1, fixed.place);
    if ours.len() != theirs.len() {
        let (ours, theirs) = (ours.len(), theirs.len());
        return fail(
            Code::NotchesUnpaired,
            span,
            format!(
                "`{}.{}` has {ours} notches and `{}.{}` has {theirs}",
                name(moved.0),
                moved.1,
                name(to.0),
                to.1,
            ),
            "notches on edges sewn to each other come in pairs: add the missing one, or take one out",
        );
    }
    let seam = Seam {
        difference,
        notches: notches_apart(&ours, &theirs),
    };
    Ok((place, seam))
}

/// How far notches lie from the nearest of those they are sewn to: the farthest of them, mm.
fn notches_apart(ours: &[Point], theirs: &[Point]) -> f64 {
    let nearest = |p: &Point| {
        let away = theirs.iter().map(|q| p.distance(*q));
        away.fold(f64::INFINITY, f64::min)
    };
    ours.iter().map(nearest).fold(0.0, f64::max)
}

/// The rigid motion that lays `edge` on `onto`, middle on middle, ends towards ends.
fn align(edge: &Curve, onto: &Curve) -> Affine {
    let (from, to) = (edge.end() - edge.start(), onto.end() - onto.start());
    let scale = libm::hypot(from.x, from.y) * libm::hypot(to.x, to.y);
    let (cos, sin) = if scale > 0.0 {
        (from.dot(to) / scale, from.cross(to) / scale)
    } else {
        (1.0, 0.0)
    };
    let turn = Affine::new([cos, sin, -sin, cos, 0.0, 0.0]);
    let middle = edge.start().midpoint(edge.end());
    let target = onto.start().midpoint(onto.end());
    Affine::translate(target.to_vec2()) * turn * Affine::translate(-middle.to_vec2())
}

/// The notches on one edge, on its drawn line, where the piece lies.
fn notches(piece: &PieceValue, on: &str, place: Affine) -> Vec<Point> {
    piece
        .marks
        .iter()
        .filter_map(|mark| match &mark.what {
            RawKind::Notch { edge, at, .. } if &**edge == on => Some(place * *at),
            _ => None,
        })
        .collect()
}

/// A curve of the flat work, folded: a chain of short straight lines.
pub fn folded_curve(assembly: &AssemblyValue, curve: &Curve, span: Span) -> Result<Curve> {
    let points = assembly.refold.curve(curve, FOLDED);
    let lines: Vec<Curve> = points
        .windows(2)
        .filter_map(|pair| Curve::line(*pair.first()?, *pair.get(1)?).ok())
        .collect();
    super::expr::geometry(Curve::chain(&lines), span)
}

/// The greatest distance between the silhouette of the folded work and the finished outline:
/// cloth that stands out beyond it, or outline without cloth.
pub fn silhouette_gap(
    evaluator: &Evaluator<'_>,
    assembly: &AssemblyValue,
    span: Span,
) -> Result<f64> {
    let Some(finish) = &assembly.finish else {
        return fail(
            Code::NoFinish,
            span,
            "the assembly has no finished outline to compare with",
            "add `finish OUTLINE` to it",
        );
    };
    let placed = assembly.placed.iter().map(|p| ring_weight(&p.piece.net));
    let flat: u64 = placed.sum();
    let work = FOLD_WORK * flat * (assembly.creases + ring_weight(finish));
    evaluator.work.pay(work, span)?;
    let mut worst: f64 = 0.0;
    for placed in &assembly.placed {
        for edge in placed.piece.hanging_net().edges() {
            let flat = edge.curve.transformed(placed.place);
            for point in assembly.refold.curve(&flat, FOLDED) {
                worst = worst.max(finish.outside_by(point));
            }
        }
    }
    Ok(worst.max(bare_outline(assembly, finish)))
}

/// How far the finished outline goes on where the folded work has no cloth: every point of it
/// that is a fold must have cloth on both of its sides.
fn bare_outline(assembly: &AssemblyValue, finish: &Ring) -> f64 {
    let rings: Vec<Ring> = assembly
        .placed
        .iter()
        .map(|p| p.piece.hanging_net().transformed(p.place))
        .collect();
    let mut worst: f64 = 0.0;
    for edge in finish.edges() {
        let whole = edge.curve.length();
        for step in 0..=COVER_SAMPLES {
            let along = whole * f64::from(step) / f64::from(COVER_SAMPLES);
            let Some(place) = edge.curve.place_at_length(along) else {
                continue;
            };
            let point = edge.curve.eval(place);
            let bare = rings
                .iter()
                .map(|ring| ring.outside_by(point))
                .fold(f64::INFINITY, f64::min);
            worst = worst.max(bare);
        }
    }
    worst
}

//! Works out outlines and pieces: edges into rings, cuts, allowances, marks in their places.

use std::borrow::Cow;
use std::sync::Arc;

use tiewright_geometry::{
    Affine, Curve, Line, Net, Point, Ring, RingError, Track, Vec2, tolerance, with_allowance,
};

use super::expr::geometry_told;
use super::value::{EdgeAllowance, PieceValue, RawKind, RawMark, Value};
use super::work::{ring_weight, track_weight};
use super::{Evaluator, Fault, Result, fail};
use crate::cloth::Property;
use crate::diagnostic::{Code, Diagnostic};
use crate::draft::MIRRORED;
use crate::draft::NotchKind;
use crate::format::{self, quantity};
use crate::kind::Kind;
use crate::program::{Edges, Mark, MarkKind, Node, Piece, Slot, Source};
use crate::source::Span;

/// The mirror image in the centre of the draft.
pub const IN_CENTRE: Affine = Affine::FLIP_Y;

/// What an outline and its allowances cost in pairs of segments, for each pair they look at.
const RING_WORK: u64 = 1;
const ALLOWANCE_WORK: u64 = 2;

/// Works out a ring of edges.
pub fn ring(evaluator: &Evaluator<'_>, edges: &Edges) -> Result<Ring> {
    let mut tracks: Vec<(Arc<str>, Track)> = Vec::with_capacity(edges.edges.len() * 2);
    for (name, node) in &edges.edges {
        tracks.push((name.clone(), evaluator.track(node)?));
    }
    if edges.both_sides {
        let mirrored: Vec<_> = tracks
            .iter()
            .rev()
            .filter(|(_, track)| !own_image(track))
            .map(|(name, track)| {
                (
                    format!("{name}{MIRRORED}").into(),
                    reversed(transformed(track, IN_CENTRE)),
                )
            })
            .collect();
        tracks.extend(mirrored);
    }
    let segments: u64 = tracks.iter().map(|(_, track)| track_weight(track)).sum();
    evaluator
        .work
        .pay(RING_WORK * segments * segments, edges.span)?;
    let spans: Vec<(Arc<str>, Span)> = tracks
        .iter()
        .map(|(name, _)| {
            let own = |(edge, _): &&(Arc<str>, Node)| same_edge(edge, name);
            let node = edges.edges.iter().find(own).map(|(_, node)| node);
            (name.clone(), node.map_or(edges.span, |node| node.span))
        })
        .collect();
    Ring::from_tracks(tracks).or_else(|error| ring_fault(&error, &spans, edges.span))
}

/// Whether `name` is the edge `drawn` or its mirror image.
fn same_edge(drawn: &str, name: &str) -> bool {
    name == drawn || name.strip_suffix(MIRRORED) == Some(drawn)
}

/// Says in the words of the language why a ring cannot be made. `edges` gives each edge's name and
/// where it is drawn; `span` is where the ring is declared.
fn ring_fault<T>(error: &RingError, edges: &[(Arc<str>, Span)], span: Span) -> Result<T> {
    let name = |index: usize| edges.get(index).map_or("?", |(name, _)| name);
    let drawn = |index: usize| edges.get(index).map_or(span, |(_, span)| *span);
    let told =
        |code, at, message: String, hint: &str| Diagnostic::error(code, at, message).hint(hint);
    let diagnostic = match *error {
        RingError::TooFewEdges { .. } => told(
            Code::FewEdges,
            span,
            "too little is left of this outline: it needs two edges of some length".to_owned(),
            "check the lengths that its edges are drawn from",
        ),
        RingError::NoMeeting { a, b } => told(
            Code::EdgesApart,
            drawn(a),
            format!("edges `{}` and `{}` never meet", name(a), name(b)),
            "edges stand in order round the outline, each meeting the next: check the order, and the \
             lengths and angles they are drawn from",
        )
        .also(drawn(b), "the edge after it"),
        RingError::EdgeSwallowed { edge } => told(
            Code::EdgeSwallowed,
            drawn(edge),
            format!("nothing is left of edge `{}` between its neighbours", name(edge)),
            "its neighbours meet it only beyond its ends: draw it longer, or move them",
        ),
        RingError::CrossesItself { at, a, b } => {
            let who = if a == b {
                format!("edge `{}` crosses itself", name(a))
            } else {
                format!("edges `{}` and `{}` cross", name(a), name(b))
            };
            let told = told(
                Code::CrossesItself,
                drawn(a),
                format!("{who}, at {}", format::place(at)),
                "check the lengths and angles they are drawn from",
            );
            if a == b { told } else { told.also(drawn(b), "crossed by this one") }
        }
        RingError::NotDivided => told(
            Code::CutMisses,
            span,
            "the line to cut along does not cross the piece".to_owned(),
            "move the line, or leave the cut out",
        ),
        RingError::ManyParts { parts } => told(
            Code::ManyParts,
            span,
            format!("the cut leaves {parts} parts on the side to keep"),
            "cut where the line crosses the piece only twice",
        ),
        RingError::BadAllowance { edge } => told(
            Code::NegativeAllowance,
            drawn(edge),
            format!("the allowance of edge `{}` is below zero", name(edge)),
            "make it zero or more",
        ),
        RingError::Edge { edge, error } => {
            let (code, message, hint) = geometry_told(&error);
            told(code, drawn(edge), format!("edge `{}`: {message}", name(edge)), hint)
        }
    };
    Err(Fault::Told(Box::new(diagnostic)))
}

/// Whether an edge is an endless line square to the centre: its own mirror image, drawn once.
pub fn own_image(track: &Track) -> bool {
    matches!(track, Track::Line(line) if line.direction.x.abs() < tolerance::PARALLEL.sqrt())
}

/// A track moved, mirrored or scaled.
pub fn transformed(track: &Track, map: Affine) -> Track {
    match track {
        Track::Line(line) => Track::Line(line.transformed(map)),
        Track::Curve(curve) => Track::Curve(curve.transformed(map)),
    }
}

/// The same track walked the other way.
pub fn reversed(track: Track) -> Track {
    match track {
        Track::Line(line) => Track::Line(line.reversed()),
        Track::Curve(curve) => Track::Curve(curve.reversed()),
    }
}

/// Works out a piece or pattern.
pub fn work_out(evaluator: &Evaluator<'_>, piece: &Piece, slot: &Slot) -> Result<PieceValue> {
    let exists = evaluator.holds(piece.when.as_ref())?;
    let (mut drawn, base) = outline(evaluator, piece)?;
    let mut left_out = base.as_ref().map_or_else(Vec::new, |b| b.left_out.clone());
    for cut in &piece.cuts {
        if !evaluator.holds(cut.when.as_ref())? {
            left_out.push(cut.name.clone());
            continue;
        }
        let segments = ring_weight(&drawn);
        evaluator
            .work
            .pay(RING_WORK * segments * segments, cut.span)?;
        let (line, keep) = (evaluator.line(&cut.line)?, evaluator.point(&cut.keep)?);
        drawn = drawn
            .cut_along(&line, keep, cut.name.clone())
            .or_else(|e| ring_fault(&e, &named(&drawn, cut.span), cut.span))?;
    }
    let mut allowances: Vec<EdgeAllowance> = base
        .as_ref()
        .map_or_else(Vec::new, |b| b.allowances.clone());
    for allowance in &piece.allowances {
        if !evaluator.holds(allowance.when.as_ref())? {
            continue;
        }
        let amount = evaluator.number(&allowance.amount)?;
        if amount < 0.0 {
            return fail(
                Code::NegativeAllowance,
                allowance.amount.span,
                format!("this allowance is {}", quantity(amount, Kind::LENGTH)),
                "make it zero or more",
            );
        }
        for edge in &allowance.edges {
            allowances.retain(|a| a.edge != *edge);
            allowances.push(EdgeAllowance {
                edge: edge.clone(),
                amount,
                join: allowance.join,
                span: allowance.amount.span,
            });
        }
    }
    if allowances.iter().any(|allowance| allowance.amount > 0.0) {
        let segments = ring_weight(&drawn);
        let work = 2 * ALLOWANCE_WORK * segments * segments;
        evaluator.work.pay(work, slot.span)?;
    }
    let give = match (&piece.give, &base) {
        (Some(node), _) => net(evaluator, node)?,
        (None, Some(base)) => base.give,
        (None, None) => Net::SLACK,
    };
    // Allowances are measured on the table.
    let flat = match give.is_slack() {
        true => Cow::Borrowed(&drawn),
        false => Cow::Owned(drawn.transformed(give.relax())),
    };
    let net = allowed(&flat, &allowances, false, slot.span)?;
    let cut = allowed(&flat, &allowances, true, slot.span)?;
    let mut marks: Vec<RawMark> = base
        .as_ref()
        .map_or_else(Vec::new, |base| inherited(base, &drawn));
    for mark in &piece.marks {
        if evaluator.holds(mark.when.as_ref())? {
            place(evaluator, mark, &drawn, &left_out, &mut marks)?;
        } else if let Some(name) = &mark.name {
            left_out.push(name.clone());
            left_out.push(mirrored_name(name));
        }
    }
    let quantity = match (&piece.quantity, &base) {
        (Some(node), _) => whole(evaluator, node)?,
        (None, Some(base)) => base.quantity,
        (None, None) => 1,
    };
    let grain = match &piece.grain {
        Some(node) => Some(evaluator.number(node)?),
        None => base.as_ref().and_then(|b| b.grain),
    };
    let cloth = match piece.cloth {
        Some(id) => Some(evaluator.role(id)?),
        None => base.as_ref().and_then(|b| b.cloth.clone()),
    };
    drop(flat);
    Ok(PieceValue {
        exists,
        drawn,
        give,
        net,
        cut,
        allowances,
        marks,
        left_out,
        cloth,
        grain,
        quantity,
    })
}

/// How cloth gives that lengthens by this share.
fn net(evaluator: &Evaluator<'_>, node: &Node) -> Result<Net> {
    let share = evaluator.number(node)?;
    let range = Property::Give.row();
    let within = (range.lowest..=range.highest).contains(&share);
    if let (true, Some(net)) = (within, Net::lengthened(share)) {
        return Ok(net);
    }
    let percent = |share: f64| format!("{} %", format::decimal(share * 100.0, 2));
    fail(
        Code::OutOfRange,
        node.span,
        format!("a piece cannot give by {}", percent(share)),
        format!(
            "keep it from {} to {}",
            percent(range.lowest),
            percent(range.highest)
        ),
    )
}

fn outline(evaluator: &Evaluator<'_>, piece: &Piece) -> Result<(Ring, Option<Arc<PieceValue>>)> {
    match &piece.source {
        Source::Pattern(id) => match evaluator.value(*id)? {
            Value::Piece(base) => Ok((base.drawn.clone(), Some(base.clone()))),
            _ => Err(Fault::Silent),
        },
        Source::Edges(edges) => ring(evaluator, edges).map(|ring| (ring, None)),
        Source::Outline(node) => evaluator.outline(node).map(|ring| ((*ring).clone(), None)),
    }
}

/// The outline with allowances, those of joins included or not.
fn allowed(drawn: &Ring, allowances: &[EdgeAllowance], joins: bool, span: Span) -> Result<Ring> {
    let amount = |name: &str| {
        let found = allowances
            .iter()
            .find(|a| &*a.edge == name && (joins || !a.join));
        found.map_or(0.0, |a| a.amount)
    };
    let amounts: Vec<f64> = drawn
        .edges()
        .iter()
        .map(|edge| amount(&edge.name))
        .collect();
    if amounts.iter().all(|&a| a == 0.0) {
        return Ok(drawn.clone());
    }
    with_allowance(drawn, &amounts)
        .or_else(|error| allowance_fault(&error, drawn, allowances, &amounts, span))
}

/// Every edge of a ring by name, all of them said to be drawn at `span`.
fn named(ring: &Ring, span: Span) -> Vec<(Arc<str>, Span)> {
    let edges = ring.edges().iter();
    edges.map(|edge| (edge.name.clone(), span)).collect()
}

/// Says which allowance leaves no room for the piece it is put on.
fn allowance_fault<T>(
    error: &RingError,
    drawn: &Ring,
    allowances: &[EdgeAllowance],
    amounts: &[f64],
    span: Span,
) -> Result<T> {
    let edges: Vec<(Arc<str>, Span)> = drawn
        .edges()
        .iter()
        .map(|edge| {
            let own = allowances.iter().find(|a| a.edge == edge.name);
            (edge.name.clone(), own.map_or(span, |own| own.span))
        })
        .collect();
    let (RingError::EdgeSwallowed { edge: index } | RingError::CrossesItself { a: index, .. }) =
        *error
    else {
        return ring_fault(error, &edges, span);
    };
    let amount = amounts.iter().copied().fold(0.0, f64::max);
    let (Some(edge), Some((name, at))) = (drawn.edges().get(index), edges.get(index)) else {
        return ring_fault(error, &edges, span);
    };
    let message = format!(
        "allowances of up to {} leave no room at edge `{name}`, which is {} long",
        quantity(amount, Kind::LENGTH),
        quantity(edge.curve.length(), Kind::LENGTH)
    );
    let code = match error {
        RingError::EdgeSwallowed { .. } => Code::EdgeSwallowed,
        _ => Code::CrossesItself,
    };
    fail(
        code,
        *at,
        message,
        "make the allowance narrower, or the edge longer",
    )
}

fn whole(evaluator: &Evaluator<'_>, node: &Node) -> Result<u32> {
    let value = evaluator.number(node)?;
    if (1.0..=1000.0).contains(&value) && value.fract() == 0.0 {
        // In range and whole, so the conversion is exact.
        return Ok(value as u32);
    }
    fail(
        Code::BadQuantity,
        node.span,
        format!("{} pieces cannot be cut", format::decimal(value, 4)),
        "write a whole number from 1 to 1000",
    )
}

/// The marks a piece has from its pattern: notches only where their edge is still there.
fn inherited(base: &PieceValue, drawn: &Ring) -> Vec<RawMark> {
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

/// Millimetres. A notch this near its edge is on it.
const NOTCH_OFF_EDGE: f64 = 0.05;

fn left(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

fn place(
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
                    mark.span,
                    format!(
                        "this notch is {} deep and {} wide",
                        quantity(depth, Kind::LENGTH),
                        quantity(width, Kind::LENGTH)
                    ),
                    "give it a depth above zero, such as `depth 3 mm`, and a width of zero or more",
                );
            }
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
    let raw = RawMark {
        what,
        name: mark.name.clone(),
        span: mark.span,
    };
    if mark.both_sides {
        let name = raw.name.as_ref().map(|name| mirrored_name(name));
        let what = mirrored(&raw.what, drawn);
        out.push(raw);
        out.push(RawMark {
            what,
            name,
            span: mark.span,
        });
    } else {
        out.push(raw);
    }
    Ok(())
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
            let twin: Arc<str> = format!("{edge}{MIRRORED}").into();
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

/// Says why a piece has nothing called `part`.
pub fn missing_part<T>(piece: &PieceValue, owner: &str, part: &str, span: Span) -> Result<T> {
    if piece.left_out.iter().any(|name| &**name == part) {
        return fail(
            Code::NoPart,
            span,
            format!("`{part}` is left out of `{owner}`, because its condition does not hold"),
            "speak of it only under the same condition, with `when` or `if`",
        );
    }
    fail(
        Code::NoPart,
        span,
        format!("nothing is left of `{part}` in `{owner}`"),
        "a cut took it away, or it does not lie on the piece in one stretch",
    )
}

fn mirrored_name(name: &str) -> Arc<str> {
    format!("{name}{MIRRORED}").into()
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

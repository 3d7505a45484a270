//! Works out outlines: edges into rings, both sides from one, allowances round them; and says why a
//! ring cannot be made.

use std::sync::Arc;

use tiewright_geometry::{Affine, Ring, RingError, Track, tolerance, with_allowance};

use super::expr::geometry_told;
use super::value::EdgeAllowance;
use super::work::track_weight;
use super::{Evaluator, Fault, Result, fail};
use crate::diagnostic::{Code, Diagnostic};
use crate::draft::{mirrored, mirrored_from};
use crate::format::{self, quantity};
use crate::kind::Kind;
use crate::program::{Edges, Node};
use crate::source::Span;

/// The mirror image in the centre of the draft.
pub const IN_CENTRE: Affine = Affine::FLIP_Y;

/// What an outline costs in pairs of segments, for each pair it looks at.
pub const RING_WORK: u64 = 1;

/// Works out a ring of edges.
pub fn ring(evaluator: &Evaluator<'_>, edges: &Edges) -> Result<Ring> {
    let mut tracks: Vec<(Arc<str>, Track)> = Vec::with_capacity(edges.edges.len() * 2);
    for (name, node) in &edges.edges {
        tracks.push((name.clone(), evaluator.track(node)?));
    }
    if edges.both_sides {
        let images: Vec<_> = tracks
            .iter()
            .rev()
            .filter(|(_, track)| !own_image(track))
            .map(|(name, track)| (mirrored(name), reversed(transformed(track, IN_CENTRE))))
            .collect();
        tracks.extend(images);
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
    name == drawn || mirrored_from(name) == Some(drawn)
}

/// Says in the words of the language why a ring cannot be made. `edges` gives each edge's name and
/// where it is drawn; `span` is where the ring is declared.
pub fn ring_fault<T>(error: &RingError, edges: &[(Arc<str>, Span)], span: Span) -> Result<T> {
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

/// The outline with allowances, those of joins included or not.
pub fn allowed(
    drawn: &Ring,
    allowances: &[EdgeAllowance],
    joins: bool,
    span: Span,
) -> Result<Ring> {
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
pub fn named(ring: &Ring, span: Span) -> Vec<(Arc<str>, Span)> {
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

//! From a checked style to a draft: requirements first, then everything else, then the pieces
//! and the proof.

use std::sync::Arc;

use tiewright_geometry::{Point, Ring, Track, Vec2};

use super::blame::{self, Trouble};
use super::mark::{clipped, cut_notch};
use super::outline::transformed;
use super::value::{AssemblyValue, PieceValue, RawKind, RawMark, Value};
use super::{Evaluator, Result, fail, grade, solve};
use crate::diagnostic::{Code, Diagnostic};
use crate::draft::{
    Draft, Drill, Folded, Grain, Line, Measure, Notch, Piece, ProofRow, Relation, Text,
};
use crate::format::{in_unit, quantity, unit};
use crate::kind::Kind;
use crate::program::{
    Bound, Definition, MessagePart, Node, Prove, Require, Setting, Slot, SlotId, Style, reads_of,
};
use crate::source::Span;

/// A draft, or what stood in its way; warnings come with either.
#[derive(Debug, Default)]
pub struct Drafted {
    /// The draft, unless there is an error.
    pub draft: Option<Draft>,
    /// What was wrong. A line of the proof that does not hold is not among these.
    pub diagnostics: Vec<Diagnostic>,
}

/// Drafts a style in one of its sizes (name and settings), or as it stands.
pub fn draft(style: &Style, size: Option<&(Arc<str>, Vec<Setting>)>) -> Drafted {
    let own: &[Setting] = size.map_or(&[], |(_, list)| list);
    let levels = grade::levels(style, own);
    let mut evaluator = Evaluator::new(&style.shape, &levels);
    let settings = blame::in_order(&levels);
    let draft = work_out(
        &mut evaluator,
        style,
        size.map(|(name, _)| name.clone()),
        &settings,
    );
    let troubles = std::mem::take(&mut evaluator.troubles);
    let diagnostics: Vec<Diagnostic> = troubles
        .into_iter()
        .map(|trouble| blame::pointed(&evaluator, trouble, style, &settings))
        .collect();
    let failed = diagnostics.iter().any(Diagnostic::is_error);
    Drafted {
        draft: draft.filter(|_| !failed),
        diagnostics,
    }
}

fn work_out(
    evaluator: &mut Evaluator<'_>,
    style: &Style,
    size: Option<Arc<str>>,
    settings: &[&Setting],
) -> Option<Draft> {
    if !style.finds.is_empty() && !solve::solve(evaluator, &style.finds) {
        return None;
    }
    if !requirements(evaluator, settings) {
        return None;
    }
    let shape = evaluator.shape();
    let all: Vec<SlotId> = targets(evaluator);
    let order = evaluator.order(&all);
    evaluator.run(&order);
    let mut draft = Draft {
        style: style.name.clone(),
        size,
        doc: style.doc.clone(),
        parameters: Vec::new(),
        set: Vec::new(),
        measures: Vec::new(),
        pieces: Vec::new(),
        cloths: Vec::new(),
        proof: Vec::new(),
        folded: None,
        inspections: Vec::new(),
        steps: Vec::new(),
    };
    for (id, slot) in shape.parameters() {
        draft.parameters.extend(measure(evaluator, id, slot));
        if settings.iter().any(|setting| setting.slot == id) {
            draft.set.push(slot.name.clone());
        }
    }
    for &id in &shape.measures {
        let slot = shape.slot(id)?;
        draft.measures.extend(measure(evaluator, id, slot));
    }
    for (index, slot) in shape.slots.iter().enumerate() {
        let id = SlotId(u32::try_from(index).ok()?);
        match evaluator.value(id) {
            Ok(Value::Piece(piece)) if piece.exists => {
                if let Definition::Piece(declared) = &slot.definition
                    && declared.cut
                {
                    let finished = finished(&piece.clone(), slot);
                    match finished {
                        Ok(piece) => draft.pieces.push(piece),
                        Err(fault) => evaluator.tell(fault, &[id]),
                    }
                }
            }
            Ok(Value::Assembly(assembly)) => {
                draft.folded = pictured(draft.folded.take(), folded(assembly));
            }
            _ => {}
        }
    }
    draft.cloths = super::cloth::in_use(evaluator, &draft.pieces);
    for prove in &shape.proofs {
        match proof_row(evaluator, prove, settings) {
            Ok(row) => draft.proof.extend(row),
            Err(fault) => evaluator.tell(fault, &prove_reads(prove)),
        }
    }
    super::bench::add(evaluator, &mut draft);
    Some(draft)
}

/// Everything a draft needs: all that is declared, since an error anywhere is worth knowing.
fn targets(evaluator: &Evaluator<'_>) -> Vec<SlotId> {
    (0..evaluator.shape().slots.len())
        .filter_map(|index| u32::try_from(index).ok().map(SlotId))
        .collect()
}

fn measure(evaluator: &Evaluator<'_>, id: SlotId, slot: &Slot) -> Option<Measure> {
    let Ok(Value::Number(value)) = evaluator.value(id) else {
        return None;
    };
    Some(Measure {
        name: slot.name.clone(),
        value: in_unit(*value, slot.kind),
        unit: unit(slot.kind),
        doc: slot.doc.clone(),
        span: slot.span,
    })
}

/// Checks the requirements; where one fails, errors that only follow from it are dropped.
fn requirements(evaluator: &mut Evaluator<'_>, settings: &[&Setting]) -> bool {
    let shape = evaluator.shape();
    let mut failed = Vec::new();
    for require in &shape.requires {
        let reads = reads_of(&require.condition);
        let order = evaluator.order(&reads);
        evaluator.run(&order);
        if let Ok(false) = evaluator.truth(&require.condition) {
            failed.push(unmet(evaluator, require, settings).into());
        }
    }
    if !failed.is_empty() {
        let range = |trouble: &Trouble| trouble.diagnostic.code == Code::OutOfRange;
        evaluator.troubles.retain(range);
        evaluator.troubles.append(&mut failed);
        return false;
    }
    true
}

/// What the first requirement that does not hold says, if there is one.
pub fn unmet_requirement(evaluator: &mut Evaluator<'_>) -> Option<String> {
    let shape = evaluator.shape();
    shape.requires.iter().find_map(|require| {
        let order = evaluator.order(&reads_of(&require.condition));
        evaluator.run(&order);
        match evaluator.truth(&require.condition) {
            Ok(false) => Some(words(evaluator, require)),
            _ => None,
        }
    })
}

/// What a requirement says when it does not hold, with its values.
fn words(evaluator: &mut Evaluator<'_>, require: &Require) -> String {
    for part in &require.message.parts {
        if let MessagePart::Value(node) = part {
            let order = evaluator.order(&reads_of(node));
            evaluator.run(&order);
        }
    }
    evaluator
        .message(&require.message)
        .unwrap_or_else(|_| "what the shape requires here does not hold".into())
}

/// A requirement that does not hold, at the setting of the user's that it hangs on.
fn unmet(evaluator: &mut Evaluator<'_>, require: &Require, settings: &[&Setting]) -> Diagnostic {
    let message = words(evaluator, require);
    let (message, hint) = match message.split_once(':') {
        Some((message, hint)) => (message.trim().to_owned(), Some(hint.trim().to_owned())),
        None => (message, None),
    };
    let slots = reads_of(&require.condition);
    let advice: Vec<String> = hint.iter().cloned().collect();
    let set = blame::involved(evaluator, &slots, settings, &advice);
    let mut diagnostic = match set.first() {
        Some(first) => Diagnostic::error(Code::Requirement, first.value.span, message)
            .also(require.condition.span, "required here"),
        None => Diagnostic::error(Code::Requirement, require.condition.span, message),
    };
    // Several may follow one setting, which is pointed at once.
    let mut shown: Vec<Span> = set.iter().take(1).map(|first| first.value.span).collect();
    for other in set.iter().skip(1).take(blame::MOST) {
        if !shown.contains(&other.value.span) {
            shown.push(other.value.span);
            diagnostic = diagnostic.also(other.value.span, "this has a part in it");
        }
    }
    for graded in set.iter().take(blame::MOST + 1) {
        let lines = blame::grade_lines(evaluator, graded);
        diagnostic.secondary.extend(lines);
    }
    match hint {
        Some(hint) => diagnostic.hint(hint),
        None => diagnostic,
    }
}

/// The slots a line of the proof reads.
fn prove_reads(prove: &Prove) -> Vec<SlotId> {
    let bound: &[&Node] = match &prove.bound {
        Bound::AtMost(limit) | Bound::AtLeast(limit) => &[limit],
        Bound::Within(target, tolerance) => &[target, tolerance],
    };
    let nodes = std::iter::once(&prove.value)
        .chain(bound.iter().copied())
        .chain(&prove.when);
    nodes.flat_map(reads_of).collect()
}

/// A line of the proof; none where its condition does not hold.
fn proof_row(
    evaluator: &Evaluator<'_>,
    prove: &Prove,
    settings: &[&Setting],
) -> Result<Option<ProofRow>> {
    if !evaluator.holds(prove.when.as_ref())? {
        return Ok(None);
    }
    let kind = prove.value.kind;
    let found = evaluator.number(&prove.value)?;
    let (value, limit, relation) = match &prove.bound {
        Bound::AtMost(limit) => (found, evaluator.number(limit)?, Relation::AtMost),
        Bound::AtLeast(limit) => (found, evaluator.number(limit)?, Relation::AtLeast),
        // What is proven is how far the value is off.
        Bound::Within(target, tolerance) => (
            (found - evaluator.number(target)?).abs(),
            evaluator.number(tolerance)?,
            Relation::AtMost,
        ),
    };
    let holds = match relation {
        Relation::AtMost => value <= limit,
        Relation::AtLeast => value >= limit,
    };
    let advice = match &prove.advice {
        Some(advice) => evaluator.message(advice)?,
        None => String::new(),
    };
    let set = if holds {
        Vec::new()
    } else {
        blame::involved(
            evaluator,
            &prove_reads(prove),
            settings,
            std::slice::from_ref(&advice),
        )
    };
    Ok(Some(ProofRow {
        set: set
            .iter()
            .take(blame::MOST)
            .flat_map(|setting| blame::labels(evaluator, setting))
            .collect(),
        name: prove.name.clone(),
        value: in_unit(value, kind),
        limit: in_unit(limit, kind),
        relation,
        unit: unit(kind),
        holds,
        advisory: prove.advisory,
        advice: advice.into(),
        span: prove.span,
    }))
}

/// The finished piece: marks cut to its outline, notches on its cut edge, its grain arrow.
fn finished(piece: &PieceValue, slot: &Slot) -> Result<Piece> {
    let Some(cloth) = piece.cloth.clone() else {
        return fail(
            Code::NoCloth,
            slot.span,
            format!("`{}` is cut from no cloth", slot.name),
            "say which with `cloth NAME`",
        );
    };
    let Some(angle) = piece.grain else {
        return fail(
            Code::NoGrain,
            slot.span,
            format!("`{}` has no grain", slot.name),
            "say where the warp runs with `grain ANGLE`",
        );
    };
    if !piece.give.is_slack() && !on_true_bias(angle) {
        return fail(
            Code::NotOnBias,
            slot.span,
            format!(
                "`{}` gives, but its warp runs at {} to the pull",
                slot.name,
                quantity(angle, Kind::ANGLE)
            ),
            "cloth gives in this way along the true bias: write `grain 45 deg`, or leave `give` out",
        );
    }
    let mut out = Piece {
        name: slot.name.clone(),
        doc: slot.doc.clone(),
        quantity: piece.quantity,
        cloth,
        net: piece.net.clone(),
        cut: piece.cut.clone(),
        sew: Vec::new(),
        fold: Vec::new(),
        place: Vec::new(),
        notches: Vec::new(),
        drills: Vec::new(),
        texts: Vec::new(),
        grain: grain(&piece.cut, angle, slot.span)?,
        area: piece.cut.area(),
        net_area: piece.net.area(),
        span: slot.span,
    };
    // An edge with an allowance is sewn where it was drawn.
    let flat = piece.flat();
    for allowance in piece.allowances.iter().filter(|a| a.amount > 0.0) {
        for edge in flat.edges().iter().filter(|e| e.name == allowance.edge) {
            out.sew.push(Line {
                name: edge.name.clone(),
                curve: edge.curve.clone(),
                span: slot.span,
            });
        }
    }
    for mark in &piece.marks {
        put(&mut out, piece, mark)?;
    }
    Ok(out)
}

/// Radians. A warp this near to 45° is on the true bias: far less than a cutter can lay it.
const ON_BIAS: f64 = 1e-6;

/// Whether a warp at this angle to the centre halves the right angle.
fn on_true_bias(angle: f64) -> bool {
    libm::cos(2.0 * angle).abs() < ON_BIAS
}

fn put(out: &mut Piece, piece: &PieceValue, mark: &RawMark) -> Result<()> {
    let name: Arc<str> = mark.name.clone().unwrap_or_else(|| Arc::from(""));
    let relaxed = |track: &Track| match piece.give.is_slack() {
        true => track.clone(),
        false => transformed(track, piece.give.relax()),
    };
    let lines = |track| {
        let lines = clipped(&piece.cut, &relaxed(track)).into_iter();
        lines.map(|curve| Line {
            name: name.clone(),
            curve,
            span: mark.span,
        })
    };
    let on_table = |at: Point| piece.give.relax() * at;
    match &mark.what {
        RawKind::Sew(track) => out.sew.extend(lines(track)),
        RawKind::Fold(track) => out.fold.extend(lines(track)),
        RawKind::Place(track) => out.place.extend(lines(track)),
        RawKind::Drill(at) if piece.cut.contains(on_table(*at)) => {
            out.drills.push(Drill {
                name,
                at: on_table(*at),
                span: mark.span,
            });
        }
        RawKind::Text { text, at, angle } if piece.cut.contains(on_table(*at)) => {
            out.texts.push(Text {
                text: text.clone(),
                at: on_table(*at),
                angle: *angle,
                span: mark.span,
            });
        }
        RawKind::Drill(_) | RawKind::Text { .. } => {}
        RawKind::Notch {
            kind,
            edge,
            at,
            depth,
            width,
        } => {
            let Some((at, inward)) = cut_notch(piece, edge, *at) else {
                return Ok(());
            };
            if piece.cut.signed_distance(at).abs() > OFF_CUT {
                return fail(
                    Code::NotchOffEdge,
                    mark.span,
                    format!("this notch falls off the cut edge of `{}`", out.name),
                    "put it farther from the end of the edge",
                );
            }
            out.notches.push(Notch {
                name,
                kind: *kind,
                at,
                inward,
                depth: *depth,
                width: *width,
                span: mark.span,
            });
        }
    }
    Ok(())
}

/// Millimetres. A notch must start this near the cut outline; more means it hangs in the air.
const OFF_CUT: f64 = 0.1;

/// Millimetres. The longest grain arrow; longer ones only hide other lines.
const LONGEST_ARROW: f64 = 120.0;

/// The share of the chord through the piece that a grain arrow may fill.
const ARROW_SHARE: f64 = 0.7;

/// An arrow along the warp, in the middle of the piece.
fn grain(ring: &Ring, angle: f64, span: Span) -> Result<Grain> {
    let direction = Vec2::new(libm::cos(angle), libm::sin(angle));
    let Some((from, to)) = middle_chord(ring, direction) else {
        return fail(
            Code::NoGrain,
            span,
            "the piece is too thin for a grain arrow",
            "check the numbers it is drawn from",
        );
    };
    let middle = from.midpoint(to);
    let half = (from.distance(to) * ARROW_SHARE).min(LONGEST_ARROW) / 2.0;
    Ok(Grain {
        from: middle - direction * half,
        to: middle + direction * half,
    })
}

/// The stretch of the piece through its middle in a direction; where the middle of area lies
/// outside, the longest of several beside it.
fn middle_chord(ring: &Ring, direction: Vec2) -> Option<(Point, Point)> {
    let centroid = ring.centroid();
    if ring.contains(centroid)
        && let Some(chord) = ring.chord(centroid, direction)
    {
        return Some(chord);
    }
    let bounds = ring.bounds();
    (1..8)
        .flat_map(|i| (1..8).map(move |j| (f64::from(i) / 8.0, f64::from(j) / 8.0)))
        .map(|(u, v)| {
            Point::new(
                bounds.x0 + bounds.width() * u,
                bounds.y0 + bounds.height() * v,
            )
        })
        .filter(|p| ring.contains(*p))
        .filter_map(|p| ring.chord(p, direction))
        .max_by(|a, b| {
            a.0.distance_squared(a.1)
                .total_cmp(&b.0.distance_squared(b.1))
        })
}

/// Which of two assemblies is drawn: the later one, but one that shows something before one that
/// only proves its outline.
fn pictured(before: Option<Folded>, next: Option<Folded>) -> Option<Folded> {
    let shows = |folded: &Option<Folded>| folded.as_ref().is_some_and(|f| !f.shown.is_empty());
    if next.is_none() || (shows(&before) && !shows(&next)) {
        before
    } else {
        next
    }
}

/// The folded work for pictures.
fn folded(assembly: &AssemblyValue) -> Option<Folded> {
    Some(Folded {
        outline: (**assembly.finish.as_ref()?).clone(),
        shown: assembly.shown.clone(),
        refold: assembly.refold.clone(),
        marks: assembly.marks.clone(),
    })
}

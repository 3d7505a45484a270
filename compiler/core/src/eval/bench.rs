//! Works out what the work bench reads: points of measure, and the steps of the work with their numbers
//! filled in.

use super::{Evaluator, Result, fail};
use crate::diagnostic::Code;
use crate::draft::{Draft, Inspection, MeasuringPoint, WorkStep};
use crate::format::quantity;
use crate::kind::Kind;
use crate::program::{self, MessagePart, SlotId, reads_of};

/// Adds all inspections and steps to a draft; what cannot be worked out is told to the evaluator.
pub fn add(evaluator: &mut Evaluator<'_>, draft: &mut Draft) {
    let shape = evaluator.shape();
    for inspection in &shape.inspections {
        let points = points(evaluator, inspection);
        match evaluator.outline(&inspection.outline) {
            // Nothing is measured where no point's condition holds.
            Ok(_) if points.is_empty() => {}
            Ok(outline) => draft.inspections.push(Inspection {
                name: inspection.name.clone(),
                when: inspection.when.clone(),
                outline,
                points,
                span: inspection.span,
            }),
            Err(fault) => evaluator.tell(fault, &reads_of(&inspection.outline)),
        }
    }
    for step in &shape.steps {
        match worked(evaluator, step) {
            Ok(step) => draft.steps.extend(step),
            Err(fault) => evaluator.tell(fault, &step_reads(step)),
        }
    }
}

/// A step with its numbers; none where its condition does not hold.
fn worked(evaluator: &Evaluator<'_>, step: &program::WorkStep) -> Result<Option<WorkStep>> {
    if !evaluator.holds(step.when.as_ref())? {
        return Ok(None);
    }
    Ok(Some(WorkStep {
        title: step.title.clone(),
        text: evaluator.bench_message(&step.words)?.into(),
        tool: step.tool,
        span: step.span,
    }))
}

fn points(evaluator: &mut Evaluator<'_>, inspection: &program::Inspection) -> Vec<MeasuringPoint> {
    let mut out = Vec::with_capacity(inspection.points.len());
    for point in &inspection.points {
        match measured(evaluator, point) {
            Ok(point) => out.extend(point),
            Err(fault) => {
                let nodes = [&point.line, &point.tolerance]
                    .into_iter()
                    .chain(&point.when);
                let reads: Vec<SlotId> = nodes.flat_map(reads_of).collect();
                evaluator.tell(fault, &reads);
            }
        }
    }
    out
}

/// A point of measure; none where its condition does not hold.
fn measured(
    evaluator: &Evaluator<'_>,
    point: &program::MeasuringPoint,
) -> Result<Option<MeasuringPoint>> {
    if !evaluator.holds(point.when.as_ref())? {
        return Ok(None);
    }
    let line = evaluator.curve(&point.line)?;
    let tolerance = evaluator.number(&point.tolerance)?;
    if tolerance <= 0.0 {
        let shown = quantity(tolerance, Kind::LENGTH);
        return fail(
            Code::BadTolerance,
            point.tolerance.span,
            format!("no work comes out within {shown}"),
            format!(
                "write a tolerance above zero: how far off `{}` may be",
                point.name
            ),
        );
    }
    Ok(Some(MeasuringPoint {
        name: point.name.clone(),
        doc: point.doc.clone(),
        value: line.length(),
        line,
        tolerance,
        span: point.span,
    }))
}

fn step_reads(step: &program::WorkStep) -> Vec<SlotId> {
    let values = step.words.parts.iter().filter_map(|part| match part {
        MessagePart::Value(node) => Some(node),
        MessagePart::Letters(_) => None,
    });
    values.chain(&step.when).flat_map(reads_of).collect()
}

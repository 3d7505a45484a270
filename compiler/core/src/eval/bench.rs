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
        match evaluator.bench_message(&step.words) {
            Ok(text) => draft.steps.push(WorkStep {
                title: step.title.clone(),
                text: text.into(),
                tool: step.tool,
                span: step.span,
            }),
            Err(fault) => evaluator.tell(fault, &step_reads(step)),
        }
    }
}

fn points(evaluator: &mut Evaluator<'_>, inspection: &program::Inspection) -> Vec<MeasuringPoint> {
    let mut out = Vec::with_capacity(inspection.points.len());
    for point in &inspection.points {
        match measured(evaluator, point) {
            Ok(point) => out.push(point),
            Err(fault) => {
                let mut reads = reads_of(&point.line);
                reads.extend(reads_of(&point.tolerance));
                evaluator.tell(fault, &reads);
            }
        }
    }
    out
}

fn measured(evaluator: &Evaluator<'_>, point: &program::MeasuringPoint) -> Result<MeasuringPoint> {
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
    Ok(MeasuringPoint {
        name: point.name.clone(),
        doc: point.doc.clone(),
        value: line.length(),
        line,
        tolerance,
        span: point.span,
    })
}

fn step_reads(step: &program::WorkStep) -> Vec<SlotId> {
    let values = step.words.parts.iter().filter_map(|part| match part {
        MessagePart::Value(node) => Some(node),
        MessagePart::Letters(_) => None,
    });
    values.flat_map(reads_of).collect()
}

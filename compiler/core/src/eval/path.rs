//! Draws profiles and paths step by step.

use std::sync::Arc;

use tiewright_geometry::{Curve, PathSeg, Point, tolerance};

use super::expr::geometry;
use super::value::{Drawn, Value};
use super::work::curve_weight;
use super::{Evaluator, Result, fail};
use crate::diagnostic::Code;
use crate::format::quantity;
use crate::kind::Kind;
use crate::program::{Slot, Step, StepKind, Target};

/// Draws the steps of `slot`.
pub fn draw(evaluator: &Evaluator<'_>, steps: &[Step], slot: &Slot) -> Result<Value> {
    let mut at = Point::ORIGIN;
    let mut segments: Vec<PathSeg> = Vec::with_capacity(steps.len());
    let mut parts: Vec<(Arc<str>, Option<usize>)> = Vec::new();
    for step in steps {
        let target = match &step.what {
            StepKind::Start(target) | StepKind::Straight(target) | StepKind::Curve(target, ..) => {
                target
            }
        };
        let end = self::end(evaluator, target, at)?;
        let drawn = match &step.what {
            StepKind::Start(_) => None,
            StepKind::Straight(_) => Some(Curve::line(at, end)),
            StepKind::Curve(target, a, b) => {
                let (a, b) = match target {
                    Target::Station(..) | Target::Run(..) => {
                        // Handles at the thirds make the half width a cubic polynomial of the station.
                        let run = end.x - at.x;
                        let first = Point::new(at.x + run / 3.0, evaluator.number(a)? / 2.0);
                        let second =
                            Point::new(at.x + run * (2.0 / 3.0), evaluator.number(b)? / 2.0);
                        (first, second)
                    }
                    Target::Point(_) | Target::By(_) => (evaluator.point(a)?, evaluator.point(b)?),
                };
                Some(Curve::cubic(at, a, b, end))
            }
        };
        if matches!(target, Target::Station(..) | Target::Run(..))
            && end.x < at.x - tolerance::SAME
            && drawn.is_some()
        {
            return fail(
                Code::Backwards,
                step.span,
                format!(
                    "`{}` runs back along the centre here, from {} to {}",
                    slot.name,
                    quantity(at.x, Kind::LENGTH),
                    quantity(end.x, Kind::LENGTH)
                ),
                "make the runs before it shorter, or its own end later",
            );
        }
        if let Some(drawn) = drawn {
            // A step without length draws nothing, which is no mistake: a run may be zero.
            let has_length = at.distance(end) > tolerance::SAME;
            if let Some(name) = &step.name {
                parts.push((name.clone(), has_length.then_some(segments.len())));
            }
            if has_length {
                segments.extend_from_slice(geometry(drawn, step.span)?.segments());
            }
        }
        at = end;
    }
    let curve = geometry(Curve::from_segments(segments), slot.span)?;
    evaluator.work.pay(curve_weight(&curve), slot.span)?;
    Ok(Value::Curve(Arc::new(Drawn { curve, parts })))
}

fn end(evaluator: &Evaluator<'_>, target: &Target, at: Point) -> Result<Point> {
    Ok(match target {
        Target::Station(x, width) => {
            Point::new(evaluator.number(x)?, evaluator.number(width)? / 2.0)
        }
        Target::Run(run, width) => Point::new(
            at.x + evaluator.number(run)?,
            evaluator.number(width)? / 2.0,
        ),
        Target::Point(p) => evaluator.point(p)?,
        Target::By(step) => at + evaluator.point(step)?.to_vec2(),
    })
}

//! Works out expressions. Kinds have been checked, so a value of another kind only means that
//! something failed before.

use std::sync::Arc;

use tiewright_geometry::{Curve, GeometryError, Line, Point, Ring, Track};

use super::value::Value;
use super::work::{curve_weight, ring_weight};
use super::{Evaluator, Fault, Result, fail, phrase};
use crate::diagnostic::Code;
use crate::format::{place, quantity, tape};
use crate::kind::Kind;
use crate::phrase::Function;
use crate::program::{Message, MessagePart, Node, Op, SlotId};
use crate::source::Span;
use crate::syntax::tree::BinaryOp;

impl Evaluator<'_> {
    /// The value of an expression.
    pub fn node(&self, node: &Node) -> Result<Value> {
        match &node.op {
            Op::Constant(value) => Ok(Value::Number(*value)),
            Op::Centre => Ok(Value::Line(centre())),
            Op::Slot(id) => self.value(*id).cloned(),
            Op::Before(level, id) => self.before(*level, *id),
            Op::Part(id, part) => self.part(*id, part, node.span),
            Op::Negate(inner) => match self.node(inner)? {
                Value::Number(value) => Ok(Value::Number(-value)),
                Value::Point(p) => Ok(Value::Point((-p.to_vec2()).to_point())),
                _ => Err(Fault::Silent),
            },
            Op::Not(inner) => Ok(Value::Truth(!self.truth(inner)?)),
            Op::Binary(op, left, right) => self.binary(*op, left, right, node.span),
            Op::Call(function, arguments) => self
                .call(*function, arguments, node.span)
                .map(Value::Number),
            Op::Pair(x, y) => Ok(Value::Point(Point::new(self.number(x)?, self.number(y)?))),
            Op::If(condition, yes, no) => {
                if self.truth(condition)? {
                    self.node(yes)
                } else {
                    self.node(no)
                }
            }
            Op::Cloth(cloth) => super::cloth::named(self, cloth),
            Op::Phrase(form, places) => phrase::work_out(self, form, places, node.span),
        }
    }

    /// The value of a quantity.
    pub fn number(&self, node: &Node) -> Result<f64> {
        match self.node(node)? {
            Value::Number(value) => Ok(value),
            _ => Err(Fault::Silent),
        }
    }

    /// The value of a condition.
    pub fn truth(&self, node: &Node) -> Result<bool> {
        match self.node(node)? {
            Value::Truth(value) => Ok(value),
            _ => Err(Fault::Silent),
        }
    }

    /// Whether a statement stands: its condition holds, or it has none.
    pub fn holds(&self, when: Option<&Node>) -> Result<bool> {
        when.map_or(Ok(true), |when| self.truth(when))
    }

    /// The value of a point.
    pub fn point(&self, node: &Node) -> Result<Point> {
        match self.node(node)? {
            Value::Point(p) => Ok(p),
            _ => Err(Fault::Silent),
        }
    }

    /// The value of an endless line.
    pub fn line(&self, node: &Node) -> Result<Line> {
        match self.node(node)? {
            Value::Line(line) => Ok(line),
            _ => Err(Fault::Silent),
        }
    }

    /// The value of a curve.
    pub fn curve(&self, node: &Node) -> Result<Curve> {
        match self.node(node)? {
            Value::Curve(drawn) => {
                self.work.pay(curve_weight(&drawn.curve), node.span)?;
                Ok(drawn.curve.clone())
            }
            _ => Err(Fault::Silent),
        }
    }

    /// The value of a curve or an endless line.
    pub fn track(&self, node: &Node) -> Result<Track> {
        match self.node(node)? {
            Value::Curve(drawn) => {
                self.work.pay(curve_weight(&drawn.curve), node.span)?;
                Ok(Track::Curve(drawn.curve.clone()))
            }
            Value::Line(line) => Ok(Track::Line(line)),
            _ => Err(Fault::Silent),
        }
    }

    /// The value of an outline; a piece stands for its own, as it hangs.
    pub fn outline(&self, node: &Node) -> Result<Arc<Ring>> {
        let ring = match self.node(node)? {
            Value::Outline(ring) => ring,
            Value::Piece(piece) => Arc::new(piece.hanging_net().into_owned()),
            _ => return Err(Fault::Silent),
        };
        self.work.pay(ring_weight(&ring), node.span)?;
        Ok(ring)
    }

    /// The role a piece is cut from, which may be that of another role.
    pub fn role(&self, id: SlotId) -> Result<Arc<str>> {
        match self.value(id)? {
            Value::Cloth(cloth) => Ok(cloth.role.clone()),
            _ => Err(Fault::Silent),
        }
    }

    /// A text with its values filled in.
    pub fn message(&self, message: &Message) -> Result<String> {
        self.filled(message, quantity)
    }

    /// The same for the work bench, with lengths as a tape shows them.
    pub fn bench_message(&self, message: &Message) -> Result<String> {
        self.filled(message, tape)
    }

    fn filled(&self, message: &Message, shown: fn(f64, Kind) -> String) -> Result<String> {
        let mut out = String::new();
        for part in &message.parts {
            match part {
                MessagePart::Letters(letters) => out.push_str(letters),
                MessagePart::Value(node) => out.push_str(&shown(self.number(node)?, node.kind)),
            }
        }
        Ok(out)
    }

    fn part(&self, id: SlotId, part: &str, span: Span) -> Result<Value> {
        let owner = self.shape().slot(id).map_or("", |slot| &*slot.name);
        let missing = |hint: &str| {
            fail(
                Code::NoPart,
                span,
                format!("nothing is left of `{part}` in `{owner}`"),
                hint,
            )
        };
        match self.value(id)? {
            Value::Curve(drawn) => {
                let index = drawn
                    .parts
                    .iter()
                    .find(|(name, _)| &**name == part)
                    .and_then(|(_, index)| *index);
                match index.and_then(|index| drawn.curve.segments().get(index)) {
                    Some(segment) => {
                        geometry(Curve::from_segments(vec![*segment]), span).map(Value::from)
                    }
                    None => missing("its run is zero: make it longer, or do without the part"),
                }
            }
            Value::Outline(ring) => ring.edge(part).map_or_else(
                || missing("its neighbours meet before it: check the order of the edges"),
                |edge| Ok(edge.curve.clone().into()),
            ),
            Value::Cloth(cloth) => super::cloth::part(cloth, part, span),
            Value::Piece(piece) => match piece.drawn.edge(part) {
                Some(edge) => Ok(edge.curve.clone().into()),
                None => match super::mark::named_mark(piece, part) {
                    Some(curve) => Ok(curve.into()),
                    None => super::piece::missing_part(piece, owner, part, span),
                },
            },
            _ => Err(Fault::Silent),
        }
    }

    fn binary(&self, op: BinaryOp, left: &Node, right: &Node, span: Span) -> Result<Value> {
        use BinaryOp::{
            Add, And, AtLeast, AtMost, Divide, Equal, Greater, Less, Multiply, Or, Subtract,
        };
        // `and` and `or` look at the right side only when it matters.
        match op {
            And => return Ok(Value::Truth(self.truth(left)? && self.truth(right)?)),
            Or => return Ok(Value::Truth(self.truth(left)? || self.truth(right)?)),
            _ => {}
        }
        let value = match (self.node(left)?, self.node(right)?) {
            (Value::Number(a), Value::Number(b)) => match op {
                Less => return Ok(Value::Truth(a < b)),
                AtMost => return Ok(Value::Truth(a <= b)),
                Greater => return Ok(Value::Truth(a > b)),
                AtLeast => return Ok(Value::Truth(a >= b)),
                Equal => return Ok(Value::Truth(a == b)),
                Add => a + b,
                Subtract => a - b,
                Multiply => a * b,
                Divide if b == 0.0 => {
                    return fail(
                        Code::DividesByZero,
                        span,
                        "this divides by zero",
                        "give the divisor another value",
                    );
                }
                Divide => a / b,
                And | Or => return Err(Fault::Silent),
            },
            (Value::Point(a), Value::Point(b)) => {
                let (a, b) = (a.to_vec2(), b.to_vec2());
                return Ok(Value::Point(
                    if op == Add { a + b } else { a - b }.to_point(),
                ));
            }
            (Value::Point(p), Value::Number(n)) | (Value::Number(n), Value::Point(p)) => {
                let factor = if op == Divide { 1.0 / n } else { n };
                return Ok(Value::Point((p.to_vec2() * factor).to_point()));
            }
            _ => return Err(Fault::Silent),
        };
        finite(value, span).map(Value::Number)
    }

    fn call(&self, function: Function, arguments: &[Node], span: Span) -> Result<f64> {
        let values: Vec<f64> = arguments
            .iter()
            .map(|a| self.number(a))
            .collect::<Result<_>>()?;
        let first = values.first().copied().unwrap_or(0.0);
        let second = values.get(1).copied().unwrap_or(0.0);
        let third = values.get(2).copied().unwrap_or(0.0);
        let outside = |what: String, hint: &str| fail(Code::NoValue, span, what, hint.to_owned());
        let show = |index: usize| {
            let (value, node) = (values.get(index), arguments.get(index));
            value
                .zip(node)
                .map_or_else(String::new, |(v, n)| quantity(*v, n.kind))
        };
        let value = match function {
            Function::Sin => libm::sin(first),
            Function::Cos => libm::cos(first),
            Function::Tan => libm::tan(first),
            Function::Asin | Function::Acos if first.abs() > 1.0 => {
                return outside(
                    format!("no angle has a sine or cosine of {}", show(0)),
                    "give a number from -1 to 1",
                );
            }
            Function::Asin => libm::asin(first),
            Function::Acos => libm::acos(first),
            Function::Atan => libm::atan(first),
            Function::Root if first < 0.0 => {
                return outside(
                    format!("{} has no square root", show(0)),
                    "make it zero or more",
                );
            }
            Function::Root => first.sqrt(),
            Function::Abs => first.abs(),
            Function::Min => values.iter().copied().fold(f64::INFINITY, f64::min),
            Function::Max => values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            Function::Clamp if second > third => {
                return outside(
                    format!("the lowest, {}, is above the highest, {}", show(1), show(2)),
                    "write clamp(value, lowest, highest)",
                );
            }
            Function::Clamp => first.clamp(second, third),
            Function::Round if second <= 0.0 => {
                return outside(format!("the step is {}", show(1)), "give a step above zero");
            }
            Function::Round => (first / second).round() * second,
        };
        finite(value, span)
    }
}

/// The line along the middle of every draft.
pub fn centre() -> Line {
    Line::at_angle(Point::ORIGIN, 0.0)
}

fn finite(value: f64, span: Span) -> Result<f64> {
    if value.is_finite() {
        return Ok(value);
    }
    fail(
        Code::NoValue,
        span,
        "this is too large to work with",
        "check the numbers it is made from",
    )
}

/// Gives a geometry error its place in the text, and says what to do about it.
pub fn geometry<T>(result: std::result::Result<T, GeometryError>, span: Span) -> Result<T> {
    result.or_else(|error| {
        let (code, message, hint) = geometry_told(&error);
        fail(code, span, message, hint)
    })
}

/// A geometry error as a code, a message and what to do.
pub fn geometry_told(error: &GeometryError) -> (Code, String, &'static str) {
    let at = place;
    match *error {
        GeometryError::OutOfRange => (
            Code::TooFar,
            "this lies too far away to be drawn, or is larger than any cloth".to_owned(),
            "look for a number far too large, or two lines that are nearly parallel",
        ),
        GeometryError::NoLength => (
            Code::NoLength,
            "this line has no length".to_owned(),
            "its two ends are the same point; check the numbers they are made from",
        ),
        GeometryError::Gap { end, start } => (
            Code::Gap,
            format!(
                "these lines do not follow on from each other: one ends at {}, the next starts at {}",
                at(end),
                at(start)
            ),
            "put them in order; where one is drawn the other way, write `reverse` before it",
        ),
        GeometryError::EmptyStretch => (
            Code::EmptyStretch,
            "this part ends before it starts, or where it starts".to_owned(),
            "name first the point that the line passes first",
        ),
        GeometryError::Overlap { from, to } => (
            Code::RunAlong,
            format!(
                "these two run along each other from {} to {}, so they meet nowhere in particular",
                at(from),
                at(to)
            ),
            "name a point of one of them instead, such as its end",
        ),
        GeometryError::TooTight { at: place } => (
            Code::TooTight,
            format!("the curve bends too sharply for this at {}", at(place)),
            "make the distance smaller or the curve gentler",
        ),
        GeometryError::CornerInCrease { at: place } => (
            Code::CornerInCrease,
            format!(
                "the fold has a corner at {}, where cloth cannot be folded",
                at(place)
            ),
            "where a curve bends into the corner, make it gentler; else fold across a part without it, such as `part of … from … to …`",
        ),
        GeometryError::NeverReached { at: place } => (
            Code::TooSteep,
            format!(
                "the fold is too steep at {}: cloth turned over there never reaches the line",
                at(place)
            ),
            "make the fold's slope gentler: a longer taper, or less difference in width",
        ),
    }
}

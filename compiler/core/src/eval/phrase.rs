//! Works out phrases: each is one or two calls into the geometry, with its failures said in the
//! words of the language.

use std::sync::Arc;

use tiewright_geometry::{
    Affine, Curve, Ease, GeometryError, Line, Meeting, Place, Point, Track, Vec2, clearance, ease,
    gap, meet, offset, unfold_curve, unfold_line, unfold_point,
};

use super::expr::geometry;
use super::value::Value;
use super::work::{self, Price, curve_weight, ring_weight, track_weight};
use super::{Evaluator, Fault, Result, assembly, fail};
use crate::diagnostic::Code;
use crate::format::{place, quantity};
use crate::kind::Kind;
use crate::phrase::{Form, Verb};
use crate::program::{Node, Op};
use crate::source::Span;

/// The places of a phrase, by position.
struct Places<'e, 'p> {
    evaluator: &'e Evaluator<'p>,
    nodes: &'e [Vec<Node>],
    span: Span,
}

/// The value of a phrase.
pub fn work_out(
    evaluator: &Evaluator<'_>,
    form: &Form,
    nodes: &[Vec<Node>],
    span: Span,
) -> Result<Value> {
    let value = found(evaluator, form, nodes, span)?;
    if let Value::Curve(drawn) = &value {
        work::short_enough(curve_weight(&drawn.curve), span)?;
    }
    Ok(value)
}

fn found(evaluator: &Evaluator<'_>, form: &Form, nodes: &[Vec<Node>], span: Span) -> Result<Value> {
    let p = Places {
        evaluator,
        nodes,
        span,
    };
    match form.verb {
        Verb::LineFromTo => p
            .told(Curve::line(p.point(0)?, p.point(1)?))
            .map(Value::from),
        Verb::LineThroughAt => Ok(Value::Line(Line::at_angle(p.point(0)?, p.number(1)?))),
        Verb::LineThroughAnd => match Line::through(p.point(0)?, p.point(1)?) {
            Some(line) => Ok(Value::Line(line)),
            None => fail(
                Code::OnePoint,
                span,
                "the two points are the same, so no line is given",
                "name two different points",
            ),
        },
        Verb::BoxFromTo => p.rectangle(),
        Verb::PartOf => p.stretch().map(Value::from),
        Verb::PointOnAt => p.point_at_length(),
        Verb::PointOnAbove => p
            .curve(0)
            .and_then(|c| Ok(Value::Point(c.eval(p.at_station(&c, p.number(1)?)?)))),
        Verb::StartOf => Ok(Value::Point(p.curve(0)?.start())),
        Verb::EndOf => Ok(Value::Point(p.curve(0)?.end())),
        Verb::FootOf => p.foot(),
        Verb::Offset => p.offset(),
        Verb::Mirror => p.moved(0, p.line(1)?.mirror()),
        Verb::Turn => p.moved(0, turn_about(p.point(2)?, p.number(1)?)),
        Verb::Move => p.moved(0, Affine::translate(p.point(1)?.to_vec2())),
        Verb::Reverse => Ok(p.curve(0)?.reversed().into()),
        Verb::Chain => p.told(Curve::chain(&p.curves(0)?)).map(Value::from),
        Verb::Unfold | Verb::Fold => p.across(),
        Verb::WhereMeets => p.meeting(None).map(Value::Point),
        Verb::WhereMeetsNear => p
            .point(2)
            .and_then(|near| p.meeting(Some(near)))
            .map(Value::Point),
        Verb::LengthOf => Ok(Value::Number(p.curve(0)?.length())),
        Verb::LengthOfBetween => Ok(Value::Number(p.stretch()?.length())),
        Verb::WidthOf => p.width(),
        Verb::AreaOf => p.area(),
        Verb::DistanceFrom => p.distance(),
        Verb::AngleBetween => p.angle_between(),
        Verb::AngleOf => Ok(Value::Number(angle(p.direction(0)?))),
        Verb::AngleOfAt => {
            let curve = p.curve(0)?;
            let place = p.on(&curve, 1)?;
            Ok(Value::Number(angle(curve.tangent(place))))
        }
        Verb::XOf => Ok(Value::Number(p.point(0)?.x)),
        Verb::YOf => Ok(Value::Number(p.point(0)?.y)),
        Verb::GreatestEase => Ok(Value::Number(p.ease()?.greatest)),
        Verb::LeastEase => Ok(Value::Number(p.ease()?.least)),
        Verb::GreatestEasePlace => Ok(Value::Point(p.ease()?.greatest_at)),
        Verb::LeastEasePlace => Ok(Value::Point(p.ease()?.least_at)),
        Verb::GreatestGap => Ok(Value::Number(p.gaps()?.1)),
        Verb::LeastGap => Ok(Value::Number(p.gaps()?.0)),
        Verb::Clearance => {
            let (inner, outer) = (
                evaluator.outline(p.node(0)?)?,
                evaluator.outline(p.node(1)?)?,
            );
            p.pay(CLEARANCE_WORK * ring_weight(&inner) * ring_weight(&outer))?;
            Ok(Value::Number(clearance(&inner, &outer)))
        }
        Verb::FoldedWith => p.folded(),
        Verb::SilhouetteGap => p
            .assembly(0)
            .and_then(|a| assembly::silhouette_gap(evaluator, &a, span))
            .map(Value::Number),
        Verb::SeamGap => Ok(Value::Number(
            p.assembly(0)?
                .seams
                .iter()
                .map(|s| s.difference)
                .fold(0.0, f64::max),
        )),
        Verb::NotchGap => Ok(Value::Number(
            p.assembly(0)?
                .seams
                .iter()
                .map(|s| s.notches)
                .fold(0.0, f64::max),
        )),
    }
}

impl Places<'_, '_> {
    fn node(&self, index: usize) -> Result<&Node> {
        self.nodes
            .get(index)
            .and_then(|list| list.first())
            .ok_or(Fault::Silent)
    }

    fn number(&self, index: usize) -> Result<f64> {
        self.evaluator.number(self.node(index)?)
    }

    fn point(&self, index: usize) -> Result<Point> {
        self.evaluator.point(self.node(index)?)
    }

    fn line(&self, index: usize) -> Result<Line> {
        self.evaluator.line(self.node(index)?)
    }

    fn curve(&self, index: usize) -> Result<Curve> {
        self.evaluator.curve(self.node(index)?)
    }

    fn track(&self, index: usize) -> Result<Track> {
        self.evaluator.track(self.node(index)?)
    }

    fn curves(&self, index: usize) -> Result<Vec<Curve>> {
        let list = self.nodes.get(index).ok_or(Fault::Silent)?;
        let mut out = Vec::with_capacity(list.len());
        let mut segments = 0;
        for node in list {
            let curve = self.evaluator.curve(node)?;
            segments += curve_weight(&curve);
            work::short_enough(segments, self.span)?;
            out.push(curve);
        }
        Ok(out)
    }

    /// Pays for looking at so many pairs of segments.
    fn pay(&self, pairs: u64) -> Result<()> {
        self.evaluator.work.pay(pairs, self.span)
    }

    fn assembly(&self, index: usize) -> Result<Arc<super::value::AssemblyValue>> {
        match self.evaluator.node(self.node(index)?)? {
            Value::Assembly(assembly) => Ok(assembly),
            _ => Err(Fault::Silent),
        }
    }

    fn told<T>(&self, result: std::result::Result<T, GeometryError>) -> Result<T> {
        geometry(result, self.span)
    }

    fn rectangle(&self) -> Result<Value> {
        let (a, c) = (self.point(0)?, self.point(1)?);
        let (b, d) = (Point::new(c.x, a.y), Point::new(a.x, c.y));
        let sides =
            [(a, b), (b, c), (c, d), (d, a)].map(|(from, to)| self.told(Curve::line(from, to)));
        let sides: Vec<Curve> = sides.into_iter().collect::<Result<_>>()?;
        self.told(Curve::chain(&sides)).map(Value::from)
    }

    /// The place of a point or a station on a curve.
    fn on(&self, curve: &Curve, index: usize) -> Result<Place> {
        let node = self.node(index)?;
        match self.evaluator.node(node)? {
            Value::Number(station) => self.at_station(curve, station),
            Value::Point(point) => {
                let (place, away) = curve.nearest(point);
                if away > ON_CURVE {
                    return fail(
                        Code::NotOnCurve,
                        node.span,
                        format!(
                            "this point lies {} away from the curve",
                            quantity(away, Kind::LENGTH)
                        ),
                        "name a point of the curve, such as where another line meets it",
                    );
                }
                Ok(place)
            }
            _ => Err(Fault::Silent),
        }
    }

    /// The place of a curve above a station.
    fn at_station(&self, curve: &Curve, station: f64) -> Result<Place> {
        let places = curve.places_at_x(station);
        match places.as_slice() {
            [place] => Ok(*place),
            [] => {
                let bounds = curve.bounds();
                let show = |v| quantity(v, Kind::LENGTH);
                fail(
                    Code::NoStation,
                    self.span,
                    format!("the curve does not pass the station {}", show(station)),
                    format!("it goes from {} to {}", show(bounds.x0), show(bounds.x1)),
                )
            }
            many => fail(
                Code::ManyPlaces,
                self.span,
                format!(
                    "the curve passes the station {} {} times",
                    quantity(station, Kind::LENGTH),
                    many.len()
                ),
                "name a point of the curve instead",
            ),
        }
    }

    fn stretch(&self) -> Result<Curve> {
        let curve = self.curve(0)?;
        let (from, to) = (self.on(&curve, 1)?, self.on(&curve, 2)?);
        self.told(curve.sub(from, to))
    }

    fn point_at_length(&self) -> Result<Value> {
        let (curve, along) = (self.curve(0)?, self.number(1)?);
        let whole = curve.length();
        let from_start = if along < 0.0 { whole + along } else { along };
        match curve.place_at_length(from_start) {
            Some(place) => Ok(Value::Point(curve.eval(place))),
            None => fail(
                Code::PastTheEnd,
                self.span,
                format!(
                    "{} lies past the end of the curve",
                    quantity(along, Kind::LENGTH)
                ),
                format!(
                    "the curve is {} long; keep the length within that",
                    quantity(whole, Kind::LENGTH)
                ),
            ),
        }
    }

    fn foot(&self) -> Result<Value> {
        let point = self.point(0)?;
        Ok(Value::Point(match self.track(1)? {
            Track::Line(line) => line.foot(point),
            Track::Curve(curve) => curve.eval(curve.nearest(point).0),
        }))
    }

    fn offset(&self) -> Result<Value> {
        let distance = self.number(1)?;
        match self.track(0)? {
            Track::Line(line) => Ok(Value::Line(line.offset(distance))),
            Track::Curve(curve) => {
                self.pay(OFFSET.of(&curve, &curve))?;
                self.told(offset(&curve, distance)).map(Value::from)
            }
        }
    }

    fn moved(&self, index: usize, map: Affine) -> Result<Value> {
        Ok(match self.evaluator.node(self.node(index)?)? {
            Value::Point(p) => Value::Point(map * p),
            Value::Line(line) => Value::Line(line.transformed(map)),
            Value::Curve(drawn) => drawn.curve.transformed(map).into(),
            Value::Outline(ring) => Value::Outline(Arc::new(ring.transformed(map))),
            _ => return Err(Fault::Silent),
        })
    }

    /// Folding and unfolding are one map: each point is mirrored through the foot of its square
    /// on the crease.
    fn across(&self) -> Result<Value> {
        let mut value = self.evaluator.node(self.node(0)?)?;
        for crease in self.curves(1)? {
            if let Value::Curve(drawn) = &value {
                work::short_enough(curve_weight(&drawn.curve), self.span)?;
                self.pay(UNFOLD.of(&drawn.curve, &crease))?;
            }
            self.pay(UNFOLD.pair * curve_weight(&crease))?;
            value = match value {
                Value::Point(p) => Value::Point(unfold_point(p, &crease)),
                Value::Line(line) => self.told(unfold_line(&line, &crease))?.into(),
                Value::Curve(drawn) => self.told(unfold_curve(&drawn.curve, &crease))?.into(),
                _ => return Err(Fault::Silent),
            };
        }
        Ok(value)
    }

    fn ease(&self) -> Result<Ease> {
        let (edge, creases) = (self.track(0)?, self.curves(1)?);
        // An endless line is looked at along the first crease.
        let along = creases.first().map_or(1, curve_weight);
        let pairs = track_weight(&edge).max(along) * creases.iter().map(curve_weight).sum::<u64>();
        self.pay((UNFOLD.pair + UNFOLD.curved) * pairs)?;
        Ok(ease(&edge, &creases))
    }

    fn meeting(&self, near: Option<Point>) -> Result<Point> {
        let (one, other) = (self.track(0)?, self.track(1)?);
        self.pay(match (&one, &other) {
            (Track::Curve(one), Track::Curve(other)) => MEET.of(one, other),
            _ => track_weight(&one) * track_weight(&other),
        })?;
        let meetings: Vec<Meeting> = self.told(meet(&one, &other))?;
        let nearest = |p: Point| {
            let away = |m: &&Meeting| m.point.distance_squared(p);
            meetings.iter().min_by(|a, b| away(a).total_cmp(&away(b)))
        };
        match (meetings.as_slice(), near) {
            ([], _) => fail(
                Code::NoMeeting,
                self.span,
                "these two never meet",
                "check the lengths and angles they are drawn from",
            ),
            ([one], _) => Ok(one.point),
            (_, Some(near)) => nearest(near).map(|m| m.point).ok_or(Fault::Silent),
            (many, None) => fail(
                Code::ManyMeetings,
                self.span,
                format!(
                    "these two meet {} times, first at {}",
                    many.len(),
                    many.first().map_or_else(String::new, |m| place(m.point))
                ),
                "say which meeting is meant by adding `near` and a point",
            ),
        }
    }

    fn width(&self) -> Result<Value> {
        let (curve, station) = (self.curve(0)?, self.number(1)?);
        // A closed or upright stretch passes a station more than once; the outer one is the width.
        let highest = curve
            .places_at_x(station)
            .into_iter()
            .map(|place| curve.eval(place).y.abs())
            .reduce(f64::max);
        match highest {
            Some(y) => Ok(Value::Number(2.0 * y)),
            None => self
                .at_station(&curve, station)
                .map(|place| Value::Number(2.0 * curve.eval(place).y)),
        }
    }

    /// Area is cloth, so that of a piece is what it has on the table.
    fn area(&self) -> Result<Value> {
        let node = self.node(0)?;
        Ok(Value::Number(match self.evaluator.node(node)? {
            Value::Piece(piece) => piece.net.area(),
            _ => self.evaluator.outline(node)?.area(),
        }))
    }

    fn distance(&self) -> Result<Value> {
        let p = self.point(0)?;
        Ok(Value::Number(match self.evaluator.node(self.node(1)?)? {
            Value::Point(q) => libm::hypot(q.x - p.x, q.y - p.y),
            Value::Line(line) => line.side(p).abs(),
            Value::Curve(drawn) => drawn.curve.nearest(p).1,
            _ => return Err(Fault::Silent),
        }))
    }

    fn direction(&self, index: usize) -> Result<Vec2> {
        match self.track(index)? {
            Track::Line(line) => Ok(line.direction),
            Track::Curve(curve) if curve.is_straight() => Ok(curve.start_tangent()),
            Track::Curve(_) => fail(
                Code::NotStraight,
                self.node(index)?.span,
                "this curve is not straight, so it has no one direction",
                "ask for its direction at a point: `angle of CURVE at POINT`",
            ),
        }
    }

    fn angle_between(&self) -> Result<Value> {
        let (a, b) = (self.direction(0)?, self.direction(1)?);
        Ok(Value::Number(libm::atan2(a.cross(b), a.dot(b)).abs()))
    }

    fn gaps(&self) -> Result<(f64, f64)> {
        let curve = self.curve(0)?;
        let other = match self.track(1)? {
            Track::Curve(other) => other,
            Track::Line(line) => {
                // A stretch that reaches past the feet of every point of the curve.
                let bounds = curve.bounds();
                let corners = [
                    Point::new(bounds.x0, bounds.y0),
                    Point::new(bounds.x1, bounds.y0),
                    Point::new(bounds.x1, bounds.y1),
                    Point::new(bounds.x0, bounds.y1),
                ];
                let along = corners.map(|corner| line.along(corner));
                let (low, high) = along
                    .iter()
                    .fold((f64::MAX, f64::MIN), |(l, h), &a| (l.min(a), h.max(a)));
                self.told(Curve::line(line.at(low - 1.0), line.at(high + 1.0)))?
            }
        };
        self.pay(GAP.of(&curve, &other))?;
        Ok(gap(&curve, &other))
    }

    fn folded(&self) -> Result<Value> {
        let with = self.node(1)?;
        let Op::Slot(slot) = with.op else {
            return fail(
                Code::NotAName,
                with.span,
                "a piece is meant here by its name",
                "write the name of a piece of the assembly",
            );
        };
        let assembly = self.assembly(2)?;
        let Some(placed) = assembly.placed.iter().find(|placed| placed.slot == slot) else {
            return fail(
                Code::NotSewn,
                with.span,
                "this piece does not lie in the assembly",
                "`lay` it there, or sew it to a piece that lies there",
            );
        };
        match self.evaluator.node(self.node(0)?)? {
            Value::Point(p) => Ok(Value::Point(assembly.refold.point(placed.place * p).point)),
            Value::Curve(drawn) => {
                self.pay(assembly::FOLD_WORK * curve_weight(&drawn.curve) * assembly.creases)?;
                assembly::folded_curve(&assembly, &drawn.curve.transformed(placed.place), self.span)
                    .map(Value::from)
            }
            Value::Line(_) => fail(
                Code::EndlessLine,
                self.span,
                "an endless line cannot be folded",
                "take a part of it, such as an edge of the piece",
            ),
            _ => Err(Fault::Silent),
        }
    }
}

/// The price of a clearance, for each pair of segments.
const CLEARANCE_WORK: u64 = 16;
/// The price of a parallel, which is cleared of loops.
const OFFSET: Price = Price {
    pair: 4,
    curved: 150,
};
/// The price of finding where two curves meet.
const MEET: Price = Price {
    pair: 1,
    curved: 60,
};
/// The price of an unfolding.
const UNFOLD: Price = Price {
    pair: 16,
    curved: 150,
};
/// The price of a gap: curves are compared in ever smaller parts.
const GAP: Price = Price {
    pair: 16,
    curved: 500,
};

/// Millimetres. A point this near a curve is on it: coarser than a fit, finer than a pen line.
const ON_CURVE: f64 = 0.05;

fn angle(direction: Vec2) -> f64 {
    libm::atan2(direction.y, direction.x)
}

fn turn_about(about: Point, angle: f64) -> Affine {
    let (s, c) = (libm::sin(angle), libm::cos(angle));
    let turn = Affine::new([c, s, -s, c, 0.0, 0.0]);
    Affine::translate(about.to_vec2()) * turn * Affine::translate(-about.to_vec2())
}

//! A small draft made by hand, for tests of the formats: two pieces with every kind of mark.

use std::sync::Arc;

use tiewright_core::cloth::{Bias, Direction, Properties, Property};
use tiewright_core::draft::{
    Cloth, Draft, Drill, Folded, FoldedMark, Grain, Inspection, Lies, Line, Measure,
    MeasuringPoint, Notch, NotchKind, Piece, ProofRow, Relation, Shown, Side, Text, Tool, Unit,
    WorkStep,
};
use tiewright_core::source::Span;
use tiewright_geometry::{Curve, Edge, Point, Refold, Ring, Vec2, with_allowance};

/// Seam allowance of the sample's one join, mm.
pub const ALLOWANCE: f64 = 6.35;

/// A panel with a curved side, a pointed end and a join at 45°, and a loop too small for words.
pub fn draft() -> Draft {
    let net = panel();
    let tipping = Ring::from_edges(vec![
        edge("point", p(0.0, 0.0), p(60.0, 40.0)),
        edge("top", p(60.0, 40.0), p(60.0, -40.0)),
        edge("low-point", p(60.0, -40.0), p(0.0, 0.0)),
    ]);
    let folded = Folded {
        outline: net.clone(),
        shown: vec![
            shown(net.clone(), "shell", Lies::WrongSideUp),
            shown(tipping.expect("a ring"), "tipping", Lies::RightSideUp),
        ],
        refold: Refold::new(Vec::new()),
        marks: vec![FoldedMark {
            name: "tack".into(),
            curve: Curve::line(p(80.0, -3.0), p(80.0, 3.0)).expect("a line"),
            side: Side::Back,
            span: Span::default(),
        }],
    };
    let inspection = Inspection {
        name: "finished".into(),
        when: "when it is finished".into(),
        outline: Arc::new(net.clone()),
        points: vec![MeasuringPoint {
            name: "width".into(),
            doc: "at the corners".into(),
            line: Curve::line(p(60.0, -60.0), p(60.0, 60.0)).expect("a line"),
            value: 120.0,
            tolerance: 1.5,
            span: Span::default(),
        }],
        span: Span::default(),
    };
    Draft {
        style: "club & sons".into(),
        size: Some("long".into()),
        doc: "the choir's tie".into(),
        parameters: vec![measure("length", 1447.8, Unit::Millimetre)],
        set: Vec::new(),
        measures: vec![
            measure("front-corner", 41.275, Unit::Millimetre),
            measure("edge-ease", -0.0095, Unit::Plain),
        ],
        pieces: vec![panel_piece(net), loop_piece()],
        cloths: vec![cloth()],
        proof: vec![
            row("margin is even", 0.01, true),
            row("joins clear of the knot", -0.0, false),
        ],
        folded: Some(folded),
        inspections: vec![inspection],
        steps: vec![WorkStep {
            title: "Press the join".into(),
            text: "Press it open.".into(),
            tool: Some(Tool::Iron),
            span: Span::default(),
        }],
    }
}

fn cloth() -> Cloth {
    let mut properties = Properties::default();
    properties.set(Property::Width, 1400.0);
    properties.set(Property::UsableWidth, 1380.0);
    properties.set_direction(Direction::OneWay);
    properties.set_bias(Bias::Left);
    Cloth {
        role: "shell".into(),
        name: Some("navy".into()),
        doc: "silk twill".into(),
        properties,
        span: Span::default(),
    }
}

fn panel_piece(net: Ring) -> Piece {
    let allowances: Vec<f64> = net
        .edges()
        .iter()
        .map(|e| if &*e.name == "join" { ALLOWANCE } else { 0.0 })
        .collect();
    let cut = with_allowance(&net, &allowances).expect("an allowance");
    let notch = |kind, at: Point, width| Notch {
        name: "".into(),
        kind,
        at,
        inward: Vec2::new(0.0, 1.0),
        depth: 3.0,
        width,
        span: Span::default(),
    };
    Piece {
        name: "blade".into(),
        doc: "the large end".into(),
        quantity: 1,
        cloth: "shell".into(),
        area: cut.area(),
        net_area: net.area(),
        net,
        cut,
        sew: vec![line("point", p(10.0, 0.0), p(60.0, 50.0))],
        fold: vec![line("side", p(60.0, 30.0), p(250.0, 30.0))],
        place: vec![line("label", p(100.0, -10.0), p(100.0, 10.0))],
        notches: vec![
            notch(NotchKind::Slit, p(100.0, -60.0), 0.0),
            notch(NotchKind::V, p(150.0, -60.0), 4.0),
            notch(NotchKind::T, p(200.0, -60.0), 4.0),
        ],
        drills: vec![Drill {
            name: "tack".into(),
            at: p(80.0, 0.0),
            span: Span::default(),
        }],
        texts: vec![Text {
            text: "caf\u{e9} <label> ^ here".into(),
            at: p(180.0, 0.0),
            angle: 0.0,
            span: Span::default(),
        }],
        grain: Grain {
            from: p(60.0, -40.0),
            to: p(90.0, -10.0),
        },
        span: Span::default(),
    }
}

fn loop_piece() -> Piece {
    let corners = [p(0.0, 0.0), p(0.0, 8.0), p(50.0, 8.0), p(50.0, 0.0)];
    let names = ["end", "top", "end", "bottom"];
    let edges = (0..4)
        .map(|i| edge(names[i], corners[i], corners[(i + 1) % 4]))
        .collect();
    let ring = Ring::from_edges(edges).expect("a ring");
    Piece {
        name: "loop".into(),
        doc: "".into(),
        quantity: 2,
        cloth: "shell".into(),
        area: ring.area(),
        net_area: ring.area(),
        net: ring.clone(),
        cut: ring,
        sew: Vec::new(),
        fold: Vec::new(),
        place: Vec::new(),
        notches: Vec::new(),
        drills: Vec::new(),
        texts: Vec::new(),
        grain: Grain {
            from: p(5.0, 4.0),
            to: p(45.0, 4.0),
        },
        span: Span::default(),
    }
}

/// Walked clockwise from the point: up to the corner, along the taper, down the join and back.
fn panel() -> Ring {
    let taper = Curve::cubic(
        p(60.0, 60.0),
        p(150.0, 60.0),
        p(240.0, 40.0),
        p(330.0, 40.0),
    );
    Ring::from_edges(vec![
        edge("point", p(0.0, 0.0), p(60.0, 60.0)),
        Edge {
            name: "side".into(),
            curve: taper.expect("a curve"),
        },
        edge("join", p(330.0, 40.0), p(230.0, -60.0)),
        edge("low-side", p(230.0, -60.0), p(60.0, -60.0)),
        edge("low-point", p(60.0, -60.0), p(0.0, 0.0)),
    ])
    .expect("a ring")
}

fn edge(name: &str, from: Point, to: Point) -> Edge {
    Edge {
        name: name.into(),
        curve: Curve::line(from, to).expect("a line"),
    }
}

fn shown(outline: Ring, cloth: &str, lies: Lies) -> Shown {
    Shown {
        outline: Arc::new(outline),
        cloth: cloth.into(),
        lies,
    }
}

fn line(name: &str, from: Point, to: Point) -> Line {
    Line {
        name: name.into(),
        curve: Curve::line(from, to).expect("a line"),
        span: Span::default(),
    }
}

fn measure(name: &str, value: f64, unit: Unit) -> Measure {
    Measure {
        name: name.into(),
        value,
        unit,
        doc: "".into(),
        span: Span::default(),
    }
}

fn row(name: &str, value: f64, holds: bool) -> ProofRow {
    ProofRow {
        name: Arc::from(name),
        value,
        limit: 0.5,
        relation: Relation::AtMost,
        unit: Unit::Millimetre,
        holds,
        advisory: false,
        advice: "".into(),
        set: Vec::new(),
        span: Span::default(),
    }
}

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

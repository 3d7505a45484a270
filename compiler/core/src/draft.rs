//! The draft: every piece of one style in one size, in millimetres, with its measures and proof.
//!
//! A draft is what the language comes down to and all that the outputs see. It knows pieces,
//! edges and marks; it does not know what kind of neckwear it is.

use std::sync::Arc;

use tiewright_geometry::{Curve, Point, Refold, Ring, Vec2};

use crate::cloth::Properties;
use crate::diagnostic::Label;
use crate::source::Span;

/// One style in one size, drafted and proven. Coordinates are millimetres in the draft frame:
/// `x` along the centre, `y` across, the face up.
#[derive(Debug, Clone)]
pub struct Draft {
    /// The style's name.
    pub style: Arc<str>,
    /// The named size, if one was asked for.
    pub size: Option<Arc<str>>,
    /// The style's doc line; empty if it has none.
    pub doc: Arc<str>,
    /// Every parameter with the value used, in the order the shape declares them.
    pub parameters: Vec<Measure>,
    /// The names of the parameters that the style, its size or the caller set, in the same order.
    pub set: Vec<Arc<str>>,
    /// What the shape and the style measure, in order of declaration.
    pub measures: Vec<Measure>,
    /// The pieces, in order of declaration.
    pub pieces: Vec<Piece>,
    /// The cloths the pieces are cut from, one a role, in the order the roles are declared.
    pub cloths: Vec<Cloth>,
    /// What the proof found, in order of declaration.
    pub proof: Vec<ProofRow>,
    /// The piece goods folded up again, for pictures; absent when the shape folds nothing.
    pub folded: Option<Folded>,
    /// What is measured of the work, in order of declaration.
    pub inspections: Vec<Inspection>,
    /// How it is made, in the order of work.
    pub steps: Vec<WorkStep>,
}

impl Draft {
    /// What people call it: the style and, if there is one, the size.
    pub fn title(&self) -> String {
        match &self.size {
            Some(size) => format!("{}, size {size}", self.style),
            None => self.style.to_string(),
        }
    }
}

/// What a number counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// A plain number.
    Plain,
    /// Millimetres.
    Millimetre,
    /// Square millimetres.
    SquareMillimetre,
    /// Degrees.
    Degree,
}

/// A named number.
#[derive(Debug, Clone)]
pub struct Measure {
    /// The name in the language.
    pub name: Arc<str>,
    /// The value, in `unit`.
    pub value: f64,
    /// What the value counts.
    pub unit: Unit,
    /// The doc line; empty if there is none.
    pub doc: Arc<str>,
    /// Where it is declared.
    pub span: Span,
}

/// A cloth that pieces are cut from.
#[derive(Debug, Clone)]
pub struct Cloth {
    /// The role, as the pieces name it.
    pub role: Arc<str>,
    /// The name of the cloth, if the style names one.
    pub name: Option<Arc<str>>,
    /// The doc line of the cloth, or else of the role; empty if there is none.
    pub doc: Arc<str>,
    /// What is known of it, the role's own word where the cloth is silent.
    pub properties: Properties,
    /// Where the cloth, or else the role, is declared.
    pub span: Span,
}

/// One cut piece.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The piece's name, unique in the draft.
    pub name: Arc<str>,
    /// The doc line; empty if there is none.
    pub doc: Arc<str>,
    /// How many to cut for one finished article, at least 1.
    pub quantity: u32,
    /// The cloth role, such as `shell`.
    pub cloth: Arc<str>,
    /// Outline without the allowance at joins, walked clockwise (outside on the left).
    pub net: Ring,
    /// Outline to cut, walked clockwise, its edges named as in `net` where they come from it.
    pub cut: Ring,
    /// Lines to sew on.
    pub sew: Vec<Line>,
    /// Lines to fold on.
    pub fold: Vec<Line>,
    /// Where something else is laid or fastened; not cut, not folded.
    pub place: Vec<Line>,
    /// Notches on the cut outline.
    pub notches: Vec<Notch>,
    /// Drill holes.
    pub drills: Vec<Drill>,
    /// Texts written on the piece.
    pub texts: Vec<Text>,
    /// Direction of the warp.
    pub grain: Grain,
    /// Area of the cut outline, mm².
    pub area: f64,
    /// Area without the allowance at joins, mm².
    pub net_area: f64,
    /// Where the piece is declared.
    pub span: Span,
}

/// Added to the name of a line or edge for its mirror image in the centre.
const MIRRORED: &str = "-mirrored";

/// What the mirror image of a line or edge called `name` is called.
pub fn mirrored(name: &str) -> Arc<str> {
    format!("{name}{MIRRORED}").into()
}

/// What the line or edge is called whose mirror image is called `name`; `None` if that is no name of
/// a mirror image.
pub fn mirrored_from(name: &str) -> Option<&str> {
    name.strip_suffix(MIRRORED)
}

/// A line drawn on a piece.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its name, empty if it has none.
    pub name: Arc<str>,
    /// The line, cut to the piece.
    pub curve: Curve,
    /// Where it is declared.
    pub span: Span,
}

/// The form of a notch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotchKind {
    /// A straight cut.
    Slit,
    /// A wedge.
    V,
    /// A slit with a bar at its foot.
    T,
}

/// A notch, cut into a piece from its edge.
#[derive(Debug, Clone)]
pub struct Notch {
    /// Its name, empty if it has none.
    pub name: Arc<str>,
    /// Its form.
    pub kind: NotchKind,
    /// Where it starts, on the cut outline.
    pub at: Point,
    /// Unit vector into the piece.
    pub inward: Vec2,
    /// How far it goes in, mm.
    pub depth: f64,
    /// The opening of a V or the bar of a T, mm; 0 for a slit.
    pub width: f64,
    /// Where it is declared.
    pub span: Span,
}

/// A hole drilled through the cloth.
#[derive(Debug, Clone)]
pub struct Drill {
    /// Its name, empty if it has none.
    pub name: Arc<str>,
    /// Its centre.
    pub at: Point,
    /// Where it is declared.
    pub span: Span,
}

/// Words written on a piece.
#[derive(Debug, Clone)]
pub struct Text {
    /// The words.
    pub text: Arc<str>,
    /// The middle of the first line.
    pub at: Point,
    /// Turned from the x axis, radians, counter-clockwise.
    pub angle: f64,
    /// Where it is declared.
    pub span: Span,
}

/// The grain arrow, along the warp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grain {
    /// The foot of the arrow, inside the piece.
    pub from: Point,
    /// The head of the arrow, inside the piece.
    pub to: Point,
}

/// How a value is held against its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// The value must not be above the limit.
    AtMost,
    /// The value must not be below the limit.
    AtLeast,
}

/// One line of the proof.
#[derive(Debug, Clone)]
pub struct ProofRow {
    /// What is proven.
    pub name: Arc<str>,
    /// What was found, in `unit`.
    pub value: f64,
    /// What it is held against, in `unit`.
    pub limit: f64,
    /// Which side of the limit is good.
    pub relation: Relation,
    /// What value and limit count.
    pub unit: Unit,
    /// Whether the value is on the good side.
    pub holds: bool,
    /// Whether a failure is only a warning.
    pub advisory: bool,
    /// What to change when it does not hold; empty if nothing was said.
    pub advice: Arc<str>,
    /// Where the user set what it hangs on; empty when it holds.
    pub set: Vec<Label>,
    /// Where it is declared.
    pub span: Span,
}

/// What is measured of the work at one time.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// Its name, unique among the inspections of the draft.
    pub name: Arc<str>,
    /// When it is measured, in words.
    pub when: Arc<str>,
    /// What it is measured on, walked clockwise.
    pub outline: Arc<Ring>,
    /// Where it is measured, in order of declaration.
    pub points: Vec<MeasuringPoint>,
    /// Where it is declared.
    pub span: Span,
}

/// A length to be measured of the work, and what it must be.
#[derive(Debug, Clone)]
pub struct MeasuringPoint {
    /// Its name, unique in the draft.
    pub name: Arc<str>,
    /// The doc line; empty if there is none.
    pub doc: Arc<str>,
    /// The line that is measured.
    pub line: Curve,
    /// The length of the line, mm.
    pub value: f64,
    /// How far off the work may be, above and below, mm; more than 0.
    pub tolerance: f64,
    /// Where it is declared.
    pub span: Span,
}

/// A tool that calls for care.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tool {
    /// An iron or press: heat and steam.
    Iron,
    /// Shears, a knife or another cutting edge.
    Blade,
}

/// One step of the work.
#[derive(Debug, Clone)]
pub struct WorkStep {
    /// What it is called, unique in the draft.
    pub title: Arc<str>,
    /// What is done, with its numbers filled in.
    pub text: Arc<str>,
    /// The tool it is done with, where that calls for care.
    pub tool: Option<Tool>,
    /// Where it is declared.
    pub span: Span,
}

/// The pieces folded up again: what is laid down flat, and the creases. The layers are made when
/// a picture asks for them.
#[derive(Debug, Clone)]
pub struct Folded {
    /// The finished outline, walked clockwise.
    pub outline: Ring,
    /// What is shown, in the order it is laid.
    pub shown: Vec<Shown>,
    /// The creases, in the order they are folded.
    pub refold: Refold,
    /// What is marked on the finished work, in order of declaration.
    pub marks: Vec<FoldedMark>,
}

/// A side of the finished work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The side that is seen when it is worn.
    Face,
    /// The other.
    Back,
}

/// A line on the finished work: where something is sewn, laid or fastened.
#[derive(Debug, Clone)]
pub struct FoldedMark {
    /// Its name.
    pub name: Arc<str>,
    /// The line, in the draft frame.
    pub curve: Curve,
    /// The side it is on.
    pub side: Side,
    /// Where it is declared.
    pub span: Span,
}

/// How cloth shown in pictures lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// Flat before it is folded with the rest, wrong side up.
    WrongSideUp,
    /// `right side up`: the same, right side up.
    RightSideUp,
    /// `on face` or `on back`: not folded, upon that side of the folded work, right side out.
    Upon(Side),
}

/// Cloth laid down for pictures, flat before it is folded or upon the folded work.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Its outline.
    pub outline: Arc<Ring>,
    /// The cloth role it is cut from.
    pub cloth: Arc<str>,
    /// How it lies; the shell of a folded article is wrong side up.
    pub lies: Lies,
}

impl Shown {
    fn layer(&self, outline: Vec<Point>, right_side_up: bool) -> Layer {
        Layer {
            cloth: self.cloth.clone(),
            right_side_up,
            outline,
        }
    }
}

/// A part of a folded article that lies flat.
#[derive(Debug, Clone)]
pub struct Layer {
    /// The cloth role it is cut from.
    pub cloth: Arc<str>,
    /// Whether the right side of the cloth is up when the article lies face down.
    pub right_side_up: bool,
    /// A closed polygon, corners in order, no point repeated at the end.
    pub outline: Vec<Point>,
}

/// Millimetres. How far the outlines of a picture may stray; finer than a printed line.
const PICTURE: f64 = 0.05;

impl Folded {
    /// The layers to paint from the back of the table upwards: the first is the face, lying face
    /// down; the last is what is on top when the article lies on its face.
    pub fn layers(&self) -> Vec<Layer> {
        let upon = |side| {
            let is_upon = move |shown: &&Shown| shown.lies == Lies::Upon(side);
            self.shown.iter().filter(is_upon)
        };
        let is_folded = |s: &&Shown| !matches!(s.lies, Lies::Upon(_));
        let folded: Vec<&Shown> = self.shown.iter().filter(is_folded).collect();
        let flat = |shown: &&Shown| shown.outline.flatten(PICTURE);
        let stack: Vec<Vec<Point>> = folded.iter().map(flat).collect();
        let layers = self.refold.layers(&stack, PICTURE);
        let layers = layers.into_iter().filter_map(|layer| {
            let shown = folded.get(layer.sheet)?;
            let even = layer.turns.is_multiple_of(2);
            let right_side_up = (shown.lies == Lies::RightSideUp) == even;
            Some(shown.layer(layer.outline, right_side_up))
        });
        // What is laid last is seen, upon either side.
        let face = upon(Side::Face).rev().map(|s| s.layer(flat(&s), false));
        let back = upon(Side::Back).map(|s| s.layer(flat(&s), true));
        face.chain(layers).chain(back).collect()
    }
}

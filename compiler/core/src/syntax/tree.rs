//! The syntax tree: what a text says, before anything is known about names or kinds.
//!
//! Every node keeps its [`Span`]. Nothing here is evaluated.

use std::sync::Arc;

use crate::cloth::{Bias, Direction, Property};
use crate::kind::Dim;
use crate::phrase::Form;
use crate::source::Span;
use crate::table;

/// A name as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// The letters.
    pub text: Arc<str>,
    /// Where they stand.
    pub span: Span,
}

/// One file.
#[derive(Debug, Clone, Default)]
pub struct File {
    /// Other files it uses.
    pub uses: Vec<Text>,
    /// Shapes it declares.
    pub shapes: Vec<Shape>,
    /// Styles it declares.
    pub styles: Vec<Style>,
    /// Cloths it declares.
    pub cloths: Vec<Cloth>,
    /// Tables it declares.
    pub tables: Vec<Table>,
}

/// `table NAME "doc" { … }`
#[derive(Debug, Clone)]
pub struct Table {
    /// Its name.
    pub name: Name,
    /// Its doc line.
    pub doc: Option<Text>,
    /// What it states.
    pub lines: Vec<TableLine>,
}

/// `PROPERTY VALUE` of a table.
#[derive(Debug, Clone)]
pub struct TableLine {
    /// What it states.
    pub property: table::Property,
    /// The value.
    pub value: Expr,
    /// The property's word.
    pub span: Span,
}

/// `cloth NAME "doc" { … }`
#[derive(Debug, Clone)]
pub struct Cloth {
    /// Its name.
    pub name: Name,
    /// Its doc line.
    pub doc: Option<Text>,
    /// What it states.
    pub lines: Vec<ClothLine>,
}

/// `PROPERTY VALUE` of a cloth.
#[derive(Debug, Clone)]
pub struct ClothLine {
    /// What it states.
    pub value: ClothValue,
    /// The property's word.
    pub span: Span,
}

/// What a line of a cloth states.
#[derive(Debug, Clone)]
pub enum ClothValue {
    /// A number.
    Number(Property, Expr),
    /// Which ways a piece may be turned.
    Direction(Direction),
    /// Which way the stripes run.
    Bias(Bias),
}

/// A quoted text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text {
    /// The letters between the quotes.
    pub text: Arc<str>,
    /// The text with its quotes.
    pub span: Span,
}

/// A quoted text with values to fill in.
#[derive(Debug, Clone)]
pub struct Template {
    /// The parts in order.
    pub parts: Vec<TemplatePart>,
    /// The text with its quotes.
    pub span: Span,
}

/// One part of a [`Template`].
#[derive(Debug, Clone)]
pub enum TemplatePart {
    /// Letters as they are.
    Letters(Arc<str>),
    /// A value, written `{expression}`.
    Value(Expr),
}

/// `shape NAME from BASE "doc" { … }`
#[derive(Debug, Clone)]
pub struct Shape {
    /// Its name.
    pub name: Name,
    /// The shape it is made from, if any.
    pub base: Option<Name>,
    /// What it leaves out of its base: names, lines of the proof, steps of the work.
    pub without: Vec<Left>,
    /// What it adds to declarations of its base.
    pub additions: Vec<Addition>,
    /// Its doc line.
    pub doc: Option<Text>,
    /// Its declarations.
    pub items: Vec<Item>,
}

/// Something a shape leaves out of its base.
#[derive(Debug, Clone)]
pub enum Left {
    /// A declaration.
    Name(Name),
    /// A line of the proof or a step of the work, by its text.
    Text(Text),
}

/// `add to piece NAME { … }`, `add to pattern NAME { … }` or `add to assembly NAME { … }`
#[derive(Debug, Clone)]
pub struct Addition {
    /// The declaration of the base.
    pub name: Name,
    /// The statements that go on from its own.
    pub more: More,
}

/// The statements an [`Addition`] adds.
#[derive(Debug, Clone)]
pub enum More {
    /// To a piece or pattern.
    Piece(Vec<PieceItem>),
    /// To an assembly.
    Assembly(Vec<AssemblyStep>),
}

/// `style NAME from BASE "doc" { … }`
#[derive(Debug, Clone)]
pub struct Style {
    /// Its name.
    pub name: Name,
    /// The shape or style it is built from.
    pub base: Name,
    /// Its doc line.
    pub doc: Option<Text>,
    /// What differs from the base.
    pub settings: Vec<Setting>,
    /// Its named sizes.
    pub sizes: Vec<Size>,
    /// Parameters left open and what determines them.
    pub finds: Vec<Find>,
    /// Measures and requirements of its own.
    pub items: Vec<Item>,
}

/// `NAME EXPRESSION` in a style, size or grade.
#[derive(Debug, Clone)]
pub struct Setting {
    /// The parameter.
    pub name: Name,
    /// Its value.
    pub value: Expr,
}

/// `size NAME { … }`
#[derive(Debug, Clone)]
pub struct Size {
    /// Its name.
    pub name: Name,
    /// What differs from the style.
    pub settings: Vec<Setting>,
}

/// `find A from LO to HI, B so that X is Y and …`
#[derive(Debug, Clone)]
pub struct Find {
    /// The parameters left open, each with the range to look in if it is stated.
    pub unknowns: Vec<(Name, Option<(Expr, Expr)>)>,
    /// Pairs that must become equal.
    pub equations: Vec<(Expr, Expr)>,
    /// The whole statement.
    pub span: Span,
}

/// A declaration in a shape.
#[derive(Debug, Clone)]
pub struct Item {
    /// What it declares.
    pub what: ItemKind,
    /// The statement's head.
    pub span: Span,
}

/// The declarations of a shape.
#[derive(Debug, Clone)]
pub enum ItemKind {
    /// `parameter NAME DEFAULT from LO to HI "doc"`
    Parameter {
        /// Its name.
        name: Name,
        /// The value unless a style says otherwise.
        default: Expr,
        /// Lowest and highest value allowed.
        range: Option<(Expr, Expr)>,
        /// Its doc line.
        doc: Option<Text>,
    },
    /// `cloth NAME "doc" { … }`, a role, or `cloth NAME as ROLE "doc"`.
    Cloth {
        /// Its name.
        name: Name,
        /// The role whose cloth it is cut from.
        alias: Option<Name>,
        /// Its doc line.
        doc: Option<Text>,
        /// What holds unless a style names a cloth that states it.
        lines: Vec<ClothLine>,
    },
    /// `NAME = EXPRESSION "doc"`, or `measure NAME = …`, which is also printed.
    Value {
        /// Its name.
        name: Name,
        /// What it is.
        value: Expr,
        /// Its doc line.
        doc: Option<Text>,
        /// Whether it is printed.
        measure: bool,
    },
    /// `measure NAME`: something declared elsewhere is printed too.
    Print(Name),
    /// `require CONDITION "message"`
    Require {
        /// What must be true.
        condition: Expr,
        /// What to say when it is not.
        message: Template,
    },
    /// `profile NAME { … }`, half widths over stations.
    Profile {
        /// Its name.
        name: Name,
        /// Its pieces.
        steps: Vec<Step>,
    },
    /// `path NAME { … }`, a curve through points.
    Path {
        /// Its name.
        name: Name,
        /// Its pieces.
        steps: Vec<Step>,
    },
    /// `outline NAME { … }`, a closed ring of edges.
    Outline {
        /// Its name.
        name: Name,
        /// Its edges.
        edges: Edges,
    },
    /// `piece NAME from PATTERN when CONDITION "doc" { … }`, or `pattern`, which is not cut itself.
    Piece(Box<PieceDecl>),
    /// `assembly NAME { … }`
    Assembly {
        /// Its name.
        name: Name,
        /// How it goes together.
        steps: Vec<AssemblyStep>,
    },
    /// `prove "name" VALUE at most LIMIT "advice"`
    Prove(Box<Prove>),
    /// `grade NAME { FOLLOWER SHARE … }`: where the extra of a parameter goes.
    Grade {
        /// The graded parameter.
        graded: Name,
        /// What follows it, each with its share.
        followers: Vec<Setting>,
    },
    /// `inspection NAME "when" of OUTLINE { … }`
    Inspection(Box<Inspection>),
    /// `step "Title" with TOOL after "Title" "words"`
    Work(Box<WorkStep>),
}

/// What is measured of the work at one time.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// Its name.
    pub name: Name,
    /// When it is measured.
    pub when: Text,
    /// What it is measured on.
    pub outline: Expr,
    /// Where it is measured.
    pub points: Vec<MeasuringPoint>,
}

/// `point NAME along LINE within TOLERANCE "doc"`
#[derive(Debug, Clone)]
pub struct MeasuringPoint {
    /// Its name.
    pub name: Name,
    /// What is measured: the length of this line.
    pub line: Expr,
    /// How far off the work may be, above and below.
    pub tolerance: Expr,
    /// Its doc line.
    pub doc: Option<Text>,
    /// The condition under which it is measured.
    pub when: Option<Expr>,
    /// The statement.
    pub span: Span,
}

/// One step of the order of work.
#[derive(Debug, Clone)]
pub struct WorkStep {
    /// What it is called; no two steps of a shape are called the same.
    pub title: Text,
    /// What it is done with, where that calls for care.
    pub tool: Option<Tool>,
    /// The step it comes after; else it comes after those written before it.
    pub after: Option<Text>,
    /// What is done, in one text or several.
    pub words: Vec<Template>,
    /// The condition under which it is done.
    pub when: Option<Expr>,
}

/// One statement of a profile or path.
#[derive(Debug, Clone)]
pub struct Step {
    /// What it draws.
    pub what: StepKind,
    /// The name of the drawn part.
    pub name: Option<Name>,
    /// The statement.
    pub span: Span,
}

/// Where a step of a profile or path ends.
#[derive(Debug, Clone)]
pub enum Target {
    /// A profile: `to STATION width WIDTH`.
    Station(Expr, Expr),
    /// A profile: `run LENGTH width WIDTH`.
    Run(Expr, Expr),
    /// A path: `to POINT`.
    Point(Expr),
    /// A path: `by (DX, DY)`.
    By(Expr),
}

/// What a step draws.
#[derive(Debug, Clone)]
pub enum StepKind {
    /// `start at STATION width WIDTH`, or `start POINT`.
    Start(Target),
    /// `straight to …`
    Straight(Target),
    /// `curve to … handles A, B`: widths at a third and two thirds, or points.
    Curve(Target, Expr, Expr),
}

/// The edges of a ring.
#[derive(Debug, Clone)]
pub struct Edges {
    /// Name and line of each edge, in order round the ring.
    pub edges: Vec<(Name, Expr)>,
    /// Whether the ring is closed by the same edges mirrored in the centre.
    pub both_sides: bool,
    /// Whether every edge could be read.
    pub complete: bool,
    /// The statement that opens the ring.
    pub span: Span,
}

/// A piece or a pattern.
#[derive(Debug, Clone)]
pub struct PieceDecl {
    /// Its name.
    pub name: Name,
    /// The pattern it is cut from.
    pub base: Option<Name>,
    /// The condition under which it exists.
    pub when: Option<Expr>,
    /// Its doc line.
    pub doc: Option<Text>,
    /// Whether it is cut (a piece) or only stands for others (a pattern).
    pub cut: bool,
    /// Its statements.
    pub items: Vec<PieceItem>,
}

/// A statement in a piece.
#[derive(Debug, Clone)]
pub struct PieceItem {
    /// What it says.
    pub what: PieceItemKind,
    /// Whether it is repeated, mirrored in the centre.
    pub both_sides: bool,
    /// The condition under which it holds.
    pub when: Option<Expr>,
    /// The statement.
    pub span: Span,
}

/// The form of a notch, how shown cloth lies, a side of the folded work, a tool.
pub use crate::draft::{Lies, NotchKind, Side, Tool};

/// The statements of a piece.
#[derive(Debug, Clone)]
pub enum PieceItemKind {
    /// `quantity N`
    Quantity(Expr),
    /// `cloth NAME`
    Cloth(Name),
    /// `grain ANGLE`
    Grain(Expr),
    /// `give RATIO`
    Give(Expr),
    /// `outline { … }`
    Outline(Edges),
    /// `outline NAME`
    OutlineOf(Expr),
    /// `cut along LINE keep POINT as NAME`
    CutAlong {
        /// The line.
        line: Expr,
        /// A point on the side to keep.
        keep: Expr,
        /// The name of the new edge.
        name: Name,
    },
    /// `join EDGE allowance A` and `allowance A on EDGE, …`; a join's allowance is left out of the
    /// net area.
    Allowance {
        /// The edges.
        edges: Vec<Name>,
        /// How much cloth is added.
        amount: Expr,
        /// Whether the edges are joins: the same cloth goes on beyond.
        join: bool,
    },
    /// `sew CURVE as NAME`
    Sew(Expr, Option<Name>),
    /// `fold CURVE as NAME`
    Fold(Expr, Option<Name>),
    /// `place CURVE as NAME`
    Place(Expr, Option<Name>),
    /// `notch KIND on EDGE at WHERE depth D width W as NAME`
    Notch {
        /// Its form.
        kind: NotchKind,
        /// The edge.
        edge: Name,
        /// A length along the edge, or a point on it.
        at: Expr,
        /// How deep.
        depth: Expr,
        /// How wide.
        width: Option<Expr>,
        /// Its name.
        name: Option<Name>,
    },
    /// `drill POINT as NAME`
    Drill(Expr, Option<Name>),
    /// `text "words" at POINT turned ANGLE`
    Text {
        /// The words.
        words: Template,
        /// The middle of the text.
        at: Expr,
        /// Turned by this angle.
        turned: Option<Expr>,
    },
}

/// A statement in an assembly.
#[derive(Debug, Clone)]
pub struct AssemblyStep {
    /// What it says.
    pub what: AssemblyStepKind,
    /// Whether it is repeated, mirrored in the centre.
    pub both_sides: bool,
    /// The condition under which it is done.
    pub when: Option<Expr>,
    /// The statement.
    pub span: Span,
}

/// The statements of an assembly.
#[derive(Debug, Clone)]
pub enum AssemblyStepKind {
    /// `lay PIECE`
    Lay(Name),
    /// `sew PIECE.EDGE to PIECE.EDGE`
    Sew {
        /// The piece that is moved and its edge.
        moved: (Name, Name),
        /// The piece that already lies there and its edge.
        to: (Name, Name),
    },
    /// `fold across CREASE`
    Fold(Expr),
    /// `pleat LINE to LINE`
    Pleat(Expr, Expr),
    /// `finish OUTLINE`
    Finish(Expr),
    /// `show OUTLINE as CLOTH`, and how it lies.
    Show(Expr, Name, Lies),
    /// `mark LINE as NAME on SIDE`
    Mark(Expr, Name, Side),
}

/// A line of the proof.
#[derive(Debug, Clone)]
pub struct Prove {
    /// What is proven.
    pub name: Text,
    /// The value found.
    pub value: Expr,
    /// What it must be.
    pub bound: Bound,
    /// What to change when it does not hold.
    pub advice: Option<Template>,
    /// The condition under which it is looked at.
    pub when: Option<Expr>,
    /// Whether it only warns.
    pub advisory: bool,
}

/// What a proven value must be.
#[derive(Debug, Clone)]
pub enum Bound {
    /// `at most LIMIT`
    AtMost(Expr),
    /// `at least LIMIT`
    AtLeast(Expr),
    /// `is TARGET within TOLERANCE`
    Within(Expr, Expr),
}

/// An expression.
#[derive(Debug, Clone)]
pub struct Expr {
    /// What it says.
    pub what: ExprKind,
    /// Where it stands.
    pub span: Span,
    /// How many expressions stand in each other, itself counted. Whoever walks the tree by calling
    /// itself goes so deep.
    pub depth: usize,
}

impl ExprKind {
    /// The greatest depth of the expressions it is made of.
    pub fn inner_depth(&self) -> usize {
        match self {
            ExprKind::Number(..) | ExprKind::Name(_) | ExprKind::Part(..) => 0,
            ExprKind::Negate(a) | ExprKind::Not(a) => a.depth,
            ExprKind::Binary(_, a, b) | ExprKind::Pair(a, b) => a.depth.max(b.depth),
            ExprKind::If(a, b, c) => a.depth.max(b.depth).max(c.depth),
            ExprKind::Call(_, list) => list.iter().map(|a| a.depth).max().unwrap_or(0),
            ExprKind::Phrase(_, places) => {
                places.iter().flatten().map(|a| a.depth).max().unwrap_or(0)
            }
        }
    }
}

/// Operators between two values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum BinaryOp {
    Add,
    Subtract,
    Multiply,
    Divide,
    Less,
    AtMost,
    Greater,
    AtLeast,
    Equal,
    And,
    Or,
}

/// The forms of an expression.
#[derive(Debug, Clone)]
pub enum ExprKind {
    /// A number with its unit, in millimetres or radians.
    Number(f64, Dim),
    /// A name.
    Name(Arc<str>),
    /// `NAME.PART`
    Part(Name, Name),
    /// `-x`
    Negate(Box<Expr>),
    /// `not x`
    Not(Box<Expr>),
    /// `a + b` and so on.
    Binary(BinaryOp, Box<Expr>, Box<Expr>),
    /// `f(a, b)`
    Call(Name, Vec<Expr>),
    /// `(x, y)`
    Pair(Box<Expr>, Box<Expr>),
    /// `if C then A else B`
    If(Box<Expr>, Box<Expr>, Box<Expr>),
    /// A phrase: the form and what stands in its places; a place that takes a list holds several.
    Phrase(&'static Form, Vec<Vec<Expr>>),
}

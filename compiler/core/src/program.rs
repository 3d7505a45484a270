//! The checked program: every name resolved to a slot, every expression of known kind.
//!
//! Made by [`check`](crate::check), read by the evaluator. Nothing here computes.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::cloth::{Bias, Direction, Property, property};
use crate::draft::{Lies, NotchKind, Side, Tool};
use crate::kind::{Dim, Kind};
use crate::phrase::{Form, Function};
use crate::row::Row;
use crate::source::Span;
use crate::syntax::tree::BinaryOp;
use crate::table;

/// Index of a slot in [`Shape::slots`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SlotId(pub u32);

impl SlotId {
    /// As an index.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// An expression of known kind.
#[derive(Debug, Clone)]
pub struct Node {
    /// What it computes.
    pub op: Op,
    /// The kind of its value.
    pub kind: Kind,
    /// Where it stands.
    pub span: Span,
}

/// What a node computes.
#[derive(Debug, Clone)]
pub enum Op {
    /// A number in millimetres, radians or plain.
    Constant(f64),
    /// The line along the middle of every draft.
    Centre,
    /// The value of a slot.
    Slot(SlotId),
    /// The value a slot has at a level above: with only the settings of the first so many levels.
    Before(usize, SlotId),
    /// A named part of the value of a slot.
    Part(SlotId, Arc<str>),
    /// `-x`
    Negate(Box<Node>),
    /// `not x`
    Not(Box<Node>),
    /// An operator between two values.
    Binary(BinaryOp, Box<Node>, Box<Node>),
    /// A function.
    Call(Function, Vec<Node>),
    /// A point from its two coordinates.
    Pair(Box<Node>, Box<Node>),
    /// One of two values.
    If(Box<Node>, Box<Node>, Box<Node>),
    /// A phrase.
    Phrase(&'static Form, Vec<Vec<Node>>),
    /// A cloth declared in a file.
    Cloth(Arc<Cloth>),
}

/// A cloth declared in a file.
#[derive(Debug, Clone)]
pub struct Cloth {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line.
    pub doc: Arc<str>,
    /// Where its name is declared.
    pub span: Span,
    /// What it states, each property once.
    pub stated: Vec<Stated>,
}

/// One line of a cloth or role.
#[derive(Debug, Clone)]
pub struct Stated {
    /// What it states.
    pub value: StatedValue,
    /// The property's word.
    pub span: Span,
}

/// What a line of a cloth states; a node reads no slot.
#[derive(Debug, Clone)]
pub enum StatedValue {
    /// A number.
    Number(Property, Node),
    /// Which ways a piece may be turned.
    Direction(Direction),
    /// Which way the stripes run.
    Bias(Bias),
}

/// A cutting table declared in a file.
#[derive(Debug, Clone)]
pub struct Table {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line.
    pub doc: Arc<str>,
    /// Where its name is declared.
    pub span: Span,
    /// What it states, each property once.
    pub stated: Vec<TableLine>,
}

/// One line of a table.
#[derive(Debug, Clone)]
pub struct TableLine {
    /// What it states.
    pub property: table::Property,
    /// The value; it reads no slot.
    pub value: Node,
}

/// A cloth role: what holds unless a style names a cloth that states it.
#[derive(Debug, Clone, Default)]
pub struct Role {
    /// The role whose cloth it is cut from.
    pub alias: Option<SlotId>,
    /// What it states itself, each property once.
    pub stated: Vec<Stated>,
}

/// A text with values to fill in.
#[derive(Debug, Clone)]
pub struct Message {
    /// The parts in order.
    pub parts: Vec<MessagePart>,
}

/// One part of a [`Message`].
#[derive(Debug, Clone)]
pub enum MessagePart {
    /// Letters as they are.
    Letters(Arc<str>),
    /// A value.
    Value(Node),
}

/// Something declared: a name and what it stands for.
#[derive(Debug, Clone)]
pub struct Slot {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line.
    pub doc: Arc<str>,
    /// Where its name is declared.
    pub span: Span,
    /// The kind of its value.
    pub kind: Kind,
    /// What it stands for.
    pub definition: Definition,
    /// Names that may follow it after a dot.
    pub parts: Vec<Arc<str>>,
    /// The slots its definition reads.
    pub reads: Vec<SlotId>,
}

/// What a slot stands for.
#[derive(Debug, Clone)]
pub enum Definition {
    /// A parameter: its default and its range.
    Parameter(Node, Option<(Node, Node)>),
    /// A value.
    Value(Node),
    /// A cloth role.
    Cloth(Role),
    /// A profile or path.
    Steps(Vec<Step>),
    /// A closed outline.
    Outline(Edges),
    /// A piece or pattern.
    Piece(Box<Piece>),
    /// An assembly.
    Assembly(Assembly),
    /// Not known because of an error already reported.
    Unknown,
}

/// One piece of a profile or path.
#[derive(Debug, Clone)]
pub struct Step {
    /// What it draws.
    pub what: StepKind,
    /// The name of the part.
    pub name: Option<Arc<str>>,
    /// Where it stands.
    pub span: Span,
}

/// Where a step ends; stations and widths are lengths.
#[derive(Debug, Clone)]
pub enum Target {
    /// A station and a full width.
    Station(Node, Node),
    /// A run along the centre and a full width.
    Run(Node, Node),
    /// A point.
    Point(Node),
    /// A step from the point before.
    By(Node),
}

/// What a step draws.
#[derive(Debug, Clone)]
pub enum StepKind {
    /// The start.
    Start(Target),
    /// A straight line.
    Straight(Target),
    /// A cubic; handles are widths at the thirds of the run, or points.
    Curve(Target, Node, Node),
}

/// The edges of an outline.
#[derive(Debug, Clone)]
pub struct Edges {
    /// Name and line, in order.
    pub edges: Vec<(Arc<str>, Node)>,
    /// Whether they are repeated, mirrored in the centre.
    pub both_sides: bool,
    /// Where the outline is declared.
    pub span: Span,
}

/// Where a piece gets its outline from.
#[derive(Debug, Clone)]
pub enum Source {
    /// The pattern it is cut from.
    Pattern(SlotId),
    /// Its own edges.
    Edges(Edges),
    /// An outline or piece.
    Outline(Node),
}

/// A piece or a pattern.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Where its outline comes from.
    pub source: Source,
    /// The condition under which it exists.
    pub when: Option<Node>,
    /// Whether it is cut.
    pub cut: bool,
    /// How many to cut.
    pub quantity: Option<Node>,
    /// The cloth role.
    pub cloth: Option<SlotId>,
    /// The warp's direction.
    pub grain: Option<Node>,
    /// How much it lengthens when it hangs.
    pub give: Option<Node>,
    /// Cuts, in order.
    pub cuts: Vec<Cut>,
    /// Allowances.
    pub allowances: Vec<Allowance>,
    /// What is drawn on it.
    pub marks: Vec<Mark>,
}

/// `cut along LINE keep POINT as NAME`
#[derive(Debug, Clone)]
pub struct Cut {
    /// The line.
    pub line: Node,
    /// A point on the side kept.
    pub keep: Node,
    /// The name of the new edge.
    pub name: Arc<str>,
    /// The condition under which it is made.
    pub when: Option<Node>,
    /// Where it stands.
    pub span: Span,
}

/// Cloth added beyond edges.
#[derive(Debug, Clone)]
pub struct Allowance {
    /// The edges.
    pub edges: Vec<Arc<str>>,
    /// How much.
    pub amount: Node,
    /// Whether the edges are joins.
    pub join: bool,
    /// The condition under which it is added.
    pub when: Option<Node>,
    /// Where it stands.
    pub span: Span,
}

/// Something drawn on a piece.
#[derive(Debug, Clone)]
pub struct Mark {
    /// What it is.
    pub what: MarkKind,
    /// Its name.
    pub name: Option<Arc<str>>,
    /// Whether it is repeated, mirrored in the centre.
    pub both_sides: bool,
    /// The condition under which it is drawn.
    pub when: Option<Node>,
    /// Where it stands.
    pub span: Span,
}

/// The marks of a piece.
#[derive(Debug, Clone)]
pub enum MarkKind {
    /// A line to sew on.
    Sew(Node),
    /// A line to fold on.
    Fold(Node),
    /// A line to place something by.
    Place(Node),
    /// A hole.
    Drill(Node),
    /// A notch.
    Notch {
        /// Its form.
        kind: NotchKind,
        /// The edge.
        edge: Arc<str>,
        /// A length along the edge, or a point on it.
        at: Node,
        /// How deep.
        depth: Node,
        /// How wide.
        width: Option<Node>,
    },
    /// Words.
    Text {
        /// The words.
        words: Message,
        /// The middle.
        at: Node,
        /// Turned by this angle.
        turned: Option<Node>,
    },
}

/// How pieces are sewn and folded.
#[derive(Debug, Clone, Default)]
pub struct Assembly {
    /// The steps, in order.
    pub steps: Vec<When<AssemblyStep>>,
}

/// Something that may be left out.
#[derive(Debug, Clone)]
pub struct When<T> {
    /// The condition under which it stands.
    pub when: Option<Node>,
    /// What it is.
    pub what: T,
}

/// One step of an assembly.
#[derive(Debug, Clone)]
pub enum AssemblyStep {
    /// A piece stays where it is drafted.
    Lay(SlotId, Span),
    /// A piece is moved so that its edge lies on another's.
    Sew {
        /// The piece moved and its edge.
        moved: (SlotId, Arc<str>),
        /// The piece sewn to and its edge.
        to: (SlotId, Arc<str>),
        /// Where it stands.
        span: Span,
    },
    /// Cloth left of the crease is turned over.
    Fold(Node, bool, Span),
    /// Cloth between two lines is turned under, and all beyond carried along.
    Pleat {
        /// The two lines, the second to the left of the first.
        lines: (Node, Node),
        /// Whether below the centre as well.
        both_sides: bool,
        /// Where it stands.
        span: Span,
    },
    /// The finished outline to compare with; of several the last stands.
    Finish(Node),
    /// An outline shown in pictures.
    Show(Show),
    /// A line marked on the finished work.
    Mark(FoldedMark),
}

/// `mark LINE as NAME on SIDE`
#[derive(Debug, Clone)]
pub struct FoldedMark {
    /// The line.
    pub line: Node,
    /// Its name.
    pub name: Arc<str>,
    /// The side of the finished work it is on.
    pub side: Side,
    /// Whether it is repeated, mirrored in the centre.
    pub both_sides: bool,
    /// Where it stands.
    pub span: Span,
}

/// `show OUTLINE as CLOTH`
#[derive(Debug, Clone)]
pub struct Show {
    /// The outline.
    pub outline: Node,
    /// Its cloth role.
    pub cloth: SlotId,
    /// How it lies.
    pub lies: Lies,
}

/// A condition that must hold.
#[derive(Debug, Clone)]
pub struct Require {
    /// The condition.
    pub condition: Node,
    /// What to say when it does not.
    pub message: Message,
    /// Where it stands.
    pub span: Span,
}

/// A line of the proof.
#[derive(Debug, Clone)]
pub struct Prove {
    /// What is proven.
    pub name: Arc<str>,
    /// The value found.
    pub value: Node,
    /// What it must be.
    pub bound: Bound,
    /// What to change.
    pub advice: Option<Message>,
    /// The condition under which it is looked at.
    pub when: Option<Node>,
    /// Whether it only warns.
    pub advisory: bool,
    /// Where it stands.
    pub span: Span,
}

/// What a proven value must be.
#[derive(Debug, Clone)]
pub enum Bound {
    /// At most this.
    AtMost(Node),
    /// At least this.
    AtLeast(Node),
    /// This, within a tolerance.
    Within(Node, Node),
}

/// What is measured of the work at one time.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// Its name.
    pub name: Arc<str>,
    /// When it is measured.
    pub when: Arc<str>,
    /// What it is measured on.
    pub outline: Node,
    /// Where it is measured.
    pub points: Vec<MeasuringPoint>,
    /// Where it stands.
    pub span: Span,
}

/// A length to be measured of the work.
#[derive(Debug, Clone)]
pub struct MeasuringPoint {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line.
    pub doc: Arc<str>,
    /// The line whose length is measured.
    pub line: Node,
    /// How far off it may be.
    pub tolerance: Node,
    /// The condition under which it is measured.
    pub when: Option<Node>,
    /// Where it stands.
    pub span: Span,
}

/// One step of the order of work.
#[derive(Debug, Clone)]
pub struct WorkStep {
    /// What it is called.
    pub title: Arc<str>,
    /// What is done.
    pub words: Message,
    /// The tool, where it calls for care.
    pub tool: Option<Tool>,
    /// The condition under which it is done.
    pub when: Option<Node>,
    /// Where it stands.
    pub span: Span,
}

/// A shape, or a style with all it inherits: everything that is evaluated together.
#[derive(Debug, Clone, Default)]
pub struct Shape {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line.
    pub doc: Arc<str>,
    /// Where its name is declared.
    pub span: Span,
    /// What is declared, in order.
    pub slots: Vec<Arc<Slot>>,
    /// Slot by name, cloth roles left out.
    pub names: BTreeMap<Arc<str>, SlotId>,
    /// Slots of cloth roles by name. They have names of their own, so that a piece may be called
    /// like the cloth it is cut from.
    pub roles: BTreeMap<Arc<str>, SlotId>,
    /// Printed measures, in order.
    pub measures: Vec<SlotId>,
    /// Requirements, in order.
    pub requires: Vec<Arc<Require>>,
    /// The proof, in order.
    pub proofs: Vec<Arc<Prove>>,
    /// Where the extra of parameters goes, each after those that its own parameter follows.
    pub grades: Vec<Grade>,
    /// What is measured of the work, in order.
    pub inspections: Vec<Arc<Inspection>>,
    /// The order of work.
    pub steps: Vec<Arc<WorkStep>>,
}

/// Where the extra of a parameter goes.
#[derive(Debug, Clone)]
pub struct Grade {
    /// The graded parameter.
    pub graded: SlotId,
    /// The parameters that follow it.
    pub followers: Vec<Follower>,
    /// Where it is named.
    pub span: Span,
}

/// A parameter that follows a graded one.
#[derive(Debug, Clone)]
pub struct Follower {
    /// The parameter.
    pub slot: SlotId,
    /// How much of the graded one's change it takes.
    pub share: Node,
    /// Where it is named.
    pub span: Span,
}

impl Shape {
    /// The slot behind an identity of this shape.
    pub fn slot(&self, id: SlotId) -> Option<&Arc<Slot>> {
        self.slots.get(id.index())
    }

    /// The slot of this name; where a piece is called like its cloth, that of the piece.
    pub fn find(&self, name: &str) -> Option<(SlotId, &Arc<Slot>)> {
        let id = *self.names.get(name).or_else(|| self.roles.get(name))?;
        Some((id, self.slot(id)?))
    }

    /// The role and property that `NAME.PART` reads, if it reads a cloth.
    pub fn find_property(
        &self,
        name: &str,
        part: &str,
    ) -> Option<(SlotId, &'static Row<Property>)> {
        Some((*self.roles.get(name)?, property(part)?))
    }

    /// The names of all parameters and cloth roles: what a style may set.
    pub fn settable(&self) -> impl Iterator<Item = &str> {
        let set = |slot: &&Arc<Slot>| {
            matches!(
                slot.definition,
                Definition::Parameter(..) | Definition::Cloth(_)
            )
        };
        self.slots.iter().filter(set).map(|slot| &*slot.name)
    }

    /// The names of all parameters, in order of declaration.
    pub fn parameters(&self) -> impl Iterator<Item = (SlotId, &Arc<Slot>)> {
        self.slots
            .iter()
            .enumerate()
            .filter(|(_, slot)| matches!(slot.definition, Definition::Parameter(..)))
            .map(|(index, slot)| (SlotId(u32::try_from(index).unwrap_or(u32::MAX)), slot))
    }
}

/// A parameter set to a value, or a role to a cloth.
#[derive(Debug, Clone)]
pub struct Setting {
    /// The parameter.
    pub slot: SlotId,
    /// Its value.
    pub value: Arc<Node>,
    /// The slots the value reads.
    pub reads: Vec<SlotId>,
    /// Where the parameter's name stands; of a graded one, the line of the grade.
    pub span: Span,
    /// What it follows, if it is not written but graded.
    pub drivers: Vec<Driver>,
}

/// What a graded setting follows.
#[derive(Debug, Clone, Copy)]
pub struct Driver {
    /// The graded parameter.
    pub graded: SlotId,
    /// The setting that changed it.
    pub at: Span,
    /// The line of the grade.
    pub line: Span,
}

/// A parameter left open.
#[derive(Debug, Clone)]
pub struct Unknown {
    /// The parameter.
    pub slot: SlotId,
    /// The range to look in, if one is stated.
    pub range: Option<(Node, Node)>,
    /// Where its name stands.
    pub span: Span,
}

/// Parameters left open and the equations that determine them.
#[derive(Debug, Clone)]
pub struct Find {
    /// The unknowns.
    pub unknowns: Vec<Unknown>,
    /// Pairs that must become equal.
    pub equations: Vec<(Node, Node)>,
    /// Where it stands.
    pub span: Span,
}

/// A style: a shape with what differs.
#[derive(Debug, Clone)]
pub struct Style {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line.
    pub doc: Arc<str>,
    /// Where its name is declared.
    pub span: Span,
    /// The shape, with the style's own measures and requirements.
    pub shape: Arc<Shape>,
    /// What differs from the shape, style by style, the nearest last.
    pub levels: Vec<Arc<[Setting]>>,
    /// Its named sizes, the base's first.
    pub sizes: Vec<(Arc<str>, Vec<Setting>)>,
    /// What is set from outside, before all else.
    pub outside: Vec<Setting>,
    /// Parameters left open.
    pub finds: Vec<Find>,
}

impl Style {
    /// The style with its first cloth role set to `cloth`, whatever else it is set to; `None` if its
    /// shape declares no role.
    pub fn in_cloth(&self, cloth: &Arc<Cloth>) -> Option<Style> {
        let is_own = |slot: &Arc<Slot>| match &slot.definition {
            Definition::Cloth(role) => role.alias.is_none(),
            _ => false,
        };
        let place = self.shape.slots.iter().position(is_own)?;
        let slot = SlotId(u32::try_from(place).ok()?);
        let mut out = self.clone();
        out.outside.push(Setting {
            slot,
            value: Arc::new(Node {
                op: Op::Cloth(cloth.clone()),
                kind: Kind::Cloth,
                span: cloth.span,
            }),
            reads: Vec::new(),
            span: cloth.span,
            drivers: Vec::new(),
        });
        Some(out)
    }
}

/// Calls `visit` for every slot that `node` reads, itself included.
pub fn reads(node: &Node, visit: &mut dyn FnMut(SlotId)) {
    match &node.op {
        Op::Constant(_) | Op::Centre | Op::Cloth(_) | Op::Before(..) => {}
        Op::Slot(id) | Op::Part(id, _) => visit(*id),
        Op::Negate(a) | Op::Not(a) => reads(a, visit),
        Op::Binary(_, a, b) | Op::Pair(a, b) => {
            reads(a, visit);
            reads(b, visit);
        }
        Op::If(a, b, c) => {
            reads(a, visit);
            reads(b, visit);
            reads(c, visit);
        }
        Op::Call(_, arguments) => arguments.iter().for_each(|a| reads(a, visit)),
        Op::Phrase(_, places) => places.iter().flatten().for_each(|a| reads(a, visit)),
    }
}

/// The slots `node` reads, each once.
pub fn reads_of(node: &Node) -> Vec<SlotId> {
    let mut out = Vec::new();
    reads(node, &mut |id| {
        if !out.contains(&id) {
            out.push(id);
        }
    });
    out
}

/// A dimension that can be printed with a unit.
pub fn printable(dim: Dim) -> bool {
    matches!(dim, Dim::PLAIN | Dim::LENGTH | Dim::AREA | Dim::ANGLE)
}

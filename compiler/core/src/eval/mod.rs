//! Works out a checked style in one size: values of slots, in an order in which each comes after
//! all it reads. Errors are collected; what depends on a failed slot fails silently.
//!
//! Nothing here knows a parameter or a piece by name.

mod assembly;
mod bench;
mod blame;
mod cloth;
mod draft;
mod expr;
mod grade;
mod mark;
mod outline;
mod path;
mod phrase;
mod piece;
mod solve;
mod table;
pub mod value;
mod work;

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;

use crate::check::order;
use crate::check::shape::cycle_diagnostic;
use crate::diagnostic::{Code, Diagnostic};
use crate::format::quantity;
use crate::program::{Definition, Node, Role, Setting, Shape, Slot, SlotId};
use crate::source::Span;
use blame::Trouble;
use grade::Levels;
use value::Value;
use work::Work;

pub use cloth::cloths;
pub use draft::{Drafted, draft};
pub use table::tables;

/// Why a value could not be had.
#[derive(Debug)]
pub enum Fault {
    /// Something it depends on failed and has been reported.
    Silent,
    /// This.
    Told(Box<Diagnostic>),
}

/// A value, or why there is none.
pub type Result<T> = std::result::Result<T, Fault>;

/// Fails with an error at `span`.
pub fn fail<T>(
    code: Code,
    span: Span,
    message: impl Into<String>,
    hint: impl Into<String>,
) -> Result<T> {
    let mut diagnostic = Diagnostic::error(code, span, message);
    let hint = hint.into();
    if !hint.is_empty() {
        diagnostic = diagnostic.hint(hint);
    }
    Err(Fault::Told(Box::new(diagnostic)))
}

/// The state of a slot.
#[derive(Debug, Clone)]
enum State {
    Open,
    Failed,
    Done(Value),
}

/// Works out the slots of one shape under some settings.
pub struct Evaluator<'p> {
    shape: &'p Shape,
    settings: Vec<Option<&'p Setting>>,
    fixed: Vec<Option<f64>>,
    states: Vec<State>,
    /// How many levels of settings hold, and the next one whose values are read: fewer hold there.
    level: usize,
    above: Option<Box<RefCell<Evaluator<'p>>>>,
    /// Whether parameters must keep to their ranges. Those of a level above need not: nothing is
    /// drafted there.
    judges: bool,
    /// What may still be spent on the draft.
    pub work: Rc<Work>,
    /// What went wrong so far.
    pub troubles: Vec<Trouble>,
}

impl<'p> Evaluator<'p> {
    /// An evaluator with nothing worked out; of several settings of a parameter the last stands.
    pub fn new(shape: &'p Shape, levels: &'p Levels<'p>) -> Self {
        let work = Rc::new(Work::default());
        let mut above = None;
        for &level in &levels.read {
            let next = Self::at(shape, levels, level, above, work.clone());
            above = Some(Box::new(RefCell::new(next)));
        }
        let nearest = levels.levels.len();
        Evaluator {
            judges: true,
            ..Self::at(shape, levels, nearest, above, work)
        }
    }

    /// An evaluator under the settings of the first `level` levels.
    fn at(
        shape: &'p Shape,
        levels: &'p Levels<'p>,
        level: usize,
        above: Option<Box<RefCell<Evaluator<'p>>>>,
        work: Rc<Work>,
    ) -> Self {
        let count = shape.slots.len();
        let mut settings = vec![None; count];
        for setting in levels.settings(level) {
            if let Some(place) = settings.get_mut(setting.slot.index()) {
                *place = Some(setting);
            }
        }
        Evaluator {
            shape,
            settings,
            fixed: vec![None; count],
            states: vec![State::Open; count],
            level,
            above,
            judges: false,
            work,
            troubles: Vec::new(),
        }
    }

    /// Fixes a parameter at a value, whatever its setting.
    pub fn fix(&mut self, slot: SlotId, value: f64) {
        if let Some(place) = self.fixed.get_mut(slot.index()) {
            *place = Some(value);
        }
        if let Some(above) = &mut self.above {
            above.get_mut().fix(slot, value);
        }
    }

    /// Forgets all values, keeping settings and fixed parameters.
    pub fn reset(&mut self) {
        self.states.fill(State::Open);
        self.troubles.clear();
        if let Some(above) = &mut self.above {
            above.get_mut().reset();
        }
    }

    /// The value of a slot under the settings of the first `level` levels only.
    pub fn before(&self, level: usize, id: SlotId) -> Result<Value> {
        let Some(above) = &self.above else {
            return Err(Fault::Silent);
        };
        let mut above = above.borrow_mut();
        if above.level > level {
            return above.before(level, id);
        }
        let order = above.order(&[id]);
        above.run(&order);
        if let Ok(value) = above.value(id) {
            return Ok(value.clone());
        }
        let mut troubles = above.troubles.drain(..);
        Err(troubles.next().map_or(Fault::Silent, |trouble| {
            Fault::Told(Box::new(trouble.diagnostic))
        }))
    }

    /// The slots that `targets` depend on, themselves included, in an order to work them out in.
    /// A circle (which settings can make) is reported and its slots fail.
    pub fn order(&mut self, targets: &[SlotId]) -> Vec<SlotId> {
        let slot = |index: usize| SlotId(u32::try_from(index).unwrap_or(u32::MAX));
        let count = self.shape.slots.len();
        let wanted = order::sort_from(count, targets, |index| self.reads(slot(index)));
        for cycle in &wanted.cycles {
            self.tell_cycle(cycle.clone());
            for node in cycle {
                if let Some(state) = self.states.get_mut(*node) {
                    *state = State::Failed;
                }
            }
        }
        wanted.order.into_iter().map(slot).collect()
    }

    /// Reports a circle of slots, each at the setting that makes it part of it. The circle is told
    /// from the slot declared first, so that it reads the same wherever it was entered.
    fn tell_cycle(&mut self, mut cycle: Vec<usize>) {
        let first = cycle.iter().min();
        let at = cycle.iter().position(|index| Some(index) == first);
        cycle.rotate_left(at.unwrap_or(0));
        let links: Vec<(&str, Span)> = cycle
            .iter()
            .filter_map(|index| {
                let slot = self.shape.slots.get(*index)?;
                let set = self.settings.get(*index).copied().flatten();
                Some((&*slot.name, set.map_or(slot.span, |setting| setting.span)))
            })
            .collect();
        let diagnostic = cycle_diagnostic(&links);
        let known = |d: &Diagnostic| self.troubles.iter().any(|t| t.diagnostic == *d);
        if let Some(diagnostic) = diagnostic.filter(|d| !known(d)) {
            self.troubles.push(diagnostic.into());
        }
    }

    /// The slots a slot reads under the settings.
    fn reads(&self, id: SlotId) -> &[SlotId] {
        let index = id.index();
        if self.fixed.get(index).is_some_and(Option::is_some) {
            return &[];
        }
        if let Some(Some(setting)) = self.settings.get(index) {
            return &setting.reads;
        }
        self.shape.slot(id).map_or(&[], |slot| &slot.reads)
    }

    /// Works out slots in order.
    pub fn run(&mut self, order: &[SlotId]) {
        for &id in order {
            if !matches!(self.states.get(id.index()), Some(State::Open)) {
                continue;
            }
            let Some(slot) = self.shape.slot(id) else {
                continue;
            };
            let result = self.define(id, slot);
            let state = match result {
                Ok(value) => State::Done(value),
                Err(fault) => {
                    self.tell(fault, &[id]);
                    State::Failed
                }
            };
            if let Some(place) = self.states.get_mut(id.index()) {
                *place = state;
            }
        }
    }

    /// Keeps the diagnostic of a fault that came up in `slots`.
    pub fn tell(&mut self, fault: Fault, slots: &[SlotId]) {
        if let Fault::Told(diagnostic) = fault {
            let slots = if blame::hangs_on_numbers(diagnostic.code) {
                slots.to_vec()
            } else {
                Vec::new()
            };
            self.troubles.push(Trouble {
                diagnostic: *diagnostic,
                slots,
            });
        }
    }

    /// The slots that `slots` hang on under the settings, themselves included, in the order of
    /// their declaration.
    pub fn reach(&self, slots: &[SlotId]) -> BTreeSet<SlotId> {
        let mut out = BTreeSet::new();
        let mut open: Vec<SlotId> = slots.to_vec();
        while let Some(id) = open.pop() {
            if out.insert(id) {
                open.extend(self.reads(id));
            }
        }
        out
    }

    /// The name of a slot.
    pub fn name(&self, id: SlotId) -> &'p str {
        self.shape.slot(id).map_or("", |slot| &slot.name)
    }

    /// The value of a slot already worked out.
    pub fn value(&self, id: SlotId) -> Result<&Value> {
        match self.states.get(id.index()) {
            Some(State::Done(value)) => Ok(value),
            _ => Err(Fault::Silent),
        }
    }

    /// The shape being worked out.
    pub fn shape(&self) -> &'p Shape {
        self.shape
    }

    fn define(&mut self, id: SlotId, slot: &'p Slot) -> Result<Value> {
        match &slot.definition {
            Definition::Parameter(default, range) => {
                self.parameter(id, slot, default, range.as_ref())
            }
            Definition::Value(node) => self.node(node),
            Definition::Cloth(role) => self.cloth(id, slot, role),
            Definition::Steps(steps) => path::draw(self, steps, slot),
            Definition::Outline(edges) => {
                outline::ring(self, edges).map(|ring| Value::Outline(Arc::new(ring)))
            }
            Definition::Piece(piece) => {
                piece::work_out(self, piece, slot).map(|p| Value::Piece(Arc::new(p)))
            }
            Definition::Assembly(assembly) => {
                assembly::work_out(self, assembly).map(|a| Value::Assembly(Arc::new(a)))
            }
            Definition::Unknown => Err(Fault::Silent),
        }
    }

    fn cloth(&mut self, id: SlotId, slot: &Slot, role: &Role) -> Result<Value> {
        let set = match self.settings.get(id.index()).copied().flatten() {
            Some(setting) => Some(self.node(&setting.value)?),
            None => None,
        };
        let (value, wrong) = cloth::role(self, slot, role, set);
        for diagnostic in wrong {
            self.tell(Fault::Told(Box::new(diagnostic)), &[id]);
        }
        value
    }

    fn parameter(
        &mut self,
        id: SlotId,
        slot: &Slot,
        default: &Node,
        range: Option<&(Node, Node)>,
    ) -> Result<Value> {
        if let Some(Some(value)) = self.fixed.get(id.index()) {
            return Ok(Value::Number(*value));
        }
        let setting = self.settings.get(id.index()).copied().flatten();
        let node = setting.map_or(default, |setting| &setting.value);
        let value = self.number(node)?;
        let Some((low, high)) = range.filter(|_| self.judges) else {
            return Ok(Value::Number(value));
        };
        let (low, high) = (self.bound(low)?, self.bound(high)?);
        if value < low || value > high {
            let show = |v| quantity(v, slot.kind);
            let message = format!(
                "`{}` is {}, which no draft can have",
                slot.name,
                show(value)
            );
            let range = format!("from {} to {}", show(low), show(high));
            let worked_out = setting.is_none() && !crate::program::reads_of(default).is_empty();
            let hint = if worked_out {
                format!(
                    "change what it is worked out from, or set `{}` itself, {range}",
                    slot.name
                )
            } else {
                format!("keep it {range}")
            };
            let mut told = Diagnostic::error(Code::OutOfRange, node.span, message).hint(hint);
            if let Some(graded) = setting.filter(|setting| !setting.drivers.is_empty()) {
                let mut labels = blame::labels(self, graded).into_iter();
                told.primary = labels.next();
                told.secondary.extend(labels);
            }
            return Err(Fault::Told(Box::new(told)));
        }
        Ok(Value::Number(value))
    }

    /// The value of a range's end. When a setting cut the parameter's own reads short, what the
    /// range reads may not be worked out yet.
    pub fn bound(&mut self, node: &Node) -> Result<f64> {
        let reads = crate::program::reads_of(node);
        if reads
            .iter()
            .any(|id| matches!(self.states.get(id.index()), Some(State::Open)))
        {
            let order = self.order(&reads);
            self.run(&order);
        }
        self.number(node)
    }
}

//! Where the extra goes: brings a style's settings, level by level from the shape down, together with
//! those that its shape's grades add to them. Works nothing out itself.
//!
//! What follows a graded parameter stands, below the level at which it was last set, at that value
//! and its share of all by which the graded one was changed since.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::kind::Kind;
use crate::program::{
    Definition, Driver, Follower, Node, Op, Setting, Shape, SlotId, Style, reads_of,
};
use crate::source::Span;
use crate::syntax::tree::BinaryOp;

/// The settings made at one level: by a style, a size, or from outside.
#[derive(Debug)]
pub struct Level<'s> {
    /// Those written there.
    pub own: &'s [Setting],
    /// Those that follow from them.
    pub graded: Vec<Setting>,
}

/// All levels from the first style down. Level 0 is the shape itself and has no settings.
#[derive(Debug, Default)]
pub struct Levels<'s> {
    /// The levels, the nearest last.
    pub levels: Vec<Level<'s>>,
    /// The levels whose values are read by graded settings.
    pub read: BTreeSet<usize>,
}

impl<'s> Levels<'s> {
    /// All settings of the first `count` levels; of several of one parameter the last stands.
    pub fn settings(&'s self, count: usize) -> impl Iterator<Item = &'s Setting> {
        let levels = self.levels.iter().take(count);
        levels.flat_map(|level| level.own.iter().chain(&level.graded))
    }
}

/// The levels of a style in a size with these settings.
pub fn levels<'s>(style: &'s Style, size: &'s [Setting]) -> Levels<'s> {
    let styles = style.levels.iter().map(|level| &**level);
    let lists = styles.chain([size, style.outside.as_slice()]);
    let mut grading = Grading::new(style);
    let mut out = Levels::default();
    for own in lists.filter(|own| !own.is_empty()) {
        let graded = grading.level(out.levels.len() + 1, own, &mut out.read);
        out.levels.push(Level { own, graded });
    }
    out
}

/// What a follower was last set to.
struct Rule<'s> {
    value: &'s Node,
    /// The level it was set at.
    level: usize,
    /// All that the value hangs on.
    hangs_on: BTreeSet<SlotId>,
    /// What it has followed since.
    drivers: Vec<(Driver, &'s Node)>,
}

struct Grading<'s> {
    shape: &'s Shape,
    open: BTreeSet<SlotId>,
    set: BTreeMap<SlotId, &'s Setting>,
    rules: BTreeMap<SlotId, Rule<'s>>,
}

impl<'s> Grading<'s> {
    fn new(style: &'s Style) -> Self {
        let unknowns = style.finds.iter().flat_map(|find| &find.unknowns);
        let mut out = Grading {
            shape: &style.shape,
            open: unknowns.map(|unknown| unknown.slot).collect(),
            set: BTreeMap::new(),
            rules: BTreeMap::new(),
        };
        for follower in out.shape.grades.iter().flat_map(|grade| &grade.followers) {
            if let Some(value) = default(out.shape, follower.slot) {
                out.rule(follower.slot, value, 0);
            }
        }
        out
    }

    fn rule(&mut self, slot: SlotId, value: &'s Node, level: usize) {
        let rule = Rule {
            value,
            level,
            hangs_on: self.reached(value),
            drivers: Vec::new(),
        };
        self.rules.insert(slot, rule);
    }

    /// All slots that a value hangs on, whether by what they are made from or by following others.
    fn reached(&self, value: &Node) -> BTreeSet<SlotId> {
        let mut out = BTreeSet::new();
        let mut waiting = reads_of(value);
        while let Some(id) = waiting.pop() {
            if !out.insert(id) || self.open.contains(&id) {
                continue;
            }
            match (self.set.get(&id), default(self.shape, id)) {
                (Some(setting), _) => waiting.extend(&setting.reads),
                (None, Some(default)) => waiting.extend(reads_of(default)),
                (None, None) => waiting.extend(self.shape.slot(id).iter().flat_map(|s| &s.reads)),
            }
            let leads = |followers: &[Follower]| followers.iter().any(|f| f.slot == id);
            let leading = self.shape.grades.iter().filter(|g| leads(&g.followers));
            waiting.extend(leading.map(|grade| grade.graded));
        }
        out
    }

    /// The settings that follow from those of one level; `read` takes the levels they read.
    fn level(
        &mut self,
        level: usize,
        own: &'s [Setting],
        read: &mut BTreeSet<usize>,
    ) -> Vec<Setting> {
        if self.shape.grades.is_empty() {
            return Vec::new();
        }
        self.set
            .extend(own.iter().map(|setting| (setting.slot, setting)));
        for setting in own {
            if self.rules.contains_key(&setting.slot) {
                self.rule(setting.slot, &setting.value, level);
            }
        }
        let stated: BTreeSet<SlotId> = own.iter().map(|setting| setting.slot).collect();
        let mut changed: BTreeMap<SlotId, Span> = own
            .iter()
            .map(|setting| (setting.slot, setting.value.span))
            .collect();
        let mut moved: Vec<(SlotId, Span)> = Vec::new();
        let shape = self.shape;
        // A grade stands after those that its own parameter follows, so that extra is handed on.
        for grade in &shape.grades {
            let Some(&at) = changed.get(&grade.graded) else {
                continue;
            };
            for follower in &grade.followers {
                if stated.contains(&follower.slot) || self.open.contains(&follower.slot) {
                    continue;
                }
                let driver = Driver {
                    graded: grade.graded,
                    at,
                    line: follower.span,
                };
                if self.follow(follower, driver) {
                    changed.entry(follower.slot).or_insert(at);
                    if !moved.iter().any(|(slot, _)| *slot == follower.slot) {
                        moved.push((follower.slot, at));
                    }
                }
            }
        }
        let setting = |(slot, at): &(SlotId, Span)| {
            let rule = self.rules.get(slot)?;
            read.insert(rule.level);
            Some(graded(shape, *slot, rule, *at))
        };
        moved.iter().filter_map(setting).collect()
    }

    /// Lets a parameter follow another from now on, unless its value hangs on that by itself;
    /// whether it does.
    fn follow(&mut self, follower: &'s Follower, driver: Driver) -> bool {
        let Some(rule) = self.rules.get_mut(&follower.slot) else {
            return false;
        };
        if rule.hangs_on.contains(&driver.graded) {
            return false;
        }
        let same = |(known, _): &(Driver, &Node)| known.graded == driver.graded;
        rule.drivers.retain(|known| !same(known));
        rule.drivers.push((driver, &follower.share));
        true
    }
}

/// The value of a parameter unless it is set.
fn default(shape: &Shape, slot: SlotId) -> Option<&Node> {
    match &shape.slot(slot)?.definition {
        Definition::Parameter(default, _) => Some(default),
        _ => None,
    }
}

/// The setting of a follower: its rule, and its shares of all changes since.
fn graded(shape: &Shape, slot: SlotId, rule: &Rule<'_>, at: Span) -> Setting {
    let node = |op, kind| Node { op, kind, span: at };
    let both = |op, a, b, kind| node(Op::Binary(op, Box::new(a), Box::new(b)), kind);
    let kind = shape.slot(slot).map_or(Kind::Unknown, |slot| slot.kind);
    let mut value = rule.value.clone();
    value.span = at;
    for (driver, share) in &rule.drivers {
        let id = driver.graded;
        let own = shape.slot(id).map_or(Kind::Unknown, |slot| slot.kind);
        let now = node(Op::Slot(id), own);
        let before = node(Op::Before(rule.level, id), own);
        let change = both(BinaryOp::Subtract, now, before, own);
        let extra = both(BinaryOp::Multiply, (*share).clone(), change, kind);
        value = both(BinaryOp::Add, value, extra, kind);
    }
    Setting {
        slot,
        reads: reads_of(&value),
        span: rule.drivers.last().map_or(at, |(driver, _)| driver.line),
        value: Arc::new(value),
        drivers: rule.drivers.iter().map(|(driver, _)| *driver).collect(),
    }
}

//! Lay plans: which markers to make, and how many plies of which cloths to spread under each.
//!
//! In: a [`Group`], what is wanted of each article in each cloth; the [`Table`] with its limits and
//! prices; a [`Rule`] for surplus; and [`Lengths`], how long a marker of given articles is. Out: a
//! [`Plan`] of least cost found, with a bound no plan can cost less than. Pure numbers: nothing
//! here knows a piece, draws, reads a clock or a file. The same input gives the same plan on every
//! machine.
//!
//! All plies of a lay lie on one another and are cut in one go, each ply of one cloth of the group.
//! So a lay of counts `n` and plies `p` gives `n[a] · p[c]` of article `a` in cloth `c`, and the
//! lays together must give what is wanted. Lengths are millimetres; prices of cloth are a metre.

mod bound;
mod check;
mod estimate;
mod exact;
mod frame;
mod greedy;
mod improve;
mod model;
mod naive;
mod program;
pub mod rolls;
mod search;
mod verify;

use std::fmt;

pub use estimate::Estimate;
pub use naive::{Order, naive};

/// Order lines that are cut together: cloths of one usable width.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The net area of one of each article, square millimetres.
    pub articles: Vec<f64>,
    /// What is wanted in each cloth.
    pub cloths: Vec<Demand>,
    /// The usable width of the cloths, millimetres.
    pub width: f64,
}

/// What is wanted in one cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// The price of a metre; 0 or more.
    pub price: f64,
    /// How many of each article.
    pub wanted: Vec<u32>,
}

/// The cutting table: its limits and what work on it costs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// The longest ply with both its end losses, millimetres; none is without limit.
    pub longest: Option<f64>,
    /// The most plies of one lay; none is without limit.
    pub plies: Option<u32>,
    /// What is lost at each end of each ply, millimetres.
    pub end_loss: f64,
    /// What each lay costs besides its plies: the marker made and placed.
    pub set_up: f64,
    /// What the spreading of one ply costs.
    pub spreading: f64,
}

/// How exactly the wanted numbers must be met.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rule {
    /// Of each article in each cloth that is wanted at all, at most so many may be cut too many.
    pub surplus: u32,
}

/// How long a marker is, millimetres, without end losses. `counts` has a number for each article,
/// at least one of them not 0.
pub trait Lengths {
    /// The length to reckon with. Cheap: asked many thousand times. It must not fall when a tie is
    /// added, and the same counts must always give the same length.
    fn estimate(&mut self, counts: &[u32]) -> f64;

    /// The length of a real arrangement. Dear: asked for few markers.
    fn length(&mut self, counts: &[u32]) -> f64;

    /// A length that no marker with this article among others is shorter than, such as the least
    /// length of its longest piece; 0 if nothing is known. It only makes the bound stronger.
    fn least(&mut self, article: usize) -> f64 {
        let _ = article;
        0.0
    }
}

/// How hard to search.
#[derive(Clone, Debug, PartialEq)]
pub struct Effort {
    /// Nodes of each of the whole searches, and lengths asked for while a plan is made better: how
    /// long it takes depends on it, and on no clock. 300 000 take about a tenth of a second.
    pub steps: u64,
    /// How often at the most a plan is made anew with what the true lengths of the last one taught;
    /// at least 1.
    pub rounds: u32,
    /// Seed of the steps taken by lot.
    pub seed: u64,
    /// A plan that is known already, such as the [`naive`] one; the answer is no dearer. Lays that
    /// do not meet the demand or the table are not looked at.
    pub start: Vec<Lay>,
}

impl Default for Effort {
    fn default() -> Effort {
        Effort {
            steps: 300_000,
            rounds: 6,
            seed: 1,
            start: Vec::new(),
        }
    }
}

/// One marker and the plies under it.
#[derive(Clone, Debug, PartialEq)]
pub struct Lay {
    /// How many of each article lie on the marker.
    pub counts: Vec<u32>,
    /// How many plies of each cloth.
    pub plies: Vec<u32>,
    /// The length of the marker without end losses, millimetres.
    pub length: f64,
}

/// What a plan costs, in the money of the prices.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cost {
    /// All cloth: price × plies × (length + 2 × end loss).
    pub cloth: f64,
    /// Making and placing the markers.
    pub set_up: f64,
    /// Spreading the plies.
    pub spreading: f64,
}

impl Cost {
    /// The sum.
    pub fn total(&self) -> f64 {
        self.cloth + self.set_up + self.spreading
    }
}

/// The lays that give what is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The lays, the longest work first.
    pub lays: Vec<Lay>,
    /// What they cost, by the true lengths of their markers.
    pub cost: Cost,
    /// No plan costs less, however well its markers are arranged.
    pub bound: f64,
    /// The cost has come down to the bound: there is no better plan.
    pub proven: bool,
    /// No plan costs less if markers are as long as reckoned here: what better numbers of markers
    /// and plies could still save. At least `bound`, at most the cost. Where more markers are
    /// possible than can be looked at one by one, it rests on samples of them: a guide, no proof.
    pub bound_at_lengths: f64,
    /// The search looked at every plan: at the lengths reckoned here there is no better one.
    pub best_at_lengths: bool,
}

/// Why there is no plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanError {
    /// A measure or a price of the group is no sound number, or a list has the wrong length.
    Group,
    /// A measure or a price of the table is no sound number, or it takes no ply.
    Table,
    /// The length of a marker with the article of this number is no sound number.
    Length(usize),
    /// One tie of the article of this number is longer than the table.
    TooLong(usize),
    /// More is wanted than can be counted.
    TooMany,
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PlanError::Group => f.write_str("the numbers of the group are not sound"),
            PlanError::Table => f.write_str("the numbers of the table are not sound"),
            PlanError::Length(a) => write!(f, "article {} has no sound length", a + 1),
            PlanError::TooLong(a) => write!(f, "article {} is longer than the table", a + 1),
            PlanError::TooMany => f.write_str("more is wanted than can be counted"),
        }
    }
}

impl std::error::Error for PlanError {}

/// The plan of least cost found.
///
/// # Errors
/// Unsound numbers, or an article that the table is too short for.
pub fn plan(
    group: &Group,
    table: &Table,
    rule: &Rule,
    lengths: &mut dyn Lengths,
    effort: &Effort,
) -> Result<Plan, PlanError> {
    check::sound(group, table)?;
    verify::verified(group, table, rule, lengths, effort)
}

/// What is amiss with lays as a plan of a group: `None` if they give what is wanted within the
/// rule, and keep to the limits of the table at the lengths they state.
pub fn fault(lays: &[Lay], group: &Group, table: &Table, rule: &Rule) -> Option<&'static str> {
    check::fault(lays, group, table, rule)
}

//! The plan of an order book: groups planned side by side on all cores, and their lays put in one row,
//! each with the job that lays its marker. Never: a search for a short marker, or a file.

use std::sync::Arc;

use tiewright_core::diagnostic::Code;
use tiewright_core::table::Table as CuttingTable;
use tiewright_marker::plan::{
    Demand, Effort, Group as Wanted, Lay as Counted, Plan, PlanError, Rule, Table, plan,
};

use super::articles::{Articles, Stuff};
use super::assign::Spread;
use super::groups::Group;
use super::lengths::{GroupLengths, QuickMarkers};
use super::markers::{self, Marker};
use crate::lay::job::{JobArticle, JobTable, Search};
use crate::lay::{Laid, make};
use crate::parallel;

/// Millimetres in a metre.
pub const METRE: f64 = 1000.0;
/// What a metre of a cloth costs that states no price: so that less of it is better.
pub const NO_PRICE: f64 = 1.0;

/// What a plan is made by.
#[derive(Debug, Clone)]
pub struct Asked<'a> {
    /// The table, if one is meant.
    pub table: Option<&'a CuttingTable>,
    /// How many of an article in a cloth may be cut beyond what is ordered.
    pub surplus: u32,
    /// How the marker of each lay is to be searched for.
    pub search: Search,
}

impl Asked<'_> {
    /// The table as a job has it.
    pub fn job_table(&self) -> JobTable {
        self.table.map(make::table).unwrap_or_default()
    }

    /// The table as the plan has it.
    fn limits(&self) -> Table {
        self.table.map_or_else(Table::default, |table| Table {
            longest: table.longest,
            plies: table.plies,
            end_loss: table.end_loss,
            set_up: table.set_up,
            spreading: table.spreading,
        })
    }

    /// What is lost of each ply, mm.
    pub fn ends(&self) -> f64 {
        2.0 * self.table.map_or(0.0, |table| table.end_loss)
    }
}

/// The most groups whose markers are each made short to plan with.
const LEISURE: usize = 60;
/// Steps and rounds of the search for the plan of each of more groups.
const IN_HASTE: (u64, u32) = (60_000, 2);

/// A lay: plies, all cut by one marker.
#[derive(Debug)]
pub struct Lay {
    /// Its name, and that of its papers.
    pub name: String,
    /// Its group, a place in [`Planned::groups`].
    pub group: usize,
    /// What lies in the marker, and the plies.
    pub spread: Spread,
    /// Its marker, a place in [`Planned::markers`].
    pub marker: usize,
}

impl Lay {
    /// All plies.
    pub fn plies(&self) -> u64 {
        self.spread
            .plies
            .iter()
            .map(|plies| u64::from(*plies))
            .sum()
    }
}

/// How good the plan of a group is.
#[derive(Debug, Clone, Copy)]
pub struct Worth {
    /// No plan costs less.
    pub bound: f64,
    /// No plan costs less at the lengths the markers were planned with.
    pub bound_at_lengths: f64,
    /// Whether the search looked at every plan at those lengths.
    pub best_at_lengths: bool,
}

/// The plan of an order book.
#[derive(Debug)]
pub struct Planned {
    /// What is cut together.
    pub groups: Vec<Group>,
    /// How good each group's lays are.
    pub worth: Vec<Worth>,
    /// The lays, group by group.
    pub lays: Vec<Lay>,
    /// The markers they are cut by, in the order they are first used.
    pub markers: Vec<Marker>,
}

/// A part that no lay can hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unfit {
    /// The cut and the cloth.
    pub part: (usize, usize),
    /// Whether the cloth is too narrow or the table too short.
    pub code: Code,
    /// Why, in words.
    pub why: String,
}

/// The parts of `articles` that cannot be laid on their cloth or are longer than the table.
pub fn unfit(articles: &Articles, markers: &QuickMarkers<'_>, asked: &Asked<'_>) -> Vec<Unfit> {
    let made = articles.made.iter().flatten();
    let mut parts: Vec<(usize, usize)> = made
        .flat_map(|made| made.parts.iter().map(|part| (part.cut, part.stuff)))
        .collect();
    parts.sort_unstable();
    parts.dedup();
    let why = |part: &(usize, usize)| {
        let cloth = &articles.stuffs.get(part.1)?.cloth;
        let alone = match markers.alone(part.0, cloth) {
            Ok(alone) => alone,
            Err(why) => return Some((Code::TooWide, why)),
        };
        let longest = asked.table.and_then(|table| table.longest)?;
        let ply = alone + asked.ends();
        (ply > longest).then(|| {
            let title = articles.cuts.get(part.0).map(|cut| cut.article.title());
            let why = format!(
                "one {} takes {:.0} mm of `{}`, and the table is {longest:.0} mm long",
                title.unwrap_or_default(),
                ply,
                cloth.name
            );
            (Code::LongerThanTable, why)
        })
    };
    let found = parallel::map(&parts, why);
    let all = parts.into_iter().zip(found);
    all.filter_map(|(part, why)| {
        let (code, why) = why?;
        Some(Unfit { part, code, why })
    })
    .collect()
}

/// The lays of every group.
///
/// # Errors
/// Why there is no plan, in words.
pub fn planned(
    articles: &Articles,
    groups: Vec<Group>,
    markers: &QuickMarkers<'_>,
    asked: &Asked<'_>,
) -> Result<Planned, String> {
    let mut effort = Effort::default();
    if groups.len() > LEISURE {
        markers.make_haste();
        (effort.steps, effort.rounds) = IN_HASTE;
    }
    let plans = parallel::map(&groups, |group| {
        plan_of(group, articles, markers, asked, &effort)
    });
    let mut worth = Vec::with_capacity(groups.len());
    let mut found = Vec::new();
    for (index, plan) in plans.into_iter().enumerate() {
        let plan = plan?;
        worth.push(Worth {
            bound: plan.bound,
            bound_at_lengths: plan.bound_at_lengths,
            best_at_lengths: plan.best_at_lengths,
        });
        found.extend(plan.lays.into_iter().map(|lay| (index, lay)));
    }
    let digits = digits(found.len());
    let lay = |(number, (group, lay)): (usize, (usize, Counted))| {
        let one = Lay {
            name: format!("lay-{number:0digits$}"),
            group,
            spread: Spread {
                counts: lay.counts,
                plies: lay.plies,
            },
            marker: 0,
        };
        (one, lay.length)
    };
    let (mut lays, lengths): (Vec<Lay>, Vec<f64>) = (1..).zip(found).map(lay).unzip();
    let markers = markers::shared(&mut lays, &lengths, &groups);
    Ok(Planned {
        lays,
        groups,
        worth,
        markers,
    })
}

/// Digits that numbers up to `most` are written with, so that names come in order.
pub fn digits(most: usize) -> usize {
    most.to_string().len().max(2)
}

fn plan_of(
    group: &Group,
    articles: &Articles,
    markers: &QuickMarkers<'_>,
    asked: &Asked<'_>,
    effort: &Effort,
) -> Result<Plan, String> {
    let mut lengths = GroupLengths::new(
        markers,
        group,
        &articles.stuffs,
        asked.table.and_then(|table| table.longest),
    )?;
    let area = |cut: &usize| articles.cuts.get(*cut).map_or(0.0, |cut| cut.area);
    let stuff = |stuff: &usize| articles.stuffs.get(*stuff);
    let demands = group
        .stuffs
        .iter()
        .zip(&group.wanted)
        .map(|(index, wanted)| Demand {
            price: stuff(index).map_or(NO_PRICE, price),
            wanted: wanted.clone(),
        });
    let first = group.stuffs.first().and_then(stuff);
    let wanted = Wanted {
        articles: group.cuts.iter().map(area).collect(),
        cloths: demands.collect(),
        width: first.map_or(0.0, |stuff| stuff.cloth.usable_width),
    };
    let rule = Rule {
        surplus: asked.surplus,
    };
    let found = plan(&wanted, &asked.limits(), &rule, &mut lengths, effort);
    found.map_err(|why| {
        let cut = match why {
            PlanError::TooLong(article) | PlanError::Length(article) => group.cuts.get(article),
            _ => None,
        };
        let title = cut
            .and_then(|cut| articles.cuts.get(*cut))
            .map(|cut| cut.article.title());
        match title {
            Some(title) => format!("{}: {why}: {title}", group.title()),
            None => format!("{}: {why}", group.title()),
        }
    })
}

/// The price of a metre, as plans reckon it.
pub fn price(stuff: &Stuff) -> f64 {
    stuff.price.unwrap_or(NO_PRICE)
}

/// What lays cost, as they are now.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Cost {
    /// The cloth.
    pub cloth: f64,
    /// The markers.
    pub set_up: f64,
    /// The plies.
    pub spreading: f64,
}

impl Cost {
    /// The sum.
    pub fn total(&self) -> f64 {
        self.cloth + self.set_up + self.spreading
    }
}

impl std::iter::Sum for Cost {
    fn sum<I: Iterator<Item = Cost>>(all: I) -> Cost {
        all.fold(Cost::default(), |sum, one| Cost {
            cloth: sum.cloth + one.cloth,
            set_up: sum.set_up + one.set_up,
            spreading: sum.spreading + one.spreading,
        })
    }
}

impl Planned {
    /// What a lay costs.
    pub fn cost(&self, lay: &Lay, articles: &Articles, asked: &Asked<'_>) -> Cost {
        let ply = (self.length(lay) + asked.ends()) / METRE;
        let spread = self.spread(lay, articles);
        let (set_up, spreading) = asked.table.map_or((0.0, 0.0), |t| (t.set_up, t.spreading));
        Cost {
            cloth: spread
                .map(|(stuff, plies)| price(stuff) * ply * f64::from(plies))
                .sum(),
            set_up,
            spreading: spreading * lay.plies() as f64,
        }
    }

    /// The marker a lay is cut by.
    pub fn marker(&self, lay: &Lay) -> Option<&Marker> {
        self.markers.get(lay.marker)
    }

    /// The length of the marker of a lay, mm: as it is laid, or as it is planned.
    pub fn length(&self, lay: &Lay) -> f64 {
        self.marker(lay).map_or(0.0, Marker::length)
    }

    /// The marker of a lay, if it is laid.
    pub fn laid(&self, lay: &Lay) -> Option<&Laid> {
        self.marker(lay)?.laid.as_ref()
    }

    /// The cloths spread under a lay, from the table up, and how many plies of each.
    pub fn spread<'a>(
        &'a self,
        lay: &'a Lay,
        articles: &'a Articles,
    ) -> impl Iterator<Item = (&'a Stuff, u32)> + 'a {
        let stuffs = self
            .groups
            .get(lay.group)
            .into_iter()
            .flat_map(|group| &group.stuffs);
        let all = stuffs
            .zip(&lay.spread.plies)
            .filter(|(_, plies)| **plies > 0);
        all.filter_map(|(stuff, plies)| Some((articles.stuffs.get(*stuff)?, *plies)))
    }

    /// What lies in the marker of a lay, and how many of each.
    pub fn in_marker<'a>(
        &'a self,
        lay: &'a Lay,
        articles: &'a Articles,
    ) -> impl Iterator<Item = (&'a JobArticle, u32)> + 'a {
        let cuts = self
            .groups
            .get(lay.group)
            .into_iter()
            .flat_map(|group| &group.cuts);
        let all = cuts
            .zip(&lay.spread.counts)
            .filter(|(_, count)| **count > 0);
        all.filter_map(|(cut, count)| Some((&articles.cuts.get(*cut)?.article, *count)))
    }

    /// The group of a lay, by what people call it.
    pub fn title(&self, lay: &Lay) -> Arc<str> {
        self.groups
            .get(lay.group)
            .map_or_else(|| "".into(), |group| group.title().into())
    }
}

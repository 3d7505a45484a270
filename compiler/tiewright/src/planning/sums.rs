//! What a plan comes to: cloth by design, what cannot be planned, whose each tie is.
//!
//! Nothing here chooses.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::articles::Articles;
use super::assign::{Bundle, Spread, assign, numbered};
use super::plan::{Asked, Cost, Lay, Planned, price};
use crate::lay::job::JobArticle;
use crate::orders::book::Book;

/// What is needed of one cloth.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// The cloth.
    pub cloth: String,
    /// Its note; empty if it has none.
    pub doc: String,
    /// Plies spread of it.
    pub plies: u64,
    /// The length of all of them with their end losses, mm.
    pub length: f64,
    /// The price of a metre; none where it states none.
    pub price: Option<f64>,
    /// What it costs.
    pub cost: f64,
}

/// What a role needs that cannot be planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Unplanned {
    /// The role.
    pub role: Arc<str>,
    /// The cloth that states no width; none where none is named.
    pub cloth: Option<Arc<str>>,
    /// How many articles need it.
    pub articles: u64,
    /// The area of their pieces, mm².
    pub area: f64,
}

/// Everything that is told of a plan besides its lays.
#[derive(Debug)]
pub struct Sums {
    /// Cloth needed, by name.
    pub needs: Vec<Need>,
    /// What cannot be planned.
    pub unplanned: Vec<Unplanned>,
    /// What everything planned costs.
    pub cost: Cost,
    /// No plan costs less.
    pub bound: f64,
    /// The least cost with markers as long as they were planned.
    pub bound_at_lengths: f64,
    /// Articles ordered, by the lines that are planned.
    pub ordered: u64,
    /// The bundles of each lay, in order.
    pub bundles: Vec<Vec<Bundle>>,
}

/// What `planned` comes to.
pub fn sums(book: &Book, articles: &Articles, planned: &Planned, asked: &Asked<'_>) -> Sums {
    let cost = |lay| planned.cost(lay, articles, asked);
    let worth = || planned.worth.iter();
    Sums {
        needs: needs(articles, planned, asked),
        unplanned: unplanned(book, articles),
        cost: planned.lays.iter().map(cost).sum(),
        bound: worth().map(|worth| worth.bound).sum(),
        bound_at_lengths: worth().map(|worth| worth.bound_at_lengths).sum(),
        ordered: book.lines.iter().map(|line| u64::from(line.quantity)).sum(),
        bundles: bundles(planned, articles),
    }
}

fn needs(articles: &Articles, planned: &Planned, asked: &Asked<'_>) -> Vec<Need> {
    let mut found: BTreeMap<(&str, Option<u64>), Need> = BTreeMap::new();
    for lay in &planned.lays {
        let ply = planned.length(lay) + asked.ends();
        for (stuff, plies) in planned.spread(lay, articles) {
            let key = (&*stuff.cloth.name, stuff.price.map(f64::to_bits));
            let need = found.entry(key).or_insert_with(|| Need {
                cloth: stuff.cloth.name.clone(),
                doc: stuff.cloth.doc.clone(),
                plies: 0,
                length: 0.0,
                price: stuff.price,
                cost: 0.0,
            });
            let length = ply * f64::from(plies);
            need.plies += u64::from(plies);
            need.length += length;
            need.cost += length / super::plan::METRE * price(stuff);
        }
    }
    found.into_values().collect()
}

fn unplanned(book: &Book, articles: &Articles) -> Vec<Unplanned> {
    let mut found: BTreeMap<(&str, Option<&str>), Unplanned> = BTreeMap::new();
    for line in &book.lines {
        let made = articles.made.get(line.ware).and_then(Option::as_ref);
        for one in made.iter().flat_map(|made| &made.without) {
            let key = (&*one.role, one.cloth.as_deref());
            let sum = found.entry(key).or_insert_with(|| Unplanned {
                role: one.role.clone(),
                cloth: one.cloth.clone(),
                articles: 0,
                area: 0.0,
            });
            sum.articles += u64::from(line.quantity);
            sum.area += one.area * f64::from(line.quantity);
        }
    }
    found.into_values().collect()
}

/// The bundles of each lay: the lays of each group shared out among its lines.
fn bundles(planned: &Planned, articles: &Articles) -> Vec<Vec<Bundle>> {
    let mut out: Vec<Vec<Bundle>> = planned.lays.iter().map(|_| Vec::new()).collect();
    let mut start = 0;
    for chunk in planned.lays.chunk_by(|a, b| a.group == b.group) {
        let spreads: Vec<Spread> = chunk.iter().map(|lay| lay.spread.clone()).collect();
        let group = chunk.first().and_then(|lay| planned.groups.get(lay.group));
        let shares = group.map_or(&[][..], |group| &group.shares);
        for bundle in assign(&spreads, shares) {
            if let Some(list) = out.get_mut(start + bundle.lay) {
                list.push(bundle);
            }
        }
        start += chunk.len();
    }
    for (lay, bundles) in planned.lays.iter().zip(&mut out) {
        if let Some(ties) = ties(planned, lay, articles) {
            numbered(bundles, &ties);
        }
    }
    out
}

/// The numbers the marker of a lay gives to the ties of each cut; none before it is laid.
fn ties(planned: &Planned, lay: &Lay, articles: &Articles) -> Option<Vec<Vec<usize>>> {
    let laid = planned.laid(lay)?;
    let mut found: BTreeMap<(&str, Option<&str>), BTreeSet<usize>> = BTreeMap::new();
    for placed in &laid.pieces {
        let key = (&*placed.style, placed.size.as_deref());
        found.entry(key).or_default().insert(placed.tie);
    }
    let of = |(article, _): (&JobArticle, u32)| {
        let ties = found.get(&(&*article.style, article.size.as_deref()));
        ties.into_iter().flatten().copied().collect()
    };
    Some(planned.in_marker(lay, articles).map(of).collect())
}

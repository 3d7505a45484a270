//! Which lines of the order book are cut together: those whose cloths can lie on one another, and that
//! agree in what is asked for. Never: how many markers.

use std::collections::BTreeMap;
use std::sync::Arc;

use tiewright_core::cloth::Bias;
use tiewright_core::format::decimal;

use super::articles::{Articles, Cut, Stuff};
use crate::cli::Together;
use crate::lay::job::JobCloth;
use crate::orders::book::{Book, Line};

/// What cloths must agree in for one marker to serve all of them.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Measures {
    usable_width: u64,
    turns: &'static str,
    warp: Option<&'static str>,
    repeat: [Option<u64>; 2],
}

impl Measures {
    /// Those of `cloth`.
    pub fn of(cloth: &JobCloth) -> Self {
        let bits = |length: Option<f64>| length.map(f64::to_bits);
        Measures {
            usable_width: cloth.usable_width.to_bits(),
            turns: cloth.direction.as_str(),
            warp: cloth.warp.map(Bias::as_str),
            repeat: [bits(cloth.repeat_warp), bits(cloth.repeat_weft)],
        }
    }
}

/// Order lines cut together, of the same roles.
#[derive(Debug)]
pub struct Group {
    /// What they agree in, in the order it was asked for.
    pub together: Vec<(Together, Arc<str>)>,
    /// The roles that are cut.
    pub roles: Vec<Arc<str>>,
    /// The measures of their cloths.
    pub measures: Measures,
    /// The usable width of their cloths, mm.
    pub width: f64,
    /// Which of the groups it is that agree in all this and are cut to other patterns, from 1.
    pub variant: u32,
    /// The cuts, places in [`Articles::cuts`].
    pub cuts: Vec<usize>,
    /// The cut that lengths of markers are reckoned from, for all groups of these roles and measures: a
    /// place in [`Articles::cuts`].
    pub sample: usize,
    /// The cloths, places in [`Articles::stuffs`].
    pub stuffs: Vec<usize>,
    /// How many of each cut are wanted, cloth by cloth.
    pub wanted: Vec<Vec<u32>>,
    /// The lines, in the order they are to be served.
    pub shares: Vec<Share>,
}

/// What a line wants of a group.
#[derive(Debug, Clone, Copy)]
pub struct Share {
    /// The line, a place in [`Book::lines`].
    pub line: usize,
    /// The cut, a place in [`Group::cuts`].
    pub cut: usize,
    /// The cloth, a place in [`Group::stuffs`].
    pub stuff: usize,
    /// How many.
    pub quantity: u32,
}

/// What lines must agree in to be cut together; ordered, so that groups always come in one order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    together: Vec<Arc<str>>,
    measures: Measures,
    roles: Vec<Arc<str>>,
}

/// The groups the lines of `book` fall into, agreeing in `together`.
///
/// # Errors
/// When more of one article is wanted than can be counted.
pub fn groups(
    book: &Book,
    articles: &Articles,
    together: &[Together],
) -> Result<Vec<Group>, String> {
    let mut found: BTreeMap<Key, Vec<LinePart>> = BTreeMap::new();
    for (index, line) in book.lines.iter().enumerate() {
        let made = articles.made.get(line.ware).and_then(Option::as_ref);
        for part in made.iter().flat_map(|made| &made.parts) {
            let (Some(cut), Some(stuff)) =
                (articles.cuts.get(part.cut), articles.stuffs.get(part.stuff))
            else {
                continue;
            };
            let key = key(book, line, cut, stuff, together);
            found
                .entry(key)
                .or_default()
                .push((index, part.cut, part.stuff));
        }
    }
    let mut out = Vec::new();
    let mut samples: BTreeMap<(Measures, Vec<Arc<str>>), usize> = BTreeMap::new();
    for (key, parts) in &found {
        let sample = samples
            .entry((key.measures.clone(), key.roles.clone()))
            .or_insert(usize::MAX);
        *sample = parts.iter().map(|part| part.1).fold(*sample, usize::min);
    }
    for (key, parts) in found {
        let sample = samples
            .get(&(key.measures.clone(), key.roles.clone()))
            .copied()
            .unwrap_or(0);
        let split = split(&parts, articles);
        for (variant, parts) in (1..).zip(&split) {
            let mut group = group(book, (&key, variant), parts, articles, together)?;
            group.sample = sample;
            out.push(group);
        }
    }
    Ok(out)
}

/// A line, its cut and its cloth.
type LinePart = (usize, usize, usize);

/// The parts so that no style and size is cut in two ways in one list: pieces may differ with the cloth.
fn split(parts: &[LinePart], articles: &Articles) -> Vec<Vec<LinePart>> {
    let mut cuts: BTreeMap<(&str, Option<&str>), Vec<usize>> = BTreeMap::new();
    let mut out: Vec<Vec<LinePart>> = Vec::new();
    for part in parts {
        let Some(article) = articles.cuts.get(part.1).map(|cut| &cut.article) else {
            continue;
        };
        let known = cuts
            .entry((&article.style, article.size.as_deref()))
            .or_default();
        let variant = known
            .iter()
            .position(|cut| *cut == part.1)
            .unwrap_or_else(|| {
                known.push(part.1);
                known.len() - 1
            });
        if out.len() <= variant {
            out.resize_with(variant + 1, Vec::new);
        }
        if let Some(list) = out.get_mut(variant) {
            list.push(*part);
        }
    }
    out
}

fn key(book: &Book, line: &Line, cut: &Cut, stuff: &Stuff, together: &[Together]) -> Key {
    let word = |what: &Together| -> Arc<str> {
        let none = || Arc::from("");
        match what {
            Together::Customer => book
                .customers
                .get(line.customer)
                .cloned()
                .unwrap_or_else(none),
            Together::Order => book.orders.get(line.order).cloned().unwrap_or_else(none),
            Together::Shape => cut.shape.clone(),
            Together::Style => cut.article.style.as_str().into(),
            Together::Cloth => stuff.cloth.name.as_str().into(),
            Together::Due => line.due.map_or_else(none, |day| day.to_string().into()),
        }
    };
    Key {
        together: together.iter().map(word).collect(),
        measures: Measures::of(&stuff.cloth),
        roles: cut.roles.clone(),
    }
}

fn group(
    book: &Book,
    (key, variant): (&Key, u32),
    parts: &[LinePart],
    articles: &Articles,
    together: &[Together],
) -> Result<Group, String> {
    let first = parts.first().and_then(|part| articles.stuffs.get(part.2));
    let cuts = distinct(parts.iter().map(|part| part.1));
    let stuffs = distinct(parts.iter().map(|part| part.2));
    let mut wanted = vec![vec![0u32; cuts.len()]; stuffs.len()];
    let mut shares = Vec::with_capacity(parts.len());
    for (line, cut, stuff) in parts {
        let (Ok(cut), Ok(stuff)) = (cuts.binary_search(cut), stuffs.binary_search(stuff)) else {
            continue;
        };
        let Some(quantity) = book.lines.get(*line).map(|line| line.quantity) else {
            continue;
        };
        if let Some(count) = wanted.get_mut(stuff).and_then(|row| row.get_mut(cut)) {
            *count = count.checked_add(quantity).ok_or(
                "more of one article is ordered than can be counted: split the order book up",
            )?;
        }
        shares.push(Share {
            line: *line,
            cut,
            stuff,
            quantity,
        });
    }
    // What is due first is served first; lines without a day come last, in the order of the book.
    let due = |share: &Share| book.lines.get(share.line).and_then(|line| line.due);
    shares.sort_by_key(|share| (due(share).is_none(), due(share), share.line));
    Ok(Group {
        together: together
            .iter()
            .copied()
            .zip(key.together.iter().cloned())
            .collect(),
        roles: key.roles.clone(),
        measures: key.measures.clone(),
        width: first.map_or(0.0, |stuff| stuff.cloth.usable_width),
        variant,
        cuts,
        sample: 0,
        stuffs,
        wanted,
        shares,
    })
}

/// The numbers in order, each once.
fn distinct(numbers: impl Iterator<Item = usize>) -> Vec<usize> {
    let mut out: Vec<usize> = numbers.collect();
    out.sort_unstable();
    out.dedup();
    out
}

impl Group {
    /// What people call it: what it agrees in, the roles, and the cloth.
    pub fn title(&self) -> String {
        let said = self.together.iter().map(|(_, word)| word.to_string());
        let mut said: Vec<String> = said.filter(|word| !word.is_empty()).collect();
        said.push(self.roles.join(" and "));
        said.push(format!(
            "{} mm {}",
            decimal(self.width, 1),
            self.measures.turns
        ));
        if self.variant > 1 {
            said.push(format!("pattern {}", self.variant));
        }
        said.join(", ")
    }
}

//! Markers: lays in which the same lies on the same width are cut by one, which is searched for and laid
//! once. Never: how many of what lie in it, or where.

use std::collections::HashMap;

use super::articles::{Articles, Stuff};
use super::groups::Group;
use super::plan::{Asked, Lay, Planned, digits};
use crate::lay::job::{JobCloth, Sealed};
use crate::lay::{Laid, make};
use crate::table::counted;

/// Lays and cloths that are named on a marker; of more their number stands there.
const MOST_NAMED: usize = 6;

/// One arrangement of pieces, for every lay that is cut by it.
#[derive(Debug)]
pub struct Marker {
    /// Its name, and that of its files.
    pub name: String,
    /// The lays, places in [`Planned::lays`].
    pub lays: Vec<usize>,
    /// The length the plan reckons with, mm.
    pub planned: f64,
    /// The digest of the job that lays it; empty until the job is made. Jobs are long, and not kept.
    pub digest: String,
    /// How it is laid, once it is.
    pub laid: Option<Laid>,
}

impl Marker {
    /// Its length, mm: as it is laid, or as it is planned.
    pub fn length(&self) -> f64 {
        self.laid.as_ref().map_or(self.planned, |laid| laid.length)
    }
}

/// The markers of `lays`, whose lengths are given, mm; tells each lay which is its own.
pub fn shared(lays: &mut [Lay], lengths: &[f64], groups: &[Group]) -> Vec<Marker> {
    let mut known = HashMap::new();
    let mut out: Vec<Marker> = Vec::new();
    for (index, (lay, length)) in lays.iter_mut().zip(lengths).enumerate() {
        let group = groups.get(lay.group);
        let cuts = group.into_iter().flat_map(|group| &group.cuts);
        let held = cuts
            .zip(&lay.spread.counts)
            .filter(|(_, count)| **count > 0);
        let held: Vec<(usize, u32)> = held.map(|(cut, count)| (*cut, *count)).collect();
        let key = (group.map(|group| &group.measures), held);
        lay.marker = *known.entry(key).or_insert_with(|| {
            out.push(Marker {
                name: String::new(),
                lays: Vec::new(),
                planned: *length,
                digest: String::new(),
                laid: None,
            });
            out.len() - 1
        });
        if let Some(marker) = out.get_mut(lay.marker) {
            marker.lays.push(index);
        }
    }
    let digits = digits(out.len());
    for (number, marker) in (1..).zip(&mut out) {
        marker.name = format!("marker-{number:0digits$}");
    }
    out
}

/// The job that lays `marker`.
///
/// # Errors
/// Why no document may hold it, in words.
pub fn sealed(
    marker: &Marker,
    planned: &Planned,
    articles: &Articles,
    asked: &Asked<'_>,
) -> Result<Sealed, String> {
    let lays = || marker.lays.iter().filter_map(|lay| planned.lays.get(*lay));
    let name = &marker.name;
    let first = lays().next().ok_or_else(|| format!("{name} has no lay"))?;
    let used = lays().flat_map(|lay| planned.spread(lay, articles));
    let cloth = cloth(used.map(|(stuff, _)| stuff)).ok_or_else(|| format!("{name} has no ply"))?;
    let mut job = make::job(name, &[], cloth, asked.job_table(), asked.search.clone());
    job.notes = notes(marker, planned, articles);
    for (article, count) in planned.in_marker(first, articles) {
        let mut article = article.clone();
        article.count = count;
        job.articles.push(article);
    }
    Sealed::new(&job)
}

/// The cloth of a marker that serves several: as narrow as the narrowest of them.
fn cloth<'a>(mut used: impl Iterator<Item = &'a Stuff>) -> Option<JobCloth> {
    let mut cloth = used.next()?.cloth.clone();
    let mut names = vec![cloth.name.as_str().to_owned()];
    for stuff in used {
        cloth.width = cloth.width.min(stuff.cloth.width);
        if !names.contains(&stuff.cloth.name) {
            names.push(stuff.cloth.name.clone());
        }
    }
    if names.len() > 1 {
        cloth.doc = String::new();
        let more = names.len().saturating_sub(MOST_NAMED);
        names.truncate(MOST_NAMED);
        cloth.name = names.join(", ");
        if more > 0 {
            cloth.name += &format!(" and {}", counted(more, "other"));
        }
    }
    Some(cloth)
}

/// What stands on a marker besides what lies in it: who it is for, and the plies of each lay.
fn notes(marker: &Marker, planned: &Planned, articles: &Articles) -> Vec<String> {
    let lays = || marker.lays.iter().filter_map(|lay| planned.lays.get(*lay));
    let mut groups: Vec<usize> = lays().map(|lay| lay.group).collect();
    groups.dedup();
    let title = lays().next().map(|lay| planned.title(lay).to_string());
    let mut notes: Vec<String> = match groups.len() {
        1 => title.into_iter().collect(),
        many => vec![format!("for {}", counted(many, "group"))],
    };
    notes.extend(lays().take(MOST_NAMED).map(|lay| {
        let plies = planned.spread(lay, articles);
        let plies = plies.map(|(stuff, plies)| plies_of(plies, &stuff.cloth.name));
        let plies: Vec<String> = plies.take(MOST_NAMED).collect();
        format!("{}: {}", lay.name, plies.join(", "))
    }));
    if let Some(more @ 1..) = marker.lays.len().checked_sub(MOST_NAMED) {
        notes.push(format!("and {}", counted(more, "other lay")));
    }
    notes
}

/// `12 plies of navy`.
fn plies_of(plies: u32, cloth: &str) -> String {
    let word = if plies == 1 { "ply" } else { "plies" };
    format!("{plies} {word} of {cloth}")
}

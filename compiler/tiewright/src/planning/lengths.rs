//! How long markers are: each is laid out in the quick way, once for everything that asks for it.
//!
//! Lengths are kept by the cuts on the marker and the measures of the cloth, so that groups and threads
//! share them. Each is a length at which a real arrangement lies; the same marker has the same length in
//! every run, whichever thread lays it out.

use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tiewright_marker::plan::{Estimate, Lengths};
use tiewright_marker::{Cloth, Job, Kind, Never, first, simple, simpler};

use super::articles::{Cut, Stuff};
use super::groups::{Group, Measures};
use crate::lay::job::{JobArticle, JobCloth, JobTable, Sealed, Search};
use crate::lay::make;
use crate::lay::solve::Prepared;

/// The most pieces on one marker of a plan: more gain nothing that a ply of the same marker would not,
/// and nobody lays them out by hand again when one is spoilt.
pub const MOST_PIECES: u64 = 1000;
/// Pieces of the longest marker that estimates are taken from: beyond, lengths grow evenly.
const SAMPLED: u64 = 100;
/// Millimetres. The longest marker that estimates are taken from where the table has no end.
const LONGEST_SAMPLE: f64 = 5000.0;

/// What lies in a marker: on which measures, how many of which cuts.
type Laid = (Measures, Vec<(usize, u32)>);

/// Markers laid out so far.
#[derive(Debug)]
pub struct QuickMarkers<'a> {
    cuts: &'a [Cut],
    gap: f64,
    in_haste: AtomicBool,
    singles: Mutex<HashMap<(Measures, usize), Arc<Single>>>,
    known: Mutex<HashMap<Laid, f64>>,
}

/// One article of one cut on a cloth.
#[derive(Debug)]
pub struct Single {
    kinds: Vec<Kind>,
    /// The same with simpler outlines, for haste.
    simpler: Vec<Kind>,
    cloth: Cloth,
    /// How many pieces it has.
    pieces: u64,
    /// Net area over the usable width, mm.
    area: f64,
    /// The least length of its longest piece along the warp, mm.
    longest: f64,
}

/// The value behind a lock. A thread that stopped while it held one had written nothing by halves.
fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl<'a> QuickMarkers<'a> {
    /// None laid out, of these cuts, pieces `gap` mm apart.
    pub fn new(cuts: &'a [Cut], gap: f64) -> Self {
        QuickMarkers {
            cuts,
            gap,
            in_haste: AtomicBool::new(false),
            singles: Mutex::default(),
            known: Mutex::default(),
        }
    }

    /// From now on takes the first arrangement that is clear and makes none shorter: so many are asked for
    /// that a plan would take hours.
    pub fn make_haste(&self) {
        self.in_haste.store(true, Ordering::Relaxed);
        held(&self.known).clear();
    }

    /// One article of `cut` on `cloth`.
    ///
    /// # Errors
    /// Why it cannot be laid on that cloth, in words.
    pub fn single(&self, cut: usize, cloth: &JobCloth) -> Result<Arc<Single>, String> {
        let key = (Measures::of(cloth), cut);
        if let Some(known) = held(&self.singles).get(&key) {
            return Ok(known.clone());
        }
        let article = self
            .cuts
            .get(cut)
            .ok_or("there is no such cut")?
            .article
            .clone();
        let single = Arc::new(Single::new(article, cloth, self.gap)?);
        held(&self.singles).insert(key, single.clone());
        Ok(single)
    }

    /// The length of a marker with one article of `cut` on `cloth`, mm.
    ///
    /// # Errors
    /// Why it cannot be laid on that cloth, in words.
    pub fn alone(&self, cut: usize, cloth: &JobCloth) -> Result<f64, String> {
        let single = self.single(cut, cloth)?;
        Ok(self.length(&Measures::of(cloth), vec![(cut, &single, 1)]))
    }

    /// Lengths of markers of 1, 2, 4 … of one article, up to one longer than `longest` mm.
    fn samples(
        &self,
        measures: &Measures,
        (cut, single): (usize, &Single),
        longest: f64,
    ) -> Vec<(u32, f64)> {
        let mut out = Vec::new();
        let mut count = 1;
        while u64::from(count) * single.pieces.max(1) <= SAMPLED {
            let length = self.length(measures, vec![(cut, single, count)]);
            out.push((count, length));
            if length > longest {
                break;
            }
            count *= 2;
        }
        out
    }

    /// The length of a marker with so many articles of each cut, mm; `cloth` is any with its measures.
    fn length(&self, measures: &Measures, laid: Vec<(usize, &Single, u32)>) -> f64 {
        let counts: Vec<(usize, u32)> = laid.iter().map(|(cut, _, count)| (*cut, *count)).collect();
        let key = (measures.clone(), counts);
        if let Some(known) = held(&self.known).get(&key) {
            return *known;
        }
        let length = laid_out(&laid, self.in_haste.load(Ordering::Relaxed));
        held(&self.known).insert(key, length);
        length
    }
}

/// The length of the quick arrangement; without end where there is none.
fn laid_out(laid: &[(usize, &Single, u32)], in_haste: bool) -> f64 {
    let Some((_, one, _)) = laid.first() else {
        return f64::INFINITY;
    };
    let kinds = laid.iter().flat_map(|(_, single, count)| {
        let many = |kind: &Kind| Kind {
            count: kind.count * *count as usize,
            ..kind.clone()
        };
        let kinds = if in_haste {
            &single.simpler
        } else {
            &single.kinds
        };
        kinds.iter().map(many)
    });
    let job = Job {
        kinds: kinds.collect(),
        cloth: one.cloth.clone(),
        ..Job::default()
    };
    let layout = if in_haste {
        simple(&job, &|| true)
    } else {
        first(&job, &Never)
    };
    layout.map_or(f64::INFINITY, |layout| layout.length)
}

impl Single {
    fn new(article: JobArticle, cloth: &JobCloth, gap: f64) -> Result<Self, String> {
        let table = JobTable {
            gap,
            ..JobTable::default()
        };
        let mut job = make::job("", &[], cloth.clone(), table, Search::default());
        job.articles.push(article);
        let sealed = Sealed::new(&job)?;
        let prepared = Prepared::new(&sealed)?;
        let kinds = prepared.job.kinds.clone();
        let along = |kind: &Kind| {
            let lengths = kind
                .turns
                .iter()
                .map(|turn| kind.outline.turned(*turn).bounds().width());
            lengths.fold(f64::INFINITY, f64::min)
        };
        let area: f64 = kinds.iter().map(|kind| kind.area * kind.count as f64).sum();
        Ok(Single {
            pieces: kinds.iter().map(|kind| kind.count as u64).sum(),
            area: area / cloth.usable_width,
            longest: kinds.iter().map(along).fold(0.0, f64::max),
            simpler: simpler(&prepared.job).kinds,
            cloth: prepared.job.cloth.clone(),
            kinds,
        })
    }
}

/// Lengths of the markers of one group.
pub struct GroupLengths<'m, 'a> {
    markers: &'m QuickMarkers<'a>,
    measures: &'m Measures,
    cuts: &'m [usize],
    singles: Vec<Arc<Single>>,
    estimate: Estimate<fn(&[u32]) -> f64>,
}

impl<'m, 'a> GroupLengths<'m, 'a> {
    /// Those of `group`, on a table that takes markers of `longest` mm.
    ///
    /// # Errors
    /// Why one of its articles cannot be laid, in words.
    pub fn new(
        markers: &'m QuickMarkers<'a>,
        group: &'m Group,
        stuffs: &[Stuff],
        longest: Option<f64>,
    ) -> Result<Self, String> {
        let stuff = group.stuffs.first().and_then(|stuff| stuffs.get(*stuff));
        let cloth = &stuff.ok_or("the group has no cloth")?.cloth;
        let singles = group.cuts.iter().map(|cut| markers.single(*cut, cloth));
        let singles = singles.collect::<Result<Vec<_>, String>>()?;
        let width = cloth.usable_width;
        let mut areas: Vec<f64> = singles.iter().map(|single| single.area * width).collect();
        let sampled = longest.unwrap_or(LONGEST_SAMPLE).min(LONGEST_SAMPLE);
        // Samples are of one article more, which no marker of the group has.
        let sample = markers.single(group.sample, cloth)?;
        let samples = markers.samples(&group.measures, (group.sample, &sample), sampled);
        let before = vec![0; areas.len()];
        let samples: Vec<(Vec<u32>, f64)> = samples
            .into_iter()
            .map(|(count, length)| ([&before[..], &[count]].concat(), length))
            .collect();
        areas.push(sample.area * width);
        Ok(GroupLengths {
            markers,
            measures: &group.measures,
            cuts: &group.cuts,
            singles,
            estimate: Estimate::new(&areas, width, &samples, |_| f64::INFINITY),
        })
    }

    /// What is laid, without what is not.
    fn laid(&self, counts: &[u32]) -> Vec<(usize, &Single, u32)> {
        let all = self.cuts.iter().zip(&self.singles).zip(counts);
        let some = all.filter(|(_, count)| **count > 0);
        some.map(|((cut, single), count)| (*cut, &**single, *count))
            .collect()
    }

    fn too_many(&self, counts: &[u32]) -> bool {
        let all = self.singles.iter().zip(counts);
        let pieces = all.map(|(single, count)| single.pieces * u64::from(*count));
        pieces.sum::<u64>() > MOST_PIECES
    }
}

impl Lengths for GroupLengths<'_, '_> {
    fn estimate(&mut self, counts: &[u32]) -> f64 {
        if self.too_many(counts) {
            return f64::INFINITY;
        }
        self.estimate.estimate(counts)
    }

    fn length(&mut self, counts: &[u32]) -> f64 {
        if self.too_many(counts) {
            return f64::INFINITY;
        }
        self.markers.length(self.measures, self.laid(counts))
    }

    fn least(&mut self, article: usize) -> f64 {
        self.singles
            .get(article)
            .map_or(0.0, |single| single.longest)
    }
}

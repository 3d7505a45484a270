//! A job laid: the search for a short marker, and where each piece lies then.

use std::collections::BTreeMap;

use tiewright_core::cloth::Direction;
use tiewright_geometry::{Affine, Ring, Vec2};
use tiewright_marker::{
    Cloth, Job, JobError, Kind, Layout, Options, Placement, Progress, Rect, Stop, Turn, improve,
    prove,
};

use super::job::{JobArticle, JobPiece, LayJob, Sealed};
use super::laid::{self, Laid, Placed};
use super::outline::{around, laid as laid_first, turned};
use crate::export::path::Plot;

/// Decimals of a coordinate of a placed line, mm: two lines that touch must still do so.
const PLACES: usize = 9;

/// A job as the search has it.
#[derive(Debug)]
pub struct Prepared<'j> {
    /// What it was made of.
    pub sealed: &'j Sealed,
    /// What is searched.
    pub job: Job,
    /// The article and the piece of each kind.
    kinds: Vec<(usize, &'j JobPiece)>,
}

/// How much to search beyond what the job says.
#[derive(Debug, Clone, Default)]
pub struct Effort<'a> {
    /// A marker of the same job to go on from.
    pub start: Option<&'a Laid>,
}

impl<'j> Prepared<'j> {
    /// The job as the search has it.
    ///
    /// # Errors
    /// Why it cannot be laid, in words.
    pub fn new(sealed: &'j Sealed) -> Result<Self, String> {
        let LayJob {
            articles,
            cloth,
            table,
            flaws,
            ..
        } = &sealed.job;
        let mut kinds = Vec::new();
        let mut made = Vec::new();
        for (number, article) in articles.iter().enumerate() {
            for piece in &article.pieces {
                kinds.push((number, piece));
                made.push(kind(&sealed.job, article, piece)?);
            }
        }
        let job = Job {
            kinds: made,
            cloth: Cloth {
                width: cloth.usable_width,
                gap: table.gap,
                flaws: flaws.iter().map(rectangle).collect(),
            },
        };
        let prepared = Prepared { sealed, job, kinds };
        let checked = prepared.job.check();
        checked.map_err(|why| prepared.refused(why))?;
        Ok(prepared)
    }

    fn refused(&self, why: JobError) -> String {
        let JobError::TooWide(number) = why else {
            return why.to_string();
        };
        let (Some((article, piece)), Some(kind)) =
            (self.kinds.get(number), self.job.kinds.get(number))
        else {
            return why.to_string();
        };
        let across = |t: &Turn| kind.outline.turned(*t).bounds().height();
        let least = kind.turns.iter().map(across).fold(f64::INFINITY, f64::min);
        let title = self
            .sealed
            .job
            .articles
            .get(*article)
            .map(JobArticle::title);
        format!(
            "`{}` of {} is {:.1} mm wide across the cloth, and its usable width is {:.1} mm",
            piece.name,
            title.unwrap_or_default(),
            least,
            self.job.cloth.width
        )
    }

    /// `laid` as a layout of the search; `None` if it is none of this job.
    pub fn layout(&self, laid: &Laid) -> Option<Layout> {
        let job = &self.sealed.job;
        let mut numbers: BTreeMap<(&str, Option<&str>, &str), usize> = BTreeMap::new();
        for (number, (article, piece)) in self.kinds.iter().enumerate() {
            let article = job.articles.get(*article)?;
            let key = (&*article.style, article.size.as_deref(), &*piece.name);
            numbers.entry(key).or_insert(number);
        }
        let placement = |placed: &Placed| {
            let key = (&*placed.style, placed.size.as_deref(), &*placed.piece);
            let kind = *numbers.get(&key)?;
            let turns = &self.job.kinds.get(kind)?.turns;
            let turn = turns.iter().position(|t| degrees(*t) == placed.turn)?;
            let at = Vec2::new(placed.x, placed.y);
            Some(Placement { kind, turn, at })
        };
        let placements: Option<Vec<Placement>> = laid.pieces.iter().map(placement).collect();
        let layout = Layout {
            placements: placements?,
            length: laid.length,
        };
        prove(&self.job, &layout).is_ok().then_some(layout)
    }

    /// What `layout` comes to.
    ///
    /// # Errors
    /// When it is no marker of the job: a mistake of the search.
    pub fn laid(&self, layout: &Layout) -> Result<Laid, String> {
        prove(&self.job, layout).map_err(|fault| format!("the marker is not sound: {fault}"))?;
        let job = &self.sealed.job;
        let ties = self.ties(layout);
        let mut placed: Vec<(Placed, f64)> = Vec::with_capacity(layout.placements.len());
        for (placement, tie) in layout.placements.iter().zip(ties) {
            let one = self.placed(placement, tie);
            placed.push(one.ok_or("the marker holds a piece the job does not")?);
        }
        placed.sort_by(|a, b| {
            let key = |p: &Placed| [p.x, p.y];
            key(&a.0)
                .partial_cmp(&key(&b.0))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        let area = job.area();
        let over = |width: f64| {
            let cloth = layout.length * width;
            if cloth > 0.0 { area / cloth } else { 0.0 }
        };
        Ok(Laid {
            tiewright: laid::says(),
            name: job.name.clone(),
            job: self.sealed.digest.clone(),
            length: layout.length,
            ply_length: layout.length + 2.0 * job.table.end_loss,
            area,
            of_usable_width: over(job.cloth.usable_width),
            of_cloth: over(job.cloth.width),
            cut_length: placed.iter().map(|p| p.1).sum(),
            pieces: placed.into_iter().map(|p| p.0).collect(),
        })
    }

    /// One piece as it lies, and the length of its cut line.
    fn placed(&self, placement: &Placement, tie: usize) -> Option<(Placed, f64)> {
        let (number, piece) = self.kinds.get(placement.kind)?;
        let article = self.sealed.job.articles.get(*number)?;
        let turn = *self
            .job
            .kinds
            .get(placement.kind)?
            .turns
            .get(placement.turn)?;
        let placed = Placed {
            style: article.style.clone(),
            size: article.size.clone(),
            piece: piece.name.clone(),
            tie,
            turn: degrees(turn),
            x: placement.at.x,
            y: placement.at.y,
            cut: String::new(),
        };
        let ring = piece.cut.transformed(map(&self.sealed.job, piece, &placed));
        let cut = path(&ring);
        Some((Placed { cut, ..placed }, ring.perimeter()))
    }

    /// The tie each placement belongs to, from 1: the pieces of one kind in their order along the
    /// cloth go to the ties of their article in turn.
    fn ties(&self, layout: &Layout) -> Vec<usize> {
        let mut order: Vec<usize> = (0..layout.placements.len()).collect();
        order.sort_by(|&a, &b| {
            let key = |i: usize| [layout.placements[i].at.x, layout.placements[i].at.y];
            key(a)
                .partial_cmp(&key(b))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        let mut used = vec![0usize; self.kinds.len()];
        let mut ties = vec![0; layout.placements.len()];
        for i in order {
            let kind = layout.placements[i].kind;
            let (article, piece) = self.kinds[kind];
            let before = &self.sealed.job.articles[..article];
            let first: usize = before.iter().map(|a| a.count as usize).sum();
            ties[i] = first + used[kind] / piece.quantity.max(1) as usize + 1;
            used[kind] += 1;
        }
        ties
    }
}

/// Degrees of a turn by quarters.
fn degrees(turn: Turn) -> u32 {
    turn.to_degrees().round() as u32
}

/// From the draft of a piece to where it lies.
pub fn map(job: &LayJob, piece: &JobPiece, placed: &Placed) -> Affine {
    let turn = turned(Turn::degrees(f64::from(placed.turn)));
    Affine::translate(Vec2::new(placed.x, placed.y))
        * turn
        * laid_first(&piece.grain, job.cloth.bias)
}

fn path(ring: &Ring) -> String {
    let mut out = String::new();
    Plot::plain(PLACES).ring(&mut out, ring);
    out
}

fn rectangle([x, y, wide, high]: &[f64; 4]) -> Rect {
    Rect::new(*x, *y, x + wide, y + high)
}

fn kind(job: &LayJob, article: &JobArticle, piece: &JobPiece) -> Result<Kind, String> {
    let outline = around(piece, job.cloth.bias).map_err(|why| {
        let (name, title) = (&piece.name, article.title());
        format!("`{name}` of {title} cannot be laid: {why}")
    })?;
    let turns = match job.cloth.direction {
        Direction::OneWay => vec![Turn::NONE],
        Direction::TwoWay => vec![Turn::NONE, Turn::HALF],
        Direction::AnyWay => vec![Turn::NONE, Turn::HALF, Turn::QUARTER, Turn::THREE_QUARTERS],
    };
    Ok(Kind {
        outline,
        turns,
        area: piece.cut.area(),
        count: piece.quantity as usize * article.count as usize,
    })
}

/// Lays `prepared`, for as long as `stop` lets it and its job has steps left.
///
/// # Errors
/// Why it cannot be laid, in words.
pub fn solve(
    prepared: &Prepared<'_>,
    effort: &Effort<'_>,
    stop: &dyn Stop,
    progress: &mut dyn FnMut(Progress),
) -> Result<Laid, String> {
    let search = &prepared.sealed.job.search;
    let options = Options {
        seed: search.seed,
        steps: search.steps,
        start: effort.start.and_then(|laid| prepared.layout(laid)),
    };
    let layout = improve(&prepared.job, &options, stop, progress);
    prepared.laid(&layout.map_err(|why| prepared.refused(why))?)
}

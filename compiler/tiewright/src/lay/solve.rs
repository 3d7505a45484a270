//! A job laid: the search for a short marker, and where each piece lies then.
//!
//! Never: a clock or a file.

use std::collections::BTreeMap;

use tiewright_core::cloth::Direction;
use tiewright_geometry::{Affine, Ring, Vec2};
use tiewright_marker::{
    Article, Cloth, Job, JobError, Kind, Layout, Options, Outline, Phase, Placement, Progress,
    Rect, Repeat, Stop, Turn, bundles, first, improve, prove,
};

use super::field::number;
use super::job::{JobArticle, JobCloth, JobPiece, LayJob, Sealed, Search};
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

/// How to search, where it is not as the job says.
#[derive(Debug, Clone, Default)]
pub struct Effort<'a> {
    /// A marker of the same job to go on from.
    pub start: Option<&'a Laid>,
    /// Seed and steps in place of the job's own.
    pub search: Option<&'a Search>,
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
        let mut ties = Vec::new();
        let mut phases = BTreeMap::new();
        for (number, article) in articles.iter().enumerate() {
            let mut pieces = Vec::new();
            for piece in &article.pieces {
                pieces.push((kinds.len(), piece.quantity as usize));
                kinds.push((number, piece));
                let mut kind = kind(&sealed.job, article, piece)?;
                if sealed.job.tied.contains(&piece.name) {
                    // In every style and size, so that their ties look alike.
                    let same = phases.entry(&*piece.name);
                    kind.phase = Some(*same.or_insert_with(|| phase(&kind.outline, cloth)));
                }
                made.push(kind);
            }
            ties.push(Article {
                pieces,
                count: article.count as usize,
            });
        }
        let job = Job {
            kinds: made,
            cloth: Cloth {
                width: cloth.usable_width,
                gap: table.gap,
                flaws: flaws.iter().map(rectangle).collect(),
                repeat: Repeat {
                    warp: cloth.repeat_warp,
                    weft: cloth.repeat_weft,
                },
            },
            articles: ties,
        };
        let prepared = Prepared { sealed, job, kinds };
        let checked = prepared.job.check();
        checked.map_err(|why| prepared.refused(why))?;
        Ok(prepared)
    }

    fn refused(&self, why: JobError) -> String {
        let number = match (&why, self.sealed.job.near) {
            (JobError::TooWide(number) | JobError::OffRepeat(number), _) => *number,
            (JobError::Near(_), Some(near)) => {
                return format!("{why}, and may lie along no more than {near:.1} mm");
            }
            _ => return why.to_string(),
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
        let (name, title) = (&piece.name, title.unwrap_or_default());
        let width = self.job.cloth.width;
        if matches!(why, JobError::OffRepeat(_)) {
            return format!(
                "`{name}` of {title} is tied to the repeat and lies nowhere on it within the usable \
                 width of {width:.1} mm"
            );
        }
        format!(
            "`{name}` of {title} is {least:.1} mm wide across the cloth, and its usable width is \
             {width:.1} mm"
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
        let layout = &settled(layout);
        prove(&self.job, layout).map_err(|fault| format!("the marker is not sound: {fault}"))?;
        let job = &self.sealed.job;
        let bundles = bundles(&self.job, layout);
        let mut placed: Vec<(Placed, f64)> = Vec::with_capacity(layout.placements.len());
        for (placement, tie) in layout.placements.iter().zip(&bundles.of) {
            let one = self.placed(placement, tie + 1);
            placed.push(one.ok_or("the marker holds a piece the job does not")?);
        }
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
}

/// `layout` along the cloth, its numbers as they are written: what is read back is the same marker
/// to the last digit.
fn settled(layout: &Layout) -> Layout {
    let rounded = |p: &Placement| Placement {
        at: Vec2::new(number(p.at.x), number(p.at.y)),
        ..*p
    };
    let mut placements: Vec<Placement> = layout.placements.iter().map(rounded).collect();
    placements.sort_by(|a, b| {
        let across = a.at.y.total_cmp(&b.at.y);
        let kinds = (a.kind, a.turn).cmp(&(b.kind, b.turn));
        a.at.x.total_cmp(&b.at.x).then(across).then(kinds)
    });
    Layout {
        placements,
        length: number(layout.length),
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
        * laid_first(&piece.grain, job.cloth.warp)
}

fn path(ring: &Ring) -> String {
    let mut out = String::new();
    Plot::plain(PLACES).ring(&mut out, ring);
    out
}

/// A flaw in the frame of the marker.
pub(super) fn rectangle([x, y, wide, high]: &[f64; 4]) -> Rect {
    Rect::new(*x, *y, x + wide, y + high)
}

fn kind(job: &LayJob, article: &JobArticle, piece: &JobPiece) -> Result<Kind, String> {
    let outline = around(piece, job.cloth.warp).map_err(|why| {
        let (name, title) = (&piece.name, article.title());
        format!("`{name}` of {title} cannot be laid: {why}")
    })?;
    let turns = match job.cloth.direction {
        Direction::OneWay => vec![Turn::NONE],
        Direction::TwoWay => vec![Turn::NONE, Turn::HALF],
        // Stripes that must run one way leave one bias.
        Direction::AnyWay if job.cloth.warp.is_some() => vec![Turn::NONE, Turn::HALF],
        Direction::AnyWay => vec![Turn::NONE, Turn::HALF, Turn::QUARTER, Turn::THREE_QUARTERS],
    };
    Ok(Kind {
        outline,
        turns,
        phase: None,
        area: piece.cut.area(),
        count: piece.quantity as usize * article.count as usize,
    })
}

/// Where a piece tied to the repeat lies: such that one of this outline, if it is not turned, may lie
/// at the start and at the edge of the cloth.
fn phase(outline: &Outline, cloth: &JobCloth) -> Phase {
    let bounds = outline.bounds();
    let from = |at: f64, repeat: Option<f64>| repeat.map(|r| -at - r * libm::floor(-at / r));
    Phase {
        x: from(bounds.x0, cloth.repeat_warp),
        y: from(bounds.y0, cloth.repeat_weft),
    }
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
    let search = effort.search.unwrap_or(&prepared.sealed.job.search);
    let options = Options {
        seed: search.seed,
        steps: search.steps,
        start: effort.start.and_then(|laid| prepared.layout(laid)),
        near: prepared.sealed.job.near,
    };
    let layout = improve(&prepared.job, &options, stop, progress);
    prepared.laid(&layout.map_err(|why| prepared.refused(why))?)
}

/// The quick marker of `prepared`: the one a plan reckons with, if `stop` is as it was for the plan.
///
/// # Errors
/// Why it cannot be laid, in words.
pub fn quick(prepared: &Prepared<'_>, stop: &dyn Stop) -> Result<Laid, String> {
    let layout = first(&prepared.job, stop);
    prepared.laid(&layout.map_err(|why| prepared.refused(why))?)
}

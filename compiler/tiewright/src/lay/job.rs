//! The lay job: everything that is to be laid on one length of cloth, in one document that needs no
//! other file.
//!
//! Its pieces lie as they were drafted; how far each is turned follows from its grain, which is
//! laid along the warp, and from the cloth's direction and bias. In millimetres; `x` of flaws runs
//! along the warp from where the first piece may lie, `y` across it from the edge of the usable
//! width. Reading a document refuses whatever no cutter could lay, with the line it stands in.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use tiewright_core::cloth::{Bias, Direction};
use tiewright_core::draft::NotchKind;
use tiewright_core::names::nearest;
use tiewright_geometry::{Curve, Point, Ring, Vec2};

use super::field;

/// What a job file says it is.
pub const FORMAT: &str = "tiewright lay job";
/// The version of the document this program writes and reads.
pub const VERSION: u32 = 1;
/// The most pieces of one marker.
pub const MOST_PIECES: u64 = 10_000;

/// What the reader of documents puts before the place of a mistake.
const LINE: &str = " at line ";

/// A grain arrow shorter than this points nowhere, mm.
const NO_GRAIN: f64 = 1e-3;

/// What is to be laid, and on what.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayJob {
    /// [`FORMAT`] and [`VERSION`].
    pub tiewright: Kind,
    /// The name: of the files, and in the title of the marker.
    pub name: String,
    /// Further lines for the title of the marker, such as the plies to be spread.
    #[serde(default)]
    pub notes: Vec<String>,
    /// The cloth.
    pub cloth: JobCloth,
    /// What the table it is laid on asks for.
    pub table: JobTable,
    /// Pieces of one tie no further apart than this along the cloth, mm.
    #[serde(
        default,
        deserialize_with = "field::span",
        serialize_with = "field::rounded_if"
    )]
    pub near: Option<f64>,
    /// Where no piece may lie, each `[x, y, width, height]`, mm.
    #[serde(
        default,
        deserialize_with = "field::rectangles",
        serialize_with = "field::rounded_all"
    )]
    pub flaws: Vec<[f64; 4]>,
    /// The names of pieces that all lie on the same place of the cloth's repeat.
    #[serde(default)]
    pub tied: Vec<String>,
    /// How to search.
    pub search: Search,
    /// What is laid: styles in sizes, each with its pieces.
    pub articles: Vec<JobArticle>,
}

/// What kind of document it is, and its version.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Kind;

impl Serialize for Kind {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&format!("{FORMAT}, version {VERSION}"))
    }
}

impl<'d> Deserialize<'d> for Kind {
    fn deserialize<D: serde::Deserializer<'d>>(from: D) -> Result<Self, D::Error> {
        let said = String::deserialize(from)?;
        let meant = format!("{FORMAT}, version {VERSION}");
        if said == meant {
            Ok(Kind)
        } else {
            Err(serde::de::Error::custom(format_args!(
                "this is a `{said}`, and this program reads a `{meant}`"
            )))
        }
    }
}

/// The cloth of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobCloth {
    /// Its name; empty if it has none.
    pub name: String,
    /// Its note; empty if it has none.
    #[serde(default)]
    pub doc: String,
    /// Between the selvedges, mm.
    #[serde(deserialize_with = "field::width", serialize_with = "field::rounded")]
    pub width: f64,
    /// What can be cut of it, mm; no more than the width.
    #[serde(deserialize_with = "field::width", serialize_with = "field::rounded")]
    pub usable_width: f64,
    /// Which ways pieces may be turned.
    #[serde(with = "field::direction")]
    pub direction: Direction,
    /// Which way the warp runs on the finished work, at 45 deg to the centre (left) or at -45; as it
    /// was drafted if left out.
    #[serde(default, with = "field::bias")]
    pub warp: Option<Bias>,
    /// The design's repeat along the warp, mm.
    #[serde(
        default,
        deserialize_with = "field::span",
        serialize_with = "field::rounded_if"
    )]
    pub repeat_warp: Option<f64>,
    /// The design's repeat along the weft, mm.
    #[serde(
        default,
        deserialize_with = "field::span",
        serialize_with = "field::rounded_if"
    )]
    pub repeat_weft: Option<f64>,
}

/// What a table asks for.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobTable {
    /// Its name; empty if none is named.
    pub name: String,
    /// The longest ply with both its end losses, mm; no limit if left out.
    #[serde(
        default,
        deserialize_with = "field::span",
        serialize_with = "field::rounded_if"
    )]
    pub longest: Option<f64>,
    /// The least distance between pieces, mm.
    #[serde(
        deserialize_with = "field::distance",
        serialize_with = "field::rounded"
    )]
    pub gap: f64,
    /// What is lost at each end of each ply, mm.
    #[serde(
        deserialize_with = "field::distance",
        serialize_with = "field::rounded"
    )]
    pub end_loss: f64,
}

/// How to search.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Search {
    /// Where the drawing of lots starts.
    #[serde(default)]
    pub seed: u64,
    /// How long; no limit if left out.
    #[serde(
        default,
        deserialize_with = "field::seconds",
        serialize_with = "field::rounded_if"
    )]
    pub seconds: Option<f64>,
    /// How many steps; no limit if left out.
    #[serde(default)]
    pub steps: Option<u64>,
}

/// One style in one size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobArticle {
    /// The style.
    pub style: String,
    /// The size; none for the style as it stands.
    #[serde(default)]
    pub size: Option<String>,
    /// How many ties of it.
    #[serde(deserialize_with = "field::ties")]
    pub count: u32,
    /// Its pieces of this cloth.
    pub pieces: Vec<JobPiece>,
}

impl JobArticle {
    /// What people call it.
    pub fn title(&self) -> String {
        match &self.size {
            Some(size) => format!("{}, size {size}", self.style),
            None => self.style.clone(),
        }
    }
}

/// One piece, as it was drafted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobPiece {
    /// Its name, unique in the article.
    pub name: String,
    /// How many of it are in one tie.
    #[serde(deserialize_with = "field::quantity")]
    pub quantity: u32,
    /// The line to cut.
    #[serde(with = "field::ring")]
    pub cut: Ring,
    /// Lines that are drawn and not cut.
    #[serde(default)]
    pub lines: Vec<JobLine>,
    /// Notches.
    #[serde(default)]
    pub notches: Vec<JobNotch>,
    /// Drill holes.
    #[serde(default)]
    pub drills: Vec<JobPoint>,
    /// Words on the piece.
    #[serde(default)]
    pub texts: Vec<JobText>,
    /// The warp.
    pub grain: JobGrain,
}

/// What a line is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LineKind {
    /// To sew on.
    Sew,
    /// To fold on.
    Fold,
    /// To place something by.
    Place,
}

/// A line that is drawn and not cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobLine {
    /// What it is for.
    pub kind: LineKind,
    /// The line.
    #[serde(with = "field::curve")]
    pub path: Curve,
}

/// A notch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobNotch {
    /// Its form.
    #[serde(with = "field::notch")]
    pub kind: NotchKind,
    /// Where it starts.
    #[serde(with = "field::point")]
    pub at: Point,
    /// Unit vector into the piece.
    #[serde(with = "field::vector")]
    pub inward: Vec2,
    /// How far it goes in, mm.
    #[serde(
        deserialize_with = "field::distance",
        serialize_with = "field::rounded"
    )]
    pub depth: f64,
    /// The opening of a V or the bar of a T, mm.
    #[serde(
        deserialize_with = "field::distance",
        serialize_with = "field::rounded"
    )]
    pub width: f64,
}

/// A place on a piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobPoint {
    /// Where.
    #[serde(with = "field::point")]
    pub at: Point,
}

/// Words on a piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobText {
    /// The words.
    pub text: String,
    /// The middle of the line.
    #[serde(with = "field::point")]
    pub at: Point,
}

/// The grain arrow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobGrain {
    /// Its foot.
    #[serde(with = "field::point")]
    pub from: Point,
    /// Its head.
    #[serde(with = "field::point")]
    pub to: Point,
}

impl LayJob {
    /// How many pieces there are.
    pub fn pieces(&self) -> u64 {
        let of = |article: &JobArticle| {
            let one: u64 = article.pieces.iter().map(|p| u64::from(p.quantity)).sum();
            one * u64::from(article.count)
        };
        self.articles.iter().map(of).sum()
    }

    /// How many ties there are.
    pub fn ties(&self) -> u64 {
        self.articles.iter().map(|a| u64::from(a.count)).sum()
    }

    /// The area of everything to cut, mm².
    pub fn area(&self) -> f64 {
        let of = |article: &JobArticle| {
            let one = article.pieces.iter();
            let one: f64 = one.map(|p| p.cut.area() * f64::from(p.quantity)).sum();
            one * f64::from(article.count)
        };
        self.articles.iter().map(of).sum()
    }
}

/// A job as it is written, with its digest.
#[derive(Debug, Clone)]
pub struct Sealed {
    /// The job, its numbers as they are written.
    pub job: LayJob,
    /// The document.
    pub text: String,
    /// SHA-256 of the document, in hexadecimal digits.
    pub digest: String,
}

impl Sealed {
    /// The document of `job`, and the job as that document tells it.
    ///
    /// # Errors
    /// What of the job no document may hold, in words.
    pub fn new(job: &LayJob) -> Result<Sealed, String> {
        let mut text = serde_json::to_string_pretty(job).map_err(|e| e.to_string())?;
        text.push('\n');
        // Nobody has seen this document: its lines mean nothing to them.
        Sealed::read(text).map_err(|why| match why.rsplit_once(LINE) {
            Some((why, _)) => why.to_owned(),
            None => why,
        })
    }

    /// The job of a document.
    ///
    /// # Errors
    /// What is wrong with it, in words, with the line where that is one line.
    pub fn read(text: String) -> Result<Sealed, String> {
        let job: LayJob = serde_json::from_str(&text).map_err(|e| {
            if e.is_data() {
                e.to_string()
            } else {
                format!("the file is damaged; make the job again: {e}")
            }
        })?;
        checked(&job)?;
        let digest = Sha256::digest(text.as_bytes());
        let digest = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        Ok(Sealed { job, text, digest })
    }
}

/// What cannot be told from a single field.
fn checked(job: &LayJob) -> Result<(), String> {
    if job.cloth.usable_width > job.cloth.width {
        return Err("the usable width of the cloth is more than its width".to_owned());
    }
    let pieces = job.pieces();
    if pieces == 0 {
        return Err("there is no piece to lay".to_owned());
    }
    if pieces > MOST_PIECES {
        return Err(format!(
            "there are {pieces} pieces to lay, and one marker holds at most {MOST_PIECES}"
        ));
    }
    let mut titles: Vec<String> = job.articles.iter().map(JobArticle::title).collect();
    titles.sort_unstable();
    if let Some(title) = twice(&titles) {
        return Err(format!("{title} stands there twice: give it one count"));
    }
    for article in &job.articles {
        let mut names: Vec<&str> = article.pieces.iter().map(|p| &*p.name).collect();
        names.sort_unstable();
        let lost = |p: &&JobPiece| (p.grain.to - p.grain.from).hypot2().sqrt() < NO_GRAIN;
        if let Some(piece) = article.pieces.iter().find(lost) {
            let (title, name) = (article.title(), &piece.name);
            return Err(format!("the grain of `{name}` of {title} points nowhere"));
        }
        if let Some(name) = twice(&names) {
            let title = article.title();
            return Err(format!("{title} has two pieces called `{name}`"));
        }
    }
    checked_tied(job)
}

/// The pieces tied to the repeat must be there, and so must a repeat.
fn checked_tied(job: &LayJob) -> Result<(), String> {
    let pieces = job.articles.iter().flat_map(|a| &a.pieces);
    let known: BTreeSet<&str> = pieces.map(|piece| &*piece.name).collect();
    if let Some(name) = job.tied.iter().find(|name| !known.contains(&***name)) {
        let message = format!("there is no piece `{name}` to tie to the repeat");
        let near = nearest(name, known.iter().copied()).map_or_else(
            || {
                let known: Vec<&str> = known.iter().copied().collect();
                format!("; there is {}", known.join(", "))
            },
            |near| format!("; did you mean `{near}`?"),
        );
        return Err(message + &near);
    }
    if !job.tied.is_empty() && job.cloth.repeat_warp.or(job.cloth.repeat_weft).is_none() {
        return Err("pieces are tied to the repeat of a cloth that states none".to_owned());
    }
    Ok(())
}

/// Something that stands beside its equal.
fn twice<T: PartialEq>(sorted: &[T]) -> Option<&T> {
    let mut pairs = sorted.windows(2);
    pairs
        .find(|two| two[0] == two[1])
        .and_then(|two| two.first())
}

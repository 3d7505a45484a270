//! From drafts to a lay job: which pieces, how many, on which cloth.
//!
//! Never: where a piece lies.

use tiewright_core::cloth::{Properties, Property};
use tiewright_core::draft::{Draft, Line, Piece};
use tiewright_core::table::Table;

use super::job::{
    JobArticle, JobCloth, JobGrain, JobLine, JobNotch, JobPiece, JobPoint, JobTable, JobText, Kind,
    LayJob, LineKind, Search,
};

/// Some ties of one draft.
#[derive(Debug, Clone)]
pub struct Article<'a> {
    /// The style in its size.
    pub draft: &'a Draft,
    /// The cloth roles whose pieces are laid.
    pub roles: Vec<&'a str>,
    /// How many ties.
    pub count: u32,
}

/// Why a cloth can hold no marker: it does not say how wide it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoWidth;

/// The cloth `name` with its note, as a job has it.
///
/// # Errors
/// [`NoWidth`] where neither its width nor its usable width is stated.
pub fn cloth(name: &str, doc: &str, properties: &Properties) -> Result<JobCloth, NoWidth> {
    let stated = |property| properties.get(property);
    let (width, usable) = (stated(Property::Width), stated(Property::UsableWidth));
    Ok(JobCloth {
        name: name.to_owned(),
        doc: doc.to_owned(),
        width: width.or(usable).ok_or(NoWidth)?,
        usable_width: usable.or(width).ok_or(NoWidth)?,
        direction: properties.direction(),
        warp: properties.warp(),
        repeat_warp: stated(Property::RepeatWarp),
        repeat_weft: stated(Property::RepeatWeft),
    })
}

/// The job called `name` that lays `articles` on `cloth`. Ties of none are left out, and so are
/// articles without a piece of these roles.
pub fn job(
    name: &str,
    articles: &[Article<'_>],
    cloth: JobCloth,
    table: JobTable,
    search: Search,
) -> LayJob {
    let made = articles.iter().filter(|a| a.count > 0).map(article);
    LayJob {
        tiewright: Kind,
        name: name.to_owned(),
        notes: Vec::new(),
        cloth,
        table,
        near: None,
        flaws: Vec::new(),
        tied: Vec::new(),
        search,
        articles: made.filter(|a| !a.pieces.is_empty()).collect(),
    }
}

/// What `table` asks for, as a job has it.
pub fn table(table: &Table) -> JobTable {
    JobTable {
        name: table.name.to_string(),
        longest: table.longest,
        gap: table.gap,
        end_loss: table.end_loss,
    }
}

/// The pieces of an article as a job has them.
pub fn article(article: &Article<'_>) -> JobArticle {
    let draft = article.draft;
    let meant = |p: &&Piece| article.roles.contains(&&*p.cloth);
    JobArticle {
        style: draft.style.to_string(),
        size: draft.size.as_deref().map(str::to_owned),
        count: article.count,
        pieces: draft.pieces.iter().filter(meant).map(piece).collect(),
    }
}

fn piece(piece: &Piece) -> JobPiece {
    let lines = |kind, lines: &[Line]| -> Vec<JobLine> {
        let line = |line: &Line| JobLine {
            kind,
            path: line.curve.clone(),
        };
        lines.iter().map(line).collect()
    };
    JobPiece {
        name: piece.name.to_string(),
        quantity: piece.quantity,
        cut: piece.cut.clone(),
        lines: [
            lines(LineKind::Sew, &piece.sew),
            lines(LineKind::Fold, &piece.fold),
            lines(LineKind::Place, &piece.place),
        ]
        .concat(),
        notches: piece.notches.iter().map(notch).collect(),
        drills: piece.drills.iter().map(|d| JobPoint { at: d.at }).collect(),
        texts: piece.texts.iter().map(text).collect(),
        grain: JobGrain {
            from: piece.grain.from,
            to: piece.grain.to,
        },
    }
}

fn notch(notch: &tiewright_core::draft::Notch) -> JobNotch {
    JobNotch {
        kind: notch.kind,
        at: notch.at,
        inward: notch.inward,
        depth: notch.depth,
        width: notch.width,
    }
}

fn text(text: &tiewright_core::draft::Text) -> JobText {
    JobText {
        text: text.text.to_string(),
        at: text.at,
    }
}

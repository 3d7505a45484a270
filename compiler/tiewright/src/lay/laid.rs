//! What a job was laid as: where every piece lies, and what that takes.
//!
//! Nothing here searches.

use serde::{Deserialize, Serialize};

use super::field;
use super::job::{JobArticle, JobPiece, LayJob};

/// What a laid file says it is.
pub const FORMAT: &str = "tiewright marker";
/// The version of the document this program writes and reads.
pub const VERSION: u32 = 1;

/// A job, laid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Laid {
    /// [`FORMAT`] and [`VERSION`].
    pub tiewright: String,
    /// The name of the job.
    pub name: String,
    /// The digest of the job.
    pub job: String,
    /// From the first piece to the end of the last along the cloth, mm.
    #[serde(
        deserialize_with = "field::distance",
        serialize_with = "field::rounded"
    )]
    pub length: f64,
    /// The same with both end losses: what one ply takes of the cloth, mm.
    #[serde(
        deserialize_with = "field::distance",
        serialize_with = "field::rounded"
    )]
    pub ply_length: f64,
    /// The area of everything cut, mm².
    #[serde(serialize_with = "field::rounded")]
    pub area: f64,
    /// Area over length × usable width.
    #[serde(serialize_with = "field::rounded")]
    pub of_usable_width: f64,
    /// Area over length × width of the cloth.
    #[serde(serialize_with = "field::rounded")]
    pub of_cloth: f64,
    /// The length of all lines to cut, mm.
    #[serde(serialize_with = "field::rounded")]
    pub cut_length: f64,
    /// Every piece, along the cloth.
    pub pieces: Vec<Placed>,
}

/// One piece on the cloth. Its grain laid along the warp, it is turned by `turn` about the origin
/// of its draft, then moved by `x` and `y`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placed {
    /// Its style.
    pub style: String,
    /// Its size, if it is one by name.
    pub size: Option<String>,
    /// Its name.
    pub piece: String,
    /// The tie it is sewn into, counted from 1 over all articles.
    pub tie: usize,
    /// Degrees, counter-clockwise: 0, 90, 180 or 270.
    pub turn: u32,
    /// Along the warp, mm.
    #[serde(serialize_with = "field::rounded")]
    pub x: f64,
    /// Across it, mm.
    #[serde(serialize_with = "field::rounded")]
    pub y: f64,
    /// The line to cut as it lies, path data.
    pub cut: String,
}

impl Laid {
    /// The document.
    ///
    /// # Errors
    /// The serialiser's own, for numbers that are none.
    pub fn text(&self) -> Result<String, String> {
        let mut text = serde_json::to_string_pretty(self).map_err(|e| e.to_string())?;
        text.push('\n');
        Ok(text)
    }

    /// A document read.
    ///
    /// # Errors
    /// What is wrong with it, in words, with its line.
    pub fn read(text: &str) -> Result<Laid, String> {
        let laid: Laid = serde_json::from_str(text).map_err(|e| e.to_string())?;
        let meant = says();
        if laid.tiewright == meant {
            Ok(laid)
        } else {
            let said = &laid.tiewright;
            Err(format!(
                "this is a `{said}`, and this program reads a `{meant}`"
            ))
        }
    }
}

/// What a laid file says of itself.
pub fn says() -> String {
    format!("{FORMAT}, version {VERSION}")
}

impl Placed {
    /// The article and the piece of `job` that is laid here; `None` if the job has none such.
    pub fn of<'j>(&self, job: &'j LayJob) -> Option<(&'j JobArticle, &'j JobPiece)> {
        let mut articles = job.articles.iter();
        let article = articles.find(|a| a.style == self.style && a.size == self.size)?;
        let piece = article.pieces.iter().find(|p| p.name == self.piece)?;
        Some((article, piece))
    }
}

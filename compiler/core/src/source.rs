//! Source texts: where every span points and the one door through which text comes in.
//!
//! Nothing here reads a file; whoever embeds the compiler implements [`Loader`].

use std::sync::Arc;

/// Identifies one text in [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct FileId(pub u32);

/// A range of bytes in one text; `start == end` marks a place between two characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Span {
    /// The text the range lies in.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A span over `start..end` (bytes) of `file`.
    pub fn new(file: FileId, start: usize, end: usize) -> Self {
        let clamp = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span {
            file,
            start: clamp(start),
            end: clamp(end),
        }
    }

    /// The smallest span over both; `other` must lie in the same text.
    pub fn to(self, other: Span) -> Span {
        Span {
            file: self.file,
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }

    /// The range as indices.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// One text and the name it is reported under.
#[derive(Debug, Clone)]
pub struct Source {
    /// The path as the user wrote it, or the name of a built-in shape file.
    pub name: String,
    /// The whole text.
    pub text: Arc<str>,
}

/// All texts of one run, in the order they were loaded.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    files: Vec<Source>,
}

impl Sources {
    /// Adds a text and gives its identity.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<Arc<str>>) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        self.files.push(Source {
            name: name.into(),
            text: text.into(),
        });
        id
    }

    /// The text behind `id`, if it is one of these.
    pub fn get(&self, id: FileId) -> Option<&Source> {
        self.files.get(id.0 as usize)
    }

    /// Line and column (both from 1, the column in characters) of byte `offset` of `id`.
    pub fn position(&self, id: FileId, offset: u32) -> (usize, usize) {
        let Some(source) = self.get(id) else {
            return (1, 1);
        };
        let mut end = (offset as usize).min(source.text.len());
        while !source.text.is_char_boundary(end) {
            end -= 1;
        }
        let before = &source.text[..end];
        let line = before.bytes().filter(|&b| b == b'\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
    }
}

/// Why a text could not be had; each becomes a diagnostic.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LoadError {
    /// There is no such file.
    Missing,
    /// The file is larger than [`MAX_SOURCE_BYTES`].
    TooLarge,
    /// The file is not UTF-8 text.
    NotText,
    /// It is a folder.
    Folder,
    /// Anything else the system said.
    Other(String),
}

/// The largest text accepted, in bytes. A shape file is a few kilobytes; the limit keeps memory
/// bounded when someone hands over the wrong file.
pub const MAX_SOURCE_BYTES: u64 = 4 << 20;

/// The only way text comes into the compiler.
pub trait Loader {
    /// Gives the text of `path`, which `from` (the name of the file that uses it, if any) asked
    /// for. The returned name is what diagnostics show and what tells two files apart.
    ///
    /// # Errors
    /// A [`LoadError`] when there is no such text or it cannot be used.
    fn load(&self, path: &str, from: Option<&str>) -> Result<Source, LoadError>;
}

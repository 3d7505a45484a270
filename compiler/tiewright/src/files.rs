//! Files written whole or not at all: each goes to a temporary name beside its own and is renamed
//! when every file of the run has been written. A file that already has the same bytes is left
//! alone, which is much faster and keeps its date.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// What happened to a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// There was none of that name, or another content.
    Written,
    /// It had the same bytes.
    Unchanged,
}

/// A file ready to take its place; dropped before, it leaves nothing behind.
#[derive(Debug)]
pub struct Staged {
    target: PathBuf,
    temporary: Option<PathBuf>,
}

impl Staged {
    /// Writes `bytes` beside `target` under a temporary name, or nothing if `target` has them.
    ///
    /// # Errors
    /// What the system said; the temporary file is gone then.
    pub fn new(target: PathBuf, bytes: &[u8]) -> io::Result<Self> {
        if has_bytes(&target, bytes) {
            return Ok(Staged {
                target,
                temporary: None,
            });
        }
        let temporary = temporary_name(&target);
        let mut file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&temporary)?;
        // From here on, dropping removes the file.
        let staged = Staged {
            target,
            temporary: Some(temporary),
        };
        file.write_all(bytes)?;
        Ok(staged)
    }

    /// Puts the file in its place.
    ///
    /// # Errors
    /// What the system said; the file that was there is as it was.
    pub fn finish(mut self) -> io::Result<Written> {
        let Some(temporary) = self.temporary.as_ref() else {
            return Ok(Written::Unchanged);
        };
        fs::rename(temporary, &self.target)?;
        self.temporary = None;
        Ok(Written::Written)
    }

    /// Whether another file would make room for this one.
    pub fn would_replace(&self) -> bool {
        self.temporary.is_some() && fs::symlink_metadata(&self.target).is_ok()
    }

    /// Where the file belongs.
    pub fn target(&self) -> &Path {
        &self.target
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        if let Some(temporary) = &self.temporary {
            // Nothing more can be done about a file that cannot be removed.
            let _ = fs::remove_file(temporary);
        }
    }
}

/// A file name from words: letters, digits, `-`, `_` and inner dots stay, the rest becomes `_`.
pub fn safe_name(words: &str) -> String {
    let safe = |c: char| {
        if c.is_alphanumeric() || "-_.".contains(c) {
            c
        } else {
            '_'
        }
    };
    let name: String = words.chars().map(safe).take(LONGEST_NAME).collect();
    match name.strip_prefix('.') {
        Some(rest) => format!("_{rest}"),
        None if name.is_empty() => "_".to_owned(),
        None => name,
    }
}

/// The longest stem of a file name, characters: four bytes each still fit common file systems
/// with room for an ending.
const LONGEST_NAME: usize = 50;

/// The process's number keeps two runs at once from taking the same name.
fn temporary_name(target: &Path) -> PathBuf {
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    target.with_file_name(format!(".{name}.{}.tmp", std::process::id()))
}

fn has_bytes(target: &Path, bytes: &[u8]) -> bool {
    let Ok(about) = fs::symlink_metadata(target) else {
        return false;
    };
    about.is_file() && about.len() == bytes.len() as u64 && same(target, bytes)
}

fn same(target: &Path, bytes: &[u8]) -> bool {
    let mut there = Vec::with_capacity(bytes.len() + 1);
    let limit = bytes.len() as u64 + 1;
    let read = File::open(target).and_then(|f| f.take(limit).read_to_end(&mut there));
    read.is_ok() && there == bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).expect("a folder");
        let name = |e: io::Result<fs::DirEntry>| e.expect("an entry").file_name();
        let mut names: Vec<_> = entries
            .map(name)
            .map(|n| n.to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_file_appears_only_when_finished() {
        let folder = tempfile::tempdir().expect("a folder");
        let target = folder.path().join("a.svg");
        let staged = Staged::new(target.clone(), b"one").expect("staged");
        assert!(!target.exists());
        assert_eq!(staged.finish().expect("renamed"), Written::Written);
        assert_eq!(fs::read(&target).expect("read"), b"one");
        assert_eq!(names(folder.path()), ["a.svg"]);
    }

    #[test]
    fn what_is_dropped_leaves_no_trace() {
        let folder = tempfile::tempdir().expect("a folder");
        let target = folder.path().join("a.svg");
        fs::write(&target, b"old").expect("written");
        drop(Staged::new(target.clone(), b"new").expect("staged"));
        assert_eq!(names(folder.path()), ["a.svg"]);
        assert_eq!(fs::read(&target).expect("read"), b"old");
    }

    #[test]
    fn the_same_bytes_are_not_written_again() {
        let folder = tempfile::tempdir().expect("a folder");
        let target = folder.path().join("a.svg");
        fs::write(&target, b"same").expect("written");
        let before = fs::metadata(&target)
            .and_then(|m| m.modified())
            .expect("a date");
        let write = |bytes: &[u8]| Staged::new(target.clone(), bytes).and_then(Staged::finish);
        assert_eq!(write(b"same").expect("done"), Written::Unchanged);
        assert_eq!(
            fs::metadata(&target)
                .and_then(|m| m.modified())
                .expect("a date"),
            before
        );
        assert_eq!(write(b"else").expect("done"), Written::Written);
        assert_eq!(fs::read(&target).expect("read"), b"else");
    }

    #[test]
    fn names_stay_in_their_folder() {
        assert_eq!(safe_name("club-long"), "club-long");
        assert_eq!(safe_name("../etc/passwd"), "_._etc_passwd");
        assert_eq!(safe_name("a b"), "a_b");
        assert_eq!(safe_name(""), "_");
        assert_eq!(safe_name(&"\u{e9}".repeat(500)).chars().count(), 50);
    }
}

//! Shape files from the disk, with limits: nothing larger than [`MAX_SOURCE_BYTES`] is ever held.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Component, Path, PathBuf};

use tiewright_core::source::{LoadError, Loader, MAX_SOURCE_BYTES, Source};

/// The path that stands for the standard input.
pub const STDIN: &str = "-";
/// The largest table read, bytes: some million rows, and no device without end.
pub const MAX_TABLE_BYTES: u64 = 256 << 20;
/// What some editors put before a UTF-8 text.
const BYTE_ORDER_MARK: char = '\u{FEFF}';

/// Reads from the disk; a used file is looked for beside the file that uses it.
#[derive(Debug, Clone, Copy, Default)]
pub struct FileLoader;

impl Loader for FileLoader {
    fn load(&self, path: &str, from: Option<&str>) -> Result<Source, LoadError> {
        if path == STDIN && from.is_none() {
            return source(
                STDIN.to_owned(),
                bytes(std::io::stdin().lock(), MAX_SOURCE_BYTES)?,
            );
        }
        load_up_to(&beside(path, from), MAX_SOURCE_BYTES)
    }
}

/// The text of a file of at most `limit` bytes.
///
/// # Errors
/// A [`LoadError`] when there is no such text or it cannot be used.
pub fn load_up_to(path: &Path, limit: u64) -> Result<Source, LoadError> {
    let file = File::open(path).map_err(said)?;
    let about = file.metadata().map_err(said)?;
    if about.is_dir() {
        return Err(LoadError::Folder);
    }
    if about.is_file() && about.len() > limit {
        return Err(LoadError::TooLarge);
    }
    source(path.to_string_lossy().into_owned(), bytes(file, limit)?)
}

/// What is said of `path` that cannot be read.
pub fn unread(path: &str, why: &LoadError) -> String {
    match why {
        LoadError::Missing => format!("there is no file `{path}`"),
        LoadError::TooLarge => format!("`{path}` is too large"),
        LoadError::NotText => format!("`{path}` is not plain text"),
        LoadError::Folder => format!("`{path}` is a folder"),
        LoadError::Other(why) => format!("`{path}` cannot be read: {why}"),
    }
}

/// `path` as seen from the file named `from`, without detours, so that one file has one name.
fn beside(path: &str, from: Option<&str>) -> PathBuf {
    let folder = from
        .filter(|f| *f != STDIN)
        .and_then(|f| Path::new(f).parent());
    let joined = folder.unwrap_or(Path::new("")).join(path);
    let mut plain = PathBuf::new();
    for part in joined.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir
                if matches!(plain.components().next_back(), Some(Component::Normal(_))) =>
            {
                plain.pop();
            }
            part => plain.push(part),
        }
    }
    if plain.as_os_str().is_empty() {
        return joined;
    }
    plain
}

/// All of `from`, but never more than the limit and a byte: it may be a device without end.
fn bytes(from: impl Read, limit: u64) -> Result<Vec<u8>, LoadError> {
    let mut bytes = Vec::new();
    from.take(limit + 1).read_to_end(&mut bytes).map_err(said)?;
    if bytes.len() as u64 > limit {
        Err(LoadError::TooLarge)
    } else {
        Ok(bytes)
    }
}

/// All of the table at the path `table`; `-` is the standard input. `what` it is is said where a
/// folder stands there.
///
/// # Errors
/// Why it cannot be had, in words.
pub fn table_bytes(table: &str, what: &str) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    let said = |e: std::io::Error| match e.kind() {
        ErrorKind::NotFound => {
            format!("there is no file `{table}`: check the name and the folder it is in")
        }
        ErrorKind::IsADirectory => format!("`{table}` is a folder: name {what} in it"),
        _ => format!("`{table}` cannot be read: {e}"),
    };
    let taken = if table == STDIN {
        std::io::stdin()
            .lock()
            .take(MAX_TABLE_BYTES + 1)
            .read_to_end(&mut bytes)
    } else {
        let file = File::open(table).map_err(said)?;
        file.take(MAX_TABLE_BYTES + 1).read_to_end(&mut bytes)
    };
    taken.map_err(said)?;
    if bytes.len() as u64 > MAX_TABLE_BYTES {
        return Err(format!(
            "`{table}` is larger than {} MiB",
            MAX_TABLE_BYTES >> 20
        ));
    }
    Ok(bytes)
}

fn source(name: String, bytes: Vec<u8>) -> Result<Source, LoadError> {
    let text = String::from_utf8(bytes).map_err(|_| LoadError::NotText)?;
    Ok(Source {
        name,
        text: text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(&text).into(),
    })
}

fn said(error: std::io::Error) -> LoadError {
    match error.kind() {
        ErrorKind::NotFound => LoadError::Missing,
        _ => LoadError::Other(error.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn used_files_are_looked_for_beside_the_user() {
        assert_eq!(
            beside("b.tie", Some("shapes/a.tie")),
            Path::new("shapes/b.tie")
        );
        assert_eq!(
            beside("../b.tie", Some("x/shapes/a.tie")),
            Path::new("x/b.tie")
        );
        assert_eq!(beside("./b.tie", None), Path::new("b.tie"));
        assert_eq!(
            beside("../../b.tie", Some("x/a.tie")),
            Path::new("../b.tie")
        );
        assert_eq!(beside("b.tie", Some(STDIN)), Path::new("b.tie"));
        assert_eq!(
            beside("/abs/b.tie", Some("x/a.tie")),
            Path::new("/abs/b.tie")
        );
    }

    #[test]
    fn what_is_no_text_is_refused() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
        let load = |path: &str| FileLoader.load(path, None).map(|s| s.text.to_string());
        assert_eq!(load(&at("missing.tie")), Err(LoadError::Missing));
        assert_eq!(load(&at("")), Err(LoadError::Folder));
        std::fs::write(at("junk"), [0xFF, 0xFE, 0x00]).expect("written");
        assert_eq!(load(&at("junk")), Err(LoadError::NotText));
        std::fs::write(at("marked"), "\u{FEFF}style").expect("written");
        assert_eq!(load(&at("marked")), Ok("style".to_owned()));
        let limit = usize::try_from(MAX_SOURCE_BYTES).expect("fits");
        std::fs::write(at("most"), " ".repeat(limit)).expect("written");
        assert!(load(&at("most")).is_ok());
        std::fs::write(at("more"), " ".repeat(limit + 1)).expect("written");
        assert_eq!(load(&at("more")), Err(LoadError::TooLarge));
    }

    #[cfg(unix)]
    #[test]
    fn a_device_without_end_is_too_large() {
        assert_eq!(
            FileLoader.load("/dev/zero", None).map(|_| ()),
            Err(LoadError::TooLarge)
        );
    }
}

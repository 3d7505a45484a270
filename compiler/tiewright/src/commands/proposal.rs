//! Styles made by the program itself: their text, and the loader that hands it to the compiler
//! together with the files it uses. Input: names and measures; output: text. Nothing here drafts or
//! writes a file.

use std::fmt::Write;
use std::io;
use std::path::{Component, Path, PathBuf};

use tiewright_core::draft::{Measure, Unit};
use tiewright_core::format::{INCH, decimal, inches};
use tiewright_core::source::{LoadError, Loader, Source};

use crate::loader::FileLoader;

/// Millimetres. A length this near a whole number of 64ths of an inch is meant to be it; rounding to
/// decimals of a millimetre strays no farther, and no table of fractions is read more finely.
const SAME_LENGTH: f64 = 0.001;
/// Millimetres in a 64th of an inch, the finest fraction on a tape.
const FINEST_FRACTION: f64 = INCH / 64.0;
/// Decimals of a length in millimetres.
const PLACES: usize = 2;

/// A text under a name of its own; every other text comes from the disk.
#[derive(Debug)]
pub struct Composed<'a> {
    /// What the text is called in messages, and the file beside which used files are looked for.
    pub name: &'a str,
    /// The text.
    pub text: &'a str,
}

impl Loader for Composed<'_> {
    fn load(&self, path: &str, from: Option<&str>) -> Result<Source, LoadError> {
        if from.is_none() && path == self.name {
            return Ok(Source {
                name: self.name.to_owned(),
                text: self.text.into(),
            });
        }
        FileLoader.load(path, from)
    }
}

/// `style NAME from BASE "doc" { … }` with what stands before it: the file that holds the base.
pub fn style(
    used: &str,
    name: &str,
    base: &str,
    doc: &str,
    settings: &[(String, String)],
) -> String {
    let widest = settings.iter().map(|(name, _)| name.len()).max();
    let width = widest.unwrap_or(0);
    let note = if doc.is_empty() {
        String::new()
    } else {
        format!(" \"{doc}\"")
    };
    let mut out = format!("use \"{used}\"\n\nstyle {name} from {base}{note} {{\n");
    for (name, value) in settings {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "  {name:<width$}  {value}");
    }
    out + "}\n"
}

/// Settings that say the same values again, to the last digit; an area has no unit to say it in.
pub fn exact(values: &[&Measure]) -> Vec<(String, String)> {
    let said = |value: &&Measure| {
        let unit = match value.unit {
            Unit::Millimetre => " mm",
            Unit::Degree => " deg",
            Unit::Plain => "",
            Unit::SquareMillimetre => return None,
        };
        Some((value.name.to_string(), format!("{}{unit}", value.value)))
    };
    values.iter().filter_map(said).collect()
}

/// Settings for people: lengths in inches if all of them are fractions of an inch, else in
/// millimetres.
pub fn readable(values: &[&Measure]) -> Vec<(String, String)> {
    let fraction = |value: f64| {
        let off = value - (value / FINEST_FRACTION).round() * FINEST_FRACTION;
        off.abs() < SAME_LENGTH
    };
    let in_inches = values.iter().all(|value| fraction(value.value));
    let said = |value: &&Measure| {
        let text = if in_inches {
            inches(value.value)
        } else {
            format!("{} mm", decimal(value.value, PLACES))
        };
        (value.name.to_string(), text)
    };
    values.iter().map(said).collect()
}

/// How the file `path` is called in one that is saved as `from`, with `/` between folders.
///
/// # Errors
/// What the system says of the folder the program runs in.
pub fn as_seen_from(path: &Path, from: &Path) -> io::Result<String> {
    let (path, from) = (plain(path)?, plain(from)?);
    let folder = from.parent().unwrap_or(Path::new(""));
    let mut rest = path.components().peekable();
    let mut above = folder.components().peekable();
    while rest.peek().is_some() && rest.peek() == above.peek() {
        rest.next();
        above.next();
    }
    let up = above.map(|_| "..".to_owned());
    let down = rest.map(|part| part.as_os_str().to_string_lossy().into_owned());
    Ok(up.chain(down).collect::<Vec<_>>().join("/"))
}

/// The whole path without detours.
fn plain(path: &Path) -> io::Result<PathBuf> {
    let mut plain = PathBuf::new();
    for part in std::path::absolute(path)?.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                plain.pop();
            }
            part => plain.push(part),
        }
    }
    Ok(plain)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiewright_core::source::Span;

    fn measure(name: &str, value: f64, unit: Unit) -> Measure {
        Measure {
            name: name.into(),
            value,
            unit,
            doc: "".into(),
            span: Span::default(),
        }
    }

    #[test]
    fn lengths_are_in_inches_only_if_all_are_fractions() {
        let (whole, odd) = (
            measure("length", 1460.5, Unit::Millimetre),
            measure("tail-length", 440.0, Unit::Millimetre),
        );
        let said = |list: &[&Measure]| readable(list).into_iter().map(|s| s.1).collect::<Vec<_>>();
        assert_eq!(said(&[&whole]), ["57 1/2 in"]);
        assert_eq!(said(&[&whole, &odd]), ["1460.5 mm", "440 mm"]);
    }

    #[test]
    fn exact_settings_keep_every_digit() {
        let third = measure("run", 1.0 / 3.0, Unit::Millimetre);
        let area = measure("cloth", 2.0, Unit::SquareMillimetre);
        let said = exact(&[&third, &area]);
        assert_eq!(said.len(), 1);
        let digits = said[0].1.strip_suffix(" mm").expect("a unit");
        assert_eq!(digits.parse(), Ok(1.0 / 3.0));
    }

    #[test]
    fn a_file_is_called_as_seen_from_the_other() {
        for (path, from, seen) in [
            ("a.tie", "b.tie", "a.tie"),
            ("x/a.tie", "b.tie", "x/a.tie"),
            ("a.tie", "y/b.tie", "../a.tie"),
            ("x/a.tie", "./y/z/b.tie", "../../x/a.tie"),
            ("x/../a.tie", "y/../b.tie", "a.tie"),
        ] {
            let found = as_seen_from(Path::new(path), Path::new(from)).expect("a folder");
            assert_eq!(found, seen);
        }
    }
}

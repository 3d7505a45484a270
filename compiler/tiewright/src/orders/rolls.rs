//! The rolls in store: a table of cloth, roll and what is left on it. Bytes in; rolls out, or what is
//! wrong. Nothing here says what is cut from them.

use std::collections::BTreeMap;
use std::sync::Arc;

use csv::ByteRecord;
use tiewright_core::check::expr::listed;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::format::INCH;
use tiewright_core::names::nearest;
use tiewright_core::source::FileId;

use crate::rows::findings::Findings;
use crate::rows::{Row, Rows, is_blank, misshapen, of_table, texts, wide_text};

/// The longest roll, mm: ten kilometres.
const LONGEST: f64 = 1e7;
/// Lengths of rolls by unit, mm. A yard is 0.9144 m exactly.
const UNITS: [(&str, f64); 5] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("m", 1000.0),
    ("yd", 36.0 * INCH),
    ("in", INCH),
];
/// What a heading or cell may end in, for hints.
const UNIT_NAMES: &str = "`m`, `cm`, `mm`, `yd` or `in`";

/// A roll of cloth.
#[derive(Debug, Clone, PartialEq)]
pub struct Roll {
    /// The cloth.
    pub cloth: Arc<str>,
    /// What the roll is called.
    pub name: Arc<str>,
    /// What is on it, mm; above nought.
    pub length: f64,
}

/// Rolls that have been read.
#[derive(Debug, Default)]
pub struct Store {
    /// The rolls, in the order of the rows.
    pub rolls: Vec<Roll>,
    /// What is wrong. A store with a mistake is not to be used: cloth would be missed.
    pub findings: Findings,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Cloth,
    Roll,
    Length,
    Note,
}

const COLUMNS: [(&str, Column); 4] = [
    ("cloth", Column::Cloth),
    ("roll", Column::Roll),
    ("length", Column::Length),
    ("note", Column::Note),
];

/// Reads the table `bytes`, which diagnostics call `file`, of rolls of the `cloths`, which are in order.
pub fn read(bytes: &[u8], file: FileId, cloths: &[Arc<str>]) -> Store {
    let mut store = Store::default();
    if let Some(error) = wide_text(bytes, file) {
        store.findings.push(error);
        return store;
    }
    let mut rows = Rows::new(bytes, file);
    let Some((heading, row)) = rows.next_row() else {
        let error = of_table(file, Code::NoColumn, "the table of rolls is empty");
        store
            .findings
            .push(error.hint("begin it with a heading: `cloth,roll,length (m)`"));
        return store;
    };
    let mut errors = Vec::new();
    let heading = columns(heading, &row, &mut errors);
    let Some(heading) = heading.filter(|_| errors.is_empty()) else {
        errors
            .into_iter()
            .for_each(|error| store.findings.push(error));
        return store;
    };
    let mut seen = BTreeMap::new();
    while let Some((record, row)) = rows.next_row() {
        if is_blank(record) {
            continue;
        }
        let mut errors = Vec::new();
        if let Some(roll) = roll(record, &row, &heading, cloths, &mut errors) {
            let key = (roll.cloth.clone(), roll.name.clone());
            if let Some(first) = seen.insert(key, row.cell(0)) {
                let message = format!("there are two rolls `{}` of `{}`", roll.name, roll.cloth);
                let error = row
                    .error(Code::DeclaredTwice, message)
                    .also(first, "the first of them");
                errors.push(error.hint("give each roll of a cloth a name of its own"));
            }
            store.rolls.push(roll);
        }
        errors
            .into_iter()
            .for_each(|error| store.findings.push_alike(error));
    }
    store
}

/// The columns and the unit of the lengths, if the heading states one.
struct Heading {
    columns: Vec<Column>,
    unit: Option<f64>,
}

fn columns(record: &ByteRecord, row: &Row<'_>, errors: &mut Vec<Diagnostic>) -> Option<Heading> {
    let cells = texts(record, row, errors)?;
    let mut out = Heading {
        columns: Vec::new(),
        unit: None,
    };
    for (index, cell) in cells.iter().enumerate() {
        let lower = cell.to_lowercase();
        let (name, unit) = match lower
            .strip_suffix(')')
            .and_then(|cell| cell.split_once('('))
        {
            Some((name, unit)) => (name.trim(), Some(unit.trim())),
            None => (&*lower, None),
        };
        let Some((_, column)) = COLUMNS.iter().find(|(known, _)| *known == name) else {
            let message = format!("a table of rolls has no column `{cell}`");
            let error = row.error_at(index, Code::UnknownColumn, message);
            errors.push(
                error.hint(match nearest(name, COLUMNS.map(|(known, _)| known)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "the columns are `cloth`, `roll`, `length` and `note`".to_owned(),
                }),
            );
            continue;
        };
        if out.columns.contains(column) {
            let error = row.error_at(
                index,
                Code::DeclaredTwice,
                format!("two columns are called `{name}`"),
            );
            errors.push(error.hint("take one of them out"));
        }
        if let (Column::Length, Some(unit)) = (column, unit) {
            match UNITS.iter().find(|(known, _)| *known == unit) {
                Some((_, size)) => out.unit = Some(*size),
                None => errors.push(
                    row.error_at(
                        index,
                        Code::UnknownUnit,
                        format!("there is no unit `{unit}`"),
                    )
                    .hint(format!("write {UNIT_NAMES} between the brackets")),
                ),
            }
        }
        out.columns.push(*column);
    }
    let needed = [Column::Cloth, Column::Roll, Column::Length];
    if errors.is_empty() && needed.iter().any(|column| !out.columns.contains(column)) {
        let error = row.error(
            Code::NoColumn,
            "a table of rolls has the columns `cloth`, `roll` and `length`",
        );
        errors.push(error.hint("add the one that is missing"));
    }
    Some(out)
}

fn roll(
    record: &ByteRecord,
    row: &Row<'_>,
    heading: &Heading,
    cloths: &[Arc<str>],
    errors: &mut Vec<Diagnostic>,
) -> Option<Roll> {
    if let Some((error, _)) = misshapen(record, row, heading.columns.len()) {
        errors.push(error);
        return None;
    }
    let cells = texts(record, row, errors)?;
    let at = |wanted: Column| {
        let column = heading
            .columns
            .iter()
            .position(|column| *column == wanted)
            .unwrap_or(0);
        (column, cells.get(column).copied().unwrap_or_default())
    };
    let (column, name) = at(Column::Cloth);
    let cloth = cloths.iter().find(|known| ***known == *name);
    if cloth.is_none() {
        let error = row.error_at(
            column,
            Code::UnknownCloth,
            format!("there is no cloth `{name}`"),
        );
        let known = || cloths.iter().map(|name| &**name);
        errors.push(error.hint(match nearest(name, known()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("write {}", listed(known())),
        }));
    }
    let (column, name) = at(Column::Roll);
    if name.is_empty() {
        let error = row.error_at(column, Code::BlankRow, "this roll has no name");
        errors.push(error.hint("write what stands on the roll, or a number"));
    }
    let (column, cell) = at(Column::Length);
    match length(cell, heading.unit) {
        Ok(length) if !name.is_empty() => Some(Roll {
            cloth: cloth?.clone(),
            name: name.into(),
            length,
        }),
        Ok(_) => None,
        Err((code, message)) => {
            let error = row.error_at(column, code, message);
            let hint = format!("write it as in `38.5 m`: a number above nought with {UNIT_NAMES}");
            errors.push(error.hint(hint));
            None
        }
    }
}

/// The length in a cell, mm.
fn length(cell: &str, heading: Option<f64>) -> Result<f64, (Code, String)> {
    let end = cell
        .trim_end_matches(|c: char| c.is_ascii_alphabetic())
        .len();
    let (digits, unit) = cell.split_at(end);
    let unit = match (
        UNITS.iter().find(|(known, _)| *known == unit),
        unit,
        heading,
    ) {
        (Some((_, size)), ..) => *size,
        (None, "", Some(size)) => size,
        (None, "", None) => return Err((Code::NoUnit, format!("`{cell}` has no unit"))),
        _ => return Err((Code::UnknownUnit, format!("there is no unit `{unit}`"))),
    };
    let plain = |c: char| c.is_ascii_digit() || c == '.';
    let number = Some(digits.trim()).filter(|digits| digits.chars().all(plain));
    let value = number.and_then(|digits| digits.parse::<f64>().ok());
    let length = value.map(|value| value * unit);
    let sound = length.filter(|length| *length > 0.0 && *length <= LONGEST);
    sound.ok_or_else(|| (Code::NotALength, format!("`{cell}` is no length of a roll")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn store(table: &str) -> Store {
        let cloths: Vec<Arc<str>> = ["navy", "stripe"].map(Into::into).to_vec();
        read(table.as_bytes(), FileId(0), &cloths)
    }

    #[test]
    fn lengths_are_read_with_their_unit() {
        let store = store(
            "Cloth,roll,length (m),note\nnavy,A1,38.5,\nnavy,A2,50 yd,old\nstripe,A1,900 cm,\n",
        );
        assert!(store.findings.is_empty());
        let lengths: Vec<f64> = store.rolls.iter().map(|roll| roll.length).collect();
        assert_eq!(lengths, [38_500.0, 45_720.0, 9000.0]);
    }

    #[test]
    fn every_mistake_is_told() {
        for (table, code) in [
            ("", Code::NoColumn),
            ("cloth,roll\nnavy,A1\n", Code::NoColumn),
            ("cloth,roll,length,hue\n", Code::UnknownColumn),
            ("cloth,roll,length (ell)\n", Code::UnknownUnit),
            ("cloth,roll,length\nnavy,A1,5\n", Code::NoUnit),
            ("cloth,roll,length\nnavy,A1,5 ft\n", Code::UnknownUnit),
            ("cloth,roll,length\nnavy,A1,0 m\n", Code::NotALength),
            ("cloth,roll,length\nnavy,A1,-5 m\n", Code::NotALength),
            ("cloth,roll,length\nnavy,A1,m\n", Code::NotALength),
            ("cloth,roll,length\nnavy,A1,99999 m\n", Code::NotALength),
            ("cloth,roll,length\nnayv,A1,5 m\n", Code::UnknownCloth),
            ("cloth,roll,length\nnavy,,5 m\n", Code::BlankRow),
            (
                "cloth,roll,length\nnavy,A1,5 m\nnavy,A1,6 m\n",
                Code::DeclaredTwice,
            ),
            ("cloth,roll,length\nnavy,A1\n", Code::CellCount),
        ] {
            let (shown, _) = store(table).findings.into_shown();
            let codes: Vec<Code> = shown.iter().map(|error| error.code).collect();
            assert_eq!(codes, [code], "{table}");
            assert!(shown.iter().all(|error| !error.hints.is_empty()));
        }
    }
}

//! Judges a table of readings row by row. Every row is judged or refused; a row that is wrong anywhere
//! is refused as a whole, so that no tie is half judged.

use std::collections::BTreeMap;
use std::sync::Arc;

use csv::ByteRecord;
use tiewright_core::check::expr::listed;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::names::nearest;
use tiewright_core::source::FileId;
use tiewright_core::{Program, StyleInfo};

use super::cell::length;
use super::columns::{Column, columns};
use super::subject::Subject;
use crate::rows::findings::Findings;
use crate::rows::{Row, Rows, misshapen, of_table, texts};

/// A reading is doubtful that is so many times longer or shorter than it should be: less than lies
/// between any two units, more than any tie is off.
const WILD: f64 = 3.0;

/// What holds for rows that do not say it themselves.
#[derive(Debug, Clone, Copy, Default)]
pub struct Defaults<'a> {
    /// The style; where there is only one in the file, that one.
    pub style: Option<&'a str>,
    /// The named size; without it the style as it stands.
    pub size: Option<&'a str>,
}

/// What a table of readings comes to.
#[derive(Debug, Default)]
pub struct Judged {
    /// The styles and sizes that rows were judged by, in the order they first came up.
    pub subjects: Vec<Subject>,
    /// Readings outside their tolerance, in the order of the rows.
    pub outside: Vec<Outside>,
    /// Rows below the heading that are not empty.
    pub rows: u64,
    /// Rows judged.
    pub judged: u64,
    /// Different ties among them.
    pub ties: usize,
    /// How many of those have a reading outside.
    pub ties_outside: usize,
    /// What is wrong.
    pub findings: Findings,
}

impl Judged {
    /// Rows that could not be judged.
    pub fn refused(&self) -> u64 {
        self.rows - self.judged
    }
}

/// A reading outside its tolerance.
#[derive(Debug)]
pub struct Outside {
    /// The tie.
    pub tie: Box<str>,
    /// By which of the subjects it was judged.
    pub subject: usize,
    /// Which of its points.
    pub point: usize,
    /// The reading, mm.
    pub reading: f64,
}

/// Judges the table `bytes`, which diagnostics call `file`, by the styles of `program`.
pub fn judge(program: &Program, bytes: &[u8], file: FileId, defaults: Defaults<'_>) -> Judged {
    let mut rows = Rows::new(bytes, file);
    let mut judge = Judge::new(program, defaults);
    let Some((heading, row)) = rows.next_row() else {
        let error = of_table(file, Code::NoColumn, "the table of readings is empty");
        let hint = "write a blank form with `--form`, and fill it in";
        judge.out.findings.push(error.hint(hint));
        return judge.out;
    };
    let heading = judge.heading(heading, &row);
    while let Some((record, row)) = rows.next_row() {
        judge.out.rows += 1;
        if heading {
            judge.row(record, &row);
        }
    }
    judge.finish()
}

/// The state of judging.
struct Judge<'p> {
    program: &'p Program,
    defaults: Defaults<'p>,
    columns: Vec<Column>,
    /// Where among the subjects a style and size are; none where it cannot be drafted.
    known: BTreeMap<String, BTreeMap<String, Option<Found>>>,
    /// Inspections by name.
    inspections: BTreeMap<Arc<str>, u32>,
    ties: BTreeMap<Box<str>, Seen>,
    /// The readings of the row at hand: column, point and millimetres.
    readings: Vec<(usize, usize, f64)>,
    out: Judged,
}

/// A subject, and which of its points each column is.
#[derive(Clone)]
struct Found {
    subject: usize,
    points: Arc<[Option<usize>]>,
    /// The inspection of each point.
    inspections: Arc<[u32]>,
}

/// What is known of a tie.
#[derive(Default)]
struct Seen {
    /// The inspections it was read at.
    at: Vec<u32>,
    outside: bool,
}

impl<'p> Judge<'p> {
    fn new(program: &'p Program, defaults: Defaults<'p>) -> Self {
        Judge {
            program,
            defaults,
            columns: Vec::new(),
            known: BTreeMap::new(),
            inspections: BTreeMap::new(),
            ties: BTreeMap::new(),
            readings: Vec::new(),
            out: Judged::default(),
        }
    }

    /// Takes the heading; whether the rows below it can be read.
    fn heading(&mut self, record: &ByteRecord, row: &Row<'_>) -> bool {
        let mut cells = Vec::with_capacity(record.len());
        for cell in record {
            cells.push(std::str::from_utf8(cell).unwrap_or("\u{FFFD}").trim());
        }
        let mut points: Vec<Arc<str>> = Vec::new();
        for style in self.program.styles() {
            for point in &style.points {
                if !points.contains(point) {
                    points.push(point.clone());
                }
            }
        }
        let mut errors = Vec::new();
        self.columns = columns(&cells, &points, row, &mut errors);
        if errors.is_empty() {
            errors.extend(self.which_style(row));
        }
        let good = errors.is_empty();
        errors
            .into_iter()
            .for_each(|error| self.out.findings.push(error));
        good
    }

    /// Complains where nothing tells which style is meant.
    fn which_style(&self, row: &Row<'_>) -> Option<Diagnostic> {
        let said = self.columns.contains(&Column::Style) || self.defaults.style.is_some();
        if said || self.program.styles().len() == 1 {
            return None;
        }
        let message = "the file has several styles, and the table does not say which is meant";
        Some(
            row.error(Code::NoColumn, message)
                .hint("add a column `style`, or choose one with `--style`"),
        )
    }

    fn row(&mut self, record: &ByteRecord, row: &Row<'_>) {
        let mut errors = Vec::new();
        match self.read(record, row, &mut errors) {
            Some((tie, found)) if errors.is_empty() => self.count(tie, &found),
            _ => errors
                .into_iter()
                .for_each(|error| self.out.findings.push(error)),
        }
    }

    /// Reads a row; what is wrong with it goes to `errors`.
    fn read<'r>(
        &mut self,
        record: &'r ByteRecord,
        row: &Row<'_>,
        errors: &mut Vec<Diagnostic>,
    ) -> Option<(&'r str, Found)> {
        self.readings.clear();
        if let Some((error, swallowed)) = misshapen(record, row, self.columns.len()) {
            self.out.rows += swallowed;
            errors.push(error);
            return None;
        }
        let cells = texts(record, row, errors)?;
        if cells.iter().all(|cell| cell.is_empty()) {
            let error = row.error(Code::BlankRow, "this row is blank");
            errors.push(error.hint("take it out"));
            return None;
        }
        let tie = self.tie(&cells, row, errors);
        let found = self.found(&cells, row, errors)?;
        self.lengths(&cells, &found, row, errors);
        if errors.is_empty() && self.readings.is_empty() {
            let error = row.error(Code::BlankRow, "this row has no reading");
            errors.push(error.hint("fill it in, or take it out"));
        }
        let tie = tie?;
        if errors.is_empty() {
            errors.extend(self.read_before(tie, &found, row));
        }
        Some((tie, found))
    }

    /// What stands in the column of that kind, if there is one, and which one it is.
    fn cell<'r>(&self, cells: &[&'r str], wanted: &Column) -> Option<(usize, &'r str)> {
        let column = self.columns.iter().position(|column| column == wanted)?;
        cells.get(column).map(|cell| (column, *cell))
    }

    fn tie<'r>(
        &self,
        cells: &[&'r str],
        row: &Row<'_>,
        errors: &mut Vec<Diagnostic>,
    ) -> Option<&'r str> {
        let (column, tie) = self.cell(cells, &Column::Tie)?;
        if tie.is_empty() {
            let message = "this row does not say which tie it is of";
            let error = row.error_at(column, Code::BlankRow, message);
            errors.push(error.hint("give the tie an id in the column `tie`"));
            return None;
        }
        Some(tie)
    }

    /// The subject a row is judged by, drafted when it first comes up.
    fn found(
        &mut self,
        cells: &[&str],
        row: &Row<'_>,
        errors: &mut Vec<Diagnostic>,
    ) -> Option<Found> {
        let blank = (0, "");
        let (style_column, style) = self.cell(cells, &Column::Style).unwrap_or(blank);
        let (size_column, size) = self.cell(cells, &Column::Size).unwrap_or(blank);
        let of_file = match self.program.styles() {
            [only] => Some(&*only.name),
            _ => None,
        };
        let style = match (style, self.defaults.style.or(of_file)) {
            ("", Some(style)) => style,
            ("", None) => {
                let message = "this row does not say which style it is of";
                let error = row.error_at(style_column, Code::UnknownStyle, message);
                let styles = self.program.styles().iter();
                let known = listed(styles.map(|info| &*info.name));
                let hint =
                    format!("fill in the style ({known}), or say it for all rows with `--style`");
                errors.push(error.hint(hint));
                return None;
            }
            (said, _) => said,
        };
        let size = match (size, self.defaults.size) {
            ("", Some(size)) => size,
            (said, _) => said,
        };
        let known = self.known.get(style).and_then(|sizes| sizes.get(size));
        if let Some(found) = known {
            if found.is_none() {
                errors.push(undrafted(row));
            }
            return found.clone();
        }
        let place = (style_column, size_column);
        match self.info(style, size, place, row) {
            Ok(info) => self.drafted(info, size, row, errors),
            Err(error) => {
                errors.push(*error);
                None
            }
        }
    }

    /// The style of that name, if it has a size of that one.
    fn info(
        &self,
        style: &str,
        size: &str,
        columns: (usize, usize),
        row: &Row<'_>,
    ) -> Result<&'p StyleInfo, Box<Diagnostic>> {
        let styles = self.program.styles();
        let Some(info) = styles.iter().find(|info| *info.name == *style) else {
            let message = format!("there is no style `{style}`");
            let error = row.error_at(columns.0, Code::UnknownStyle, message);
            let near = nearest(style, styles.iter().map(|info| &*info.name));
            return Err(Box::new(meant(
                error,
                near,
                "write the name as in the shape file",
            )));
        };
        if !size.is_empty() && !info.sizes.iter().any(|known| **known == *size) {
            let message = format!("`{style}` has no size `{size}`");
            let error = row.error_at(columns.1, Code::UnknownSize, message);
            let near = nearest(size, info.sizes.iter().map(|size| &**size));
            let advice = match info.sizes.as_slice() {
                [] => "leave it blank for the style as it stands".to_owned(),
                sizes => format!(
                    "write {}, or leave it blank for the style as it stands",
                    listed(sizes.iter().map(|size| &**size))
                ),
            };
            return Err(Box::new(meant(error, near, &advice)));
        }
        Ok(info)
    }

    fn drafted(
        &mut self,
        info: &StyleInfo,
        size: &str,
        row: &Row<'_>,
        errors: &mut Vec<Diagnostic>,
    ) -> Option<Found> {
        let named = (!size.is_empty()).then_some(size);
        let drafted = self.program.draft(&info.name, named);
        let failed = drafted.diagnostics.iter().any(Diagnostic::is_error);
        let subject = drafted
            .draft
            .filter(|_| !failed)
            .map(|draft| Subject::new(&draft));
        if subject.is_none() {
            errors.extend(drafted.diagnostics);
            errors.push(undrafted(row));
        }
        let found = subject.map(|subject| self.add(subject));
        let sizes = self.known.entry(info.name.to_string()).or_default();
        sizes.insert(size.to_owned(), found.clone());
        found
    }

    fn add(&mut self, subject: Subject) -> Found {
        let point_of = |column: &Column| match column {
            Column::Point(name, _) => subject.points.iter().position(|p| p.name == *name),
            _ => None,
        };
        let points = self.columns.iter().map(point_of).collect();
        let mut inspections = Vec::with_capacity(subject.points.len());
        for point in &subject.points {
            let next = u32::try_from(self.inspections.len()).unwrap_or(u32::MAX);
            let known = self.inspections.entry(point.inspection.clone());
            inspections.push(*known.or_insert(next));
        }
        self.out.subjects.push(subject);
        Found {
            subject: self.out.subjects.len() - 1,
            points,
            inspections: inspections.into(),
        }
    }

    /// Reads the lengths of a row.
    fn lengths(
        &mut self,
        cells: &[&str],
        found: &Found,
        row: &Row<'_>,
        errors: &mut Vec<Diagnostic>,
    ) {
        let Some(subject) = self.out.subjects.get(found.subject) else {
            return;
        };
        for (index, (column, cell)) in self.columns.iter().zip(cells).enumerate() {
            let Column::Point(name, unit) = column else {
                continue;
            };
            if cell.is_empty() {
                continue;
            }
            let Some(point) = found.points.get(index).copied().flatten() else {
                let message = format!("{} has no point `{name}`", subject.title);
                let error = row.error_at(index, Code::NoPoint, message);
                errors.push(error.hint("leave the cell blank"));
                continue;
            };
            match length(cell, *unit) {
                Ok(reading) => self.readings.push((index, point, reading)),
                Err(wrong) => errors.push(
                    row.error_at(index, wrong.code, wrong.message)
                        .label(format!("in column `{name}`"))
                        .hint(wrong.hint),
                ),
            }
        }
        for (index, point, reading) in &self.readings {
            let wanted = subject.points.get(*point).map(|p| p.tally.wanted().0);
            let wild = wanted.filter(|value| {
                let ratio = reading / value;
                !(1.0 / WILD..=WILD).contains(&ratio)
            });
            if let Some(value) = wild.filter(|_| errors.is_empty()) {
                self.out
                    .findings
                    .push(doubtful(row, *index, *reading, value));
            }
        }
    }

    /// Complains about a tie that was read before at the same inspection.
    fn read_before(&self, tie: &str, found: &Found, row: &Row<'_>) -> Option<Diagnostic> {
        let seen = self.ties.get(tie)?;
        let mut read = self.readings.iter();
        let twice = read.find(|(_, point, _)| {
            let inspection = found.inspections.get(*point);
            inspection.is_some_and(|inspection| seen.at.contains(inspection))
        })?;
        let subject = self.out.subjects.get(found.subject)?;
        let inspection = &subject.points.get(twice.1)?.inspection;
        let column = self
            .columns
            .iter()
            .position(|column| *column == Column::Tie)?;
        let message = format!("`{tie}` was read before at the inspection `{inspection}`");
        let error = row.error_at(column, Code::ReadTwice, message);
        Some(error.hint("keep one of the two rows, or give this tie another id"))
    }

    /// Counts the readings of a row that is good.
    fn count(&mut self, tie: &str, found: &Found) {
        let Some(subject) = self.out.subjects.get_mut(found.subject) else {
            return;
        };
        self.out.judged += 1;
        subject.rows += 1;
        let seen = self.ties.entry(tie.into()).or_default();
        let mut read = self.readings.iter().peekable();
        for (index, point) in found.points.iter().enumerate() {
            let Some(point) = *point else { continue };
            let Some(tally) = subject.points.get_mut(point).map(|p| &mut p.tally) else {
                continue;
            };
            let Some((.., reading)) = read.next_if(|(column, ..)| *column == index) else {
                tally.blank += 1;
                continue;
            };
            tally.add(*reading);
            seen.at.extend(found.inspections.get(point));
            if tally.past(*reading) != 0.0 {
                seen.outside = true;
                self.out.outside.push(Outside {
                    tie: tie.into(),
                    subject: found.subject,
                    point,
                    reading: *reading,
                });
            }
        }
        seen.at.sort_unstable();
        seen.at.dedup();
    }

    fn finish(mut self) -> Judged {
        self.out.ties = self.ties.len();
        self.out.ties_outside = self.ties.values().filter(|tie| tie.outside).count();
        self.out
    }
}

fn undrafted(row: &Row<'_>) -> Diagnostic {
    let message = "this tie cannot be judged, since its pattern cannot be drafted";
    row.error(Code::NoDraft, message)
        .hint("put the pattern right first; `tiewright check` tells what is wrong with it")
}

fn meant(error: Diagnostic, near: Option<&str>, otherwise: &str) -> Diagnostic {
    match near {
        Some(near) => error.hint(format!("did you mean `{near}`?")),
        None => error.hint(otherwise),
    }
}

/// A reading that may be in another unit than it says. It is judged all the same.
fn doubtful(row: &Row<'_>, column: usize, reading: f64, value: f64) -> Diagnostic {
    use tiewright_core::draft::Unit::Millimetre;
    use tiewright_core::format::{INCH, in_words};
    let message = format!(
        "this reading is {}, where about {} is meant",
        in_words(reading, Millimetre),
        in_words(value, Millimetre)
    );
    let warning = row.warning_at(column, Code::WildReading, message);
    // Written as millimetres though read in the other unit, and the other way round.
    let others = [("inches", INCH), ("centimetres", 10.0)];
    let near = |other: f64| (other / value - 1.0).abs() < MEANT;
    for (name, size) in others {
        if near(reading * size) {
            return warning.hint(format!("it would be right in {name}: check the unit"));
        }
        if near(reading / size) {
            return warning.hint(format!(
                "it would be right if it were not in {name}: check the unit"
            ));
        }
    }
    warning.hint("check the number and its unit; it is judged as it stands")
}

/// A reading in another unit is meant where it is then so near to what it should be.
const MEANT: f64 = 0.1;

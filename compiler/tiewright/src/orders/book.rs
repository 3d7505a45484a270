//! Reads an order book row by row. A row that is wrong anywhere is refused as a whole, and the message
//! says where and what to do; all others become lines of the book. Nothing here plans or reads a file.

use std::collections::BTreeMap;
use std::sync::Arc;

use csv::ByteRecord;
use tiewright_core::StyleInfo;
use tiewright_core::check::expr::listed;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::names::nearest;
use tiewright_core::source::FileId;

use super::cell::{Day, Unreadable, day, quantity};
use super::columns::{Column, HEADING, columns};
use crate::rows::findings::Findings;
use crate::rows::{Row, Rows, is_blank, misshapen, of_table, texts, wide_text};

/// The longest number or name in a cell, characters: it has to stand on a ticket.
const LONGEST: usize = 60;

/// The names an order book may speak of.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The styles, each with its sizes.
    pub styles: &'a [StyleInfo],
    /// The cloths, in order.
    pub cloths: &'a [Arc<str>],
}

/// An order book that has been read.
#[derive(Debug, Default)]
pub struct Book {
    /// The numbers of the orders, in the order they first come up.
    pub orders: Vec<Arc<str>>,
    /// The customers, likewise.
    pub customers: Vec<Arc<str>>,
    /// The articles ordered, likewise.
    pub wares: Vec<Ware>,
    /// The lines that are good, in the order of the rows.
    pub lines: Vec<Line>,
    /// Rows below the heading that are not empty; the good ones and those refused.
    pub rows: u64,
    /// What is wrong.
    pub findings: Findings,
}

/// What is ordered: one style in one size, from a cloth.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ware {
    /// The style.
    pub style: Arc<str>,
    /// The named size; the style as it stands without one.
    pub size: Option<Arc<str>>,
    /// The cloth that stands for the first role; the style's own without one.
    pub cloth: Option<Arc<str>>,
}

/// A line of the book. Its parts are places in the lists of the [`Book`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// The first byte of its row.
    pub start: usize,
    /// The order.
    pub order: usize,
    /// Who ordered.
    pub customer: usize,
    /// What.
    pub ware: usize,
    /// How many; at least 1.
    pub quantity: u32,
    /// When it is wanted.
    pub due: Option<Day>,
}

impl Book {
    /// Rows that are no lines.
    pub fn refused(&self) -> u64 {
        self.rows - self.lines.len() as u64
    }

    /// Refuses every line of which `why` gives a reason, and keeps the reason.
    pub fn refuse(&mut self, why: impl Fn(&Line) -> Option<Diagnostic>) {
        let findings = &mut self.findings;
        self.lines.retain(|line| match why(line) {
            Some(error) => {
                findings.push_alike(error);
                false
            }
            None => true,
        });
    }
}

/// Reads the book `bytes`, which diagnostics call `file`.
pub fn read(bytes: &[u8], file: FileId, known: Known<'_>) -> Book {
    let mut reader = Reader {
        known,
        columns: Vec::new(),
        orders: Names::default(),
        customers: Names::default(),
        wares: BTreeMap::new(),
        customer_of: BTreeMap::new(),
        seen: BTreeMap::new(),
        book: Book::default(),
    };
    if let Some(error) = wide_text(bytes, file) {
        reader.book.findings.push(error);
        return reader.book;
    }
    let mut rows = Rows::new(bytes, file);
    let Some((heading, row)) = rows.next_row() else {
        let error = of_table(file, Code::NoColumn, "the order book is empty");
        let hint = format!("begin it with a heading: `{HEADING}`");
        reader.book.findings.push(error.hint(hint));
        return reader.book;
    };
    let good = reader.heading(heading, &row);
    while let Some((record, row)) = rows.next_row() {
        if is_blank(record) {
            continue;
        }
        reader.book.rows += 1;
        if good {
            reader.row(record, &row);
        }
    }
    reader.book.orders = reader.orders.list;
    reader.book.customers = reader.customers.list;
    reader.book
}

/// Names, each with its place in a list.
#[derive(Default)]
struct Names {
    places: BTreeMap<Arc<str>, usize>,
    list: Vec<Arc<str>>,
}

impl Names {
    fn place(&mut self, name: &str) -> usize {
        if let Some(place) = self.places.get(name) {
            return *place;
        }
        let name: Arc<str> = name.into();
        self.list.push(name.clone());
        self.places.insert(name, self.list.len() - 1);
        self.list.len() - 1
    }
}

struct Reader<'a> {
    known: Known<'a>,
    columns: Vec<Column>,
    orders: Names,
    customers: Names,
    wares: BTreeMap<Ware, usize>,
    /// The customer of each order, and the row that says so.
    customer_of: BTreeMap<usize, (usize, usize)>,
    /// Where an order of an article was read.
    seen: BTreeMap<(usize, usize), usize>,
    book: Book,
}

/// What the cells of a row say, before it is known to be good.
struct Said<'r> {
    order: &'r str,
    customer: &'r str,
    ware: Ware,
    quantity: u32,
    due: Option<Day>,
}

impl Reader<'_> {
    /// Takes the heading; whether the rows below it can be read.
    fn heading(&mut self, record: &ByteRecord, row: &Row<'_>) -> bool {
        let mut errors = Vec::new();
        if let Some(cells) = texts(record, row, &mut errors) {
            self.columns = columns(&cells, row, &mut errors);
        }
        let good = errors.is_empty();
        errors
            .into_iter()
            .for_each(|error| self.book.findings.push(error));
        good
    }

    fn row(&mut self, record: &ByteRecord, row: &Row<'_>) {
        let mut errors = Vec::new();
        let said = self.said(record, row, &mut errors);
        if let Some(said) = said.filter(|_| errors.is_empty()) {
            match self.line(&said, row) {
                Ok(line) => self.book.lines.push(line),
                Err(error) => errors.push(*error),
            }
        }
        let findings = &mut self.book.findings;
        errors
            .into_iter()
            .for_each(|error| findings.push_alike(error));
    }

    fn said<'r>(
        &mut self,
        record: &'r ByteRecord,
        row: &Row<'_>,
        errors: &mut Vec<Diagnostic>,
    ) -> Option<Said<'r>> {
        if let Some((error, swallowed)) = misshapen(record, row, self.columns.len()) {
            self.book.rows += swallowed;
            errors.push(error);
            return None;
        }
        let cells = texts(record, row, errors)?;
        let cells = Cells {
            columns: &self.columns,
            cells,
            row,
        };
        let order = cells.name(Column::Order, "which order it is of", errors);
        let customer = cells.name(Column::Customer, "whose order it is", errors);
        let ware = self.ware(&cells, errors);
        let quantity = cells.read(Column::Quantity, quantity, errors);
        let due = match cells.at(Column::Due) {
            (_, "") => Some(None),
            _ => cells.read(Column::Due, day, errors).map(Some),
        };
        Some(Said {
            order: order?,
            customer: customer?,
            ware: ware?,
            quantity: quantity?,
            due: due?,
        })
    }

    /// The article of a row.
    fn ware(&self, cells: &Cells<'_, '_>, errors: &mut Vec<Diagnostic>) -> Option<Ware> {
        let style = cells.name(Column::Style, "which style is ordered", errors);
        let found = style.and_then(|style| {
            let found = self.known.styles.iter().find(|info| *info.name == *style);
            if found.is_none() {
                let names = self.known.styles.iter().map(|info| &*info.name);
                errors.push(cells.unknown(Column::Style, style, "style", names));
            }
            found
        });
        let size = match (cells.at(Column::Size).1, found) {
            ("", _) | (_, None) => None,
            (size, Some(info)) => {
                let known = info.sizes.iter().find(|known| ***known == *size);
                if known.is_none() {
                    errors.push(no_size(cells, info, size));
                }
                known.cloned()
            }
        };
        let cloth = match cells.at(Column::Cloth).1 {
            "" => None,
            cloth => {
                let at = self
                    .known
                    .cloths
                    .binary_search_by(|known| (**known).cmp(cloth));
                if at.is_err() {
                    let names = self.known.cloths.iter().map(|name| &**name);
                    errors.push(cells.unknown(Column::Cloth, cloth, "cloth", names));
                }
                at.ok().and_then(|at| self.known.cloths.get(at)).cloned()
            }
        };
        Some(Ware {
            style: found?.name.clone(),
            size,
            cloth,
        })
    }

    /// The line a row comes to, unless it contradicts one before it.
    fn line(&mut self, said: &Said<'_>, row: &Row<'_>) -> Result<Line, Box<Diagnostic>> {
        let order = self.orders.place(said.order);
        let customer = self.customers.place(said.customer);
        let column = |wanted| self.columns.iter().position(|c| *c == wanted).unwrap_or(0);
        let (whose, first) = *self
            .customer_of
            .entry(order)
            .or_insert((customer, row.start));
        let before = |start| Row { start, ..*row }.cell(column(Column::Order));
        if whose != customer {
            let other = self.customers.list.get(whose).map_or("", |name| name);
            let message = format!("order `{}` is an order of `{other}` above", said.order);
            let error = row.error_at(column(Column::Customer), Code::OrderedTwice, message);
            let error = error.also(before(first), "first ordered here");
            return Err(Box::new(
                error.hint("give each customer's order a number of its own"),
            ));
        }
        let next = self.wares.len();
        let ware = *self.wares.entry(said.ware.clone()).or_insert(next);
        if ware == next {
            self.book.wares.push(said.ware.clone());
        }
        let first = *self.seen.entry((order, ware)).or_insert(row.start);
        if first != row.start {
            let message = format!(
                "order `{}` has this article in this cloth twice",
                said.order
            );
            let error = row.error_at(column(Column::Order), Code::OrderedTwice, message);
            let error = error.also(before(first), "first ordered here");
            let hint = "put both rows together, or give one of them another order number";
            return Err(Box::new(error.hint(hint)));
        }
        Ok(Line {
            start: row.start,
            order,
            customer,
            ware,
            quantity: said.quantity,
            due: said.due,
        })
    }
}

/// The cells of one row.
struct Cells<'r, 'c> {
    columns: &'c [Column],
    cells: Vec<&'r str>,
    row: &'c Row<'c>,
}

impl<'r> Cells<'r, '_> {
    /// Which column that is, and what stands there; nothing where the book has no such column.
    fn at(&self, wanted: Column) -> (usize, &'r str) {
        let column = self.columns.iter().position(|column| *column == wanted);
        let found = column.and_then(|column| Some((column, *self.cells.get(column)?)));
        found.unwrap_or((0, ""))
    }

    /// A name that must be there; `what` it is is said where it is not.
    fn name(&self, wanted: Column, what: &str, errors: &mut Vec<Diagnostic>) -> Option<&'r str> {
        let (column, cell) = self.at(wanted);
        if cell.is_empty() {
            let message = format!("this row does not say {what}");
            let error = self.row.error_at(column, Code::BlankRow, message);
            errors.push(error.hint("fill the cell in, or take the row out"));
            return None;
        }
        if cell.chars().nth(LONGEST).is_some() {
            let message = format!("this is longer than {LONGEST} letters");
            let error = self.row.error_at(column, Code::TooLong, message);
            errors.push(error.hint("shorten it: it has to stand on a ticket"));
            return None;
        }
        if cell.chars().any(char::is_control) {
            let message = "a sign in this cell cannot be printed";
            let error = self.row.error_at(column, Code::NotText, message);
            errors.push(error.hint("type the cell anew: it has to stand on a ticket"));
            return None;
        }
        Some(cell)
    }

    fn read<T>(
        &self,
        wanted: Column,
        read: impl Fn(&str) -> Result<T, Box<Unreadable>>,
        errors: &mut Vec<Diagnostic>,
    ) -> Option<T> {
        let (column, cell) = self.at(wanted);
        match read(cell) {
            Ok(value) => Some(value),
            Err(wrong) => {
                let error = self.row.error_at(column, wrong.code, wrong.message);
                errors.push(error.hint(wrong.hint));
                None
            }
        }
    }

    /// Nothing is called `name`.
    fn unknown<'n>(
        &self,
        column: Column,
        name: &str,
        what: &str,
        known: impl Iterator<Item = &'n str> + Clone,
    ) -> Diagnostic {
        let code = if column == Column::Style {
            Code::UnknownStyle
        } else {
            Code::UnknownCloth
        };
        let error = self.row.error_at(
            self.at(column).0,
            code,
            format!("there is no {what} `{name}`"),
        );
        error.hint(match nearest(name, known.clone()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => match listed(known) {
                list if list.is_empty() => format!("the shape file names no {what}"),
                list => format!("write {list}"),
            },
        })
    }
}

fn no_size(cells: &Cells<'_, '_>, info: &StyleInfo, size: &str) -> Diagnostic {
    let message = format!("`{}` has no size `{size}`", info.name);
    let column = cells.at(Column::Size).0;
    let error = cells.row.error_at(column, Code::UnknownSize, message);
    let sizes = || info.sizes.iter().map(|size| &**size);
    error.hint(match nearest(size, sizes()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if info.sizes.is_empty() => "leave it blank for the style as it stands".to_owned(),
        None => format!(
            "write {}, or leave it blank for the style as it stands",
            listed(sizes())
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiewright_core::source::Sources;

    const HEADING: &str = "order,customer,style,size,cloth,quantity,due\n";

    fn styles() -> Vec<StyleInfo> {
        let style = |name: &str, sizes: &[&str]| StyleInfo {
            name: name.into(),
            doc: "".into(),
            sizes: sizes.iter().map(|size| (*size).into()).collect(),
            points: Vec::new(),
        };
        vec![style("choir-tie", &["long", "short"]), style("bow", &[])]
    }

    fn book(table: impl AsRef<[u8]>) -> Book {
        let styles = styles();
        let cloths: Vec<Arc<str>> = ["navy", "stripe"].map(Into::into).to_vec();
        let known = Known {
            styles: &styles,
            cloths: &cloths,
        };
        read(table.as_ref(), FileId(0), known)
    }

    /// The codes of what is wrong, and how many lines are good.
    fn wrong(table: impl AsRef<[u8]>) -> (Vec<Code>, usize) {
        let book = book(table);
        let (lines, refused) = (book.lines.len(), book.refused());
        let (shown, more) = book.findings.into_shown();
        assert_eq!(more, 0);
        assert!(shown.iter().all(|error| !error.hints.is_empty()));
        assert_eq!(refused == 0, shown.is_empty(), "{shown:?}");
        (shown.iter().map(|error| error.code).collect(), lines)
    }

    #[test]
    fn a_good_book_is_read_whole() {
        let rows = "H-1,Choir,choir-tie,long,stripe,12,2027-03-31\r\n\r\n\
                    H-1,Choir,choir-tie,long,,4,\r\nH-2,\"Club, rowing\",bow,,navy,1,2027-02-01\r\n";
        let book = book(format!("\u{FEFF}{HEADING}{rows}"));
        assert!(book.findings.is_empty());
        assert_eq!((book.rows, book.lines.len()), (3, 3));
        assert_eq!(book.customers, ["Choir".into(), "Club, rowing".into()]);
        let said = |line: &Line| (line.order, line.ware, line.quantity);
        let lines: Vec<_> = book.lines.iter().map(said).collect();
        assert_eq!(lines, [(0, 0, 12), (0, 1, 4), (1, 2, 1)]);
        assert_eq!(book.wares[1].cloth, None);
        assert_eq!(book.wares[2].size, None);
        let due = book.lines[0].due.map(|day| day.to_string());
        assert_eq!(due.as_deref(), Some("2027-03-31"));
    }

    #[test]
    fn headings_stand_in_any_order() {
        let book = book("Quantity;style;Customer;ORDER;note\n3;bow;Choir;7;in a hurry\n");
        assert!(book.findings.is_empty());
        assert_eq!(book.lines[0].quantity, 3);
    }

    #[test]
    fn headings_that_are_wrong_refuse_all_rows() {
        for (heading, code) in [
            ("order,customer,style,quantity,colour", Code::UnknownColumn),
            ("order,customer,stile,quantity", Code::UnknownColumn),
            ("order,customer,style", Code::NoColumn),
            (
                "order,customer,style,quantity,size,Size",
                Code::DeclaredTwice,
            ),
        ] {
            let book = book(format!("{heading}\n1,a,bow,2\n2,a,bow,2\n"));
            assert_eq!((book.rows, book.refused()), (2, 2), "{heading}");
            let (shown, _) = book.findings.into_shown();
            assert_eq!(shown[0].code, code, "{heading}");
        }
        let empty = book("");
        assert_eq!((empty.rows, empty.findings.is_empty()), (0, false));
    }

    #[test]
    fn every_bad_line_says_what_is_wrong_and_refuses_itself_alone() {
        for (row, code) in [
            ("2,Choir,choir-tei,,,1,", Code::UnknownStyle),
            ("2,Choir,choir-tie,lnog,,1,", Code::UnknownSize),
            ("2,Choir,bow,long,,1,", Code::UnknownSize),
            ("2,Choir,bow,,nayv,1,", Code::UnknownCloth),
            ("2,Choir,bow,,,0,", Code::BadCount),
            ("2,Choir,bow,,,-1,", Code::BadCount),
            ("2,Choir,bow,,,1.5,", Code::BadCount),
            ("2,Choir,bow,,,1000000,", Code::BadCount),
            ("2,Choir,bow,,,1,31.3.2027", Code::BadDate),
            ("2,Choir,bow,,,1,2027-02-30", Code::BadDate),
            (",Choir,bow,,,1,", Code::BlankRow),
            ("2,,bow,,,1,", Code::BlankRow),
            ("2,Choir,,,,1,", Code::BlankRow),
            ("2,Choir,bow,,,1", Code::CellCount),
            ("2,Choir,bow,,,1,,", Code::CellCount),
            ("1,Choir,bow,,,5,", Code::OrderedTwice),
            ("1,Club,bow,,navy,5,", Code::OrderedTwice),
        ] {
            let table = format!("{HEADING}1,Choir,bow,,,2,\n{row}\n3,Club,bow,,,2,\n");
            assert_eq!(wrong(&table), (vec![code], 2), "{row}");
        }
    }

    #[test]
    fn what_is_no_text_is_refused() {
        let mut latin = HEADING.as_bytes().to_vec();
        latin.extend(b"1,Caf\xE9,bow,,,2,\n2,Club,bow,,,2,\n");
        assert_eq!(wrong(latin), (vec![Code::NotText], 1));
        let steering = format!("{HEADING}1,Ch\u{1b}[31moir,bow,,,2,\n2,Club,bow,,,2,\n");
        assert_eq!(wrong(steering), (vec![Code::NotText], 1));
        let wide: Vec<u8> = "\u{FEFF}order,style\n"
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        for wide in [&wide, &wide[2..]] {
            let (shown, more) = book(wide).findings.into_shown();
            assert_eq!((shown.len(), more), (1, 0));
            assert_eq!(shown[0].code, Code::NotText);
        }
    }

    #[test]
    fn the_same_mistake_is_shown_once() {
        let rows: String = (0..500)
            .map(|n| format!("{n},Choir,choir-tei,,,1,\n"))
            .collect();
        let table = format!("{HEADING}{rows}");
        let book = book(&table);
        assert_eq!((book.rows, book.refused()), (500, 500));
        let (shown, more) = book.findings.into_shown();
        assert_eq!((shown.len(), more), (1, 0));
        assert_eq!(shown[0].hints[1], "499 more rows have the same mistake");
        let mut sources = Sources::default();
        let file = sources.add("book.csv", table.as_str());
        let place = shown[0].primary.as_ref().map(|label| label.span.start);
        assert_eq!(sources.position(file, place.unwrap_or(0)), (2, 9));
    }
}

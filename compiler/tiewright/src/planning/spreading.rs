//! The spreading list of a lay: what whoever spreads the cloth goes by.
//!
//! Nothing here knows a page.

use tiewright_core::cloth::Direction;
use tiewright_core::draft::Tool;
use tiewright_core::format::{decimal, paper_mm};
use tiewright_core::paper::{Align, Block, Cell, Column, Document, Paper, Table, caution};

use super::assign::Bundle;
use super::plan::Lay;
use super::text::{Told, metres, plies_word};
use super::tickets;
use crate::lay::job::{JobArticle, JobCloth};

/// The papers of the lay at place `index` of the plan.
pub fn papers(told: &Told<'_>, index: usize, lay: &Lay, bundles: &[Bundle]) -> Document {
    Document {
        title: lay.name.as_str().into(),
        doc: told.planned.title(lay),
        papers: vec![
            spreading(told, index, lay),
            tickets::paper(told, lay, bundles),
        ],
    }
}

fn spreading(told: &Told<'_>, index: usize, lay: &Lay) -> Paper {
    let direction = cloth(told, lay).map_or(Direction::OneWay, |cloth| cloth.direction);
    let blocks = vec![
        Block::Facts(
            ["spread by", "checked by", "cut by", "date"]
                .map(str::to_owned)
                .to_vec(),
        ),
        caution(Tool::Blade).into(),
        Block::Heading("The lay".to_owned()),
        Block::Table(measures(told, lay)),
        Block::Heading("Plies, from the table up".to_owned()),
        Block::Table(plies(told, index, lay)),
        Block::Paragraph(way(direction).to_owned()),
        Block::Heading("In the marker".to_owned()),
        Block::Table(marker(told, lay)),
    ];
    Paper {
        title: "Spreading list".to_owned(),
        blocks,
    }
}

/// The first cloth of a lay: all of it have its width and direction.
fn cloth<'a>(told: &Told<'a>, lay: &'a Lay) -> Option<&'a JobCloth> {
    let mut spread = told.planned.spread(lay, told.articles);
    spread.next().map(|(stuff, _)| &stuff.cloth)
}

/// How plies lie, in words.
fn way(direction: Direction) -> &'static str {
    match direction {
        Direction::OneWay => {
            "Spread every ply face up and with its design running the same way: cut each ply off at the end, \
             and start the next at the same end of the table."
        }
        Direction::TwoWay | Direction::AnyWay => {
            "Spread every ply face up; which end of the cloth comes first does not matter. Never face to face: \
             the pieces of every other ply would be mirror images."
        }
    }
}

fn column(heading: &str, align: Align, share: f64) -> Column {
    Column {
        heading: heading.to_owned(),
        align,
        share,
    }
}

fn words(text: impl Into<String>) -> Cell {
    Cell::Words(text.into())
}

fn named(name: &str, note: &str) -> Cell {
    Cell::Named {
        name: name.to_owned(),
        note: note.to_owned(),
    }
}

fn measures(told: &Told<'_>, lay: &Lay) -> Table {
    let (length, cloth) = (told.planned.length(lay), cloth(told, lay));
    let name = told.planned.marker(lay).map_or("", |marker| &marker.name);
    let end = told.asked.ends() / 2.0;
    let table = told.asked.table.map_or("none named", |table| &*table.name);
    let row = |name: &str, value: String, note: &str| vec![words(name), words(value), words(note)];
    let mm = |value: f64| format!("{} mm", paper_mm(value));
    let laid = match told.planned.laid(lay) {
        Some(laid) => format!(
            "laid: {} % of the usable width",
            decimal(laid.of_usable_width * 100.0, 1)
        ),
        None => "as planned; not laid yet".to_owned(),
    };
    Table {
        name: "measures of the lay".to_owned(),
        columns: vec![
            column("what", Align::Start, 42.0),
            column("how much", Align::Start, 48.0),
            column("note", Align::Start, 90.0),
        ],
        rows: vec![
            row("table", table.to_owned(), ""),
            row("plies", lay.plies().to_string(), ""),
            row(
                "cut each ply",
                mm(length + 2.0 * end),
                "the marker and both end losses",
            ),
            row("marker", name.to_owned(), ""),
            row("length of the marker", mm(length), &laid),
            row("end loss", mm(end), "beyond the marker, at each end"),
            row(
                "usable width",
                cloth.map_or_else(String::new, |cloth| mm(cloth.usable_width)),
                "the selvedges lie outside it",
            ),
            row(
                "direction",
                cloth
                    .map_or("", |cloth| cloth.direction.as_str())
                    .to_owned(),
                "of the design",
            ),
        ],
    }
}

/// A row for each stretch of plies that come from one roll.
fn plies(told: &Told<'_>, index: usize, lay: &Lay) -> Table {
    let ply = told.planned.length(lay) + told.asked.ends();
    let mut rows = Vec::new();
    let mut below = 0;
    for (stuff, count) in told.planned.spread(lay, told.articles) {
        let mut from_rolls: Vec<(String, u32)> = Vec::new();
        if let Some(allotted) = told.allotted {
            let rolls = allotted.of(index, &stuff.cloth.name);
            from_rolls.extend(rolls.map(|(roll, plies)| (roll.to_owned(), plies)));
        }
        let given: u32 = from_rolls.iter().map(|(_, plies)| plies).sum();
        if let Some(rest @ 1..) = count.checked_sub(given) {
            let roll = told.allotted.map_or("", |_| "no roll: missing");
            from_rolls.push((roll.to_owned(), rest));
        }
        for (roll, plies) in from_rolls {
            rows.push(vec![
                words(match plies {
                    1 => format!("{}", below + 1),
                    _ => format!("{} to {}", below + 1, below + plies),
                }),
                words(plies_word(u64::from(plies))),
                named(&stuff.cloth.name, &stuff.cloth.doc),
                if roll.is_empty() {
                    Cell::Blank
                } else {
                    words(roll)
                },
                words("up"),
                words(metres(ply * f64::from(plies))),
                Cell::Blank,
            ]);
            below += plies;
        }
    }
    Table {
        name: "plies in the order they are spread".to_owned(),
        columns: vec![
            column("ply", Align::Start, 22.0),
            column("how many", Align::Start, 24.0),
            column("cloth", Align::Start, 54.0),
            column("roll", Align::Start, 28.0),
            column("face", Align::Start, 14.0),
            column("cloth needed", Align::End, 24.0),
            column("done", Align::Middle, 14.0),
        ],
        rows,
    }
}

fn marker(told: &Told<'_>, lay: &Lay) -> Table {
    let row = |(article, count): (&JobArticle, u32)| {
        let pieces = article.pieces.iter();
        let pieces = pieces.map(|piece| format!("{} {}", piece.quantity, piece.name));
        vec![
            named(&article.style, ""),
            words(article.size.as_deref().unwrap_or("as it stands")),
            words(count.to_string()),
            words(pieces.collect::<Vec<_>>().join(", ")),
        ]
    };
    Table {
        name: "what lies in the marker".to_owned(),
        columns: vec![
            column("style", Align::Start, 56.0),
            column("size", Align::Start, 30.0),
            column("in the marker", Align::Start, 28.0),
            column("pieces of one", Align::Start, 66.0),
        ],
        rows: told
            .planned
            .in_marker(lay, told.articles)
            .map(row)
            .collect(),
    }
}

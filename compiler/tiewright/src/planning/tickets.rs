//! Bundle tickets: what stands on the slip that goes with the pieces of one tie, or with a stack of them,
//! and the sheets the slips are cut from. Nothing here knows a page.

use tiewright_core::layout::{fitted, text_width};
use tiewright_core::paper::{Block, HIGHEST, Paper, Picture, WIDEST};
use tiewright_core::sheet::{Align, Group, Item, Mark, Pen, Sheet, Words};
use tiewright_core::source::Span;
use tiewright_geometry::{Curve, Point, Vec2};

use super::assign::Bundle;
use super::plan::Lay;
use super::text::{Told, plies_word};
use crate::lay::job::JobArticle;

/// Tickets beside and above each other on a sheet.
const GRID: (usize, usize) = (2, 5);
/// From the edge of a ticket to its words, mm.
const INSET: f64 = 4.0;
/// Heights of capitals, mm: the bundle's name, what it is, and small print.
const LARGE: f64 = 4.2;
/// As [`LARGE`].
const PLAIN: f64 = 2.8;
/// As [`LARGE`].
const SMALL: f64 = 2.1;
/// From one baseline to the next, heights of a capital.
const LEADING: f64 = 1.75;
/// The line to cut along.
const DASHED: Pen = Pen {
    width: 0.25,
    grey: 0.4,
    dashes: &[3.0, 2.0],
};

/// What stands on one ticket.
#[derive(Debug)]
pub struct Ticket<'a> {
    lay: &'a str,
    number: usize,
    bundle: &'a Bundle,
    article: &'a JobArticle,
    /// The order; `stock` where more is cut than ordered.
    pub order: &'a str,
    /// Who ordered; empty where nobody did.
    pub customer: &'a str,
    /// The style.
    pub style: &'a str,
    /// The size, if one by name.
    pub size: Option<&'a str>,
    /// The cloth.
    pub cloth: &'a str,
    /// When it is wanted.
    pub due: Option<String>,
}

/// The ticket of the bundle with this number of a lay.
pub fn ticket<'a>(
    told: &Told<'a>,
    lay: &'a Lay,
    number: usize,
    bundle: &'a Bundle,
) -> Option<Ticket<'a>> {
    let group = told.planned.groups.get(lay.group)?;
    let article = &told
        .articles
        .cuts
        .get(*group.cuts.get(bundle.cut)?)?
        .article;
    let stuff = told.articles.stuffs.get(*group.stuffs.get(bundle.stuff)?)?;
    let line = bundle.line.and_then(|line| told.book.lines.get(line));
    let order = line.and_then(|line| told.book.orders.get(line.order));
    let customer = line.and_then(|line| told.book.customers.get(line.customer));
    Some(Ticket {
        lay: &lay.name,
        number,
        bundle,
        article,
        order: order.map_or("stock", |order| order),
        customer: customer.map_or("", |customer| customer),
        style: &article.style,
        size: article.size.as_deref(),
        cloth: &stuff.cloth.name,
        due: line.and_then(|line| line.due).map(|day| day.to_string()),
    })
}

impl Ticket<'_> {
    /// `1 blade, 2 loop`: the pieces of one article.
    pub fn pieces(&self) -> String {
        let pieces = self.article.pieces.iter();
        let all = pieces.map(|piece| format!("{} {}", piece.quantity, piece.name));
        all.collect::<Vec<_>>().join(", ")
    }

    fn plies(&self) -> String {
        let Bundle { first, plies, .. } = *self.bundle;
        match plies {
            1 => format!("ply {first}"),
            _ => format!("plies {first} to {}", first + plies - 1),
        }
    }

    /// The lines of the ticket with the heights of their capitals.
    fn lines(&self) -> Vec<(String, f64)> {
        let size = self
            .size
            .map_or_else(String::new, |size| format!(", size {size}"));
        let due = self
            .due
            .as_ref()
            .map_or_else(String::new, |due| format!(", due {due}"));
        let many = self.bundle.plies;
        let each = if many == 1 { "" } else { " each" };
        vec![
            (format!("{} / bundle {}", self.lay, self.number), LARGE),
            (format!("{many} x {}{size}", self.style), PLAIN),
            (format!("cloth {}", self.cloth), PLAIN),
            (format!("order {}{due}", self.order), PLAIN),
            (self.customer.to_owned(), PLAIN),
            (
                format!("tie {} of the marker, {}", self.bundle.tie, self.plies()),
                SMALL,
            ),
            (format!("{}{each}", self.pieces()), SMALL),
        ]
    }
}

/// The sheets of tickets of a lay.
pub fn paper(told: &Told<'_>, lay: &Lay, bundles: &[Bundle]) -> Paper {
    let tickets: Vec<Ticket<'_>> = (1..)
        .zip(bundles)
        .filter_map(|(number, bundle)| ticket(told, lay, number, bundle))
        .collect();
    let pages = tickets.chunks(GRID.0 * GRID.1);
    let count = pages.len();
    let picture = |(page, tickets): (usize, &[Ticket<'_>])| {
        Block::Picture(Picture {
            caption: format!(
                "Sheet {} of {count}, {}. Cut along the dashed lines; one goes with each bundle.",
                page + 1,
                lay.name
            ),
            drawing: sheet(&lay.name, page, tickets),
        })
    };
    let mut blocks = vec![Block::Paragraph(format!(
        "{} in {}. A bundle is the pieces of one place in the marker out of plies that lie on one another: \
         tie them together and keep the ticket on them.",
        plies_word(lay.plies()),
        crate::table::counted(tickets.len(), "bundle"),
    ))];
    blocks.extend(pages.enumerate().map(picture));
    Paper {
        title: "Bundle tickets".to_owned(),
        blocks,
    }
}

/// One sheet of tickets, no higher than its rows.
fn sheet(lay: &str, page: usize, tickets: &[Ticket<'_>]) -> Sheet {
    let (across, up) = GRID;
    let (wide, high) = (WIDEST / across as f64, HIGHEST / up as f64);
    let rows = tickets.len().div_ceil(across);
    let height = rows as f64 * high;
    let mut items = Vec::new();
    for (index, ticket) in tickets.iter().enumerate() {
        let left = (index % across) as f64 * wide;
        let top = height - (index / across) as f64 * high;
        write(
            &mut items,
            ticket,
            Point::new(left + INSET, top - INSET),
            wide - 2.0 * INSET,
        );
    }
    for column in 0..=across {
        let x = column as f64 * wide;
        rule(&mut items, Point::new(x, 0.0), Point::new(x, height));
    }
    for row in 0..=rows {
        let y = row as f64 * high;
        rule(&mut items, Point::new(0.0, y), Point::new(WIDEST, y));
    }
    Sheet {
        title: format!("{lay}, tickets {}", page + 1).into(),
        facts: Vec::new(),
        width: WIDEST,
        height,
        groups: vec![Group {
            name: format!("tickets-{}", page + 1).into(),
            is_piece: false,
            facts: Vec::new(),
            offset: Vec2::ZERO,
            items,
        }],
    }
}

/// Writes a ticket with its upper left corner at `corner`.
fn write(items: &mut Vec<Item>, ticket: &Ticket<'_>, corner: Point, width: f64) {
    let mut y = corner.y;
    for (text, height) in ticket.lines() {
        y -= height;
        // Small print is made smaller rather than cut short, down to half of it.
        let ratio = (width / text_width(&text, height).max(1.0)).clamp(0.5, 1.0);
        let height_used = if height > SMALL {
            height
        } else {
            height * ratio
        };
        items.push(Item {
            mark: Mark::Label(Words {
                text: fitted(&text, height_used, width).into(),
                at: Point::new(corner.x, y),
                align: Align::Start,
                height: height_used,
                angle: 0.0,
            }),
            span: Span::default(),
        });
        y -= height * (LEADING - 1.0);
    }
}

fn rule(items: &mut Vec<Item>, from: Point, to: Point) {
    if let Ok(curve) = Curve::line(from, to) {
        items.push(Item {
            mark: Mark::Stroke(curve, DASHED),
            span: Span::default(),
        });
    }
}

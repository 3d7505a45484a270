//! A plan for people at a table: lays, cloth, what is not planned.
//!
//! Nothing is reckoned here but shares of the cost.

use std::fmt::Write;

use tiewright_core::format::decimal;

use super::articles::Articles;
use super::plan::{Asked, Lay, NO_PRICE, Planned};
use super::store::{Allotted, Drawn};
use super::sums::Sums;
use crate::lay::job::JobArticle;
use crate::orders::book::Book;
use crate::table::{counted, section};

/// Lays that are listed; more stand in the table that is written.
const MOST_LISTED: usize = 60;
/// Cloths and rolls that are listed.
const MOST_CLOTHS: usize = 40;
/// Square millimetres in a square metre.
const SQUARE_METRE: f64 = 1e6;

/// Everything told of a plan.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The order book.
    pub book: &'a Book,
    /// What is ordered, drafted.
    pub articles: &'a Articles,
    /// The lays.
    pub planned: &'a Planned,
    /// What the plan was made by.
    pub asked: &'a Asked<'a>,
    /// What it comes to.
    pub sums: &'a Sums,
    /// What the rolls give, if any are told.
    pub allotted: Option<&'a Allotted>,
}

/// The plan as a table.
pub fn report(told: &Told<'_>) -> String {
    let mut out = String::new();
    head(&mut out, told);
    lays(&mut out, told);
    cloths(&mut out, told);
    rolls(&mut out, told);
    unplanned(&mut out, told);
    out
}

fn head(out: &mut String, told: &Told<'_>) {
    let Told {
        book,
        planned,
        sums,
        ..
    } = told;
    let plies: u64 = planned.lays.iter().map(Lay::plies).sum();
    let rows = [
        vec![
            "orders".to_owned(),
            format!(
                "{} of {}, {}; {} of {}",
                counted(book.lines.len(), "row"),
                counted(distinct(book.lines.iter().map(|l| l.order)), "order"),
                counted(distinct(book.lines.iter().map(|l| l.customer)), "customer"),
                count(sums.ordered, "article"),
                counted(distinct(book.lines.iter().map(|l| l.ware)), "kind"),
            ),
        ],
        vec![
            "table".to_owned(),
            match told.asked.table {
                Some(table) => described(table),
                None => "none named: no limits".to_owned(),
            },
        ],
        vec![
            "work".to_owned(),
            format!(
                "{}, {}, {}",
                counted(planned.lays.len(), "lay"),
                counted(planned.markers.len(), "marker"),
                plies_word(plies)
            ),
        ],
        vec![
            "cost".to_owned(),
            format!(
                "{}: cloth {}, set-up {}, spreading {}",
                money(sums.cost.total()),
                money(sums.cost.cloth),
                money(sums.cost.set_up),
                money(sums.cost.spreading)
            ),
        ],
    ];
    let mut rows = rows.to_vec();
    if sums.bound > 0.0 {
        rows.push(vec!["to save".to_owned(), bound(sums)]);
    }
    section(out, "plan", &rows, Clone::clone);
}

/// What a better plan could save: with other markers and plies, these as long as first laid, and if the
/// pieces left no cloth between them, which no marker comes to.
fn bound(sums: &Sums) -> String {
    let total = sums.cost.total();
    let share = |least: f64| {
        let gap = if total > 0.0 {
            (total - least) / total
        } else {
            0.0
        };
        decimal(gap.max(0.0) * 100.0, 1)
    };
    let (others, all) = (share(sums.bound_at_lengths), share(sums.bound));
    if all == "0" {
        return "nothing to speak of, whatever the markers and plies".to_owned();
    }
    let others = match &*others {
        "0" => "nothing".to_owned(),
        some => format!("about {some} %"),
    };
    format!(
        "{others} with other markers and plies; less than {all} % with shorter markers, however long the search"
    )
}

fn described(table: &tiewright_core::table::Table) -> String {
    let mut said = vec![table.name.to_string()];
    said.extend(
        table
            .longest
            .map(|longest| format!("{} long", metres(longest))),
    );
    said.extend(table.plies.map(|plies| format!("{plies} plies at most")));
    said.push(format!("gap {} mm", decimal(table.gap, 1)));
    said.push(format!("end loss {} mm", decimal(table.end_loss, 1)));
    said.join(", ")
}

fn lays(out: &mut String, told: &Told<'_>) {
    let Told {
        planned,
        articles,
        asked,
        ..
    } = told;
    let heads = ["lay", "marker", "plies", "ply", "of usable width", "cost"];
    for (index, group) in planned.groups.iter().enumerate() {
        let from = planned.lays.partition_point(|lay| lay.group < index);
        let of_it = planned.lays.get(from..).unwrap_or_default();
        let of_it = of_it.iter().take_while(|lay| lay.group == index);
        let shown = of_it.take(MOST_LISTED.saturating_sub(from));
        let mut rows = vec![heads.map(str::to_owned).to_vec()];
        rows.extend(shown.map(|lay| {
            vec![
                lay.name.clone(),
                marker(told, lay),
                plies(told, lay),
                metres(planned.length(lay) + asked.ends()),
                utilisation(told, lay),
                money(planned.cost(lay, articles, asked).total()),
            ]
        }));
        if rows.len() > 1 {
            section(out, &group.title(), &rows, Clone::clone);
        }
    }
    if let Some(more @ 1..) = planned.lays.len().checked_sub(MOST_LISTED) {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "  and {} more", counted(more, "lay"));
    }
}

/// `2 x choir-tie + 1 x choir-tie long`.
pub fn marker(told: &Told<'_>, lay: &Lay) -> String {
    let one = |(article, count): (&JobArticle, u32)| {
        let size = article.size.as_ref().map(|size| format!(" {size}"));
        format!("{count} x {}{}", article.style, size.unwrap_or_default())
    };
    let all = told.planned.in_marker(lay, told.articles).map(one);
    all.collect::<Vec<_>>().join(" + ")
}

/// `12 navy + 3 stripe`.
fn plies(told: &Told<'_>, lay: &Lay) -> String {
    let spread = told.planned.spread(lay, told.articles);
    let all = spread.map(|(stuff, plies)| format!("{plies} {}", stuff.cloth.name));
    all.collect::<Vec<_>>().join(" + ")
}

/// Area over length × usable width of a marker that is laid.
fn utilisation(told: &Told<'_>, lay: &Lay) -> String {
    match told.planned.laid(lay) {
        Some(laid) => format!("{} %", decimal(laid.of_usable_width * 100.0, 1)),
        None => "not laid yet".to_owned(),
    }
}

fn cloths(out: &mut String, told: &Told<'_>) {
    let needs = &told.sums.needs;
    let heads = ["cloth", "plies", "needed", "price a metre", "cost", ""];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    rows.extend(needs.iter().take(MOST_CLOTHS).map(|need| {
        vec![
            need.cloth.clone(),
            need.plies.to_string(),
            metres(need.length),
            need.price
                .map_or_else(|| format!("none: {NO_PRICE} taken"), money),
            money(need.cost),
            need.doc.clone(),
        ]
    }));
    section(out, "cloth needed", &rows, Clone::clone);
    if let Some(more @ 1..) = needs.len().checked_sub(MOST_CLOTHS) {
        let _ = writeln!(out, "    and {} more", counted(more, "cloth"));
    }
}

fn rolls(out: &mut String, told: &Told<'_>) {
    let Some(allotted) = told.allotted else {
        return;
    };
    let lays = |plies: &[(usize, u32)]| {
        let one = |(lay, plies): &(usize, u32)| {
            let lay = told.planned.lays.get(*lay).map_or("", |lay| &*lay.name);
            format!("{plies} for {lay}")
        };
        plies.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    // Those that are cut from stand first.
    let (opened, whole): (Vec<&Drawn>, Vec<&Drawn>) = allotted
        .rolls
        .iter()
        .partition(|drawn| !drawn.plies.is_empty());
    let heads = ["cloth", "roll", "on it", "left", "plies"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    rows.extend(opened.iter().chain(&whole).take(MOST_CLOTHS).map(|drawn| {
        vec![
            drawn.roll.cloth.to_string(),
            drawn.roll.name.to_string(),
            metres_left(drawn.roll.length),
            metres_left(drawn.left),
            if drawn.plies.is_empty() {
                "not cut from".to_owned()
            } else {
                lays(&drawn.plies)
            },
        ]
    }));
    if rows.len() > 1 {
        section(out, "rolls", &rows, Clone::clone);
    }
    if let Some(more @ 1..) = allotted.rolls.len().checked_sub(MOST_CLOTHS) {
        let _ = writeln!(out, "    and {} more", counted(more, "roll"));
    }
    section(out, "missing", &allotted.missing, |missing| {
        vec![
            missing.cloth.to_string(),
            metres(missing.length),
            lays(&missing.plies),
        ]
    });
}

fn unplanned(out: &mut String, told: &Told<'_>) {
    let row = |one: &super::sums::Unplanned| {
        let why = match &one.cloth {
            Some(cloth) => format!("`{cloth}` states no width"),
            None => "no cloth named".to_owned(),
        };
        vec![
            one.role.to_string(),
            why,
            count(one.articles, "article"),
            format!("{} m² without waste", decimal(one.area / SQUARE_METRE, 2)),
        ]
    };
    section(out, "not planned", &told.sums.unplanned, row);
}

fn distinct(numbers: impl Iterator<Item = usize>) -> usize {
    numbers.collect::<std::collections::BTreeSet<_>>().len()
}

fn count(number: u64, what: &str) -> String {
    counted(usize::try_from(number).unwrap_or(usize::MAX), what)
}

/// `1 ply`, `12 plies`.
pub fn plies_word(plies: u64) -> String {
    format!("{plies} {}", if plies == 1 { "ply" } else { "plies" })
}

/// Millimetres as metres to the centimetre, never less: `2.42 m`.
pub fn metres(millimetres: f64) -> String {
    let centimetres = (millimetres / 10.0 - ROUNDING).ceil().max(0.0);
    format!("{:.2} m", centimetres / 100.0)
}

/// Millimetres as metres to the centimetre, never more: of what is there.
fn metres_left(millimetres: f64) -> String {
    let centimetres = (millimetres / 10.0 + ROUNDING).floor().max(0.0);
    format!("{:.2} m", centimetres / 100.0)
}

/// Centimetres: what sums of lengths lose is no reason for another centimetre.
const ROUNDING: f64 = 1e-6;

fn money(value: f64) -> String {
    format!("{:.2}", value + 0.0)
}

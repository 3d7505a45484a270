//! A plan for other programs. Lengths are millimetres, areas square millimetres; prices are of a metre.
//!
//! Nothing is reckoned here.

use serde::Serialize;

use super::markers::Marker;
use super::plan::Lay;
use super::text::Told;
use crate::lay::field::number;

/// What a plan says it is.
const SAYS: &str = "tiewright plan, version 1";

#[derive(Serialize)]
struct Document<'a> {
    tiewright: &'static str,
    table: Option<TableJson<'a>>,
    surplus: u32,
    rows: u64,
    planned_rows: usize,
    ordered: u64,
    cost: CostJson,
    bound: f64,
    bound_at_lengths: f64,
    groups: Vec<GroupJson<'a>>,
    lays: Vec<LayJson<'a>>,
    markers: Vec<MarkerJson<'a>>,
    cloths: Vec<ClothJson<'a>>,
    not_planned: Vec<NotPlanned<'a>>,
    rolls: Option<Vec<RollJson<'a>>>,
    missing: Option<Vec<MissingJson<'a>>>,
}

#[derive(Serialize)]
struct TableJson<'a> {
    name: &'a str,
    longest: Option<f64>,
    plies: Option<u32>,
    gap: f64,
    end_loss: f64,
    set_up: f64,
    spreading: f64,
}

#[derive(Serialize)]
struct CostJson {
    cloth: f64,
    set_up: f64,
    spreading: f64,
    total: f64,
}

#[derive(Serialize)]
struct GroupJson<'a> {
    together: Vec<(&'static str, &'a str)>,
    roles: Vec<&'a str>,
    articles: Vec<ArticleJson<'a>>,
    cloths: Vec<&'a str>,
    /// A row for each cloth, a column for each article.
    wanted: &'a [Vec<u32>],
    bound: f64,
    bound_at_lengths: f64,
    best_at_lengths: bool,
}

#[derive(Serialize)]
struct ArticleJson<'a> {
    style: &'a str,
    size: Option<&'a str>,
    area: f64,
}

#[derive(Serialize)]
struct LayJson<'a> {
    name: &'a str,
    /// The group, counted from 0.
    group: usize,
    /// The name of its marker.
    marker: &'a str,
    ply_length: f64,
    plies: Vec<PliesJson<'a>>,
    cost: CostJson,
}

#[derive(Serialize)]
struct MarkerJson<'a> {
    name: &'a str,
    /// How many lays are cut by it.
    lays: usize,
    job: &'a str,
    planned_length: f64,
    length: f64,
    laid: bool,
    of_usable_width: Option<f64>,
    of_cloth: Option<f64>,
    articles: Vec<HeldJson<'a>>,
}

#[derive(Serialize)]
struct HeldJson<'a> {
    style: &'a str,
    size: Option<&'a str>,
    count: u32,
}

#[derive(Serialize)]
struct PliesJson<'a> {
    cloth: &'a str,
    plies: u32,
}

#[derive(Serialize)]
struct ClothJson<'a> {
    cloth: &'a str,
    plies: u64,
    length: f64,
    price: Option<f64>,
    cost: f64,
}

#[derive(Serialize)]
struct NotPlanned<'a> {
    role: &'a str,
    cloth: Option<&'a str>,
    articles: u64,
    area: f64,
}

#[derive(Serialize)]
struct RollJson<'a> {
    cloth: &'a str,
    roll: &'a str,
    length: f64,
    left: f64,
    plies: Vec<(&'a str, u32)>,
}

#[derive(Serialize)]
struct MissingJson<'a> {
    cloth: &'a str,
    length: f64,
    plies: Vec<(&'a str, u32)>,
}

/// The plan as JSON.
///
/// # Errors
/// The serialiser's own.
pub fn json(told: &Told<'_>) -> Result<String, String> {
    let table = told.asked.table.map(|table| TableJson {
        name: &table.name,
        longest: table.longest,
        plies: table.plies,
        gap: table.gap,
        end_loss: table.end_loss,
        set_up: table.set_up,
        spreading: table.spreading,
    });
    let sums = told.sums;
    let document = Document {
        tiewright: SAYS,
        table,
        surplus: told.asked.surplus,
        rows: told.book.rows,
        planned_rows: told.book.lines.len(),
        ordered: sums.ordered,
        cost: cost(sums.cost),
        bound: number(sums.bound),
        bound_at_lengths: number(sums.bound_at_lengths),
        groups: groups(told),
        lays: told
            .planned
            .lays
            .iter()
            .map(|lay| lay_json(told, lay))
            .collect(),
        markers: told
            .planned
            .markers
            .iter()
            .map(|marker| marker_json(told, marker))
            .collect(),
        cloths: cloths(told),
        not_planned: not_planned(told),
        rolls: told.allotted.map(|_| rolls(told)),
        missing: told.allotted.map(|_| missing(told)),
    };
    let text = serde_json::to_string_pretty(&document).map_err(|e| e.to_string())?;
    Ok(text + "\n")
}

fn cost(cost: super::plan::Cost) -> CostJson {
    CostJson {
        cloth: number(cost.cloth),
        set_up: number(cost.set_up),
        spreading: number(cost.spreading),
        total: number(cost.total()),
    }
}

fn groups<'a>(told: &Told<'a>) -> Vec<GroupJson<'a>> {
    let article = |cut: &usize| {
        let cut = told.articles.cuts.get(*cut)?;
        Some(ArticleJson {
            style: &cut.article.style,
            size: cut.article.size.as_deref(),
            area: number(cut.area),
        })
    };
    let cloth = |stuff: &usize| Some(&*told.articles.stuffs.get(*stuff)?.cloth.name);
    let all = told.planned.groups.iter().zip(&told.planned.worth);
    all.map(|(group, worth)| GroupJson {
        together: group
            .together
            .iter()
            .map(|(what, word)| (what.as_str(), &**word))
            .collect(),
        roles: group.roles.iter().map(|role| &**role).collect(),
        articles: group.cuts.iter().filter_map(article).collect(),
        cloths: group.stuffs.iter().filter_map(cloth).collect(),
        wanted: &group.wanted,
        bound: number(worth.bound),
        bound_at_lengths: number(worth.bound_at_lengths),
        best_at_lengths: worth.best_at_lengths,
    })
    .collect()
}

fn lay_json<'a>(told: &Told<'a>, lay: &'a Lay) -> LayJson<'a> {
    let Told {
        planned, articles, ..
    } = told;
    let plies = planned
        .spread(lay, articles)
        .map(|(stuff, plies)| PliesJson {
            cloth: &stuff.cloth.name,
            plies,
        });
    LayJson {
        name: &lay.name,
        group: lay.group,
        marker: planned.marker(lay).map_or("", |marker| &marker.name),
        ply_length: number(planned.length(lay) + told.asked.ends()),
        plies: plies.collect(),
        cost: cost(planned.cost(lay, articles, told.asked)),
    }
}

fn marker_json<'a>(told: &Told<'a>, marker: &'a Marker) -> MarkerJson<'a> {
    let first = marker.lays.first();
    let first = first.and_then(|lay| told.planned.lays.get(*lay));
    let held = first
        .into_iter()
        .flat_map(|lay| told.planned.in_marker(lay, told.articles));
    let held = held.map(|(article, count)| HeldJson {
        style: &article.style,
        size: article.size.as_deref(),
        count,
    });
    let laid = marker.laid.as_ref();
    MarkerJson {
        name: &marker.name,
        lays: marker.lays.len(),
        job: &marker.digest,
        planned_length: number(marker.planned),
        length: number(marker.length()),
        laid: laid.is_some(),
        of_usable_width: laid.map(|laid| number(laid.of_usable_width)),
        of_cloth: laid.map(|laid| number(laid.of_cloth)),
        articles: held.collect(),
    }
}

fn cloths<'a>(told: &Told<'a>) -> Vec<ClothJson<'a>> {
    let needs = told.sums.needs.iter();
    needs
        .map(|need| ClothJson {
            cloth: &need.cloth,
            plies: need.plies,
            length: number(need.length),
            price: need.price,
            cost: number(need.cost),
        })
        .collect()
}

fn not_planned<'a>(told: &Told<'a>) -> Vec<NotPlanned<'a>> {
    let all = told.sums.unplanned.iter();
    all.map(|one| NotPlanned {
        role: &one.role,
        cloth: one.cloth.as_deref(),
        articles: one.articles,
        area: number(one.area),
    })
    .collect()
}

fn named<'a>(told: &Told<'a>, plies: &[(usize, u32)]) -> Vec<(&'a str, u32)> {
    let name = |lay: usize| Some(&*told.planned.lays.get(lay)?.name);
    plies
        .iter()
        .filter_map(|(lay, plies)| Some((name(*lay)?, *plies)))
        .collect()
}

fn rolls<'a>(told: &Told<'a>) -> Vec<RollJson<'a>> {
    let all = told
        .allotted
        .into_iter()
        .flat_map(|allotted| &allotted.rolls);
    all.map(|drawn| RollJson {
        cloth: &drawn.roll.cloth,
        roll: &drawn.roll.name,
        length: number(drawn.roll.length),
        left: number(drawn.left),
        plies: named(told, &drawn.plies),
    })
    .collect()
}

fn missing<'a>(told: &Told<'a>) -> Vec<MissingJson<'a>> {
    let all = told
        .allotted
        .into_iter()
        .flat_map(|allotted| &allotted.missing);
    all.map(|missing| MissingJson {
        cloth: &missing.cloth,
        length: number(missing.length),
        plies: named(told, &missing.plies),
    })
    .collect()
}

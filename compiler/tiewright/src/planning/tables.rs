//! A plan as tables for spreadsheets: the lays, the bundles, the cloths. Lengths are millimetres.
//!
//! Nothing is reckoned here.

use super::text::Told;
use crate::export::csv::push_row;
use crate::export::number::{Zeros, fixed};

/// Decimals of a length, mm, and of money.
const PLACES: usize = 6;

fn number(value: f64) -> String {
    fixed(value, PLACES, Zeros::Dropped)
}

/// A row for each article of each cloth of each lay.
pub fn lays(told: &Told<'_>) -> String {
    let mut text = String::new();
    let heads = [
        "lay",
        "marker",
        "group",
        "roles",
        "style",
        "size",
        "in marker",
        "cloth",
        "plies",
        "cut",
        "marker length",
        "ply length",
    ];
    push_row(&mut text, heads);
    for lay in &told.planned.lays {
        let group = told.planned.groups.get(lay.group);
        let (Some(group), Some(marker)) = (group, told.planned.marker(lay)) else {
            continue;
        };
        for (stuff, plies) in told.planned.spread(lay, told.articles) {
            for (cut, count) in group.cuts.iter().zip(&lay.spread.counts) {
                let Some(cut) = told.articles.cuts.get(*cut).filter(|_| *count > 0) else {
                    continue;
                };
                push_row(
                    &mut text,
                    [
                        lay.name.clone(),
                        marker.name.clone(),
                        group.title(),
                        group.roles.join(" "),
                        cut.article.style.clone(),
                        cut.article.size.clone().unwrap_or_default(),
                        count.to_string(),
                        stuff.cloth.name.clone(),
                        plies.to_string(),
                        (u64::from(*count) * u64::from(plies)).to_string(),
                        number(marker.length()),
                        number(marker.length() + told.asked.ends()),
                    ],
                );
            }
        }
    }
    text
}

/// A row for each bundle of each lay.
pub fn bundles(told: &Told<'_>) -> String {
    let mut text = String::new();
    let heads = [
        "lay",
        "bundle",
        "tie in marker",
        "from ply",
        "to ply",
        "articles",
        "order",
        "customer",
        "style",
        "size",
        "cloth",
        "due",
        "pieces",
    ];
    push_row(&mut text, heads);
    for (lay, bundles) in told.planned.lays.iter().zip(&told.sums.bundles) {
        for (number, bundle) in (1..).zip(bundles) {
            let Some(ticket) = super::tickets::ticket(told, lay, number, bundle) else {
                continue;
            };
            let last = bundle.first + bundle.plies - 1;
            push_row(
                &mut text,
                [
                    lay.name.clone(),
                    number.to_string(),
                    // A marker numbers its ties when it is laid.
                    told.planned
                        .laid(lay)
                        .map_or_else(String::new, |_| bundle.tie.to_string()),
                    bundle.first.to_string(),
                    last.to_string(),
                    bundle.plies.to_string(),
                    ticket.order.to_owned(),
                    ticket.customer.to_owned(),
                    ticket.style.to_owned(),
                    ticket.size.unwrap_or_default().to_owned(),
                    ticket.cloth.to_owned(),
                    ticket.due.clone().unwrap_or_default(),
                    ticket.pieces(),
                ],
            );
        }
    }
    text
}

/// A row for each cloth.
pub fn cloths(told: &Told<'_>) -> String {
    let mut text = String::new();
    push_row(
        &mut text,
        ["cloth", "plies", "length", "price a metre", "cost"],
    );
    for need in &told.sums.needs {
        push_row(
            &mut text,
            [
                need.cloth.clone(),
                need.plies.to_string(),
                number(need.length),
                need.price.map(number).unwrap_or_default(),
                number(need.cost),
            ],
        );
    }
    text
}

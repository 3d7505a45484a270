//! Knots as text, for `tiewright fit`. Input: a knot, or none for all of them; output: lines to read.

use tiewright_core::knots::{self, Knot};

use crate::table::{counted, section};

/// Every knot, a line each.
pub fn list() -> String {
    let all = knots::all();
    let mut out = format!(
        "{} of {} to {} moves\n",
        counted(all.len(), "knot"),
        knots::MOVES.0,
        knots::MOVES.1
    );
    let row = |knot: &Knot| {
        vec![
            knot.moves().to_string(),
            knot.centre_moves().to_string(),
            knot.symmetry().to_string(),
            knot.balance().to_string(),
            knot.sequence(),
            knot.name().unwrap_or_default().to_owned(),
        ]
    };
    let rows: Vec<Vec<String>> = all.iter().map(row).collect();
    let heads = ["moves", "centre", "symmetry", "balance", "sequence", "name"];
    let heads = vec![heads.map(str::to_owned).to_vec()];
    let rows: Vec<Vec<String>> = heads.into_iter().chain(rows).collect();
    section(
        &mut out,
        "L left, R right, C centre; i towards the shirt, o away from it; T through",
        &rows,
        Clone::clone,
    );
    out + "a knot of an odd number of moves starts with the tie's back outwards\n"
}

/// One line on a knot.
pub fn about(knot: &Knot) -> String {
    let name = knot
        .name()
        .map_or_else(String::new, |name| format!("{name}: "));
    let start = if knot.starts_turned_over() {
        "; it starts with the tie's back outwards"
    } else {
        ""
    };
    format!("{name}{}, {} moves{start}\n", knot.sequence(), knot.moves())
}

//! The grammar of the statements in a piece.

use super::blocks::Block;
use super::expected::{Parsed, expected};
use super::expression::Grammar;
use super::lexis::{blank, keyword, sign, word};
use super::reader::{Reader, as_name, comma_both_sides, first_word, optional, when};
use super::tree::{Expr, Name, NotchKind, PieceItem, PieceItemKind};

/// The words that the statements of a piece begin with.
pub const PIECE_WORDS: &[&str] = &[
    "quantity",
    "cloth",
    "grain",
    "give",
    "outline",
    "cut",
    "join",
    "allowance",
    "sew",
    "fold",
    "place",
    "notch",
    "drill",
    "text",
];

/// Those of them that say what every piece has, which no condition takes away.
const ALWAYS: &[&str] = &["quantity", "cloth", "grain", "outline"];

impl<'a> Reader<'a, '_> {
    /// One statement of a piece.
    pub fn piece_item(&mut self, block: &Block<'a>) -> Option<PieceItem> {
        let g = self.grammar;
        let span = g.slice(block.head);
        let first = first_word(block);
        if first == "outline" && block.body.is_some() {
            self.read(block, |i| keyword("outline")(i))?;
            let what = PieceItemKind::Outline(self.edges(block));
            return Some(PieceItem {
                what,
                both_sides: false,
                when: None,
                span,
            });
        }
        if !PIECE_WORDS.contains(&first) {
            self.unknown_statement(block, "a piece", PIECE_WORDS);
            return None;
        }
        self.no_body(block);
        self.read(block, |i| {
            let (i, what) = statement(&g, i)?;
            let (i, both) = optional(i, comma_both_sides)?;
            let (i, when) = if ALWAYS.contains(&first) {
                (i, None)
            } else {
                when(&g, i)?
            };
            Ok((
                i,
                PieceItem {
                    what,
                    both_sides: both.is_some(),
                    when,
                    span,
                },
            ))
        })
    }
}

fn statement<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, PieceItemKind> {
    let (i, verb) = word(input)?;
    match verb {
        "quantity" => g.sum(i, 0).map(|(i, n)| (i, PieceItemKind::Quantity(n))),
        "cloth" => g.name(i).map(|(i, name)| (i, PieceItemKind::Cloth(name))),
        "grain" => g
            .sum(i, 0)
            .map(|(i, angle)| (i, PieceItemKind::Grain(angle))),
        "give" => g
            .sum(i, 0)
            .map(|(i, share)| (i, PieceItemKind::Give(share))),
        "outline" => g
            .sum(i, 0)
            .map(|(i, outline)| (i, PieceItemKind::OutlineOf(outline))),
        "cut" => cut(g, i),
        "join" => allowance(g, i, true),
        "allowance" => allowance(g, i, false),
        "sew" => named(g, i).map(|(i, (line, name))| (i, PieceItemKind::Sew(line, name))),
        "fold" => named(g, i).map(|(i, (line, name))| (i, PieceItemKind::Fold(line, name))),
        "place" => named(g, i).map(|(i, (line, name))| (i, PieceItemKind::Place(line, name))),
        "drill" => named(g, i).map(|(i, (at, name))| (i, PieceItemKind::Drill(at, name))),
        "notch" => notch(g, i),
        _ => text(g, i),
    }
}

fn named<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, (Expr, Option<Name>)> {
    let (i, line) = g.sum(input, 0)?;
    let (i, name) = optional(i, |i| as_name(g, i))?;
    Ok((i, (line, name)))
}

/// `along LINE keep POINT as NAME`
fn cut<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, PieceItemKind> {
    let (i, _) = keyword("along")(input)?;
    let (i, line) = g.sum(i, 0)?;
    let (i, _) = keyword("keep")(i)?;
    let (i, keep) = g.sum(i, 0)?;
    let (i, name) = as_name(g, i)?;
    Ok((i, PieceItemKind::CutAlong { line, keep, name }))
}

/// `AMOUNT on EDGE, EDGE`
fn allowance<'a>(g: &Grammar<'a>, input: &'a str, join: bool) -> Parsed<'a, PieceItemKind> {
    let (i, amount) = g.sum(input, 0)?;
    let (i, _) = keyword("on")(i)?;
    let (mut i, first) = g.name(i)?;
    let mut edges = vec![first];
    // A comma may also begin `, both sides`.
    while let Ok((after, name)) = sign(",")(i).and_then(|(after, _)| g.name(after)) {
        edges.push(name);
        i = after;
    }
    Ok((
        i,
        PieceItemKind::Allowance {
            edges,
            amount,
            join,
        },
    ))
}

/// `KIND on EDGE at WHERE depth D width W as NAME`
fn notch<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, PieceItemKind> {
    let (i, kind) = match word(input) {
        Ok((i, "slit")) => (i, NotchKind::Slit),
        Ok((i, "v")) => (i, NotchKind::V),
        Ok((i, "t")) => (i, NotchKind::T),
        _ => return expected(blank(input), "`slit`, `v` or `t`"),
    };
    let (i, _) = keyword("on")(i)?;
    let (i, edge) = g.name(i)?;
    let (i, _) = keyword("at")(i)?;
    let (i, at) = g.sum(i, 0)?;
    let (i, _) = keyword("depth")(i)?;
    let (i, depth) = g.sum(i, 0)?;
    let (i, width) = optional(i, |i| keyword("width")(i).and_then(|(i, _)| g.sum(i, 0)))?;
    let (i, name) = optional(i, |i| as_name(g, i))?;
    Ok((
        i,
        PieceItemKind::Notch {
            kind,
            edge,
            at,
            depth,
            width,
            name,
        },
    ))
}

/// `"words" at POINT turned ANGLE`
fn text<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, PieceItemKind> {
    let (i, words) = g.template(input)?;
    let (i, _) = keyword("at")(i)?;
    let (i, at) = g.sum(i, 0)?;
    let (i, turned) = optional(i, |i| keyword("turned")(i).and_then(|(i, _)| g.sum(i, 0)))?;
    Ok((i, PieceItemKind::Text { words, at, turned }))
}

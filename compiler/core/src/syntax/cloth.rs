//! The grammar of cloths: those of a file, and the roles of a shape with what they are unless a
//! style says otherwise.

use super::blocks::Block;
use super::expected::{Parsed, expected};
use super::expression::Grammar;
use super::lexis::{blank, keyword, word};
use super::reader::{Reader, as_name, first_word, optional};
use super::tree::{Cloth, ClothLine, ClothValue, ItemKind};
use crate::cloth::{BIAS, Bias, DIRECTION, Direction, LINES, property};

impl<'a> Reader<'a, '_> {
    /// `cloth NAME "doc" { … }` of a file.
    pub fn cloth(&mut self, block: &Block<'a>) -> Option<Cloth> {
        let g = self.grammar;
        let head = self.read(block, |i| {
            let (i, _) = keyword("cloth")(i)?;
            let (i, name) = g.name(i)?;
            let (i, doc) = optional(i, |i| g.text(i))?;
            Ok((i, (name, doc)))
        });
        let lines = self.lines(body_of(block));
        head.map(|(name, doc)| Cloth { name, doc, lines })
    }

    /// `cloth NAME "doc" { … }` or `cloth NAME as ROLE "doc"` of a shape.
    pub fn role(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        let g = self.grammar;
        let (name, alias, doc) = self.read(block, |i| {
            let (i, _) = keyword("cloth")(i)?;
            let (i, name) = g.name(i)?;
            let (i, alias) = optional(i, |i| as_name(&g, i))?;
            let (i, doc) = optional(i, |i| g.text(i))?;
            Ok((i, (name, alias, doc)))
        })?;
        if alias.is_some() {
            // What it is stands with the role it is cut from.
            self.no_body(block);
        }
        let lines = self.lines(body_of(block));
        Some(ItemKind::Cloth {
            name,
            alias,
            doc,
            lines,
        })
    }

    fn lines(&mut self, body: &[Block<'a>]) -> Vec<ClothLine> {
        let g = self.grammar;
        let mut out = Vec::new();
        for inner in body {
            let first = first_word(inner);
            if !LINES.contains(&first) {
                self.unknown_statement(inner, "a cloth", LINES);
                continue;
            }
            self.no_body(inner);
            let span = g.slice(blank(inner.head).get(..first.len()).unwrap_or(inner.head));
            let value = self.read(inner, |i| line(&g, i));
            out.extend(value.map(|value| ClothLine { value, span }));
        }
        out
    }
}

/// A cloth without a block states nothing, which is a fair thing to say.
pub(super) fn body_of<'a, 'b>(block: &'b Block<'a>) -> &'b [Block<'a>] {
    block.body.as_deref().unwrap_or_default()
}

/// `PROPERTY VALUE`
fn line<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, ClothValue> {
    let (i, found) = word(input)?;
    if found == DIRECTION {
        let (i, way) = one_of(i, Direction::WORDS)?;
        return Ok((i, ClothValue::Direction(way)));
    }
    if found == BIAS {
        let (i, way) = one_of(i, Bias::WORDS)?;
        return Ok((i, ClothValue::Bias(way)));
    }
    match property(found) {
        Some(row) => {
            let (i, value) = g.expression(i)?;
            Ok((i, ClothValue::Number(row.property, value)))
        }
        None => expected(blank(input), "a line of a cloth"),
    }
}

/// One of these words, and what it stands for.
fn one_of<'a, T: Copy>(input: &'a str, words: &[(&'static str, T)]) -> Parsed<'a, T> {
    if let Ok((rest, found)) = word(input)
        && let Some((_, meant)) = words.iter().find(|(word, _)| *word == found)
    {
        return Ok((rest, *meant));
    }
    let words: Vec<String> = words.iter().map(|(word, _)| format!("`{word}`")).collect();
    match words.split_last() {
        Some((last, most)) => expected(blank(input), format!("{} or {last}", most.join(", "))),
        None => expected(blank(input), "a word"),
    }
}

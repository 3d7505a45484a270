//! The grammar of what the work bench reads: points of measure, the order of work, and marks on the
//! folded work.

use super::blocks::Block;
use super::expected::{Parsed, expected};
use super::expression::Grammar;
use super::lexis::{after_keyword, blank, keyword, word};
use super::reader::{Reader, Words, as_name, first_word, optional, when};
use super::tree::{
    AssemblyStepKind, Inspection, ItemKind, MeasuringPoint, Side, Template, Tool, WorkStep,
};

/// The statements of an inspection.
pub const POINT_WORDS: Words = &["point"];

impl<'a> Reader<'a, '_> {
    /// `inspection NAME "when" of OUTLINE { … }`
    pub fn inspection(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        let g = self.grammar;
        let head = self.read(block, |i| {
            let (i, _) = keyword("inspection")(i)?;
            let (i, name) = g.name(i)?;
            let (i, when) = g.text(i)?;
            let (i, _) = keyword("of")(i)?;
            let (i, outline) = g.expression(i)?;
            Ok((i, (name, when, outline)))
        });
        let mut points = Vec::new();
        let mut complete = true;
        for inner in self.body(block) {
            if !POINT_WORDS.contains(&first_word(inner)) {
                self.unknown_statement(inner, "an inspection", POINT_WORDS);
                complete = false;
                continue;
            }
            self.no_body(inner);
            let span = g.slice(inner.head);
            let point = self.read(inner, |i| point(&g, i));
            complete &= point.is_some();
            points.extend(point.map(|point| MeasuringPoint { span, ..point }));
        }
        let (name, when, outline) = head?;
        // Where no point could be read, that has been said; that there are none would be untrue.
        let readable = complete || !points.is_empty();
        readable.then(|| {
            ItemKind::Inspection(Box::new(Inspection {
                name,
                when,
                outline,
                points,
            }))
        })
    }

    /// `step "Title" with TOOL after "Title" "words" …`
    pub fn work_step(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| {
            let (i, _) = keyword("step")(i)?;
            let (i, title) = g.text(i)?;
            let (i, tool) = optional(i, with_tool)?;
            let (i, after) = optional(i, |i| keyword("after")(i).and_then(|(i, _)| g.text(i)))?;
            let (i, words) = texts(&g, i)?;
            let (i, when) = when(&g, i)?;
            let step = WorkStep {
                title,
                tool,
                after,
                words,
                when,
            };
            Ok((i, ItemKind::Work(Box::new(step))))
        })
    }
}

/// `point NAME along LINE within TOLERANCE "doc"`
fn point<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, MeasuringPoint> {
    let (i, _) = keyword("point")(input)?;
    let (i, name) = g.name(i)?;
    let (i, _) = keyword("along")(i)?;
    let (i, line) = g.expression(i)?;
    let (i, _) = keyword("within")(i)?;
    let (i, tolerance) = g.expression(i)?;
    let (i, doc) = optional(i, |i| g.text(i))?;
    let (i, when) = when(g, i)?;
    let span = name.span;
    Ok((
        i,
        MeasuringPoint {
            name,
            line,
            tolerance,
            doc,
            when,
            span,
        },
    ))
}

/// `with iron` or `with blade`
fn with_tool(input: &str) -> Parsed<'_, Tool> {
    let (i, _) = keyword("with")(input)?;
    match word(i) {
        Ok((i, "iron")) => Ok((i, Tool::Iron)),
        Ok((i, "blade")) => Ok((i, Tool::Blade)),
        _ => expected(blank(i), "`iron` or `blade`"),
    }
}

/// One text with values or several, which are read on as one.
fn texts<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, Vec<Template>> {
    let (mut i, first) = g.template(input)?;
    let mut out = vec![first];
    loop {
        let (after, next) = optional(i, |i| g.template(i))?;
        let Some(next) = next else {
            return Ok((i, out));
        };
        out.push(next);
        i = after;
    }
}

/// What follows `mark` in an assembly: `LINE as NAME on SIDE`
pub fn mark<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, AssemblyStepKind> {
    let (i, line) = g.sum(input, 0)?;
    let (i, name) = as_name(g, i)?;
    let (i, side) = on_side(i)?;
    Ok((i, AssemblyStepKind::Mark(line, name, side)))
}

/// `on back` or `on face`
pub fn on_side(input: &str) -> Parsed<'_, Side> {
    let (i, _) = keyword("on")(input)?;
    let sides = [("back", Side::Back), ("face", Side::Face)];
    let found = sides
        .into_iter()
        .find_map(|(word, side)| after_keyword(i, word).map(|rest| (rest, side)));
    match found {
        Some(found) => Ok(found),
        None => expected(blank(i), "`back` or `face`"),
    }
}

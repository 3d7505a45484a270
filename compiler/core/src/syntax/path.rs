//! The grammar of profiles and paths: where they start, and each step.

use super::blocks::Block;
use super::expected::{Parsed, expected};
use super::expression::Grammar;
use super::lexis::{blank, keyword, sign, word};
use super::reader::{Reader, Words, as_name, first_word, optional};
use super::tree::{Expr, ItemKind, Name, Step, StepKind, Target};

/// The words that the steps of a profile or path begin with.
pub const STEP_WORDS: Words = &["start", "straight", "curve"];

impl<'a> Reader<'a, '_> {
    /// `profile NAME { … }` or `path NAME { … }`
    pub fn steps(&mut self, block: &Block<'a>, profile: bool) -> Option<ItemKind> {
        let g = self.grammar;
        let what = if profile { "profile" } else { "path" };
        let name = self.read(block, |i| keyword(what)(i).and_then(|(i, _)| g.name(i)));
        let mut steps = Vec::new();
        for inner in self.body(block) {
            if !STEP_WORDS.contains(&first_word(inner)) {
                self.unknown_statement(
                    inner,
                    if profile { "a profile" } else { "a path" },
                    STEP_WORDS,
                );
                continue;
            }
            self.no_body(inner);
            let span = g.slice(inner.head);
            let step = self.read(inner, |i| step(&g, i, profile));
            steps.extend(step.map(|(what, name)| Step { what, name, span }));
        }
        let name = name?;
        Some(if profile {
            ItemKind::Profile { name, steps }
        } else {
            ItemKind::Path { name, steps }
        })
    }
}

fn step<'a>(
    g: &Grammar<'a>,
    input: &'a str,
    profile: bool,
) -> Parsed<'a, (StepKind, Option<Name>)> {
    let (i, verb) = word(input)?;
    let (i, what) = match verb {
        "start" if profile => {
            let (i, _) = keyword("at")(i)?;
            let (i, station) = g.sum(i, 0)?;
            let (i, width) = width(g, i)?;
            (i, StepKind::Start(Target::Station(station, width)))
        }
        "start" => g
            .sum(i, 0)
            .map(|(i, point)| (i, StepKind::Start(Target::Point(point))))?,
        "straight" => {
            target(g, i, profile, None).map(|(i, (target, _))| (i, StepKind::Straight(target)))?
        }
        _ => {
            let handles = |i| handles(g, i);
            let (i, (target, pair)) = target(g, i, profile, Some(&handles))?;
            match pair {
                Some((a, b)) => (i, StepKind::Curve(target, a, b)),
                None => return expected(blank(i), "`handles`"),
            }
        }
    };
    let (i, name) = optional(i, |i| as_name(g, i))?;
    Ok((i, (what, name)))
}

type Handles<'h, 'a> = Option<&'h dyn Fn(&'a str) -> Parsed<'a, (Expr, Expr)>>;

/// Where a step ends, with the handles of a curve, which stand before the width.
fn target<'a>(
    g: &Grammar<'a>,
    input: &'a str,
    profile: bool,
    handles: Handles<'_, 'a>,
) -> Parsed<'a, (Target, Option<(Expr, Expr)>)> {
    let (i, how) = word(input)?;
    let run = if profile { "run" } else { "by" };
    if how != "to" && how != run {
        return expected(blank(input), format!("`to` or `{run}`"));
    }
    let (i, place) = g.sum(i, 0)?;
    let (i, pair) = match handles {
        Some(parser) => parser(i).map(|(i, pair)| (i, Some(pair)))?,
        None => (i, None),
    };
    if !profile {
        return Ok((
            i,
            (
                if how == "to" {
                    Target::Point(place)
                } else {
                    Target::By(place)
                },
                pair,
            ),
        ));
    }
    let (i, width) = width(g, i)?;
    Ok((
        i,
        (
            if how == "to" {
                Target::Station(place, width)
            } else {
                Target::Run(place, width)
            },
            pair,
        ),
    ))
}

fn width<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, Expr> {
    keyword("width")(input).and_then(|(i, _)| g.sum(i, 0))
}

fn handles<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, (Expr, Expr)> {
    let (i, _) = keyword("handles")(input)?;
    let (i, first) = g.sum(i, 0)?;
    let (i, _) = sign(",")(i)?;
    let (i, second) = g.sum(i, 0)?;
    Ok((i, (first, second)))
}

//! The grammar of assemblies: what is laid, sewn, folded, shown and marked.

use super::bench;
use super::blocks::Block;
use super::expected::Parsed;
use super::expression::Grammar;
use super::lexis::{after_keyword, keyword, sign, word};
use super::reader::{Reader, Words, as_name, comma_both_sides, first_word, optional, when};
use super::tree::{AssemblyStep, AssemblyStepKind, ItemKind, Lies, Name};

/// The words that the steps of an assembly begin with.
pub const ASSEMBLY_WORDS: Words = &["lay", "sew", "fold", "pleat", "finish", "show", "mark"];

impl<'a> Reader<'a, '_> {
    /// `assembly NAME { … }`
    pub fn assembly(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        let g = self.grammar;
        let name = self.read(block, |i| {
            keyword("assembly")(i).and_then(|(i, _)| g.name(i))
        });
        let steps = self.assembly_steps(block);
        name.map(|name| ItemKind::Assembly { name, steps })
    }

    /// The statements between the braces of an assembly.
    pub fn assembly_steps(&mut self, block: &Block<'a>) -> Vec<AssemblyStep> {
        let g = self.grammar;
        let mut steps = Vec::new();
        for inner in self.body(block) {
            if !ASSEMBLY_WORDS.contains(&first_word(inner)) {
                self.unknown_statement(inner, "an assembly", ASSEMBLY_WORDS);
                continue;
            }
            self.no_body(inner);
            let span = g.slice(inner.head);
            let step = self.read(inner, |i| {
                let (i, what) = assembly_step(&g, i)?;
                let (i, both) = optional(i, comma_both_sides)?;
                let (i, when) = when(&g, i)?;
                Ok((
                    i,
                    AssemblyStep {
                        what,
                        both_sides: both.is_some(),
                        when,
                        span,
                    },
                ))
            });
            steps.extend(step);
        }
        steps
    }
}

fn assembly_step<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, AssemblyStepKind> {
    let (i, verb) = word(input)?;
    match verb {
        "lay" => g
            .name(i)
            .map(|(i, piece)| (i, AssemblyStepKind::Lay(piece))),
        "sew" => {
            let (i, moved) = piece_edge(g, i)?;
            let (i, _) = keyword("to")(i)?;
            let (i, to) = piece_edge(g, i)?;
            Ok((i, AssemblyStepKind::Sew { moved, to }))
        }
        "fold" => {
            let (i, _) = keyword("across")(i)?;
            g.sum(i, 0)
                .map(|(i, crease)| (i, AssemblyStepKind::Fold(crease)))
        }
        "pleat" => {
            let (i, first) = g.sum(i, 0)?;
            let (i, _) = keyword("to")(i)?;
            g.sum(i, 0)
                .map(|(i, second)| (i, AssemblyStepKind::Pleat(first, second)))
        }
        "finish" => g
            .sum(i, 0)
            .map(|(i, outline)| (i, AssemblyStepKind::Finish(outline))),
        "mark" => bench::mark(g, i),
        _ => {
            let (i, outline) = g.sum(i, 0)?;
            let (i, cloth) = as_name(g, i)?;
            let (i, lies) = optional(i, lies)?;
            let lies = lies.unwrap_or(Lies::WrongSideUp);
            Ok((i, AssemblyStepKind::Show(outline, cloth, lies)))
        }
    }
}

fn piece_edge<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, (Name, Name)> {
    let (i, piece) = g.name(input)?;
    let (i, _) = sign(".")(i)?;
    let (i, edge) = g.name(i)?;
    Ok((i, (piece, edge)))
}

/// `right side up`, `on back` or `on face`
fn lies(input: &str) -> Parsed<'_, Lies> {
    if after_keyword(input, "on").is_some() {
        return bench::on_side(input).map(|(rest, side)| (rest, Lies::Upon(side)));
    }
    let (rest, _) = keyword("right")(input)?;
    let (rest, _) = keyword("side")(rest)?;
    let (rest, _) = keyword("up")(rest)?;
    Ok((rest, Lies::RightSideUp))
}

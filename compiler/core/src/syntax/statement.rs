//! The grammar of statements: files, shapes, profiles, outlines, assemblies and proofs.

use super::bench::POINT_WORDS;
use super::blocks::Block;
use super::expected::{Parsed, expected};
use super::expression::Grammar;
use super::failure;
use super::lexis::{after_keyword, after_sign, blank, end, keyword, sign, word};
use super::piece::PIECE_WORDS;
use super::tree::{
    Addition, AssemblyStep, AssemblyStepKind, Bound, Edges, Expr, File, Item, ItemKind, Left, Lies,
    More, Name, PieceDecl, PieceItem, Prove, Shape, Step, StepKind, Target, Text,
};
use crate::cloth::LINES;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::nearest;

/// Reads blocks into the tree, collecting a diagnostic for each one it cannot read.
pub struct Reader<'a, 'd> {
    /// The text.
    pub grammar: Grammar<'a>,
    /// What was wrong so far.
    pub diagnostics: &'d mut Vec<Diagnostic>,
}

/// A statement of its own kind: what its first word is, for the message about an unknown one.
pub type Words = &'static [&'static str];

const FILE_WORDS: Words = &["use", "shape", "style", "cloth"];
const SHAPE_WORDS: Words = &[
    "parameter",
    "cloth",
    "measure",
    "require",
    "profile",
    "path",
    "outline",
    "pattern",
    "piece",
    "assembly",
    "prove",
    "advise",
    "grade",
    "inspection",
    "step",
    "without",
    "add",
];
const STEP_WORDS: Words = &["start", "straight", "curve"];
/// Where the words of the blocks belong, for the message about one that stands elsewhere.
const HOMES: &[(&str, Words)] = &[
    ("a style", &["size", "find"]),
    ("a shape", SHAPE_WORDS),
    ("a profile or path", STEP_WORDS),
    ("an outline", &["edge"]),
    ("an assembly", &["lay", "finish", "show", "mark"]),
    ("an inspection", POINT_WORDS),
    ("a piece", PIECE_WORDS),
    ("a cloth", LINES),
];
const ASSEMBLY_WORDS: Words = &["lay", "sew", "fold", "pleat", "finish", "show", "mark"];

impl<'a> Reader<'a, '_> {
    /// Runs a parser over a whole head; a failure becomes a diagnostic.
    pub fn read<T>(
        &mut self,
        block: &Block<'a>,
        parser: impl FnOnce(&'a str) -> Parsed<'a, T>,
    ) -> Option<T> {
        let result = parser(block.head).and_then(|(rest, value)| end(rest).map(|_| value));
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.diagnostics
                    .push(failure(&self.grammar, block.head, error));
                None
            }
        }
    }

    /// The statements of a block that must have one.
    pub fn body<'b>(&mut self, block: &'b Block<'a>) -> &'b [Block<'a>] {
        match &block.body {
            Some(body) => body,
            None => {
                let end = self.grammar.slice(block.head).end;
                let span = crate::source::Span {
                    file: self.grammar.file,
                    start: end,
                    end,
                };
                self.diagnostics.push(
                    Diagnostic::error(
                        Code::Syntax,
                        span,
                        "expected `{`, found the end of the statement",
                    )
                    .hint("put what belongs to it between `{` and `}`"),
                );
                &[]
            }
        }
    }

    /// Complains about a block where none belongs.
    pub fn no_body(&mut self, block: &Block<'a>) {
        if block.body.is_some() {
            let span = self.grammar.slice(block.head);
            self.diagnostics.push(
                Diagnostic::error(
                    Code::StrayBlock,
                    span,
                    "no `{ … }` belongs to this statement",
                )
                .hint("take the braces out"),
            );
        }
    }

    /// Complains about a statement that begins with a word not known here.
    pub fn unknown_statement(&mut self, block: &Block<'a>, place: &str, words: Words) {
        let head = blank(block.head);
        if head.is_empty() {
            return self.nothing_before(block, place, words);
        }
        let found = word(head).map_or(head, |(_, found)| found);
        let span = self.grammar.slice(found);
        let mut diagnostic = Diagnostic::error(
            Code::UnknownStatement,
            span,
            format!("`{}` is no statement of {place}", shorten(found)),
        );
        let home = HOMES.iter().find(|(_, own)| own.contains(&found));
        diagnostic = match (home, nearest(found, words.iter().copied())) {
            (_, Some(near)) => diagnostic.hint(format!("did you mean `{near}`?")),
            (Some((home, _)), None) => {
                diagnostic.hint(format!("`{found}` stands between the braces of {home}"))
            }
            (None, None) => diagnostic.hint(format!("{place} holds {}", list(words))),
        };
        self.diagnostics.push(diagnostic);
    }

    /// Complains about braces that belong to no statement.
    fn nothing_before(&mut self, block: &Block<'a>, place: &str, words: Words) {
        let diagnostic = Diagnostic::error(
            Code::StrayBlock,
            self.grammar.slice(block.head),
            "nothing stands before this `{`",
        );
        self.diagnostics
            .push(diagnostic.hint(format!("{place} holds {}", list(words))));
    }

    /// A whole file.
    pub fn file(&mut self, blocks: &[Block<'a>]) -> File {
        let mut file = File::default();
        for block in blocks {
            match first_word(block) {
                "use" => {
                    self.no_body(block);
                    let g = self.grammar;
                    file.uses.extend(
                        self.read(block, |i| keyword("use")(i).and_then(|(i, _)| g.text(i))),
                    );
                }
                "shape" => file.shapes.extend(self.shape(block)),
                "style" => file.styles.extend(self.style(block)),
                "cloth" => file.cloths.extend(self.cloth(block)),
                _ => self.unknown_statement(block, "a file", FILE_WORDS),
            }
        }
        file
    }

    fn shape(&mut self, block: &Block<'a>) -> Option<Shape> {
        let g = self.grammar;
        let head = self.read(block, |i| {
            let (i, _) = keyword("shape")(i)?;
            let (i, name) = g.name(i)?;
            let (i, base) = optional(i, |i| keyword("from")(i).and_then(|(i, _)| g.name(i)))?;
            let (i, doc) = optional(i, |i| g.text(i))?;
            Ok((i, (name, base, doc)))
        });
        let mut without = Vec::new();
        let mut additions = Vec::new();
        let mut items = Vec::new();
        for inner in self.body(block) {
            match first_word(inner) {
                "without" if !is_value(inner.head) => {
                    without.extend(self.without(inner).into_iter().flatten());
                }
                "add" if !is_value(inner.head) => additions.extend(self.addition(inner)),
                _ => items.extend(self.item(inner)),
            }
        }
        head.map(|(name, base, doc)| Shape {
            name,
            base,
            without,
            additions,
            doc,
            items,
        })
    }

    /// `add to piece NAME { … }`
    fn addition(&mut self, block: &Block<'a>) -> Option<Addition> {
        let g = self.grammar;
        let head = self.read(block, |i| {
            let (i, _) = keyword("add")(i)?;
            let (i, _) = keyword("to")(i)?;
            let (i, assembly) = match word(i) {
                Ok((i, "piece" | "pattern")) => (i, false),
                Ok((i, "assembly")) => (i, true),
                _ => return expected(blank(i), "`piece`, `pattern` or `assembly`"),
            };
            g.name(i).map(|(i, name)| (i, (name, assembly)))
        });
        let (name, assembly) = head?;
        let more = if assembly {
            More::Assembly(self.assembly_steps(block))
        } else {
            More::Piece(self.piece_items(block))
        };
        Some(Addition { name, more })
    }

    /// `without NAME, "line of the proof or step", …`
    fn without(&mut self, block: &Block<'a>) -> Option<Vec<Left>> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| {
            let (mut i, _) = keyword("without")(i)?;
            let mut out = Vec::new();
            loop {
                let (after, text) = optional(i, |i| g.text(i))?;
                let (after, left) = match text {
                    Some(text) => (after, Left::Text(text)),
                    None => g.name(i).map(|(after, name)| (after, Left::Name(name)))?,
                };
                out.push(left);
                i = after;
                let Ok((after, _)) = sign(",")(i) else { break };
                i = after;
            }
            Ok((i, out))
        })
    }

    /// A declaration of a shape.
    pub fn item(&mut self, block: &Block<'a>) -> Option<Item> {
        let span = self.grammar.slice(block.head);
        let what = match first_word(block) {
            // A value may bear any name, the words of statements included: `path = …`.
            _ if is_value(block.head) => self.value(block),
            "parameter" => self.parameter(block),
            "cloth" => self.role(block),
            "measure" => self.measure(block),
            "require" => self.require(block),
            "profile" => self.steps(block, true),
            "path" => self.steps(block, false),
            "outline" => self.outline(block),
            "pattern" => self.piece(block, false),
            "piece" => self.piece(block, true),
            "assembly" => self.assembly(block),
            "prove" => self.prove(block, false),
            "advise" => self.prove(block, true),
            "grade" => self.grade(block),
            "inspection" => self.inspection(block),
            "step" => self.work_step(block),
            _ => {
                self.unknown_statement(block, "a shape", SHAPE_WORDS);
                None
            }
        };
        what.map(|what| Item { what, span })
    }

    fn parameter(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| {
            let (i, _) = keyword("parameter")(i)?;
            let (i, name) = g.name(i)?;
            let (i, default) = g.expression(i)?;
            let (i, range) = optional(i, |i| range(&g, i))?;
            let (i, doc) = optional(i, |i| g.text(i))?;
            Ok((
                i,
                ItemKind::Parameter {
                    name,
                    default,
                    range,
                    doc,
                },
            ))
        })
    }

    fn value(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| named_value(&g, i, false))
    }

    fn measure(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| {
            let (i, _) = keyword("measure")(i)?;
            let (after, name) = g.name(i)?;
            match after_sign(after, "=") {
                Some(_) => named_value(&g, i, true),
                None => Ok((after, ItemKind::Print(name))),
            }
        })
    }

    fn require(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| {
            let (i, _) = keyword("require")(i)?;
            let (i, condition) = g.expression(i)?;
            let (i, message) = g.template(i)?;
            Ok((i, ItemKind::Require { condition, message }))
        })
    }

    fn prove(&mut self, block: &Block<'a>, advisory: bool) -> Option<ItemKind> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| {
            let (i, _) = keyword(if advisory { "advise" } else { "prove" })(i)?;
            let (i, name) = g.text(i)?;
            let (i, value) = g.expression(i)?;
            let (i, bound) = bound(&g, i)?;
            let (i, advice) = optional(i, |i| g.template(i))?;
            let (i, when) = when(&g, i)?;
            Ok((
                i,
                ItemKind::Prove(Box::new(Prove {
                    name,
                    value,
                    bound,
                    advice,
                    when,
                    advisory,
                })),
            ))
        })
    }

    fn grade(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        let g = self.grammar;
        let graded = self.read(block, |i| keyword("grade")(i).and_then(|(i, _)| g.name(i)));
        let mut followers = Vec::new();
        for inner in self.body(block) {
            followers.extend(self.setting(inner));
        }
        graded.map(|graded| ItemKind::Grade { graded, followers })
    }

    fn steps(&mut self, block: &Block<'a>, profile: bool) -> Option<ItemKind> {
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

    fn outline(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        let g = self.grammar;
        let name = self.read(block, |i| {
            keyword("outline")(i).and_then(|(i, _)| g.name(i))
        });
        let edges = self.edges(block);
        name.map(|name| ItemKind::Outline { name, edges })
    }

    /// The edges between the braces of an outline.
    pub fn edges(&mut self, block: &Block<'a>) -> Edges {
        let g = self.grammar;
        let mut out = Edges {
            edges: Vec::new(),
            both_sides: false,
            complete: true,
            span: g.slice(block.head),
        };
        for inner in self.body(block) {
            self.no_body(inner);
            match first_word(inner) {
                "both" => out.both_sides |= self.read(inner, both_sides).is_some(),
                "edge" => {
                    let edge = self.read(inner, |i| {
                        let (i, _) = keyword("edge")(i)?;
                        let (i, name) = g.name(i)?;
                        let (i, _) = sign("=")(i)?;
                        let (i, line) = g.expression(i)?;
                        Ok((i, (name, line)))
                    });
                    out.complete &= edge.is_some();
                    out.edges.extend(edge);
                }
                _ => self.unknown_statement(inner, "an outline", &["edge", "both sides"]),
            }
        }
        out
    }

    fn piece(&mut self, block: &Block<'a>, cut: bool) -> Option<ItemKind> {
        let g = self.grammar;
        let head = self.read(block, |i| {
            let (i, _) = keyword(if cut { "piece" } else { "pattern" })(i)?;
            let (i, name) = g.name(i)?;
            let (i, base) = optional(i, |i| keyword("from")(i).and_then(|(i, _)| g.name(i)))?;
            let (i, when) = when(&g, i)?;
            let (i, doc) = optional(i, |i| g.text(i))?;
            Ok((i, (name, base, when, doc)))
        });
        // A piece may be its pattern as it stands.
        let as_it_stands = matches!(&head, Some((_, Some(_), ..))) && block.body.is_none();
        let items = if as_it_stands {
            Vec::new()
        } else {
            self.piece_items(block)
        };
        let (name, base, when, doc) = head?;
        Some(ItemKind::Piece(Box::new(PieceDecl {
            name,
            base,
            when,
            doc,
            cut,
            items,
        })))
    }

    /// The statements between the braces of a piece.
    fn piece_items(&mut self, block: &Block<'a>) -> Vec<PieceItem> {
        let body = self.body(block).iter();
        body.filter_map(|inner| self.piece_item(inner)).collect()
    }

    fn assembly(&mut self, block: &Block<'a>) -> Option<ItemKind> {
        let g = self.grammar;
        let name = self.read(block, |i| {
            keyword("assembly")(i).and_then(|(i, _)| g.name(i))
        });
        let steps = self.assembly_steps(block);
        name.map(|name| ItemKind::Assembly { name, steps })
    }

    /// The statements between the braces of an assembly.
    fn assembly_steps(&mut self, block: &Block<'a>) -> Vec<AssemblyStep> {
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

/// The first word of a statement, or nothing.
pub fn first_word<'a>(block: &Block<'a>) -> &'a str {
    word(block.head).map_or("", |(_, found)| found)
}

/// Whether a head is `NAME = …`.
fn is_value(head: &str) -> bool {
    word(head).is_ok_and(|(rest, _)| after_sign(rest, "=").is_some())
}

fn shorten(text: &str) -> String {
    let line = text.lines().next().unwrap_or("");
    if line.chars().count() <= 24 {
        line.to_owned()
    } else {
        line.chars().take(24).chain(['…']).collect()
    }
}

fn list(words: &[&str]) -> String {
    words
        .iter()
        .map(|w| format!("`{w}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// Tries a parser; where it does not begin to match, reads nothing.
pub fn optional<'a, T>(
    input: &'a str,
    parser: impl FnOnce(&'a str) -> Parsed<'a, T>,
) -> Result<(&'a str, Option<T>), nom::Err<super::expected::Expected<'a>>> {
    match parser(input) {
        Ok((rest, value)) => Ok((rest, Some(value))),
        // Nothing was read: the place is empty. Anything read before the failure is a mistake in it.
        Err(nom::Err::Error(e)) if e.at.len() == blank(input).len() => Ok((input, None)),
        Err(e) => Err(e),
    }
}

/// `, both sides`
pub fn comma_both_sides(input: &str) -> Parsed<'_, ()> {
    let (rest, _) = sign(",")(input)?;
    both_sides(rest)
}

fn both_sides(input: &str) -> Parsed<'_, ()> {
    let (rest, _) = keyword("both")(input)?;
    let (rest, _) = keyword("sides")(rest)?;
    Ok((rest, ()))
}

/// `right side up`, `on back` or `on face`
fn lies(input: &str) -> Parsed<'_, Lies> {
    if after_keyword(input, "on").is_some() {
        return super::bench::on_side(input).map(|(rest, side)| (rest, Lies::Upon(side)));
    }
    let (rest, _) = keyword("right")(input)?;
    let (rest, _) = keyword("side")(rest)?;
    let (rest, _) = keyword("up")(rest)?;
    Ok((rest, Lies::RightSideUp))
}

/// `when CONDITION`, which may be left out
pub fn when<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, Option<Expr>> {
    optional(input, |i| {
        keyword("when")(i).and_then(|(i, _)| g.expression(i))
    })
}

/// `as NAME`
pub fn as_name<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, Name> {
    keyword("as")(input).and_then(|(i, _)| g.name(i))
}

/// `from LOWEST to HIGHEST`
pub fn range<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, (Expr, Expr)> {
    let (i, _) = keyword("from")(input)?;
    let (i, low) = g.sum(i, 0)?;
    let (i, _) = keyword("to")(i)?;
    let (i, high) = g.sum(i, 0)?;
    Ok((i, (low, high)))
}

fn named_value<'a>(g: &Grammar<'a>, input: &'a str, measure: bool) -> Parsed<'a, ItemKind> {
    let (i, name) = g.name(input)?;
    let (i, _) = sign("=")(i)?;
    let (i, value) = g.expression(i)?;
    let (i, doc): (_, Option<Text>) = optional(i, |i| g.text(i))?;
    Ok((
        i,
        ItemKind::Value {
            name,
            value,
            doc,
            measure,
        },
    ))
}

fn bound<'a>(g: &Grammar<'a>, input: &'a str) -> Parsed<'a, Bound> {
    if let Some(i) = after_keyword(input, "at") {
        return match word(i) {
            Ok((i, "most")) => g.sum(i, 0).map(|(i, limit)| (i, Bound::AtMost(limit))),
            Ok((i, "least")) => g.sum(i, 0).map(|(i, limit)| (i, Bound::AtLeast(limit))),
            _ => expected(blank(i), "`most` or `least`"),
        };
    }
    let Some(i) = after_keyword(input, "is") else {
        return expected(blank(input), "`at most`, `at least` or `is`");
    };
    let (i, target) = g.sum(i, 0)?;
    let (i, _) = keyword("within")(i)?;
    let (i, tolerance) = g.sum(i, 0)?;
    Ok((i, Bound::Within(target, tolerance)))
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
        "mark" => super::bench::mark(g, i),
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

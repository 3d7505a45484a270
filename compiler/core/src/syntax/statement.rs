//! The grammar of statements: files, shapes, and what a shape declares.

use super::blocks::Block;
use super::expected::{Parsed, expected};
use super::expression::Grammar;
use super::lexis::{after_keyword, after_sign, blank, keyword, sign, word};
use super::reader::{Reader, Words, both_sides, first_word, optional, range, when};
use super::tree::{
    Addition, Bound, Edges, File, Item, ItemKind, Left, More, PieceDecl, PieceItem, Prove, Shape,
    Text,
};

/// The words that the statements of a file begin with.
const FILE_WORDS: Words = &["use", "shape", "style", "cloth", "table"];
/// The words that the declarations of a shape begin with.
pub const SHAPE_WORDS: Words = &[
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

impl<'a> Reader<'a, '_> {
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
                "table" => file.tables.extend(self.table(block)),
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
}

/// Whether a head is `NAME = …`.
fn is_value(head: &str) -> bool {
    word(head).is_ok_and(|(rest, _)| after_sign(rest, "=").is_some())
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

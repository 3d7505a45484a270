//! What all statements are read with: a head through a parser, the statements between braces, what is
//! said of one that does not belong, and the parts that many of them have.

use super::bench::POINT_WORDS;
use super::blocks::Block;
use super::expected::{Expected, Parsed};
use super::expression::Grammar;
use super::failure;
use super::lexis::{blank, end, keyword, sign, word};
use super::path::STEP_WORDS;
use super::piece::PIECE_WORDS;
use super::statement::SHAPE_WORDS;
use super::tree::{Expr, Name};
use crate::cloth;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::nearest;
use crate::source::Span;
use crate::table;

/// Reads blocks into the tree, collecting a diagnostic for each one it cannot read.
pub struct Reader<'a, 'd> {
    /// The text.
    pub grammar: Grammar<'a>,
    /// What was wrong so far.
    pub diagnostics: &'d mut Vec<Diagnostic>,
}

/// A statement of its own kind: what its first word is, for the message about an unknown one.
pub type Words = &'static [&'static str];

/// Where the words of the blocks belong, for the message about one that stands elsewhere.
const HOMES: &[(&str, Words)] = &[
    ("a style", &["size", "find"]),
    ("a shape", SHAPE_WORDS),
    ("a profile or path", STEP_WORDS),
    ("an outline", &["edge"]),
    ("an assembly", &["lay", "pleat", "finish", "show", "mark"]),
    ("an inspection", POINT_WORDS),
    ("a piece", PIECE_WORDS),
    ("a cloth", cloth::LINES),
    ("a table", table::LINES),
];

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
                let span = Span {
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
}

/// The first word of a statement, or nothing.
pub fn first_word<'a>(block: &Block<'a>) -> &'a str {
    word(block.head).map_or("", |(_, found)| found)
}

/// The most characters of a word not known that a message repeats.
const MOST_REPEATED: usize = 24;

fn shorten(text: &str) -> String {
    let line = text.lines().next().unwrap_or("");
    if line.chars().count() <= MOST_REPEATED {
        line.to_owned()
    } else {
        line.chars().take(MOST_REPEATED).chain(['…']).collect()
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
) -> Result<(&'a str, Option<T>), nom::Err<Expected<'a>>> {
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

/// `both sides`
pub fn both_sides(input: &str) -> Parsed<'_, ()> {
    let (rest, _) = keyword("both")(input)?;
    let (rest, _) = keyword("sides")(rest)?;
    Ok((rest, ()))
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

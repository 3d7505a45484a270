//! The grammar of expressions.

use std::sync::Arc;

use super::expected::{Expected, Parsed, complain, expected};
use super::lexis::{after_keyword, after_sign, blank, keyword, number, quoted, sign, word};
use super::tree::{BinaryOp, Expr, ExprKind, Name, Template, TemplatePart, Text};
use crate::diagnostic::Code;
use crate::kind::Kind;
use crate::names::MAX_NAME;
use crate::phrase::{Form, Place, RESERVED, forms};
use crate::source::{FileId, Span};

/// How deep brackets and phrases may stand in each other.
pub const MAX_NESTING: usize = 64;

/// What every grammar function needs: the text that spans count in.
#[derive(Clone, Copy)]
pub struct Grammar<'a> {
    /// The file.
    pub file: FileId,
    /// Its whole text; every input is a slice of it.
    pub text: &'a str,
}

impl<'a> Grammar<'a> {
    fn offset(&self, rest: &'a str) -> usize {
        // Every input is a slice of `text`, so the difference of addresses is an index into it.
        (rest.as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize)
    }

    /// The span from `from` (blanks skipped) up to `to`, both rests of the text.
    pub fn span(&self, from: &'a str, to: &'a str) -> Span {
        let start = self.offset(blank(from));
        let end = self.offset(to);
        Span::new(self.file, start, end.max(start))
    }

    /// The span of a slice of the text.
    pub fn slice(&self, part: &'a str) -> Span {
        let start = self.offset(part);
        Span::new(self.file, start, start + part.len())
    }

    /// A word as a name that may be declared or referred to.
    pub fn name(&self, input: &'a str) -> Parsed<'a, Name> {
        let (rest, text) = word(input)?;
        if RESERVED.contains(&text) {
            return expected(blank(input), "a name");
        }
        if text.chars().count() > MAX_NAME {
            return complain(
                blank(input),
                text.len(),
                Code::TooLong,
                format!("a name has at most {MAX_NAME} letters"),
                "choose a shorter one",
            );
        }
        Ok((
            rest,
            Name {
                text: text.into(),
                span: self.slice(text),
            },
        ))
    }

    /// A quoted text.
    pub fn text(&self, input: &'a str) -> Parsed<'a, Text> {
        let (rest, text) = short(input)?;
        Ok((
            rest,
            Text {
                text: text.into(),
                span: self.span(input, rest),
            },
        ))
    }

    /// A quoted text with `{value}`s.
    pub fn template(&self, input: &'a str) -> Parsed<'a, Template> {
        let (rest, mut letters) = short(input)?;
        let span = self.span(input, rest);
        let mut parts = Vec::new();
        while let Some(open) = letters.find('{') {
            let inner = &letters[open + 1..];
            let Some(close) = inner.find('}') else {
                return complain(
                    &letters[open..],
                    1,
                    Code::OpenValue,
                    "this `{` is never closed",
                    "write the value as `{name}`",
                );
            };
            parts.push(TemplatePart::Letters(letters[..open].into()));
            let (after, value) = self.expression(&inner[..close])?;
            super::lexis::end(after)?;
            parts.push(TemplatePart::Value(value));
            letters = &inner[close + 1..];
        }
        parts.push(TemplatePart::Letters(letters.into()));
        Ok((rest, Template { parts, span }))
    }

    /// A whole expression.
    pub fn expression(&self, input: &'a str) -> Parsed<'a, Expr> {
        self.either(input, 0)
    }

    fn deeper(&self, input: &'a str, depth: usize) -> Result<usize, nom::Err<Expected<'a>>> {
        if depth < MAX_NESTING {
            return Ok(depth + 1);
        }
        let failed: Parsed<'a, ()> = complain(
            blank(input),
            1,
            Code::TooDeep,
            "brackets and phrases stand too deep in each other",
            "give parts of it names of their own",
        );
        Err(failed.err().unwrap_or_else(|| {
            nom::Err::Error(Expected {
                at: input,
                wanted: Vec::new(),
                complaint: None,
            })
        }))
    }

    fn either(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        self.binary(
            input,
            depth,
            &|i| keyword_op(i, "or", BinaryOp::Or),
            &|i, d| self.both(i, d),
        )
    }

    fn both(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        self.binary(
            input,
            depth,
            &|i| keyword_op(i, "and", BinaryOp::And),
            &|i, d| self.negation(i, d),
        )
    }

    fn negation(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        let Some(rest) = after_keyword(input, "not") else {
            return self.comparison(input, depth);
        };
        let depth = self.deeper(input, depth)?;
        let (rest, inner) = self.negation(rest, depth)?;
        Ok((rest, self.make(input, rest, ExprKind::Not(Box::new(inner)))))
    }

    fn comparison(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        let (rest, left) = self.sum(input, depth)?;
        let Some((rest, op)) = comparison_op(rest) else {
            return Ok((rest, left));
        };
        let (rest, right) = self.sum(rest, depth)?;
        Ok((
            rest,
            self.make(
                input,
                rest,
                ExprKind::Binary(op, Box::new(left), Box::new(right)),
            ),
        ))
    }

    /// Sums, the form an expression takes inside a phrase.
    pub fn sum(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        self.binary(input, depth, &sum_op, &|i, d| self.product(i, d))
    }

    fn product(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        self.binary(input, depth, &product_op, &|i, d| self.signed(i, d))
    }

    /// `operand (operator operand)*`, grouped from the left, up to a depth.
    fn binary(
        &self,
        input: &'a str,
        depth: usize,
        operator: &dyn Fn(&'a str) -> Option<(&'a str, BinaryOp)>,
        operand: &dyn Fn(&'a str, usize) -> Parsed<'a, Expr>,
    ) -> Parsed<'a, Expr> {
        let (mut rest, mut left) = operand(input, depth)?;
        while let Some((after, op)) = operator(rest) {
            if left.depth >= MAX_DEPTH {
                return complain(
                    blank(rest),
                    1,
                    Code::TooLong,
                    "this expression is too long",
                    "give parts of it names of their own",
                );
            }
            let (after, right) = operand(after, depth)?;
            left = self.make(
                input,
                after,
                ExprKind::Binary(op, Box::new(left), Box::new(right)),
            );
            rest = after;
        }
        Ok((rest, left))
    }

    fn signed(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        let Some(rest) = after_sign(input, "-") else {
            return self.primary(input, depth);
        };
        let depth = self.deeper(input, depth)?;
        let (rest, inner) = self.signed(rest, depth)?;
        Ok((
            rest,
            self.make(input, rest, ExprKind::Negate(Box::new(inner))),
        ))
    }

    fn primary(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        let depth = self.deeper(input, depth)?;
        let start = blank(input);
        if start.starts_with('(') {
            return self.bracketed(input, depth);
        }
        if start.starts_with(|c: char| c.is_ascii_digit()) {
            let (rest, (value, dim)) = number(input)?;
            return Ok((rest, self.make(input, rest, ExprKind::Number(value, dim))));
        }
        match word(input) {
            Ok((rest, "if")) => self.conditional(input, rest, depth),
            Ok((_, found)) if RESERVED.contains(&found) => expected(start, "a value"),
            Ok((rest, found)) => self.named(input, rest, found, depth),
            Err(_) => expected(start, "a value"),
        }
    }

    /// `(value)` or `(along, across)`.
    fn bracketed(&self, input: &'a str, depth: usize) -> Parsed<'a, Expr> {
        let (rest, _) = sign("(")(input)?;
        let (rest, first) = self.either(rest, depth)?;
        if let Some(rest) = after_sign(rest, ",") {
            let (rest, second) = self.either(rest, depth)?;
            let (rest, _) = sign(")")(rest)?;
            return Ok((
                rest,
                self.make(
                    input,
                    rest,
                    ExprKind::Pair(Box::new(first), Box::new(second)),
                ),
            ));
        }
        let (rest, _) = sign(")")(rest)?;
        Ok((
            rest,
            Expr {
                span: self.span(input, rest),
                ..first
            },
        ))
    }

    fn conditional(&self, input: &'a str, rest: &'a str, depth: usize) -> Parsed<'a, Expr> {
        let (rest, condition) = self.either(rest, depth)?;
        let (rest, _) = keyword("then")(rest)?;
        let (rest, yes) = self.either(rest, depth)?;
        let (rest, _) = keyword("else")(rest)?;
        let (rest, no) = self.either(rest, depth)?;
        let what = ExprKind::If(Box::new(condition), Box::new(yes), Box::new(no));
        Ok((rest, self.make(input, rest, what)))
    }

    /// What a word begins: a call, a phrase, a part, or just a name.
    fn named(
        &self,
        input: &'a str,
        rest: &'a str,
        found: &'a str,
        depth: usize,
    ) -> Parsed<'a, Expr> {
        if rest.starts_with('(') {
            return self.call(input, rest, found, depth);
        }
        let candidates: Vec<&'static Form> = forms(found).collect();
        let begins = |form: &&'static Form| {
            form.leads()
                || word(rest)
                    .is_ok_and(|(_, next)| form.places.first().is_some_and(|(w, _)| *w == next))
        };
        if candidates.iter().any(begins) {
            return self.phrase(input, rest, candidates, depth);
        }
        let name = Name {
            text: found.into(),
            span: self.slice(found),
        };
        if let Some(after) = rest.strip_prefix('.')
            && after.starts_with(char::is_alphabetic)
        {
            let (rest, part) = self.name(after)?;
            return Ok((rest, self.make(input, rest, ExprKind::Part(name, part))));
        }
        Ok((rest, self.make(input, rest, ExprKind::Name(name.text))))
    }

    fn call(
        &self,
        input: &'a str,
        rest: &'a str,
        found: &'a str,
        depth: usize,
    ) -> Parsed<'a, Expr> {
        let name = Name {
            text: Arc::from(found),
            span: self.slice(found),
        };
        let (rest, arguments) = self.list(&rest[1..], depth, &|i, d| self.either(i, d))?;
        let Some(rest) = after_sign(rest, ")") else {
            return expected(blank(rest), "`,` or `)`");
        };
        Ok((
            rest,
            self.make(input, rest, ExprKind::Call(name, arguments)),
        ))
    }

    fn list(
        &self,
        input: &'a str,
        depth: usize,
        item: &dyn Fn(&'a str, usize) -> Parsed<'a, Expr>,
    ) -> Parsed<'a, Vec<Expr>> {
        let (mut rest, first) = item(input, depth)?;
        let mut out = vec![first];
        while let Some(after) = after_sign(rest, ",") {
            let (after, next) = item(after, depth)?;
            out.push(next);
            rest = after;
        }
        Ok((rest, out))
    }

    /// Reads place after place; at each, the next word tells which forms are still possible.
    fn phrase(
        &self,
        input: &'a str,
        rest: &'a str,
        mut candidates: Vec<&'static Form>,
        depth: usize,
    ) -> Parsed<'a, Expr> {
        let mut rest = rest;
        let mut places: Vec<Vec<Expr>> = Vec::new();
        loop {
            let at = places.len();
            let (after, next) = word(rest).map_or((rest, ""), |found| found);
            let leading = candidates
                .iter()
                .any(|form| form.places.get(at).is_some_and(|(w, _)| w.is_empty()));
            let next = if leading { "" } else { next };
            let going: Vec<&'static Form> = candidates
                .iter()
                .copied()
                .filter(|form| form.places.get(at).is_some_and(|(w, _)| *w == next))
                .collect();
            if going.is_empty() {
                break;
            }
            let takes_list = going.iter().any(|form| {
                form.places
                    .get(at)
                    .is_some_and(|(_, p)| *p == Place::Curves)
            });
            let start = if next.is_empty() { rest } else { after };
            // A length or an angle may be a sum; what is drawn is one thing, so that
            // `length of a - length of b` is a difference of lengths.
            let is_quantity = |form: &&Form| {
                form.places
                    .get(at)
                    .is_some_and(|(_, p)| matches!(p, Place::Is(Kind::Quantity(_))))
            };
            let (after, values) = if takes_list {
                self.list(start, depth, &|i, d| self.signed(i, d))?
            } else if going.iter().any(is_quantity) {
                self.sum(start, depth)
                    .map(|(rest, value)| (rest, vec![value]))?
            } else {
                self.signed(start, depth)
                    .map(|(rest, value)| (rest, vec![value]))?
            };
            places.push(values);
            candidates = going;
            rest = after;
        }
        match candidates
            .iter()
            .find(|form| form.places.len() == places.len())
        {
            Some(form) => Ok((rest, self.make(input, rest, ExprKind::Phrase(form, places)))),
            None => {
                let wanted = candidates
                    .iter()
                    .filter_map(|form| {
                        form.places
                            .get(places.len())
                            .map(|(w, _)| format!("`{w}` (as in `{}`)", form.usage()))
                    })
                    .collect();
                Err(nom::Err::Failure(Expected {
                    at: blank(rest),
                    wanted,
                    complaint: None,
                }))
            }
        }
    }

    fn make(&self, from: &'a str, to: &'a str, what: ExprKind) -> Expr {
        Expr {
            depth: 1 + what.inner_depth(),
            what,
            span: self.span(from, to),
        }
    }
}

/// Letters in the longest text between quotes; more cannot be read on a pattern or a screen.
pub const MAX_TEXT: usize = 400;

/// A quoted text that is not too long.
fn short(input: &str) -> Parsed<'_, &str> {
    let (rest, text) = quoted(input)?;
    if text.chars().count() <= MAX_TEXT {
        return Ok((rest, text));
    }
    complain(
        blank(input),
        text.len() + 2,
        Code::TooLong,
        format!("a text has at most {MAX_TEXT} letters"),
        "say it in fewer words",
    )
}

/// How deep the tree of an expression may be. A chain of operators is as deep as it is long, and
/// chains in brackets add up; whoever walks the tree needs a stack so deep.
const MAX_DEPTH: usize = 200;

fn keyword_op<'a>(input: &'a str, text: &str, op: BinaryOp) -> Option<(&'a str, BinaryOp)> {
    after_keyword(input, text).map(|rest| (rest, op))
}

fn sign_op<'a>(input: &'a str, table: &[(&str, BinaryOp)]) -> Option<(&'a str, BinaryOp)> {
    let input = blank(input);
    let found = |(text, op): &(&str, BinaryOp)| Some((input.strip_prefix(text)?, *op));
    table.iter().find_map(found)
}

fn comparison_op(input: &str) -> Option<(&str, BinaryOp)> {
    use BinaryOp::{AtLeast, AtMost, Equal, Greater, Less};
    sign_op(
        input,
        &[
            ("<=", AtMost),
            (">=", AtLeast),
            ("<", Less),
            (">", Greater),
            ("=", Equal),
        ],
    )
}

fn sum_op(input: &str) -> Option<(&str, BinaryOp)> {
    sign_op(input, &[("+", BinaryOp::Add), ("-", BinaryOp::Subtract)])
}

fn product_op(input: &str) -> Option<(&str, BinaryOp)> {
    sign_op(input, &[("*", BinaryOp::Multiply), ("/", BinaryOp::Divide)])
}

//! Text to syntax tree. Parsing never fails: it gives a tree of what could be read and a
//! diagnostic for each statement that could not.

mod advice;
mod assembly;
mod bench;
pub mod blocks;
mod cloth;
pub mod expected;
pub mod expression;
pub mod lexis;
mod path;
mod piece;
mod reader;
mod statement;
mod style;
mod table;
pub mod tree;

use std::collections::BTreeSet;

use crate::diagnostic::{Code, Diagnostic};
use crate::kind::Dim;
use crate::source::FileId;
use expected::{Complaint, Expected};
use expression::Grammar;

/// At most this many diagnostics are kept of one text; a text with more is not a shape file.
pub const MAX_DIAGNOSTICS: usize = 100;

/// Parses one file.
pub fn parse(file: FileId, text: &str) -> (tree::File, Vec<Diagnostic>) {
    let (blocks, mut diagnostics) = blocks::split(file, text);
    let grammar = Grammar { file, text };
    let tree = reader::Reader {
        grammar,
        diagnostics: &mut diagnostics,
    }
    .file(&blocks);
    drop_after_open_quotes(text, &mut diagnostics);
    diagnostics.truncate(MAX_DIAGNOSTICS);
    (tree, diagnostics)
}

/// A text that is one number and nothing else, with its unit or without: its value in millimetres,
/// radians or plain.
///
/// # Errors
/// What is wrong with it, where that is known more exactly than that it is no number.
pub fn parse_amount(text: &str) -> Result<(f64, Dim), Option<Complaint>> {
    match lexis::number(text).and_then(|(rest, read)| lexis::end(rest).map(|_| read)) {
        Ok(read) => Ok(read),
        Err(nom::Err::Error(e) | nom::Err::Failure(e)) => Err(e.complaint.map(|said| *said)),
        Err(nom::Err::Incomplete(_)) => Err(None),
    }
}

/// Drops what only follows from a quote that is never closed on its line.
fn drop_after_open_quotes(text: &str, diagnostics: &mut Vec<Diagnostic>) {
    let start = |d: &Diagnostic| {
        d.primary
            .as_ref()
            .map_or(0, |label| label.span.range().start)
    };
    let quotes: BTreeSet<usize> = diagnostics
        .iter()
        .filter(|d| d.code == Code::OpenQuote)
        .map(start)
        .collect();
    diagnostics.retain(|d| {
        let at = start(d);
        let quote = quotes.range(..=at).next_back();
        let same_line = quote.and_then(|quote| text.get(*quote..at));
        d.code != Code::Syntax || same_line.is_none_or(|between| between.contains('\n'))
    });
}

/// Parses a lone setting, `name=value` or `name value`, as given outside a file.
pub fn parse_setting(file: FileId, text: &str) -> Result<tree::Setting, Box<Diagnostic>> {
    let grammar = Grammar { file, text };
    let read = || {
        let (rest, name) = grammar.name(text)?;
        let rest = lexis::after_sign(rest, "=").unwrap_or(rest);
        let (rest, value) = grammar.expression(rest)?;
        lexis::end(rest)?;
        Ok(tree::Setting { name, value })
    };
    read().map_err(|error| Box::new(failure(&grammar, text, error)))
}

/// Turns a parser's failure into a diagnostic.
fn failure<'a>(grammar: &Grammar<'a>, head: &'a str, error: nom::Err<Expected<'a>>) -> Diagnostic {
    let (nom::Err::Error(expected) | nom::Err::Failure(expected)) = error else {
        return Diagnostic::general(Code::Syntax, "the text ends too soon");
    };
    let at = expected.at;
    if let Some(complaint) = expected.complaint {
        let letters = at
            .char_indices()
            .take_while(|(from, _)| *from < complaint.bytes);
        let end = letters.last().map_or(0, |(from, c)| from + c.len_utf8());
        let span = grammar.slice(at.get(..end).unwrap_or_default());
        return Diagnostic::error(complaint.code, span, complaint.message).hint(complaint.hint);
    }
    let wanted = match expected.wanted.as_slice() {
        [] => "something else".to_owned(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    };
    let found: &str = match lexis::word(at) {
        Ok((_, word)) if blank_start(at) => word,
        _ => at.chars().next().map_or("", |c| &at[..c.len_utf8()]),
    };
    if found.is_empty() {
        // The head ended: point just behind it.
        let end = grammar.slice(head).end;
        let span = crate::source::Span {
            file: grammar.file,
            start: end,
            end,
        };
        let diagnostic = Diagnostic::error(
            Code::Syntax,
            span,
            format!("expected {wanted}, found the end of the statement"),
        );
        return diagnostic.hint(advice::at_the_end(head, &expected.wanted));
    }
    let mut span = grammar.slice(at);
    span.end = span.start + u32::try_from(found.len()).unwrap_or(1);
    let diagnostic = Diagnostic::error(
        Code::Syntax,
        span,
        format!("expected {wanted}, found `{found}`"),
    );
    match advice::at(head, at, &expected.wanted, found) {
        Some(advice) => diagnostic.hint(advice),
        None => diagnostic,
    }
}

fn blank_start(at: &str) -> bool {
    at.starts_with(char::is_alphabetic)
}

//! Cuts a text into statements, so that each is parsed by itself and one typo never hides the
//! rest.
//!
//! A statement ends at the end of its line; lines set further in go on with it. `;` ends one too.
//! `{ … }` after a statement's head holds statements of its own. `#` starts a comment, quotes
//! hold text. Input: the text; output: a tree of [`Block`] statements and what was wrong with the
//! braces and quotes. This module knows no keyword.

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{FileId, Span};

/// How deep blocks may stand in each other; the language needs three.
pub const MAX_DEPTH: usize = 16;

/// How many statements one block may hold. The longest shape has a few hundred; the time to check
/// a shape grows faster than their number.
pub const MAX_STATEMENTS: usize = 2000;

/// How many shapes and styles one file may hold.
pub const MAX_DECLARATIONS: usize = 10_000;

/// A statement: its head and, if it has one, its block.
#[derive(Debug)]
pub struct Block<'a> {
    /// The text before the block, trimmed.
    pub head: &'a str,
    /// The statements in the block.
    pub body: Option<Vec<Block<'a>>>,
}

/// Cuts `text`; never fails.
pub fn split(file: FileId, text: &str) -> (Vec<Block<'_>>, Vec<Diagnostic>) {
    if let Some(diagnostic) = binary(file, text) {
        return (Vec::new(), vec![diagnostic]);
    }
    let mut splitter = Splitter {
        file,
        text,
        at: 0,
        diagnostics: Vec::new(),
        stack: vec![Open::default()],
    };
    splitter.run();
    let top = splitter.close_all();
    (top, splitter.diagnostics)
}

/// A text that holds control characters was never typed by a person.
fn binary(file: FileId, text: &str) -> Option<Diagnostic> {
    let at = text
        .bytes()
        .position(|b| b < 0x20 && !matches!(b, b'\n' | b'\r' | b'\t'))?;
    Some(
        Diagnostic::error(
            Code::NotText,
            Span::new(file, at, at + 1),
            "this is not a text file",
        )
        .label("a control character, which no editor writes")
        .hint("give the `.tie` file itself, saved as plain text"),
    )
}

/// A block still open: the statement it belongs to and what it holds so far.
#[derive(Default)]
struct Open<'a> {
    head: &'a str,
    brace: usize,
    statements: Vec<Block<'a>>,
}

struct Splitter<'a> {
    file: FileId,
    text: &'a str,
    at: usize,
    diagnostics: Vec<Diagnostic>,
    stack: Vec<Open<'a>>,
}

impl<'a> Splitter<'a> {
    fn run(&mut self) {
        while self.skip_blank() {
            match self.byte() {
                b'}' => self.close_brace(),
                b';' => self.at += 1,
                _ => self.statement(),
            }
        }
    }

    fn byte(&self) -> u8 {
        self.text.as_bytes().get(self.at).copied().unwrap_or(b'\n')
    }

    /// Skips blanks and comments; whether anything is left.
    fn skip_blank(&mut self) -> bool {
        let bytes = self.text.as_bytes();
        while let Some(&b) = bytes.get(self.at) {
            match b {
                b' ' | b'\t' | b'\r' | b'\n' => self.at += 1,
                b'#' => self.skip_line(),
                _ => return true,
            }
        }
        false
    }

    fn skip_line(&mut self) {
        self.at += self.rest().find('\n').unwrap_or(self.rest().len());
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    /// How far in the line of byte `at` starts its text, and how far in `at` stands.
    fn column(&self, at: usize) -> usize {
        let line = self.text[..at].rfind('\n').map_or(0, |n| n + 1);
        self.text[line..at]
            .chars()
            .map(|c| if c == '\t' { 4 } else { 1 })
            .sum()
    }

    /// Reads one head up to its end and acts on what ends it.
    fn statement(&mut self) {
        let start = self.at;
        // Measured at the end of the first line only: a line may hold any number of statements.
        let mut indent = None;
        loop {
            match self.text.as_bytes().get(self.at) {
                None | Some(b';' | b'}') => break self.push(start),
                Some(b'{') => break self.open_brace(start),
                Some(b'"') => self.quoted(),
                Some(b'#') => self.skip_line(),
                Some(b'\n') => {
                    let end = self.at;
                    let more = self.skip_blank() && !matches!(self.byte(), b'{' | b'}');
                    let indent = *indent.get_or_insert_with(|| self.column(start));
                    if !more || self.column(self.at) <= indent {
                        // A brace on the next line still belongs to this head.
                        if self.byte() == b'{' {
                            break self.open_brace_from(start, end);
                        }
                        break self.push_until(start, end);
                    }
                }
                Some(_) => self.at += 1,
            }
        }
    }

    fn quoted(&mut self) {
        let open = self.at;
        let line = self.rest().find('\n').unwrap_or(self.rest().len());
        match self.rest().get(1..line).and_then(|text| text.find('"')) {
            Some(close) => self.at += close + 2,
            None => {
                // A brace at the end of the line most likely opens the block all the same.
                let text = self.rest().get(..line).unwrap_or("").trim_end();
                self.at += text.strip_suffix('{').map_or(line, str::len);
                let inches = self.text[..open].ends_with(|c: char| c.is_ascii_digit());
                self.diagnostics.push(
                    Diagnostic::error(
                        Code::OpenQuote,
                        Span::new(self.file, open, open + 1),
                        "this quote is never closed",
                    )
                    .hint(if inches {
                        "for inches write `in`"
                    } else {
                        "close the text with `\"` before the end of the line"
                    }),
                );
            }
        }
    }

    fn push(&mut self, start: usize) {
        self.push_until(start, self.at);
    }

    fn push_until(&mut self, start: usize, end: usize) {
        let head = trim_head(&self.text[start..end]);
        self.keep(Block { head, body: None });
    }

    /// Adds a statement to the innermost block, unless it holds too many.
    fn keep(&mut self, block: Block<'a>) {
        let most = if self.stack.len() > 1 {
            MAX_STATEMENTS
        } else {
            MAX_DECLARATIONS
        };
        let Some(open) = self.stack.last_mut() else {
            return;
        };
        if open.statements.len() < most {
            open.statements.push(block);
            return;
        }
        // What a text holds in all is at fault, not each statement that is too much.
        if !self.diagnostics.iter().any(|d| d.code == Code::TooMany) {
            let at = block.head.as_ptr() as usize - self.text.as_ptr() as usize;
            let what = if most == MAX_STATEMENTS {
                "one block"
            } else {
                "one file"
            };
            self.diagnostics.push(
                Diagnostic::error(
                    Code::TooMany,
                    Span::new(self.file, at, at + block.head.len()),
                    format!("{what} may hold {most} statements, and this is one more"),
                )
                .hint("split it up: into several styles, or into files that `use` each other's"),
            );
        }
    }

    fn open_brace(&mut self, start: usize) {
        self.open_brace_from(start, self.at);
    }

    fn open_brace_from(&mut self, start: usize, end: usize) {
        let head = trim_head(&self.text[start..end]);
        let brace = self.at;
        self.at += 1;
        if self.stack.len() > MAX_DEPTH {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::TooDeep,
                    Span::new(self.file, brace, brace + 1),
                    "blocks stand too deep in each other",
                )
                .hint(format!("at most {MAX_DEPTH} braces may be open at once")),
            );
            self.at = self.text.len();
            return;
        }
        self.stack.push(Open {
            head,
            brace,
            statements: Vec::new(),
        });
    }

    fn close_brace(&mut self) {
        if self.stack.len() > 1 {
            self.close();
        } else {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::StrayBrace,
                    Span::new(self.file, self.at, self.at + 1),
                    "this `}` closes nothing",
                )
                .hint("take it out, or look for a `{` that is missing above"),
            );
        }
        self.at += 1;
    }

    fn close(&mut self) {
        if let Some(open) = self.stack.pop() {
            self.keep(Block {
                head: open.head,
                body: Some(open.statements),
            });
        }
    }

    fn close_all(&mut self) -> Vec<Block<'a>> {
        let too_deep = self.diagnostics.iter().any(|d| d.code == Code::TooDeep);
        while self.stack.len() > 1 {
            let brace = self.stack.last().map_or(0, |open| open.brace);
            if !too_deep {
                self.diagnostics.push(
                    Diagnostic::error(
                        Code::OpenBrace,
                        Span::new(self.file, brace, brace + 1),
                        "this `{` is never closed",
                    )
                    .hint("add a `}` where the block ends"),
                );
            }
            self.close();
        }
        self.stack
            .pop()
            .map(|open| open.statements)
            .unwrap_or_default()
    }
}

/// Cuts trailing blanks; a trailing comment is skipped by the grammar.
fn trim_head(head: &str) -> &str {
    head.trim_end()
}

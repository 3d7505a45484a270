//! Diagnostics as text: the place in the source, what is wrong and what to do.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::ops::Range;

use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Renderer, Snippet};
use tiewright_core::diagnostic::{Diagnostic, Label, Severity};
use tiewright_core::source::{FileId, Sources};

/// The most diagnostics shown; after so many, one more tells nothing new.
pub const MOST_SHOWN: usize = 20;
/// Columns that a report fits.
const COLUMNS: usize = 100;
/// The longest stretch of source handed to the renderer, bytes: a line may be a whole file.
const LONGEST_STRETCH: usize = 4 << 10;
/// Characters that turn the direction of writing, so that a line reads other than it is.
const TURNS: [std::ops::RangeInclusive<char>; 2] =
    ['\u{202A}'..='\u{202E}', '\u{2066}'..='\u{2069}'];
/// The longest message, hint or label shown, characters.
const LONGEST_MESSAGE: usize = 1000;

/// The diagnostics as text, errors first, each once, at most [`MOST_SHOWN`].
pub fn render(sources: &Sources, diagnostics: &[Diagnostic], styled: bool) -> String {
    let renderer = if styled {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let renderer = renderer.term_width(COLUMNS);
    let distinct = distinct(diagnostics);
    let mut out = String::new();
    for diagnostic in distinct.iter().take(MOST_SHOWN) {
        out += &one(&renderer, sources, diagnostic);
        out += "\n\n";
    }
    if let Some(more @ 1..) = distinct.len().checked_sub(MOST_SHOWN) {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "and {more} more");
    }
    out
}

/// Each diagnostic once, errors before warnings, otherwise in the order given.
fn distinct(diagnostics: &[Diagnostic]) -> Vec<&Diagnostic> {
    let mut seen = BTreeSet::new();
    let key = |d: &Diagnostic| {
        (
            d.code,
            d.message.clone(),
            d.primary.as_ref().map(|p| p.span),
        )
    };
    let mut distinct: Vec<&Diagnostic> =
        diagnostics.iter().filter(|d| seen.insert(key(d))).collect();
    distinct.sort_by_key(|d| std::cmp::Reverse(d.severity));
    distinct
}

fn one(renderer: &Renderer, sources: &Sources, diagnostic: &Diagnostic) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let title = level
        .primary_title(plain(&diagnostic.message))
        .id(diagnostic.code.as_str());
    let mut files: Vec<FileId> = Vec::new();
    let labels: Vec<(AnnotationKind, &Label)> = diagnostic
        .primary
        .iter()
        .map(|label| (AnnotationKind::Primary, label))
        .chain(
            diagnostic
                .secondary
                .iter()
                .map(|label| (AnnotationKind::Context, label)),
        )
        .collect();
    for (_, label) in &labels {
        if !files.contains(&label.span.file) {
            files.push(label.span.file);
        }
    }
    let snippets = files
        .iter()
        .filter_map(|file| snippet(sources, *file, &labels));
    let mut group = Group::with_title(title).elements(snippets);
    for hint in &diagnostic.hints {
        group = group.element(Level::HELP.message(plain(hint)));
    }
    renderer.render(&[group])
}

/// The lines of one file round all labels in it.
fn snippet<'a>(
    sources: &'a Sources,
    file: FileId,
    labels: &[(AnnotationKind, &'a Label)],
) -> Option<Snippet<'a, Annotation<'a>>> {
    let source = sources.get(file)?;
    let text: &str = &source.text;
    let here: Vec<(AnnotationKind, &Label, Range<usize>)> = labels
        .iter()
        .filter(|(_, label)| label.span.file == file)
        .map(|(kind, label)| (*kind, *label, first_line(text, label.span.range())))
        .collect();
    let first = here.iter().map(|h| h.2.start).min()?;
    let last = here.iter().map(|h| h.2.end).max()?;
    let stretch = lines_round(text, first..last);
    let line = text
        .get(..stretch.start)?
        .bytes()
        .filter(|&b| b == b'\n')
        .count()
        + 1;
    let annotations = here.into_iter().filter_map(|(kind, label, range)| {
        // A stretch cut short may leave a far label out.
        let end = range.end.min(stretch.end);
        let start = range
            .start
            .checked_sub(stretch.start)
            .filter(|_| range.start <= end)?;
        let text = (!label.text.is_empty()).then(|| plain(&label.text));
        Some(kind.span(start..end - stretch.start).label(text))
    });
    Some(
        Snippet::source(text.get(stretch.clone())?)
            .line_start(line)
            .path(source.name.as_str())
            .annotations(annotations.collect::<Vec<_>>()),
    )
}

/// The whole lines round `range`, at most [`LONGEST_STRETCH`] before and after its start.
fn lines_round(text: &str, range: Range<usize>) -> Range<usize> {
    let bytes = text.as_bytes();
    let floor = range.start.saturating_sub(LONGEST_STRETCH);
    let ceiling = (range.start + LONGEST_STRETCH).min(text.len());
    let before = bytes.get(floor..range.start).unwrap_or_default();
    let line_end = |b: &u8| *b == b'\n';
    let start = before
        .iter()
        .rposition(line_end)
        .map_or(floor, |at| floor + at + 1);
    let from = range.end.clamp(range.start, ceiling);
    let after = bytes.get(from..ceiling).unwrap_or_default();
    let end = after
        .iter()
        .position(line_end)
        .map_or(ceiling, |at| from + at);
    within(text, start..end)
}

/// `range` up to the end of its first line: brackets over several lines hide the words they mark.
fn first_line(text: &str, range: Range<usize>) -> Range<usize> {
    let range = within(text, range);
    let marked = text.get(range.clone()).unwrap_or_default();
    let line = marked.split('\n').next().unwrap_or_default();
    range.start..range.start + line.trim_end().len()
}

/// `range` moved down to lie within `text` between whole characters.
fn within(text: &str, range: Range<usize>) -> Range<usize> {
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(range.start);
    start..floor(range.end).max(start)
}

/// A message without control characters, which might steer the terminal, and cut short when a
/// file's words make it too long to read.
fn plain(text: &str) -> String {
    let steers =
        |c: char| c.is_control() && c != '\n' || TURNS.iter().any(|turn| turn.contains(&c));
    let clean = |c: char| if steers(c) { ' ' } else { c };
    let mut letters = text.chars();
    let mut out: String = letters.by_ref().take(LONGEST_MESSAGE).map(clean).collect();
    if letters.next().is_some() {
        out.push('…');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiewright_core::diagnostic::Code;
    use tiewright_core::source::Span;

    fn sources(text: &str) -> (Sources, FileId) {
        let mut sources = Sources::default();
        let id = sources.add("club.tie", text);
        (sources, id)
    }

    #[test]
    fn shows_the_place_and_the_advice() {
        let (sources, id) = sources("style club {\n  blade-widht 80 mm\n}\n");
        let diagnostic =
            Diagnostic::error(Code::UnknownName, Span::new(id, 15, 26), "no such name")
                .label("here")
                .hint("did you mean `blade-width`?");
        let text = render(&sources, &[diagnostic], false);
        let expected = "\
error[unknown-name]: no such name
 --> club.tie:2:3
  |
2 |   blade-widht 80 mm
  |   ^^^^^^^^^^^ here
  |
  = help: did you mean `blade-width`?

";
        assert_eq!(text, expected);
    }

    #[test]
    fn errors_come_first_each_once_and_not_too_many() {
        let (sources, id) = sources("style club {}\n");
        let warning = Diagnostic::warning(Code::ProofFails, Span::new(id, 0, 5), "a warning");
        let mut all = vec![warning.clone(), warning];
        all.extend((0..30).map(|n| Diagnostic::general(Code::NoFile, format!("error {n}"))));
        let text = render(&sources, &all, false);
        assert!(text.starts_with("error[no-file]: error 0\n"), "{text}");
        assert!(text.ends_with("and 11 more\n"), "{text}");
        assert!(!text.contains("a warning"));
    }

    #[test]
    fn words_of_a_file_neither_steer_the_terminal_nor_flood_it() {
        let words = format!("\u{1b}[2J\u{202E}{}", "x".repeat(5000));
        let text = render(
            &Sources::default(),
            &[Diagnostic::general(Code::Requirement, words)],
            false,
        );
        assert!(!text.contains(['\u{1b}', '\u{202E}']), "{text}");
        assert!(text.chars().count() < 1100 && text.contains('…'));
    }

    #[test]
    fn a_label_over_several_lines_marks_the_first() {
        let (sources, id) = sources("find width\n  so that x is 3\n");
        let diagnostic = Diagnostic::error(Code::NoSolution, Span::new(id, 0, 26), "none");
        let text = render(&sources, &[diagnostic], false);
        assert!(text.contains("1 | find width\n  | ^^^^^^^^^^\n"), "{text}");
    }

    #[test]
    fn any_span_in_any_text_is_shown() {
        let texts = [
            "",
            "\n",
            "x",
            "\u{e9}\u{1F454}\u{7}",
            &"a".repeat(100_000),
            &"\n".repeat(9000),
        ];
        for text in texts {
            let (sources, id) = sources(text);
            for (start, end) in [(0, 0), (1, 3), (2, 1), (5000, 90_000), (99_999, 100_000)] {
                let span = Span {
                    file: id,
                    start,
                    end,
                };
                let far = Span::new(id, 80_000, 80_010);
                let diagnostic = Diagnostic::error(Code::Syntax, span, "message").also(far, "far");
                assert!(render(&sources, &[diagnostic], false).contains("message"));
            }
        }
        let stray = Diagnostic::error(Code::Syntax, Span::new(FileId(7), 0, 1), "message");
        assert!(render(&Sources::default(), &[stray], false).contains("message"));
    }
}

//! Words broken into lines of a width.

use super::font::{Face, Fonts};

/// Slack for sums of widths that should fit exactly, mm.
const SLACK: f64 = 1e-6;

/// `text` in lines no wider than `width`: a line end starts a line, lines break at blanks (not at
/// those that are said not to break), and
/// a word too long for a line after a hyphen of its own or, without one, wherever it must.
pub(super) fn wrapped(fonts: &Fonts, text: &str, face: Face, size: f64, width: f64) -> Vec<String> {
    let measure = |text: &str| fonts.width(text, face, size);
    let fits = |text: &str| measure(text) <= width + SLACK;
    let mut lines = Vec::new();
    for part in text.split('\n') {
        let mut line = String::new();
        let part: String = part.chars().map(printable).collect();
        for word in part.split(' ').filter(|word| !word.is_empty()) {
            let joined = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if fits(&joined) {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            let mut rest = word;
            // A line holds a character at least.
            while rest.chars().nth(1).is_some() && !fits(rest) {
                let (head, tail) = rest.split_at(break_of(rest, &fits));
                lines.push(head.to_owned());
                rest = tail;
            }
            line = rest.to_owned();
        }
        lines.push(line);
    }
    lines
}

/// What cannot be printed is a blank.
fn printable(c: char) -> char {
    if c.is_control() { ' ' } else { c }
}

/// Where a word that does not fit is broken: at least one character on, at most before its end.
fn break_of(word: &str, fits: &impl Fn(&str) -> bool) -> usize {
    let ends = || word.char_indices().skip(1).map(|(at, _)| at);
    let first = ends().next().unwrap_or(word.len());
    let fitting = || ends().take_while(|&at| fits(&word[..at]));
    let hyphen = fitting().filter(|&at| word[..at].ends_with('-')).last();
    hyphen.or_else(|| fitting().last()).unwrap_or(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str, width: f64) -> Vec<String> {
        let fonts = Fonts::load().expect("fonts");
        let lines = wrapped(&fonts, text, Face::Regular, 4.0, width);
        for line in &lines {
            let wide = fonts.width(line, Face::Regular, 4.0);
            assert!(wide <= width + 1e-6 || line.chars().count() == 1, "{line}");
        }
        lines
    }

    #[test]
    fn lines_break_between_words_and_keep_them_all() {
        let text = "sew blade to neck and neck to tail, seams on the straight grain";
        let found = lines(text, 40.0);
        assert!(found.len() > 2);
        assert_eq!(found.join(" "), text);
        assert_eq!(lines("one\ntwo", 40.0), ["one", "two"]);
        assert_eq!(lines("wide 10\u{a0}mm", 16.0), ["wide", "10\u{a0}mm"]);
        assert_eq!(lines("", 40.0), [""]);
    }

    #[test]
    fn long_words_break_at_hyphens_or_anywhere() {
        assert_eq!(lines("interlining-front", 25.0), ["interlining-", "front"]);
        let found = lines(&"w".repeat(50), 30.0);
        assert!(found.len() > 3);
        assert_eq!(found.concat(), "w".repeat(50));
        assert_eq!(lines("wwww", 0.1).len(), 4);
    }
}

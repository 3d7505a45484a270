//! What to do about the slips that are made most often in writing: a hint for a statement that could
//! not be read, from what was looked for and what stood there instead. Knows no names of shapes.

use super::lexis;
use crate::phrase::RESERVED;

/// Fractions that keyboards and word processors make of two digits and a stroke.
const FRACTIONS: &[(char, &str)] = &[
    ('½', "1/2"),
    ('¼', "1/4"),
    ('¾', "3/4"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
    ('⅓', "1/3"),
    ('⅔', "2/3"),
];

/// What was looked for where a value should stand, as parsers name it.
const A_VALUE: &str = "a value";
const A_NAME: &str = "a name";
const A_TEXT: &str = "a text in quotes";
const THE_END: &str = "the end of the statement";

/// The hint for a statement that ended too soon.
pub fn at_the_end(head: &str, wanted: &[String]) -> String {
    from_which_shape(head, wanted).unwrap_or_else(|| {
        "a statement ends with its line; a line set further in goes on with it".to_owned()
    })
}

/// The hint for a statement that could be read up to `at`, where `found` stands.
pub fn at(head: &str, at: &str, wanted: &[String], found: &str) -> Option<String> {
    let wants = |what: &str| wanted.iter().any(|w| w == what);
    let before = head.len().checked_sub(at.len());
    let before = before.and_then(|until| head.get(..until)).unwrap_or("");
    let first = found.chars().next()?;
    sign(first, before, at)
        .or_else(|| from_which_shape(head, wanted))
        .or_else(|| match first {
            '=' | ':' if wants(A_VALUE) => Some(format!(
                "leave out the `{first}`: the value stands right after the parameter's name"
            )),
            ')' if wants(THE_END) => {
                Some("take it out, or put the `(` that is missing before it".to_owned())
            }
            '.' if wants(THE_END) => Some("leave out the `.`".to_owned()),
            _ if wants(A_NAME) && RESERVED.contains(&found) => Some(format!(
                "`{found}` is a word of the language; choose another name"
            )),
            '0'..='9' if wants(A_NAME) => Some("a name starts with a letter".to_owned()),
            _ if wants(A_TEXT) => Some("put it between `\"` and `\"`".to_owned()),
            _ if wants(THE_END) => read_on(before, found),
            _ => None,
        })
}

/// Signs that mean something elsewhere and nothing here.
fn sign(first: char, before: &str, at: &str) -> Option<String> {
    if let Some((_, spelled)) = FRACTIONS.iter().find(|(sign, _)| *sign == first) {
        return Some(format!(
            "write the fraction with a stroke and a blank before it, as in `3 {spelled}`"
        ));
    }
    match first {
        '“' | '”' | '„' | '‘' | '’' => Some("write straight quotes, `\"`".to_owned()),
        // The first stroke may have been read as a division.
        '/' if at.starts_with("//") || at.starts_with("/*") || before.ends_with('/') => {
            Some("a comment starts with `#`".to_owned())
        }
        '–' | '—' | '−' => Some("write a plain hyphen, `-`".to_owned()),
        _ => None,
    }
}

/// A style must say what it is built from.
fn from_which_shape(head: &str, wanted: &[String]) -> Option<String> {
    let first = lexis::word(head).map_or("", |(_, word)| word);
    let asked = first == "style" && wanted.iter().any(|w| w == "`from`");
    asked.then(|| {
        format!(
            "say what it is built from, as in `style my-tie from {}`",
            crate::stdlib::first()
        )
    })
}

/// Why `found` stands where a statement should have ended; `before` is what could be read of it.
fn read_on(before: &str, found: &str) -> Option<String> {
    let starts_a_line = before
        .rsplit_once('\n')
        .is_some_and(|(_, line)| line.trim().is_empty());
    let words: Vec<&str> = before.split_whitespace().collect();
    let is_word = |text: &&str| lexis::word(text).is_ok_and(|(rest, _)| rest.is_empty());
    match words.as_slice() {
        _ if starts_a_line => Some(
            "a line set further in goes on with the one above it: set it level to begin a new statement"
                .to_owned(),
        ),
        ["size", _] => Some("put what the size sets between `{` and `}`".to_owned()),
        ["cloth" | "table", a] if is_word(a) && is_word(&found) => Some(format!(
            "a name of several words is written with hyphens, as in `{a}-{found}`"
        )),
        [a, b] if is_word(a) && is_word(b) => Some(format!(
            "a name of several words is written with hyphens, as in `{a}-{b}`"
        )),
        _ => None,
    }
}

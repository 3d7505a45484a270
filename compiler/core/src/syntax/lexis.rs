//! The smallest parsers: blanks, words, signs, numbers with units, quoted texts.
//!
//! Input is always the rest of one statement's head; blanks and comments before a token are
//! skipped by the token's parser.

use nom::Parser;
use nom::branch::alt;
use nom::bytes::complete::{tag, take_while, take_while1};
use nom::combinator::{opt, recognize};
use nom::error::ParseError as _;
use nom::sequence::{pair, preceded, terminated};

use super::expected::{Expected, Parsed, complain, expected};
use crate::diagnostic::Code;
use crate::format::INCH;
use crate::kind::Dim;

/// Skips blanks, line ends and comments.
pub fn blank(mut input: &str) -> &str {
    loop {
        input = input.trim_start();
        if !input.starts_with('#') {
            return input;
        }
        input = input.find('\n').and_then(|n| input.get(n..)).unwrap_or("");
    }
}

fn is_word_start(c: char) -> bool {
    c.is_alphabetic() || c == '_'
}

fn is_word_part(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// A word: letters, then letters, digits and single hyphens inside.
pub fn word(input: &str) -> Parsed<'_, &str> {
    let input = blank(input);
    if !input.starts_with(is_word_start) {
        return expected(input, "a name");
    }
    let mut end = 0;
    let mut chars = input.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let joins = c == '-' && chars.peek().is_some_and(|&(_, next)| is_word_part(next));
        if !(is_word_part(c) || joins) {
            break;
        }
        end = at + c.len_utf8();
    }
    Ok((&input[end..], &input[..end]))
}

/// What is left after exactly this word, if it stands here. Costs nothing where it does not.
pub fn after_keyword<'a>(input: &'a str, wanted: &str) -> Option<&'a str> {
    let rest = blank(input).strip_prefix(wanted)?;
    // Words that go on, `not-yet` after `not`, are others.
    let tail = rest.strip_prefix('-').unwrap_or(rest);
    (!tail.starts_with(is_word_part)).then_some(rest)
}

/// What is left after exactly these signs, if they stand here.
pub fn after_sign<'a>(input: &'a str, wanted: &str) -> Option<&'a str> {
    blank(input).strip_prefix(wanted)
}

/// Exactly this word.
pub fn keyword<'a>(wanted: &'static str) -> impl FnMut(&'a str) -> Parsed<'a, ()> {
    move |input| match after_keyword(input, wanted) {
        Some(rest) => Ok((rest, ())),
        None => expected(blank(input), format!("`{wanted}`")),
    }
}

/// Exactly these signs.
pub fn sign<'a>(wanted: &'static str) -> impl FnMut(&'a str) -> Parsed<'a, ()> {
    move |input| match after_sign(input, wanted) {
        Some(rest) => Ok((rest, ())),
        None => expected(blank(input), format!("`{wanted}`")),
    }
}

/// Nothing but blanks left.
pub fn end(input: &str) -> Parsed<'_, ()> {
    let input = blank(input);
    if input.is_empty() {
        Ok((input, ()))
    } else {
        expected(input, "the end of the statement")
    }
}

/// A quoted text, without its quotes.
pub fn quoted(input: &str) -> Parsed<'_, &str> {
    let input = blank(input);
    let Some(body) = input.strip_prefix('"') else {
        return expected(input, "a text in quotes");
    };
    match body.find(['"', '\n']) {
        Some(at) if body[at..].starts_with('"') => Ok((&body[at + 1..], &body[..at])),
        // The splitter has already reported it; this only ends the statement.
        _ => Err(nom::Err::Failure(Expected::from_error_kind(
            input,
            nom::error::ErrorKind::Char,
        ))),
    }
}

/// Units, with what one of each is in millimetres, radians or plain.
pub static UNITS: &[(&str, f64, Dim)] = &[
    ("mm", 1.0, Dim::LENGTH),
    ("cm", 10.0, Dim::LENGTH),
    ("m", 1000.0, Dim::LENGTH),
    ("in", INCH, Dim::LENGTH),
    ("deg", std::f64::consts::PI / 180.0, Dim::ANGLE),
];

/// Units people may write that the language spells otherwise, and what to write in their place.
static OTHER_UNITS: &[(&str, &str)] = &[
    ("inch", "`in`"),
    ("inches", "`in`"),
    ("ins", "`in`"),
    ("\u{201D}", "`in`"),
    ("\u{2033}", "`in`"),
    ("millimetre", "`mm`"),
    ("millimetres", "`mm`"),
    ("millimeter", "`mm`"),
    ("millimeters", "`mm`"),
    ("centimetre", "`cm`"),
    ("centimetres", "`cm`"),
    ("centimeter", "`cm`"),
    ("centimeters", "`cm`"),
    ("metre", "`m`"),
    ("metres", "`m`"),
    ("meter", "`m`"),
    ("meters", "`m`"),
    ("ft", "it in `in`, 12 to the foot"),
    ("foot", "it in `in`, 12 to the foot"),
    ("feet", "it in `in`, 12 to the foot"),
    ("yd", "it in `in`, 36 to the yard"),
    ("degrees", "`deg`"),
    ("degree", "`deg`"),
    ("\u{B0}", "`deg`"),
    ("rad", "it in `deg`"),
    ("percent", "`%`"),
];

/// A number as a person writes it: `57`, `2.5`, `1/4`, `3 1/4`, with a unit after it or without.
/// Gives the value in millimetres, radians or plain.
pub fn number(input: &str) -> Parsed<'_, (f64, Dim)> {
    let input = blank(input);
    let (rest, value) = amount(input)?;
    if !value.is_finite() {
        return complain(
            input,
            input.len() - rest.len(),
            Code::NumberTooLarge,
            "this number is too large",
            "write a smaller one",
        );
    }
    if let Some(after) = rest.trim_start_matches([' ', '\t']).strip_prefix('%') {
        return Ok((after, (value / 100.0, Dim::PLAIN)));
    }
    let Ok((after, unit)) = word(rest).or_else(|_: nom::Err<Expected>| unit_sign(rest)) else {
        return decimal_comma(rest).unwrap_or(Ok((rest, (value, Dim::PLAIN))));
    };
    // A unit stands on the number's own line, so that a name on the next line is not taken for one.
    let gap = &rest[..rest.len() - after.len() - unit.len()];
    if gap.contains('\n') {
        return Ok((rest, (value, Dim::PLAIN)));
    }
    if let Some((_, factor, dim)) = UNITS.iter().find(|(name, ..)| *name == unit) {
        return Ok((after, (value * factor, *dim)));
    }
    if let Some((_, right)) = OTHER_UNITS.iter().find(|(name, _)| *name == unit) {
        return complain(
            &rest[gap.len()..],
            unit.len(),
            Code::UnknownUnit,
            format!("there is no unit `{unit}`"),
            format!("write {right}"),
        );
    }
    Ok((rest, (value, Dim::PLAIN)))
}

/// A sign that people write for a unit.
fn unit_sign(input: &str) -> Parsed<'_, &str> {
    let input = input.trim_start_matches([' ', '\t']);
    let sign = input
        .chars()
        .next()
        .filter(|c| "\u{B0}\u{201D}\u{2033}".contains(*c));
    let bytes = sign.map_or(0, char::len_utf8);
    match (input.get(..bytes), input.get(bytes..)) {
        (Some(sign), Some(rest)) if bytes > 0 => Ok((rest, sign)),
        _ => expected(input, "a unit"),
    }
}

/// Complains about `144,8`, which some write for 144.8. In a list a blank follows the comma.
fn decimal_comma<'a, T>(rest: &'a str) -> Option<Parsed<'a, T>> {
    let decimals = rest.strip_prefix(',')?;
    decimals.starts_with(|c: char| c.is_ascii_digit()).then(|| {
        complain(
            rest,
            1,
            Code::Syntax,
            "a comma cannot stand inside a number",
            "write a decimal point; between two values, put a blank after the comma",
        )
    })
}

fn digits(input: &str) -> Parsed<'_, &str> {
    take_while1(|c: char| c.is_ascii_digit())(input)
}

/// `3 1/4`, `1/4`, `2.5` or `57`.
fn amount(input: &str) -> Parsed<'_, f64> {
    let whole_before_fraction = terminated(digits, take_while1(|c| c == ' '));
    let mut mixed = pair(
        opt(whole_before_fraction),
        pair(terminated(digits, tag("/")), digits),
    );
    if let Ok((rest, (whole, (top, bottom)))) = mixed.parse(input) {
        let below = decimal(bottom);
        if below == 0.0 {
            return complain(
                input,
                input.len() - rest.len(),
                Code::ZeroFraction,
                "this fraction divides by zero",
                "write another number below the stroke",
            );
        }
        return Ok((rest, whole.map_or(0.0, decimal) + decimal(top) / below));
    }
    let fraction = preceded(tag("."), take_while(|c: char| c.is_ascii_digit()));
    match alt((recognize(pair(digits, fraction)), digits)).parse(input) {
        Ok((rest, text)) => Ok((rest, decimal(text))),
        Err(_) => expected(input, "a number"),
    }
}

fn decimal(text: &str) -> f64 {
    text.parse().unwrap_or(f64::INFINITY)
}

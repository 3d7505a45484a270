//! Phrases: the built-in verbs of the language, written with words between their places, such as
//! `offset side by 3 mm` or `where side meets join near (0 mm, 10 mm)`.
//!
//! One table says how each is written, what may stand in its places and what it gives. The
//! parser, the checker, the messages and the language reference all read this table.

use crate::kind::{Dim, Kind};

/// What may stand in a place of a phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Exactly this kind.
    Is(Kind),
    /// A point, line, curve or outline.
    Drawn,
    /// A curve or an endless line.
    LineOrCurve,
    /// A point, an endless line or a curve.
    Foldable,
    /// One or more curves, after commas.
    Curves,
    /// A point on the curve, or the station (distance along the centre) where it is.
    On,
    /// Name of a piece.
    Piece,
}

impl Place {
    /// In words, for messages.
    pub fn describe(self) -> String {
        match self {
            Place::Is(kind) => kind.to_string(),
            Place::Drawn => "a point, line, curve or outline".into(),
            Place::LineOrCurve => "a curve or an endless line".into(),
            Place::Foldable => "a point, an endless line or a curve".into(),
            Place::Curves => "a curve, or several with commas between".into(),
            Place::On => "a point on the curve, or a station along the centre".into(),
            Place::Piece => "a piece".into(),
        }
    }

    /// Whether a value of `kind` may stand here.
    pub fn takes(self, kind: Kind) -> bool {
        if kind == Kind::Unknown {
            return true;
        }
        match self {
            // A piece stands for its outline.
            Place::Is(Kind::Outline) => matches!(kind, Kind::Outline | Kind::Piece),
            Place::Is(wanted) => kind == wanted,
            Place::Drawn => matches!(kind, Kind::Point | Kind::Line | Kind::Curve | Kind::Outline),
            Place::LineOrCurve => matches!(kind, Kind::Line | Kind::Curve),
            Place::Foldable => matches!(kind, Kind::Point | Kind::Line | Kind::Curve),
            Place::Curves => kind == Kind::Curve,
            Place::On => matches!(kind, Kind::Point | Kind::LENGTH),
            Place::Piece => kind == Kind::Piece,
        }
    }
}

/// What a phrase gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gives {
    /// Always this kind.
    Kind(Kind),
    /// The kind of what stands in the first place.
    SameAsFirst,
    /// A point for a point, else a curve.
    PointOrCurve,
}

/// Which phrase it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Verb {
    LineFromTo,
    LineThroughAt,
    LineThroughAnd,
    BoxFromTo,
    PartOf,
    PointOnAt,
    PointOnAbove,
    StartOf,
    EndOf,
    FootOf,
    Offset,
    Mirror,
    Turn,
    Move,
    Reverse,
    Chain,
    Unfold,
    Fold,
    WhereMeets,
    WhereMeetsNear,
    LengthOf,
    LengthOfBetween,
    WidthOf,
    AreaOf,
    DistanceFrom,
    AngleBetween,
    AngleOf,
    AngleOfAt,
    XOf,
    YOf,
    GreatestEase,
    LeastEase,
    GreatestEasePlace,
    LeastEasePlace,
    GreatestGap,
    LeastGap,
    Clearance,
    FoldedWith,
    SilhouetteGap,
    SeamGap,
    NotchGap,
}

/// One way to write a phrase.
#[derive(Debug, PartialEq)]
pub struct Form {
    /// Which phrase.
    pub verb: Verb,
    /// The word it begins with.
    pub word: &'static str,
    /// The word before each place (empty: none) and what the place takes.
    pub places: &'static [(&'static str, Place)],
    /// What it gives.
    pub gives: Gives,
    /// What it means, one line for the reference.
    pub doc: &'static str,
}

impl Form {
    /// How to write it, such as `offset … by …`.
    pub fn usage(&self) -> String {
        let mut out = self.word.to_owned();
        for (word, _) in self.places {
            if !word.is_empty() {
                out.push(' ');
                out.push_str(word);
            }
            out.push_str(" …");
        }
        out
    }

    /// Whether its first place follows the first word directly; such a first word cannot be a name.
    pub fn leads(&self) -> bool {
        self.places.first().is_some_and(|(word, _)| word.is_empty())
    }
}

const POINT: Place = Place::Is(Kind::Point);
const LENGTH: Place = Place::Is(Kind::LENGTH);
const ANGLE: Place = Place::Is(Kind::ANGLE);
const CURVE: Place = Place::Is(Kind::Curve);
const LINE: Place = Place::Is(Kind::Line);
const OUTLINE: Place = Place::Is(Kind::Outline);
const ASSEMBLY: Place = Place::Is(Kind::Assembly);

const fn form(
    verb: Verb,
    word: &'static str,
    places: &'static [(&'static str, Place)],
    gives: Gives,
    doc: &'static str,
) -> Form {
    Form {
        verb,
        word,
        places,
        gives,
        doc,
    }
}

const fn to(kind: Kind) -> Gives {
    Gives::Kind(kind)
}

/// Every phrase of the language.
#[rustfmt::skip]
pub static FORMS: &[Form] = &[
    form(Verb::LineFromTo, "line", &[("from", POINT), ("to", POINT)], to(Kind::Curve),
        "the straight line between two points"),
    form(Verb::LineThroughAt, "line", &[("through", POINT), ("at", ANGLE)], to(Kind::Line),
        "the endless line through a point, at an angle to the centre"),
    form(Verb::LineThroughAnd, "line", &[("through", POINT), ("and", POINT)], to(Kind::Line),
        "the endless line through two points"),
    form(Verb::BoxFromTo, "box", &[("from", POINT), ("to", POINT)], to(Kind::Curve),
        "the four sides of the rectangle between two opposite corners"),
    form(Verb::PartOf, "part", &[("of", CURVE), ("from", Place::On), ("to", Place::On)], to(Kind::Curve),
        "the stretch of a curve between two of its points or stations"),
    form(Verb::PointOnAt, "point", &[("on", CURVE), ("at", LENGTH)], to(Kind::Point),
        "the point at a length along a curve from its start; a negative length counts from its end"),
    form(Verb::PointOnAbove, "point", &[("on", CURVE), ("above", LENGTH)], to(Kind::Point),
        "the point of a curve above a station of the centre"),
    form(Verb::StartOf, "start", &[("of", CURVE)], to(Kind::Point), "where a curve starts"),
    form(Verb::EndOf, "end", &[("of", CURVE)], to(Kind::Point), "where a curve ends"),
    form(Verb::FootOf, "foot", &[("of", POINT), ("on", Place::LineOrCurve)], to(Kind::Point),
        "the nearest point of a line or curve: where the square from the point meets it"),
    form(Verb::Offset, "offset", &[("", Place::LineOrCurve), ("by", LENGTH)], Gives::SameAsFirst,
        "the parallel line, to the left as the line is walked; a negative length goes to the right"),
    form(Verb::Mirror, "mirror", &[("", Place::Drawn), ("in", LINE)], Gives::SameAsFirst,
        "the mirror image in an endless line"),
    form(Verb::Turn, "turn", &[("", Place::Drawn), ("by", ANGLE), ("about", POINT)], Gives::SameAsFirst,
        "the same, turned about a point, counter-clockwise"),
    form(Verb::Move, "move", &[("", Place::Drawn), ("by", POINT)], Gives::SameAsFirst,
        "the same, moved by (along, across)"),
    form(Verb::Reverse, "reverse", &[("", CURVE)], to(Kind::Curve), "the same curve, walked the other way"),
    form(Verb::Chain, "chain", &[("", Place::Curves)], to(Kind::Curve),
        "curves that follow on from each other, as one"),
    form(Verb::Unfold, "unfold", &[("", Place::Foldable), ("across", Place::Curves)], Gives::PointOrCurve,
        "where a line of the folded work lies on the flat cloth, unfolded across one crease after another"),
    form(Verb::Fold, "fold", &[("", Place::Foldable), ("across", Place::Curves)], Gives::PointOrCurve,
        "where a line of the flat cloth comes to lie, folded across one crease after another"),
    form(Verb::WhereMeetsNear, "where", &[("", Place::LineOrCurve), ("meets", Place::LineOrCurve), ("near", POINT)],
        to(Kind::Point), "where two lines cross, the crossing nearest to a point"),
    form(Verb::WhereMeets, "where", &[("", Place::LineOrCurve), ("meets", Place::LineOrCurve)], to(Kind::Point),
        "where two lines cross; it must be one place"),
    form(Verb::LengthOfBetween, "length", &[("of", CURVE), ("from", Place::On), ("to", Place::On)], to(Kind::LENGTH),
        "the length along a curve between two of its points or stations"),
    form(Verb::LengthOf, "length", &[("of", CURVE)], to(Kind::LENGTH), "the length along a curve"),
    form(Verb::WidthOf, "width", &[("of", CURVE), ("at", LENGTH)], to(Kind::LENGTH),
        "the full width of a profile at a station: twice its height above the centre"),
    form(Verb::AreaOf, "area", &[("of", OUTLINE)], to(Kind::AREA), "the area inside an outline; of a piece, as it is cut, without the allowance at joins"),
    form(Verb::DistanceFrom, "distance", &[("from", POINT), ("to", Place::Foldable)], to(Kind::LENGTH),
        "the shortest distance from a point to a point, line or curve"),
    form(Verb::AngleBetween, "angle", &[("between", Place::LineOrCurve), ("and", Place::LineOrCurve)], to(Kind::ANGLE),
        "the angle between two straight lines, 0 to 180 deg"),
    form(Verb::AngleOfAt, "angle", &[("of", CURVE), ("at", Place::On)], to(Kind::ANGLE),
        "the direction of a curve at one of its points or stations, from the centre"),
    form(Verb::AngleOf, "angle", &[("of", Place::LineOrCurve)], to(Kind::ANGLE),
        "the direction of a straight line, from the centre"),
    form(Verb::XOf, "x", &[("of", POINT)], to(Kind::LENGTH), "how far along the centre a point lies"),
    form(Verb::YOf, "y", &[("of", POINT)], to(Kind::LENGTH), "how far above the centre a point lies"),
    form(Verb::GreatestEase, "greatest-ease", &[("of", Place::LineOrCurve), ("across", Place::Curves)], to(Kind::NUMBER),
        "the most an edge must stretch (positive) when the cloth is folded across creases and the edge comes to lie on a line; the creases stand as for `unfold`"),
    form(Verb::LeastEase, "least-ease", &[("of", Place::LineOrCurve), ("across", Place::Curves)], to(Kind::NUMBER),
        "the least such stretch; negative where the edge is eased in"),
    form(Verb::GreatestEasePlace, "greatest-ease-place", &[("of", Place::LineOrCurve), ("across", Place::Curves)], to(Kind::Point),
        "where on the first crease the edge must stretch most"),
    form(Verb::LeastEasePlace, "least-ease-place", &[("of", Place::LineOrCurve), ("across", Place::Curves)], to(Kind::Point),
        "where on the first crease the edge must stretch least, or is eased in most"),
    form(Verb::GreatestGap, "greatest-gap", &[("from", CURVE), ("to", Place::LineOrCurve)], to(Kind::LENGTH),
        "the greatest distance from the points of one curve to another"),
    form(Verb::LeastGap, "least-gap", &[("from", CURVE), ("to", Place::LineOrCurve)], to(Kind::LENGTH),
        "the least distance from the points of one curve to another"),
    form(Verb::Clearance, "clearance", &[("of", OUTLINE), ("inside", OUTLINE)], to(Kind::LENGTH),
        "how far one outline stays inside another; negative where it stands out"),
    form(Verb::FoldedWith, "folded", &[("", Place::Foldable), ("with", Place::Piece), ("in", ASSEMBLY)], Gives::PointOrCurve,
        "where something drawn on a piece comes to lie in the sewn and folded work"),
    form(Verb::SilhouetteGap, "silhouette-gap", &[("of", ASSEMBLY)], to(Kind::LENGTH),
        "the greatest distance between the silhouette of the folded work and its finished outline"),
    form(Verb::SeamGap, "seam-gap", &[("of", ASSEMBLY)], to(Kind::LENGTH),
        "the greatest difference in length between two edges sewn to each other"),
    form(Verb::NotchGap, "notch-gap", &[("of", ASSEMBLY)], to(Kind::LENGTH),
        "the greatest distance between notches that must meet when edges are sewn"),
];

/// The forms that begin with `word`.
pub fn forms(word: &str) -> impl Iterator<Item = &'static Form> {
    FORMS.iter().filter(move |form| form.word == word)
}

/// What a built-in function takes and gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Function {
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
    Root,
    Abs,
    Min,
    Max,
    Clamp,
    Round,
}

/// Every function: its name and what it means.
pub static FUNCTIONS: &[(&str, Function, &str)] = &[
    ("sin", Function::Sin, "sine of an angle"),
    ("cos", Function::Cos, "cosine of an angle"),
    ("tan", Function::Tan, "tangent of an angle"),
    ("asin", Function::Asin, "the angle with this sine, -1 to 1"),
    (
        "acos",
        Function::Acos,
        "the angle with this cosine, -1 to 1",
    ),
    ("atan", Function::Atan, "the angle with this tangent"),
    ("root", Function::Root, "square root of a number or an area"),
    ("abs", Function::Abs, "the value without its sign"),
    (
        "min",
        Function::Min,
        "the smallest of several values of one kind",
    ),
    (
        "max",
        Function::Max,
        "the largest of several values of one kind",
    ),
    (
        "clamp",
        Function::Clamp,
        "a value kept between a lowest and a highest",
    ),
    (
        "round",
        Function::Round,
        "a value rounded to a whole number of steps: round(value, step)",
    ),
];

/// Names that stand for a value everywhere.
pub static CONSTANTS: &[(&str, f64, Dim, &str)] = &[(
    "pi",
    std::f64::consts::PI,
    Dim::PLAIN,
    "the circle's number, 3.14159…",
)];

/// The name of the built-in endless line along the middle of every draft, `y = 0`.
pub const CENTRE: &str = "centre";

/// Words that end an expression, so that no name can be spelled so.
pub static RESERVED: &[&str] = &[
    "about", "above", "across", "and", "as", "at", "between", "both", "by", "else", "from", "if",
    "in", "inside", "is", "meets", "near", "not", "of", "on", "or", "so", "then", "through", "to",
    "with", "within",
];

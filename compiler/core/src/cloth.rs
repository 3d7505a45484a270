//! What can be said of a cloth: the table of its properties. Parser, checker, evaluator and
//! messages read the rows; nothing here computes.

use std::sync::Arc;

use crate::row::Row;
use crate::source::Span;

/// A number that a cloth states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Property {
    /// Between the selvedges.
    Width,
    /// What can be cut of the width.
    UsableWidth,
    /// Pressed thickness.
    Thickness,
    /// How much it lengthens along the true bias when it hangs.
    Give,
    /// How much a bias edge stretches without a ripple.
    EaseLimit,
    /// The design's repeat along the warp.
    RepeatWarp,
    /// The design's repeat along the weft.
    RepeatWeft,
    /// Price of one metre.
    Price,
}

/// Which ways a piece may be turned on a cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Direction {
    /// The design has an up: every piece points the same way.
    OneWay,
    /// A piece may be turned by half a turn.
    TwoWay,
    /// The other bias as well.
    #[default]
    AnyWay,
}

impl Direction {
    /// Every direction, by the word it is written as.
    pub const WORDS: &'static [(&'static str, Direction)] = &[
        ("one-way", Direction::OneWay),
        ("two-way", Direction::TwoWay),
        ("any-way", Direction::AnyWay),
    ];

    /// The word it is written as.
    pub fn as_str(self) -> &'static str {
        match self {
            Direction::OneWay => "one-way",
            Direction::TwoWay => "two-way",
            Direction::AnyWay => "any-way",
        }
    }
}

/// Which way the stripes of a cloth run on the finished article, looking at its face with the start
/// of its centre, the front point of a tie, down. The other way up they run the same way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bias {
    /// They rise to the left: in the draft's own frame at 45 deg to the centre.
    Left,
    /// They rise to the right: at -45 deg.
    Right,
}

impl Bias {
    /// Both, by the word each is written as.
    pub const WORDS: &'static [(&'static str, Bias)] =
        &[("left", Bias::Left), ("right", Bias::Right)];

    /// The word it is written as.
    pub fn as_str(self) -> &'static str {
        match self {
            Bias::Left => "left",
            Bias::Right => "right",
        }
    }

    /// The bias square to it.
    pub fn other(self) -> Bias {
        match self {
            Bias::Left => Bias::Right,
            Bias::Right => Bias::Left,
        }
    }
}

/// The word of the line that says which ways a piece may be turned.
pub const DIRECTION: &str = "direction";

/// The word of the line that says which way the stripes run.
pub const BIAS: &str = "bias";

/// Every property, in the order of [`Property`].
pub static PROPERTIES: &[Row<Property>] = &[
    // From a ribbon loom to the widest cloth woven.
    Row::length(
        Property::Width,
        "width",
        (50.0, 5000.0),
        "between the selvedges",
    ),
    Row::length(
        Property::UsableWidth,
        "usable-width",
        (50.0, 5000.0),
        "what can be cut of the width; the whole width unless said",
    ),
    Row::length(
        Property::Thickness,
        "thickness",
        (0.0, 10.0),
        "pressed thickness",
    ),
    // The yarns of a net lock long before the third part.
    Row::share(
        Property::Give,
        "give",
        0.3,
        "how much it lengthens along the true bias when it hangs",
    ),
    Row::share(
        Property::EaseLimit,
        "ease-limit",
        0.1,
        "stretch a bias edge gives without a ripple",
    ),
    Row::length(
        Property::RepeatWarp,
        "repeat-warp",
        (0.5, 3000.0),
        "the design's repeat along the warp",
    ),
    Row::length(
        Property::RepeatWeft,
        "repeat-weft",
        (0.5, 3000.0),
        "the design's repeat along the weft",
    ),
    Row::money(
        Property::Price,
        "price",
        "price of one metre, in whatever money the house reckons in",
    ),
];

/// The words that the lines of a cloth begin with.
pub const LINES: &[&str] = &[
    "width",
    "usable-width",
    DIRECTION,
    BIAS,
    "thickness",
    "give",
    "ease-limit",
    "repeat-warp",
    "repeat-weft",
    "price",
];

/// The row of the property written as `word`.
pub fn property(word: &str) -> Option<&'static Row<Property>> {
    PROPERTIES.iter().find(|row| row.word == word)
}

impl Property {
    /// Its row of the table.
    pub fn row(self) -> &'static Row<Property> {
        // The table stands in the order of the properties, which a test checks.
        &PROPERTIES[self as usize]
    }
}

/// What is known of a cloth. Lengths are millimetres, shares plain.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Properties {
    values: [Option<f64>; 8],
    direction: Option<Direction>,
    bias: Option<Bias>,
}

impl Properties {
    /// What is stated of a property; of the usable width that it is the whole width, unless it is
    /// stated itself.
    pub fn get(&self, property: Property) -> Option<f64> {
        let stated = |property: Property| self.values.get(property as usize).copied().flatten();
        match property {
            Property::UsableWidth => stated(property).or_else(|| stated(Property::Width)),
            other => stated(other),
        }
    }

    /// Which ways a piece may be turned; any way unless it is stated.
    pub fn direction(&self) -> Direction {
        self.direction.unwrap_or_default()
    }

    /// Which way its stripes run; as the shape draws it unless it is stated.
    pub fn bias(&self) -> Option<Bias> {
        self.bias
    }

    /// Which way the warp must run on the finished article, for the stripes to run as is stated; as
    /// the shape draws it unless that is. Stripes run from selvedge to selvedge, but along the warp
    /// where the design repeats along the weft alone.
    pub fn warp(&self) -> Option<Bias> {
        let along_the_warp =
            self.get(Property::RepeatWeft).is_some() && self.get(Property::RepeatWarp).is_none();
        self.bias.map(|bias| match along_the_warp {
            true => bias,
            false => bias.other(),
        })
    }

    /// States a property.
    pub fn set(&mut self, property: Property, value: f64) {
        if let Some(place) = self.values.get_mut(property as usize) {
            *place = Some(value);
        }
    }

    /// States the direction.
    pub fn set_direction(&mut self, direction: Direction) {
        self.direction = Some(direction);
    }

    /// States which way its stripes run.
    pub fn set_bias(&mut self, bias: Bias) {
        self.bias = Some(bias);
    }

    /// These, and where they are silent what `defaults` says. The two widths are of one cloth, so
    /// that the defaults of both count only where neither is stated.
    pub fn or(&self, defaults: &Properties) -> Properties {
        let own_width = self.get(Property::UsableWidth).is_some();
        let mut out = self.clone();
        for row in PROPERTIES {
            let width = matches!(row.property, Property::Width | Property::UsableWidth);
            let default = defaults
                .values
                .get(row.property as usize)
                .copied()
                .flatten();
            if let (false, Some(default)) = (width && own_width, default)
                && out.values.get(row.property as usize) == Some(&None)
            {
                out.set(row.property, default);
            }
        }
        out.direction = self.direction.or(defaults.direction);
        out.bias = self.bias.or(defaults.bias);
        out
    }
}

/// A cloth of a file, whether or not a style names it.
#[derive(Debug, Clone, PartialEq)]
pub struct Cloth {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line; empty if it has none.
    pub doc: Arc<str>,
    /// What it states itself; a role may say more.
    pub properties: Properties,
    /// Where its name is declared.
    pub span: Span,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_property_has_its_row_and_its_line() {
        for (index, row) in PROPERTIES.iter().enumerate() {
            assert_eq!(row.property as usize, index);
            assert!(std::ptr::eq(row.property.row(), row));
            assert!(LINES.contains(&row.word));
        }
        assert_eq!(LINES.len(), PROPERTIES.len() + [DIRECTION, BIAS].len());
        assert_eq!(Properties::default().values.len(), PROPERTIES.len());
    }

    #[test]
    fn widths_go_together() {
        let mut cloth = Properties::default();
        cloth.set(Property::Width, 900.0);
        let mut role = Properties::default();
        role.set(Property::UsableWidth, 1380.0);
        role.set(Property::Thickness, 0.3);
        role.set_direction(Direction::OneWay);
        let both = cloth.or(&role);
        assert_eq!(both.get(Property::UsableWidth), Some(900.0));
        assert_eq!(both.get(Property::Thickness), Some(0.3));
        assert_eq!(both.direction(), Direction::OneWay);
        assert_eq!(role.get(Property::Width), None);
    }

    #[test]
    fn the_warp_runs_across_the_stripes_unless_they_run_along_it() {
        let mut cloth = Properties::default();
        assert_eq!(cloth.warp(), None);
        cloth.set_bias(Bias::Right);
        assert_eq!(cloth.warp(), Some(Bias::Left));
        cloth.set(Property::RepeatWeft, 48.0);
        assert_eq!(cloth.warp(), Some(Bias::Right));
        cloth.set(Property::RepeatWarp, 60.0);
        assert_eq!(cloth.warp(), Some(Bias::Left));
        let mut role = Properties::default();
        role.set_bias(Bias::Left);
        assert_eq!(Properties::default().or(&role).bias(), Some(Bias::Left));
        assert_eq!(cloth.or(&role).bias(), Some(Bias::Right));
    }
}

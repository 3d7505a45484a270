//! What can be said of a cloth: the table of its properties. Parser, checker, evaluator and
//! messages read the rows; nothing here computes.

use crate::kind::Dim;

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

/// The word of the one line of a cloth that holds no number.
pub const DIRECTION: &str = "direction";

/// One line of the table.
#[derive(Debug)]
pub struct Row {
    /// The property.
    pub property: Property,
    /// The word it is written as.
    pub word: &'static str,
    /// What it counts.
    pub dim: Dim,
    /// The least that any cloth has, mm or plain.
    pub lowest: f64,
    /// The most that any cloth has, mm or plain.
    pub highest: f64,
    /// Whether it is read as hundredths.
    pub percent: bool,
    /// What it means, one line for the reference.
    pub doc: &'static str,
}

const fn length(
    property: Property,
    word: &'static str,
    lowest: f64,
    highest: f64,
    doc: &'static str,
) -> Row {
    Row {
        property,
        word,
        dim: Dim::LENGTH,
        lowest,
        highest,
        percent: false,
        doc,
    }
}

const fn share(property: Property, word: &'static str, highest: f64, doc: &'static str) -> Row {
    Row {
        property,
        word,
        dim: Dim::PLAIN,
        lowest: 0.0,
        highest,
        percent: true,
        doc,
    }
}

/// Every property, in the order of [`Property`].
pub static PROPERTIES: &[Row] = &[
    // From a ribbon loom to the widest cloth woven.
    length(
        Property::Width,
        "width",
        50.0,
        5000.0,
        "between the selvedges",
    ),
    length(
        Property::UsableWidth,
        "usable-width",
        50.0,
        5000.0,
        "what can be cut of the width; the whole width unless said",
    ),
    length(
        Property::Thickness,
        "thickness",
        0.0,
        10.0,
        "pressed thickness",
    ),
    // The yarns of a net lock long before the third part.
    share(
        Property::Give,
        "give",
        0.3,
        "how much it lengthens along the true bias when it hangs",
    ),
    share(
        Property::EaseLimit,
        "ease-limit",
        0.1,
        "stretch a bias edge gives without a ripple",
    ),
    length(
        Property::RepeatWarp,
        "repeat-warp",
        0.5,
        3000.0,
        "the design's repeat along the warp",
    ),
    length(
        Property::RepeatWeft,
        "repeat-weft",
        0.5,
        3000.0,
        "the design's repeat along the weft",
    ),
    Row {
        property: Property::Price,
        word: "price",
        dim: Dim::PLAIN,
        lowest: 0.0,
        highest: 1e6,
        percent: false,
        doc: "price of one metre, in whatever money the house reckons in",
    },
];

/// The words that the lines of a cloth begin with.
pub const LINES: &[&str] = &[
    "width",
    "usable-width",
    DIRECTION,
    "thickness",
    "give",
    "ease-limit",
    "repeat-warp",
    "repeat-weft",
    "price",
];

/// The row of the property written as `word`.
pub fn property(word: &str) -> Option<&'static Row> {
    PROPERTIES.iter().find(|row| row.word == word)
}

impl Property {
    /// Its row of the table.
    pub fn row(self) -> &'static Row {
        // The table stands in the order of the properties, which a test checks.
        &PROPERTIES[self as usize]
    }
}

/// What is known of a cloth. Lengths are millimetres, shares plain.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Properties {
    values: [Option<f64>; 8],
    direction: Option<Direction>,
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
        out
    }
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
        assert_eq!(LINES.len(), PROPERTIES.len() + 1);
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
}

//! The standard shapes, written in the language and built into the program.

macro_rules! shapes {
    ($($name:literal),* $(,)?) => {
        &[$((
            $name,
            concat!("stdlib-shapes/", $name, ".tie"),
            include_str!(concat!("../../../stdlib-shapes/", $name, ".tie")),
        )),*]
    };
}

/// Name of each shape, the file it is in, and the file's text.
static SHAPES: &[(&str, &str, &str)] = shapes![
    "four-in-hand",
    "four-in-hand-two-panel",
    "slim",
    "square-ended",
    "straight-sided",
    "self-tipped",
    "decorative-tipping",
    "untipped",
    "unlined",
    "five-fold",
    "seven-fold",
    "ascot",
    "day-cravat",
    "childrens",
    "clip-on",
    "elastic-neck",
    "pocket-square",
    "neckerchief",
    "bow-tie",
    "bow-butterfly",
    "bow-straight",
    "bow-pointed",
    "bow-adjustable",
    "bow-pretied",
    "fitting",
];

/// The file name and text of the file that declares the shape `name`.
pub fn find(name: &str) -> Option<(&'static str, &'static str)> {
    SHAPES
        .iter()
        .find(|(shape, ..)| *shape == name)
        .map(|(_, file, text)| (*file, *text))
}

/// The name of the first standard shape, for examples in messages.
pub fn first() -> &'static str {
    SHAPES.first().map_or("SHAPE", |(name, ..)| name)
}

/// The names of all standard shapes.
pub fn names() -> impl Iterator<Item = &'static str> {
    SHAPES.iter().map(|(name, ..)| *name)
}

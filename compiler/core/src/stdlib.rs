//! The standard shapes, written in the language and built into the program.

/// Name of each shape, the file it is in, and the file's text.
static SHAPES: &[(&str, &str, &str)] = &[
    (
        "four-in-hand",
        "stdlib-shapes/four-in-hand.tie",
        include_str!("../../../stdlib-shapes/four-in-hand.tie"),
    ),
    (
        "four-in-hand-two-panel",
        "stdlib-shapes/four-in-hand-two-panel.tie",
        include_str!("../../../stdlib-shapes/four-in-hand-two-panel.tie"),
    ),
    (
        "fitting",
        "stdlib-shapes/fitting.tie",
        include_str!("../../../stdlib-shapes/fitting.tie"),
    ),
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

//! Pictures: a drawing painted on white, for screens and for people without a drawing program.
//!
//! Input is an SVG document of this program, output a PNG. Words are painted in Noto Sans, which
//! is part of the program, so that the picture is the same on every machine.

use std::fmt;
use std::sync::Arc;

use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use tiewright_core::format::INCH;

/// Picture points to a millimetre unless said otherwise: about a hundred to the inch.
pub const DEFAULT_PIXELS_PER_MM: f64 = 4.0;
/// The most picture points of one picture: a quarter of a gigabyte while it is painted.
pub const MOST_PIXELS: f64 = 64e6;

/// Units of an SVG without a scale of its own to a millimetre (CSS: 1in = 96px = 25.4mm).
const UNITS_PER_MM: f64 = 96.0 / INCH;

/// Why there is no picture.
#[derive(Debug, Clone, PartialEq)]
pub enum PngError {
    /// More than [`MOST_PIXELS`]; `fitting` picture points to a millimetre would do.
    TooLarge {
        /// The greatest scale that is allowed.
        fitting: f64,
    },
    /// The drawing could not be read or painted.
    Painting(String),
}

impl fmt::Display for PngError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PngError::TooLarge { fitting } => {
                write!(
                    f,
                    "the picture would be too large; {fitting:.2} pixels per mm would fit"
                )
            }
            PngError::Painting(why) => write!(f, "the picture cannot be painted: {why}"),
        }
    }
}

impl std::error::Error for PngError {}

/// Paints `svg` with `pixels_per_mm` picture points to a millimetre.
///
/// # Errors
/// [`PngError::TooLarge`] beyond [`MOST_PIXELS`]; [`PngError::Painting`] for what is no SVG.
pub fn png(svg: &str, pixels_per_mm: f64) -> Result<Vec<u8>, PngError> {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_source(fontdb::Source::Binary(Arc::new(notosans::REGULAR_TTF)));
    fonts.set_sans_serif_family("Noto Sans");
    let options = Options {
        font_family: "Noto Sans".to_owned(),
        fontdb: Arc::new(fonts),
        ..Options::default()
    };
    let painting = |why: &dyn fmt::Display| PngError::Painting(why.to_string());
    let tree = Tree::from_str(svg, &options).map_err(|e| painting(&e))?;
    let (width, height) = (
        f64::from(tree.size().width()),
        f64::from(tree.size().height()),
    );
    let scale = pixels_per_mm / UNITS_PER_MM;
    let pixels = width * height * scale * scale;
    if pixels.is_nan() || pixels > MOST_PIXELS {
        let fitting = (MOST_PIXELS / (width * height)).sqrt() * UNITS_PER_MM;
        return Err(PngError::TooLarge { fitting });
    }
    let points = |length: f64| (length * scale).ceil().max(1.0) as u32;
    let mut picture =
        Pixmap::new(points(width), points(height)).ok_or_else(|| painting(&"it has no size"))?;
    picture.fill(Color::WHITE);
    let scale = scale as f32;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut picture.as_mut(),
    );
    picture.encode_png().map_err(|e| painting(&e))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::svg::svg;
    use crate::sample;
    use tiewright_core::layout::pattern_sheet;

    #[test]
    fn the_picture_has_the_size_asked_for_and_words_in_it() {
        let sheet = pattern_sheet(&sample::draft());
        let drawing = svg(&sheet);
        let picture = Pixmap::decode_png(&png(&drawing, 2.0).expect("a picture")).expect("a PNG");
        assert_eq!(f64::from(picture.width()), (sheet.width * 2.0).ceil());
        let dark = |p: &Pixmap| p.pixels().iter().filter(|p| p.red() < 128).count();
        // The same without its words has less ink.
        let start = drawing.find("<text").expect("words");
        let mut silent = drawing.clone();
        while let Some(start) = silent.find("<text") {
            let end = silent[start..].find("</text>").expect("an end") + start + 7;
            silent.replace_range(start..end, "");
        }
        let without = Pixmap::decode_png(&png(&silent, 2.0).expect("a picture")).expect("a PNG");
        assert!(start > 0 && dark(&picture) > dark(&without) + 500);
    }

    #[test]
    fn pictures_too_large_are_refused_with_what_would_fit() {
        let drawing = svg(&pattern_sheet(&sample::draft()));
        let Err(PngError::TooLarge { fitting }) = png(&drawing, 100.0) else {
            panic!("the picture should be too large");
        };
        assert!(png(&drawing, fitting * 1.001).is_err());
        assert!(fitting > 4.0 && fitting < 100.0);
        assert!(matches!(png("no drawing", 1.0), Err(PngError::Painting(_))));
    }
}

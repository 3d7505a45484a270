//! The faces words are set in: how wide they are, and the part of each that a file needs.
//!
//! Words are set letter by letter: no ligatures, no kerning. A character the font lacks shows as
//! its empty box, and is still what a reader of the file copies.

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, GlyphId, MetadataProvider};
use subsetter::{GlyphRemapper, subset};

use super::PdfError;

/// The faces in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Face {
    /// For running words.
    Regular,
    /// For names and headings.
    Bold,
}

impl Face {
    /// All of them.
    pub const ALL: [Face; 2] = [Face::Regular, Face::Bold];

    /// The name of the face in a file.
    pub fn name(self) -> &'static str {
        match self {
            Face::Regular => "NotoSans-Regular",
            Face::Bold => "NotoSans-Bold",
        }
    }

    fn data(self) -> &'static [u8] {
        match self {
            Face::Regular => notosans::REGULAR_TTF,
            Face::Bold => notosans::BOLD_TTF,
        }
    }
}

/// The faces, read.
pub(super) struct Fonts {
    regular: Font,
    bold: Font,
}

/// One face, read.
pub(super) struct Font {
    face: Face,
    glyphs: Charmap<'static>,
    advances: GlyphMetrics<'static>,
    /// Of the characters of ASCII, ems: looked up once, most words are made of them.
    common: [f64; 128],
    /// Units of the font to an em.
    units: f64,
    /// Above the baseline, below it (negative), and a capital's height; ems.
    pub heights: Heights,
    /// Left, bottom, right and top of the box round all letters, ems.
    pub bounds: [f64; 4],
}

/// Heights of a face, in ems.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heights {
    /// Of the highest letters.
    pub ascent: f64,
    /// Of the lowest, negative.
    pub descent: f64,
    /// Of a capital.
    pub capital: f64,
}

impl Fonts {
    /// Reads the program's own font.
    ///
    /// # Errors
    /// [`PdfError::Font`] when it is damaged.
    pub fn load() -> Result<Self, PdfError> {
        Ok(Fonts {
            regular: Font::load(Face::Regular)?,
            bold: Font::load(Face::Bold)?,
        })
    }

    /// One of the faces.
    pub fn of(&self, face: Face) -> &Font {
        match face {
            Face::Regular => &self.regular,
            Face::Bold => &self.bold,
        }
    }

    /// Width of `text` at `size` (the em), in the unit of `size`.
    pub fn width(&self, text: &str, face: Face, size: f64) -> f64 {
        let font = self.of(face);
        text.chars().map(|c| font.advance(c)).sum::<f64>() * size
    }
}

impl Font {
    fn load(face: Face) -> Result<Self, PdfError> {
        let broken = |e: skrifa::raw::ReadError| PdfError::Font(e.to_string());
        let file = FontRef::new(face.data()).map_err(broken)?;
        let metrics = file.metrics(Size::unscaled(), LocationRef::default());
        let units = f64::from(metrics.units_per_em);
        if units <= 0.0 {
            return Err(PdfError::Font("it has no size".to_owned()));
        }
        let ems = |value: f32| f64::from(value) / units;
        let bounds = metrics.bounds.unwrap_or_default();
        let mut font = Font {
            face,
            glyphs: file.charmap(),
            advances: file.glyph_metrics(Size::unscaled(), LocationRef::default()),
            units,
            heights: Heights {
                ascent: ems(metrics.ascent),
                descent: ems(metrics.descent),
                capital: ems(metrics.cap_height.unwrap_or(metrics.ascent)),
            },
            bounds: [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(ems),
            common: [0.0; 128],
        };
        font.common = std::array::from_fn(|c| font.looked_up(c as u8 as char));
        Ok(font)
    }

    /// Advance of `c`, ems.
    pub fn advance(&self, c: char) -> f64 {
        let common = self.common.get(c as usize).copied();
        common.unwrap_or_else(|| self.looked_up(c))
    }

    fn looked_up(&self, c: char) -> f64 {
        let advance = self.advances.advance_width(self.glyph(c));
        f64::from(advance.unwrap_or(0.0)) / self.units
    }

    /// The glyph of `c`; the empty box for what the font lacks.
    fn glyph(&self, c: char) -> GlyphId {
        self.glyphs.map(c).unwrap_or(GlyphId::NOTDEF)
    }

    /// The font file with the glyphs of the characters `used` only, and where each one's is in it.
    ///
    /// # Errors
    /// [`PdfError::Font`] when the font is damaged.
    pub fn part(&self, used: &[char]) -> Result<(Vec<u8>, Vec<u16>), PdfError> {
        let mut kept = GlyphRemapper::new();
        let places = used
            .iter()
            .map(|&c| kept.remap(u16::try_from(self.glyph(c).to_u32()).unwrap_or(0)))
            .collect();
        let part = subset(self.face.data(), 0, &kept).map_err(|e| PdfError::Font(e.to_string()))?;
        Ok((part, places))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_font() {
        let fonts = Fonts::load().expect("fonts");
        // Noto Sans: H 741, i 258 thousandths of an em (1518 and 528 of 2048 units).
        let width = fonts.width("Hi", Face::Regular, 1000.0);
        assert!((width - (1518.0 + 528.0) / 2.048).abs() < 1e-9, "{width}");
        assert!(fonts.width("Hi", Face::Bold, 1.0) > fonts.width("Hi", Face::Regular, 1.0));
    }

    #[test]
    fn a_part_holds_the_letters_asked_for_and_is_small() {
        let fonts = Fonts::load().expect("fonts");
        let used: Vec<char> = "tie ½°\u{4e2d}".chars().collect();
        let (part, places) = fonts.of(Face::Regular).part(&used).expect("a part");
        assert!(part.len() < notosans::REGULAR_TTF.len() / 4);
        assert_eq!(places.len(), used.len());
        // The last is Chinese, which the font lacks.
        assert_eq!(places.last(), Some(&0));
        assert!(places.iter().rev().skip(1).all(|&glyph| glyph > 0));
    }
}

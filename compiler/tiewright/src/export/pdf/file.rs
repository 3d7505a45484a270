//! The objects of a PDF file (ISO 32000): pages, fonts, and what the file is called.

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use super::PdfError;
use super::draw::{Codes, content, letters, number, resource};
use super::flow::{POINT, Page};
use super::font::{Face, Font, Fonts};

/// Units of a PDF font to an em.
const GLYPH_SPACE: f64 = 1000.0;
/// How hard streams are pressed, of 10: more takes much longer and saves little.
const PRESSURE: u8 = 6;
/// Width of an upright stem of the faces, units of 1/1000 em: readers use it when they must do
/// without the font, which is part of the file.
const STEM: f32 = 80.0;
/// The six letters that mark a font as a part of itself; any will do.
const PART_TAG: &str = "PARTOF+";
/// The language of the papers' own words.
const LANGUAGE: &str = "en";

const CHARACTERS: SystemInfo = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};

/// Numbers of the objects, in the order they are given out.
struct Numbers(i32);

impl Numbers {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

/// The file of `pages` of one size, mm.
///
/// # Errors
/// [`PdfError::Font`] when the font is damaged.
pub(super) fn file(
    title: &str,
    (width, height): (f64, f64),
    pages: &[Page],
    fonts: &Fonts,
) -> Result<Vec<u8>, PdfError> {
    let mut numbers = Numbers(0);
    let mut pdf = Pdf::new();
    let (catalog, tree) = (numbers.next(), numbers.next());
    let codes = Face::ALL.map(|face| Codes {
        letters: letters(pages, face),
    });
    let mut faces = Vec::new();
    for (face, codes) in Face::ALL.into_iter().zip(&codes) {
        if !codes.letters.is_empty() {
            let id = numbers.next();
            write_font(&mut pdf, &mut numbers, id, fonts.of(face), face, codes)?;
            faces.push((face, id));
        }
    }
    let sheet = Rect::new(0.0, 0.0, number(width / POINT), number(height / POINT));
    let mut ids = Vec::new();
    for page in pages {
        let (id, stream) = (numbers.next(), numbers.next());
        ids.push(id);
        let drawn = pressed(&content(page, fonts, &codes));
        pdf.stream(stream, &drawn).filter(Filter::FlateDecode);
        let mut object = pdf.page(id);
        object.parent(tree).media_box(sheet).contents(stream);
        let mut resources = object.resources();
        let mut named = resources.fonts();
        for (face, id) in &faces {
            named.pair(resource(*face), *id);
        }
    }
    let count = i32::try_from(ids.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(ids).count(count);
    let mut root = pdf.catalog(catalog);
    root.pages(tree).lang(TextStr(LANGUAGE));
    let mut viewer = root.viewer_preferences();
    viewer.display_doc_title(true);
    // Pictures are to a stated scale.
    viewer.pair(Name(b"PrintScaling"), Name(b"None"));
    viewer.finish();
    root.finish();
    let info = numbers.next();
    pdf.document_info(info)
        .title(TextStr(title))
        .producer(TextStr("tiewright"));
    Ok(pdf.finish())
}

/// A face with the letters in use, each with its width and what it says.
fn write_font(
    pdf: &mut Pdf,
    numbers: &mut Numbers,
    id: Ref,
    font: &Font,
    face: Face,
    codes: &Codes,
) -> Result<(), PdfError> {
    let (part, places) = font.part(&codes.letters)?;
    let name = format!("{PART_TAG}{}", face.name());
    let name = Name(name.as_bytes());
    let [cid, descriptor, data, map, said] = [(); 5].map(|()| numbers.next());
    pdf.type0_font(id)
        .base_font(name)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(said);
    let mut object = pdf.cid_font(cid);
    object
        .subtype(CidFontType::Type2)
        .base_font(name)
        .system_info(CHARACTERS)
        .font_descriptor(descriptor)
        .cid_to_gid_map_stream(map)
        .default_width(0.0);
    let widths = codes.letters.iter().map(|&c| em(font.advance(c)));
    object.widths().consecutive(1, widths);
    object.finish();
    let [left, bottom, right, top] = font.bounds.map(em);
    pdf.font_descriptor(descriptor)
        .name(name)
        .flags(FontFlags::SYMBOLIC)
        .bbox(Rect::new(left, bottom, right, top))
        .italic_angle(0.0)
        .ascent(em(font.heights.ascent))
        .descent(em(font.heights.descent))
        .cap_height(em(font.heights.capital))
        .stem_v(STEM)
        .font_file2(data);
    pdf.stream(data, &pressed(&part))
        .filter(Filter::FlateDecode)
        .pair(Name(b"Length1"), i32::try_from(part.len()).unwrap_or(0));
    // Code 0 is no character.
    let glyphs: Vec<u8> = std::iter::once(0)
        .chain(places)
        .flat_map(u16::to_be_bytes)
        .collect();
    pdf.stream(map, &pressed(&glyphs))
        .filter(Filter::FlateDecode);
    let mut meaning = UnicodeCmap::new(Name(b"Said"), CHARACTERS);
    for (index, &c) in codes.letters.iter().enumerate() {
        meaning.pair(u16::try_from(index + 1).unwrap_or(0), c);
    }
    pdf.cmap(said, &pressed(&meaning.finish()))
        .filter(Filter::FlateDecode);
    Ok(())
}

/// The same in fewer bytes.
fn pressed(bytes: &[u8]) -> Vec<u8> {
    miniz_oxide::deflate::compress_to_vec_zlib(bytes, PRESSURE)
}

/// Ems in the units of a PDF font.
fn em(value: f64) -> f32 {
    number(value * GLYPH_SPACE)
}

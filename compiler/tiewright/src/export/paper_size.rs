//! The paper that papers are printed on, and what every print keeps to.

/// The margin at each side, mm: more than common printers leave blank, and room to hold the paper.
pub const MARGIN: f64 = 15.0;
/// Size of running words, printer's points: read at arm's length.
pub const BODY_POINTS: f64 = 11.0;

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaperSize {
    /// ISO 216 A4.
    A4,
    /// North American Letter.
    Letter,
}

impl PaperSize {
    /// Width and height, mm.
    pub fn millimetres(self) -> (f64, f64) {
        match self {
            PaperSize::A4 => (210.0, 297.0),
            PaperSize::Letter => (215.9, 279.4),
        }
    }

    /// The name style sheets know it by.
    pub fn name(self) -> &'static str {
        match self {
            PaperSize::A4 => "A4",
            PaperSize::Letter => "letter",
        }
    }
}

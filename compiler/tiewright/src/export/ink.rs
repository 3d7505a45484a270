//! How the marks of a sheet are inked: one look in every drawing format. Line types differ by
//! weight and dash, for prints in grey.

use tiewright_core::draft::NotchKind;
use tiewright_core::sheet::{Mark, Pen};
use tiewright_geometry::{Point, Vec2};

/// Size of the font over the height of its capitals (Noto Sans: 2048 to 1462).
pub(super) const FONT_SIZE: f64 = 2048.0 / 1462.0;
/// Radius of the circle that shows a drill hole, mm.
pub(super) const DRILL_RADIUS: f64 = 1.5;
/// Length and half width of the grain arrow's head, mm: seen from the other side of a table.
const HEAD: (f64, f64) = (8.0, 2.2);

/// A pen.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stroke {
    /// mm.
    pub width: f64,
    /// On, off, on, off …, mm; empty for a line without gaps.
    pub dash: &'static [f64],
}

const fn stroke(width: f64, dash: &'static [f64]) -> Stroke {
    Stroke { width, dash }
}

pub(super) const CUT: Stroke = stroke(0.7, &[]);
pub(super) const NET: Stroke = stroke(0.35, &[9.0, 2.0]);
pub(super) const SEW: Stroke = stroke(0.35, &[3.0, 2.0]);
pub(super) const FOLD: Stroke = stroke(0.35, &[10.0, 2.0, 1.0, 2.0]);
pub(super) const PLACE: Stroke = stroke(0.5, &[0.7, 1.8]);
pub(super) const GRAIN: Stroke = stroke(0.5, &[]);
pub(super) const NOTCH: Stroke = stroke(0.7, &[]);
pub(super) const DRILL: Stroke = stroke(0.35, &[]);
pub(super) const RULE: Stroke = stroke(0.2, &[]);
pub(super) const FILL: Stroke = stroke(0.15, &[]);

/// The pen a mark is drawn with; none for words.
pub(super) fn pen(mark: &Mark) -> Option<Stroke> {
    Some(match mark {
        Mark::Cut(_) => CUT,
        Mark::Net(_) => NET,
        Mark::Sew(_) => SEW,
        Mark::Fold(_) => FOLD,
        Mark::Place(_) => PLACE,
        Mark::Rule(_) => RULE,
        Mark::Stroke(_, pen) => own(*pen),
        Mark::Fill(..) => FILL,
        Mark::Grain { .. } => GRAIN,
        Mark::Notch { .. } => NOTCH,
        Mark::Drill(_) => DRILL,
        Mark::Text(_) | Mark::Label(_) => return None,
    })
}

/// A pen that a line brings along.
pub(super) fn own(pen: Pen) -> Stroke {
    stroke(pen.width, pen.dashes)
}

/// The grey of a fill or line as a byte: 0 is black, 255 white.
pub(super) fn shade(grey: f64) -> u8 {
    (grey.clamp(0.0, 1.0) * 255.0).round() as u8
}

/// The corners of the head of a grain arrow, shortened on a short arrow; none without a length.
pub(crate) fn arrow_head(from: Point, to: Point) -> Option<[Point; 3]> {
    let along = to - from;
    let length = along.hypot2().sqrt();
    if length <= 0.0 {
        return None;
    }
    let shrunk = (length / 3.0 / HEAD.0).min(1.0) / length;
    let back = to - along * (HEAD.0 * shrunk);
    let side = Vec2::new(-along.y, along.x) * (HEAD.1 * shrunk);
    Some([to, back + side, back - side])
}

/// The strokes of a notch; `reach` is the way from the outline to its foot, `width` the opening
/// of a V or the bar of a T.
pub(super) fn notch(kind: NotchKind, at: Point, reach: Vec2, width: f64) -> Vec<[Point; 2]> {
    let foot = at + reach;
    let across = Vec2::new(-reach.y, reach.x);
    let length = across.hypot2().sqrt();
    let half = if length > 0.0 {
        across * (width / 2.0 / length)
    } else {
        Vec2::ZERO
    };
    match kind {
        NotchKind::Slit => vec![[at, foot]],
        NotchKind::V => vec![[at + half, foot], [foot, at - half]],
        NotchKind::T => vec![[at, foot], [foot + half, foot - half]],
    }
}

//! Where rectangles lie on a sheet: shelves filled from the tallest down.
//!
//! Input: sizes; output: one lower left corner a size, and the size of the whole. Knows no pieces.

use tiewright_geometry::Point;

use super::SPACING;

/// A packed arrangement; `y` runs up from 0.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Packing {
    /// The lower left corner of each rectangle, in the order given.
    pub corners: Vec<Point>,
    /// Width in use, mm.
    pub width: f64,
    /// Height in use, mm.
    pub height: f64,
}

/// One row of rectangles, all hanging from its top.
struct Shelf {
    top: f64,
    height: f64,
    used: f64,
}

/// Lays rectangles of the given (width, height), mm, in rows no wider than `width` with
/// [`SPACING`] between neighbours: the tallest first, each in the first row that has room
/// (first fit by decreasing height). A rectangle wider than `width` has a row of its own.
pub(super) fn pack(sizes: &[(f64, f64)], width: f64) -> Packing {
    let mut order: Vec<usize> = (0..sizes.len()).collect();
    order.sort_by(|&a, &b| {
        height_of(sizes, b)
            .total_cmp(&height_of(sizes, a))
            .then(a.cmp(&b))
    });
    let mut shelves: Vec<Shelf> = Vec::new();
    let mut corners = vec![Point::ZERO; sizes.len()];
    // Rows are filled downwards from 0 and lifted at the end.
    let mut bottom = 0.0;
    for index in order {
        let (Some(&(w, h)), Some(corner)) = (sizes.get(index), corners.get_mut(index)) else {
            continue;
        };
        let room = |shelf: &&mut Shelf| shelf.used + SPACING + w <= width && h <= shelf.height;
        if let Some(shelf) = shelves.iter_mut().find(room) {
            *corner = Point::new(shelf.used + SPACING, shelf.top - h);
            shelf.used += SPACING + w;
            continue;
        }
        let top = if shelves.is_empty() {
            0.0
        } else {
            bottom - SPACING
        };
        *corner = Point::new(0.0, top - h);
        shelves.push(Shelf {
            top,
            height: h,
            used: w,
        });
        bottom = top - h;
    }
    for corner in &mut corners {
        corner.y -= bottom;
    }
    let used = shelves.iter().map(|shelf| shelf.used).fold(0.0, f64::max);
    Packing {
        corners,
        width: used,
        height: -bottom,
    }
}

fn height_of(sizes: &[(f64, f64)], index: usize) -> f64 {
    sizes.get(index).map_or(0.0, |size| size.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn apart(a: (Point, (f64, f64)), b: (Point, (f64, f64))) -> bool {
        let gap = SPACING - 1e-9;
        a.0.x + a.1.0 + gap <= b.0.x
            || b.0.x + b.1.0 + gap <= a.0.x
            || a.0.y + a.1.1 + gap <= b.0.y
            || b.0.y + b.1.1 + gap <= a.0.y
    }

    #[test]
    fn small_ones_share_a_row_and_long_ones_have_their_own() {
        let packing = pack(
            &[(800.0, 180.0), (1400.0, 80.0), (450.0, 150.0), (90.0, 30.0)],
            1400.0,
        );
        assert_eq!(packing.corners[0].y + 180.0, packing.corners[2].y + 150.0);
        assert_eq!(packing.corners[0].y + 180.0, packing.corners[3].y + 30.0);
        assert_eq!(packing.corners[1], Point::ZERO);
        assert_eq!(
            (packing.width, packing.height),
            (1400.0, 180.0 + 15.0 + 80.0)
        );
    }

    #[test]
    fn nothing_packs_to_nothing() {
        assert_eq!(
            pack(&[], 100.0),
            Packing {
                corners: vec![],
                width: 0.0,
                height: 0.0
            }
        );
    }

    proptest! {
        #[test]
        fn neighbours_keep_their_distance_and_stay_on_the_sheet(
            sizes in prop::collection::vec((1.0..900.0f64, 1.0..300.0f64), 0..25),
            width in 300.0..1500.0f64,
        ) {
            let packing = pack(&sizes, width);
            let placed: Vec<_> = packing.corners.iter().copied().zip(sizes.iter().copied()).collect();
            for (i, &a) in placed.iter().enumerate() {
                prop_assert!(a.0.x >= 0.0 && a.0.y >= -1e-9);
                prop_assert!(a.0.x + a.1.0 <= packing.width + 1e-9);
                prop_assert!(a.0.y + a.1.1 <= packing.height + 1e-9);
                for &b in placed.iter().skip(i + 1) {
                    prop_assert!(apart(a, b));
                }
            }
        }
    }
}

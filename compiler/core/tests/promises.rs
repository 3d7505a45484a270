//! What every draft promises, over ties drawn at random: folded again it is the finished tie, and
//! moved, turned or mirrored its pieces keep their lengths and areas.

use proptest::prelude::*;
use tiewright_core::draft::{Draft, Piece};
use tiewright_core::source::{LoadError, Loader, Source};
use tiewright_core::{Drafted, compile};
use tiewright_geometry::{Affine, Ring};

/// Agreement of two lengths of one line, mm: many times the accuracy of a length, far below a
/// thread.
const SAME_LENGTH: f64 = 1e-5;
/// Agreement of two areas of one outline, as a share.
const SAME_AREA: f64 = 1e-9;

struct Memory(String);

impl Loader for Memory {
    fn load(&self, path: &str, _: Option<&str>) -> Result<Source, LoadError> {
        Ok(Source {
            name: path.to_owned(),
            text: self.0.as_str().into(),
        })
    }
}

fn drafted(text: &str) -> Drafted {
    let compiled = compile("a.tie", &[], &Memory(text.to_owned()));
    assert!(
        compiled.diagnostics.is_empty(),
        "{:?}",
        compiled.diagnostics
    );
    let style = compiled.program.styles()[0].name.clone();
    compiled.program.draft(&style, None)
}

fn draft(text: &str) -> Draft {
    let found = drafted(text);
    let said = found.diagnostics;
    found.draft.unwrap_or_else(|| panic!("{said:?}\n{text}"))
}

/// Ties from slim to wide, short to long, sharp to blunt, that have a neck with room for the raw
/// edges.
fn ties() -> impl Strategy<Value = String> {
    (
        (1150.0..1820.0_f64, 50.0..110.0_f64, 24.0..40.0_f64, 0.0..25.0_f64),
        (75.0..130.0_f64, 75.0..130.0_f64, 0.36..0.48_f64, 0.2..0.28_f64),
        (0.15..0.5_f64, 0.15..0.5_f64, 0.0..6.0_f64, 4.0..7.0_f64),
        (4.0..9.0_f64, 5.0..12.0_f64, 0.4..2.2_f64, 0.1..0.5_f64),
    )
        .prop_map(|(sizes, points, edges, cloth)| {
            let (length, blade, neck, wider) = sizes;
            let (tip, tail_tip, run, tail_run) = points;
            let (lead, tail_lead, overlap, edge_turn) = edges;
            let (seam, margin, interlining, shell) = cloth;
            format!(
                "style random from four-in-hand {{\n\
                 length {length} mm; blade-width {blade} mm; neck-width {neck} mm; tail-width {} mm\n\
                 tip-angle {tip} deg; tail-angle {tail_tip} deg\n\
                 taper-run {} mm; tail-taper-run {} mm; taper-lead {lead}; tail-taper-lead {tail_lead}\n\
                 blade-length {} mm; tail-length {} mm\n\
                 overlap {overlap} mm; edge-turn {edge_turn} mm; seam-allowance {seam} mm\n\
                 tipping-margin {margin} mm; tipping-lap 40 mm\n\
                 interlining-thickness {interlining} mm; shell-thickness {shell} mm\n}}\n",
                neck + wider,
                run * length,
                tail_run * length,
                0.54 * length,
                0.26 * length,
            )
        })
}

/// Every length and area of a piece.
fn figures(piece: &Piece, map: Affine) -> (Vec<f64>, Vec<f64>) {
    let rings: Vec<Ring> = [&piece.cut, &piece.net]
        .map(|ring| ring.transformed(map))
        .into();
    let lines = piece.sew.iter().chain(&piece.fold).chain(&piece.place);
    let mut lengths: Vec<f64> = rings.iter().map(Ring::perimeter).collect();
    lengths.extend(lines.map(|line| line.curve.transformed(map).length()));
    (lengths, rings.iter().map(Ring::area).collect())
}

fn agree(a: &[f64], b: &[f64], near: impl Fn(f64) -> f64) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= near(*a))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn folded_again_it_is_the_finished_tie(text in ties()) {
        let draft = draft(&text);
        prop_assert!(draft.proof.len() >= 20);
        for row in draft.proof.iter().filter(|row| !row.advisory) {
            prop_assert!(row.holds, "{}: {} against {}\n{text}", row.name, row.value, row.limit);
        }
    }

    #[test]
    fn motions_keep_lengths_and_areas(text in ties(), angle in -3.0..3.0_f64, dx in -2e3..2e3_f64) {
        let draft = draft(&text);
        let turned = Affine::translate((dx, -dx / 3.0)) * Affine::rotate(angle);
        for piece in &draft.pieces {
            let (lengths, areas) = figures(piece, Affine::IDENTITY);
            for map in [turned, Affine::FLIP_Y, Affine::FLIP_X * turned] {
                let (moved, covered) = figures(piece, map);
                prop_assert!(agree(&lengths, &moved, |_| SAME_LENGTH), "{}", piece.name);
                prop_assert!(agree(&areas, &covered, |a| a * SAME_AREA), "{}", piece.name);
            }
            for line in piece.sew.iter().chain(&piece.fold).chain(&piece.place) {
                let back = line.curve.reversed();
                prop_assert!((back.length() - line.curve.length()).abs() <= SAME_LENGTH);
            }
        }
    }
}

/// A tie laid out from the other end is the same tie: the shape has two ends of one construction.
#[test]
fn a_tie_with_equal_ends_is_its_own_mirror_image() {
    let text = "style even from four-in-hand {\n\
                tail-width 3 1/4 in; tail-taper-run 22 in; taper-run 22 in\n\
                blade-length 22 in; tail-length 22 in\n}\n";
    let draft = draft(text);
    let piece = |name: &str| {
        draft
            .pieces
            .iter()
            .find(|p| &*p.name == name)
            .expect("a piece")
    };
    for (front, tail) in [("blade", "tail"), ("front-tipping", "tail-tipping")] {
        let (front, tail) = (piece(front), piece(tail));
        assert!(
            (front.net_area - tail.net_area).abs() <= 0.1,
            "{} and {}",
            front.net_area,
            tail.net_area
        );
        assert!((front.cut.perimeter() - tail.cut.perimeter()).abs() <= 0.02);
    }
}

#[test]
fn the_picture_is_of_the_last_assembly_that_shows_something() {
    let shape = |first: &str, second: &str| {
        format!(
            "shape strips {{\n\
             outline short {{\n\
             edge a = line through (0 mm, 0 mm) at 90 deg\n\
             edge b = line through (0 mm, 10 mm) at 0 deg\n\
             edge c = line through (100 mm, 0 mm) at -90 deg\n\
             both sides\n\
             }}\n\
             long = move short by (50 mm, 0 mm)\n\
             piece strip {{ cloth shell; grain 0 deg; outline short }}\n\
             assembly one {{ lay strip; finish short; {first} }}\n\
             assembly two {{ lay strip; finish long; {second} }}\n\
             }}\n\
             style a from strips\n"
        )
    };
    let show = "show short as shell";
    for (first, second, left) in [
        (show, "", 0.0),
        ("", show, 50.0),
        (show, show, 50.0),
        ("", "", 50.0),
    ] {
        let folded = draft(&shape(first, second)).folded.expect("a picture");
        let found = folded.outline.bounds().x0;
        assert!(
            (found - left).abs() < SAME_LENGTH,
            "{first:?} {second:?}: {found}"
        );
    }
}

#[test]
fn a_style_is_drafted_in_another_cloth_as_if_it_named_it() {
    let text = "cloth plain { width 140 cm }
        cloth soft { width 140 cm; give 2 % }
        style tie from four-in-hand { shell plain }
        style other from tie { shell soft }";
    let compiled = compile("t.tie", &[], &Memory(text.to_owned()));
    let program = &compiled.program;
    assert_eq!(program.shape_of("other"), Some("four-in-hand"));
    assert_eq!(program.shape_of("nobody"), None);
    let area = |drafted: Drafted| drafted.draft.expect("a draft").pieces[0].area;
    let (plain, soft) = (
        area(program.draft("tie", None)),
        area(program.draft("other", None)),
    );
    assert!((plain - soft).abs() > 1.0);
    assert_eq!(area(program.draft_in("tie", None, Some("soft"))), soft);
    assert_eq!(area(program.draft_in("other", None, Some("plain"))), plain);
    assert!(program.draft_in("tie", None, Some("sotf")).draft.is_none());
}

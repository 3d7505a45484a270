//! What the tests of the search share: pieces to lay, and the judging of what comes out.
//!
//! Every layout the tests make is proven, and kept for a second opinion: one line of JSON each, in
//! the build's folder for tests, where the checks from outside the project read them.

use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::sync::{Mutex, OnceLock};

use serde_json::json;
use tiewright_marker::{Job, Kind, Layout, Outline, Point, Turn, prove};

static KEPT: OnceLock<Mutex<File>> = OnceLock::new();

/// `count` pieces of these corners, in any of `turns`.
pub fn kind(corners: &[(f64, f64)], turns: &[Turn], count: usize) -> Kind {
    let corners: Vec<Point> = corners.iter().map(|&p| Point::from(p)).collect();
    let outline = Outline::new(&corners).expect("a sound outline");
    Kind {
        area: outline.area(),
        outline,
        turns: turns.to_vec(),
        count,
        phase: None,
    }
}

/// Fails if `layout` is not sound; keeps it.
pub fn sound(job: &Job, layout: &Layout) {
    assert_eq!(prove(job, layout), Ok(()));
    let corner = |p: &Point| [p.x, p.y];
    let pieces = layout.placements.iter().map(|placement| {
        let corners = placement.corners(job).expect("a piece of the job");
        corners.iter().map(corner).collect::<Vec<_>>()
    });
    let flaws = job.cloth.flaws.iter().map(|f| [f.x0, f.y0, f.x1, f.y1]);
    let line = json!({
        "width": job.cloth.width,
        "gap": job.cloth.gap,
        "length": layout.length,
        "flaws": flaws.collect::<Vec<_>>(),
        "pieces": pieces.collect::<Vec<_>>(),
    });
    let file = KEPT.get_or_init(|| {
        let name = format!("markers-{}.jsonl", env!("CARGO_CRATE_NAME"));
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        Mutex::new(File::create(path).expect("a file to keep layouts in"))
    });
    // A test that fails elsewhere while it writes spoils no other's line.
    let mut file = file
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    writeln!(file, "{line}").expect("a layout kept");
}

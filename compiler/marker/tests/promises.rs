//! What the crate promises: sound layouts, the same for the same seed, and puzzles solved.

mod common;

use common::{kind, sound};
use tiewright_marker::{
    Cloth, Job, JobError, Kind, Layout, Never, Options, Progress, Rect, Turn, first, improve,
};

fn rectangle(width: f64, height: f64, turns: &[Turn], count: usize) -> Kind {
    let corners = [(0., 0.), (width, 0.), (width, height), (0., height)];
    kind(&corners, turns, count)
}

fn job(kinds: Vec<Kind>, width: f64) -> Job {
    Job {
        kinds,
        cloth: Cloth {
            width,
            ..Cloth::default()
        },
        ..Job::default()
    }
}

fn laid(job: &Job, seed: u64, steps: u64) -> Layout {
    let options = Options {
        seed,
        steps: Some(steps),
        ..Options::default()
    };
    let layout = improve(job, &options, &Never, &mut |_| {}).expect("a layout");
    sound(job, &layout);
    layout
}

/// Pieces like those of a tie, one of them not convex.
fn pieces(turns: &[Turn], count: usize) -> Vec<Kind> {
    vec![
        kind(
            &[(0., 0.), (141., 0.), (634., 551.), (552., 552.), (0., 141.)],
            turns,
            count,
        ),
        kind(
            &[(0., 0.), (350., 0.), (200., 60.), (100., 200.), (0., 300.)],
            turns,
            count,
        ),
    ]
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let job = job(pieces(&[Turn::NONE, Turn::HALF], 6), 1380.0);
    let one = laid(&job, 5, 4000);
    assert_eq!(one, laid(&job, 5, 4000));
    assert_ne!(one, laid(&job, 6, 4000));
}

#[test]
fn progress_never_goes_back_and_ends_at_the_layout() {
    let job = job(pieces(&[Turn::NONE, Turn::HALF], 5), 1380.0);
    let mut seen: Vec<Progress> = Vec::new();
    let options = Options {
        steps: Some(12_000),
        ..Options::default()
    };
    let layout = improve(&job, &options, &Never, &mut |p| seen.push(p)).expect("a layout");
    assert!(seen.windows(2).all(|w| w[1].length <= w[0].length));
    assert!(seen.len() > 1);
    assert_eq!(seen[seen.len() - 1].length, layout.length);
    assert!(layout.length < seen[0].length);
}

#[test]
fn a_stop_gives_the_first_layout() {
    let job = job(pieces(&[Turn::NONE], 3), 1380.0);
    let layout = improve(&job, &Options::default(), &|| true, &mut |_| {}).expect("a layout");
    sound(&job, &layout);
}

#[test]
fn the_quick_layout_is_sound_and_always_the_same() {
    for count in [1, 12, 50] {
        let job = job(pieces(&[Turn::NONE, Turn::HALF], count), 1380.0);
        let layout = first(&job, &Never).expect("a layout");
        sound(&job, &layout);
        assert_eq!(first(&job, &Never), Ok(layout.clone()));
        let hasty = first(&job, &|| true).expect("a layout");
        sound(&job, &hasty);
        assert!(layout.length <= hasty.length);
    }
}

#[test]
fn a_long_lay_is_the_same_for_the_same_seed() {
    let job = job(pieces(&[Turn::NONE, Turn::HALF], 45), 1380.0);
    let one = laid(&job, 3, 30_000);
    assert_eq!(one, laid(&job, 3, 30_000));
    assert!(one.length <= first(&job, &Never).expect("a layout").length);
}

/// A piece with hollow flanks in fine chords.
fn curved(turns: &[Turn], count: usize) -> Kind {
    let flank = |i: i32| {
        let t = f64::from(i) / 24.0;
        (600.0 * t, 60.0 - 40.0 * t * (2.0 - t))
    };
    let mut corners: Vec<(f64, f64)> = (0..=24).map(|i| (flank(i).0, -flank(i).1)).collect();
    corners.extend((0..=24).rev().map(flank));
    kind(&corners, turns, count)
}

#[test]
fn curved_pieces_are_laid_by_their_true_outlines() {
    let turns = [Turn::NONE, Turn::HALF];
    let job = job(vec![curved(&turns, 10)], 500.0);
    let mut seen: Vec<Progress> = Vec::new();
    let options = Options {
        steps: Some(3000),
        ..Options::default()
    };
    let layout = improve(&job, &options, &Never, &mut |p| seen.push(p)).expect("a layout");
    sound(&job, &layout);
    assert!(seen.windows(2).all(|w| w[1].length <= w[0].length));
    // What was found is taken up again, though its pieces lie nearer than simpler outlines would.
    let again = Options {
        steps: Some(10),
        start: Some(layout.clone()),
        ..Options::default()
    };
    let layout_again = improve(&job, &again, &Never, &mut |_| {}).expect("a layout");
    assert!(layout_again.length <= layout.length);
}

#[test]
fn what_it_starts_from_is_never_made_longer() {
    let two_way = [Turn::NONE, Turn::HALF];
    let any_way = [Turn::NONE, Turn::HALF, Turn::QUARTER, Turn::THREE_QUARTERS];
    let start = laid(&job(pieces(&two_way, 8), 1380.0), 1, 12_000);
    let job = job(pieces(&any_way, 8), 1380.0);
    let options = Options {
        seed: 1,
        steps: Some(10),
        start: Some(start.clone()),
        ..Options::default()
    };
    let layout = improve(&job, &options, &Never, &mut |_| {}).expect("a layout");
    sound(&job, &layout);
    assert!(layout.length <= start.length);
}

#[test]
fn gap_and_flaws_are_kept() {
    let mut job = job(pieces(&[Turn::NONE, Turn::HALF], 6), 1380.0);
    let free = laid(&job, 1, 6000).length;
    job.cloth.gap = 6.0;
    job.cloth.flaws = vec![
        Rect::new(300., 400., 340., 430.),
        Rect::new(700., 0., 720., 900.),
    ];
    assert!(laid(&job, 1, 6000).length > free);
}

#[test]
fn what_cannot_be_laid_is_said() {
    let wide = job(vec![rectangle(50., 120., &[Turn::NONE], 1)], 100.0);
    let said = improve(&wide, &Options::default(), &Never, &mut |_| {});
    assert_eq!(said, Err(JobError::TooWide(0)));
    let turned = job(vec![rectangle(50., 120., &[Turn::QUARTER], 1)], 100.0);
    assert_eq!(laid(&turned, 1, 10).length, 120.0);
    let none = job(Vec::new(), 100.0);
    assert_eq!(laid(&none, 1, 10).length, 0.0);
}

/// Rectangles cut from a full one: `cuts` halve the largest left, at shares that differ.
fn puzzle(width: f64, length: f64, pieces: usize) -> Vec<(f64, f64)> {
    let mut parts = vec![(length, width)];
    let shares = [0.5, 0.35, 0.6, 0.45, 0.3];
    while parts.len() < pieces {
        let largest = (0..parts.len())
            .max_by(|&a, &b| (parts[a].0 * parts[a].1).total_cmp(&(parts[b].0 * parts[b].1)))
            .expect("parts");
        let (l, w) = parts.swap_remove(largest);
        let share = shares[parts.len() % shares.len()];
        if l > w {
            let cut = (l * share).round();
            parts.extend([(cut, w), (l - cut, w)]);
        } else {
            let cut = (w * share).round();
            parts.extend([(l, cut), (l, w - cut)]);
        }
    }
    parts
}

#[test]
fn puzzles_of_rectangles_are_solved() {
    for (pieces, turns) in [
        (8, vec![Turn::NONE]),
        (12, vec![Turn::NONE]),
        (16, vec![Turn::NONE]),
        (10, vec![Turn::NONE, Turn::QUARTER]),
    ] {
        let kinds = puzzle(1000., 1500., pieces)
            .into_iter()
            .map(|(l, w)| rectangle(l, w, &turns, 1))
            .collect();
        let job = job(kinds, 1000.0);
        let layout = laid(&job, 1, 400_000);
        assert!(layout.length < 1500.0 + 1e-6, "{pieces}: {}", layout.length);
    }
}

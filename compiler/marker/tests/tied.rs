//! Pieces tied to a repeat, kept near the others of their tie, and laid between flaws: whatever the
//! job, what comes out is proven, and the same every time.

mod common;

use common::{kind, sound};
use proptest::prelude::*;
use tiewright_marker::{
    Article, Cloth, Fault, Job, JobError, Kind, Layout, Never, Options, Outline, Phase, Point,
    Rect, Repeat, Turn, bundles, improve, prove,
};

fn rectangle(width: f64, height: f64, count: usize) -> Kind {
    let corners = [(0., 0.), (width, 0.), (width, height), (0., height)];
    kind(&corners, &[Turn::NONE], count)
}

fn laid(job: &Job, options: &Options) -> Layout {
    let layout = improve(job, options, &Never, &mut |_| {}).expect("a layout");
    sound(job, &layout);
    layout
}

fn steps(steps: u64) -> Options {
    Options {
        seed: 3,
        steps: Some(steps),
        ..Options::default()
    }
}

/// Large and small pieces like those of a tie on the bias, one article.
fn ties(count: usize, width: f64) -> Job {
    let turns = [Turn::NONE, Turn::HALF];
    let blade = [(0., 0.), (141., 0.), (634., 551.), (552., 552.), (0., 141.)];
    let tail = [(0., 0.), (90., 0.), (420., 330.), (330., 390.), (0., 90.)];
    Job {
        kinds: vec![kind(&blade, &turns, count), kind(&tail, &turns, count)],
        cloth: Cloth {
            width,
            ..Cloth::default()
        },
        articles: vec![Article {
            pieces: vec![(0, 1), (1, 1)],
            count,
        }],
    }
}

/// A star-shaped piece, most not convex, no more than 200 mm across.
fn star() -> impl Strategy<Value = Outline> {
    prop::collection::vec(25.0..100.0_f64, 3..8).prop_filter_map("no outline", |radii| {
        let step = 360.0 / radii.len() as f64;
        let corner =
            |(i, r): (usize, &f64)| Turn::degrees(step * i as f64).apply(Point::new(*r, 0.0));
        let corners: Vec<Point> = radii.iter().enumerate().map(corner).collect();
        Outline::new(&corners).ok()
    })
}

fn measure(range: std::ops::Range<f64>) -> impl Strategy<Value = Option<f64>> {
    prop::option::of(range)
}

/// A kind tied along, across, both or not at all; a phase needs a repeat, so both repeats are there.
fn tied() -> impl Strategy<Value = Kind> {
    let turns = prop::sample::select(vec![
        vec![Turn::NONE],
        vec![Turn::NONE, Turn::HALF],
        vec![Turn::NONE, Turn::QUARTER, Turn::degrees(30.0)],
    ]);
    let phase = prop::option::of((measure(-500.0..500.0), measure(-500.0..500.0)));
    (star(), turns, phase, 1..4_usize).prop_map(|(outline, turns, phase, count)| Kind {
        area: outline.area(),
        outline,
        turns,
        count,
        phase: phase.map(|(x, y)| Phase { x, y }),
    })
}

fn flaw() -> impl Strategy<Value = Rect> {
    (
        0.0..900.0_f64,
        -50.0..420.0_f64,
        1.0..120.0_f64,
        1.0..450.0_f64,
    )
        .prop_map(|(x, y, w, h)| Rect::new(x, y, x + w, y + h))
}

fn any_job() -> impl Strategy<Value = Job> {
    (
        prop::collection::vec(tied(), 1..4),
        prop::collection::vec(flaw(), 0..12),
        prop::sample::select(vec![0.0, 3.0]),
        prop::sample::select(vec![4.0, 37.5, 190.0]),
        prop::sample::select(vec![4.0, 37.5, 190.0]),
    )
        .prop_map(|(kinds, flaws, gap, warp, weft)| Job {
            kinds,
            cloth: Cloth {
                width: 420.0,
                gap,
                flaws,
                repeat: Repeat {
                    warp: Some(warp),
                    weft: Some(weft),
                },
            },
            articles: Vec::new(),
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// Whatever is tied, and wherever the flaws: what is found is proven, at the start and after,
    /// and found again.
    #[test]
    fn every_layout_is_proven_and_found_again(job in any_job()) {
        match improve(&job, &steps(0), &Never, &mut |_| {}) {
            Ok(start) => {
                sound(&job, &start);
                let better = improve(&job, &steps(900), &Never, &mut |_| {}).expect("a layout");
                sound(&job, &better);
                prop_assert!(better.length <= start.length);
                let again = improve(&job, &steps(900), &Never, &mut |_| {}).expect("a layout");
                prop_assert_eq!(better, again);
            }
            // A piece too high for one row of the repeat can have no place between the selvedges.
            Err(error) => prop_assert!(matches!(error, JobError::OffRepeat(_)), "{}", error),
        }
    }
}

#[test]
fn the_proof_sees_a_piece_off_the_repeat() {
    let mut job = ties(2, 1380.0);
    job.cloth.repeat.warp = Some(40.0);
    job.kinds[0].phase = Some(Phase {
        x: Some(11.0),
        y: None,
    });
    let mut layout = laid(&job, &steps(500));
    let off = layout.placements.iter().position(|p| p.kind == 0);
    let off = off.expect("a blade");
    layout.placements[off].at.x += 1e-6;
    assert_eq!(prove(&job, &layout), Err(Fault::Phase(off)));
    job.cloth.repeat.warp = None;
    assert_eq!(prove(&job, &layout), Err(Fault::Phase(0)));
}

#[test]
fn a_short_repeat_costs_almost_nothing_and_a_long_one_still_lays() {
    let free = ties(8, 1380.0);
    let length = |repeat: f64| {
        let mut job = free.clone();
        job.cloth.repeat.warp = Some(repeat);
        job.kinds[0].phase = Some(Phase {
            x: Some(5.0),
            y: None,
        });
        laid(&job, &steps(12_000)).length
    };
    let untied = laid(&free, &steps(12_000)).length;
    // So few pieces fit in steps: another order of them is a hundredth or two longer or shorter.
    assert!(length(3.0) < untied * 1.03, "{} {untied}", length(3.0));
    assert!(length(300.0) < untied * 1.3, "{} {untied}", length(300.0));
}

#[test]
fn squares_on_a_repeat_lie_as_close_as_it_lets_them() {
    let mut job = Job {
        kinds: vec![rectangle(90.0, 90.0, 6)],
        cloth: Cloth {
            width: 220.0,
            ..Cloth::default()
        },
        articles: Vec::new(),
    };
    job.cloth.repeat = Repeat {
        warp: Some(40.0),
        weft: Some(100.0),
    };
    job.kinds[0].phase = Some(Phase {
        x: Some(-30.0),
        y: Some(10.0),
    });
    // Columns at 10, 130 and 250; two rows, at 10 and 110.
    assert_eq!(laid(&job, &steps(3000)).length, 340.0);
    job.cloth.width = 199.0;
    assert_eq!(laid(&job, &steps(3000)).length, 10.0 + 5.0 * 120.0 + 90.0);
}

#[test]
fn what_the_repeat_forbids_is_said() {
    let mut job = ties(1, 1380.0);
    let said = |job: &Job| improve(job, &steps(10), &Never, &mut |_| {});
    let x = |x: f64| {
        Some(Phase {
            x: Some(x),
            y: None,
        })
    };
    job.kinds[1].phase = x(3.0);
    assert_eq!(said(&job), Err(JobError::Phase(1)));
    job.cloth.repeat.warp = Some(40.0);
    assert!(said(&job).is_ok());
    job.kinds[1].phase = x(f64::NAN);
    assert_eq!(said(&job), Err(JobError::Phase(1)));
    job.kinds[1].phase = Some(Phase {
        x: None,
        y: Some(900.0),
    });
    job.cloth.repeat.weft = Some(2000.0);
    assert!(said(&job).is_ok());
    job.cloth.width = 800.0;
    assert_eq!(said(&job), Err(JobError::OffRepeat(1)));
    job.cloth.repeat.weft = Some(0.0);
    assert_eq!(said(&job), Err(JobError::Cloth));
}

#[test]
fn articles_that_need_other_counts_are_refused() {
    let mut job = ties(3, 1380.0);
    job.articles[0].count = 2;
    assert_eq!(job.check(), Err(JobError::Articles(0)));
    job.articles[0] = Article {
        pieces: vec![(0, 1), (1, 1), (2, 1)],
        count: 3,
    };
    assert_eq!(job.check(), Err(JobError::Articles(2)));
    job.articles[0].pieces = vec![(1, usize::MAX), (0, 1)];
    assert_eq!(job.check(), Err(JobError::Articles(1)));
}

fn near(most: f64, count: u64) -> Options {
    Options {
        near: Some(most),
        ..steps(count)
    }
}

#[test]
fn ties_lie_as_near_as_asked_on_cloth_with_flaws_and_repeats() {
    let mut job = ties(14, 1380.0);
    job.cloth.flaws = vec![
        Rect::new(900., 0., 905., 1380.),
        Rect::new(2000., 300., 2040., 340.),
    ];
    job.cloth.repeat.warp = Some(25.0);
    job.kinds[0].phase = Some(Phase {
        x: Some(5.0),
        y: None,
    });
    for most in [700.0, 1000.0, 1e5] {
        let layout = laid(&job, &near(most, 4000));
        let bundles = bundles(&job, &layout);
        assert_eq!(bundles.of.len(), 28);
        assert!(bundles.widest() <= most, "{}", bundles.widest());
    }
}

#[test]
fn nearness_holds_when_sizes_share_a_piece() {
    let mut job = ties(6, 1380.0);
    let long = [(0., 0.), (150., 0.), (690., 600.), (600., 610.), (0., 150.)];
    job.kinds.push(kind(&long, &[Turn::NONE, Turn::HALF], 5));
    job.kinds[1].count = 11;
    job.articles.push(Article {
        pieces: vec![(2, 1), (1, 1)],
        count: 5,
    });
    let layout = laid(&job, &near(900.0, 4000));
    let bundles = bundles(&job, &layout);
    assert!(bundles.widest() <= 900.0, "{}", bundles.widest());
    assert_eq!(bundles.article.iter().filter(|a| **a == 1).count(), 5);
}

#[test]
fn ties_nearer_than_one_alone_are_refused_with_the_least() {
    let job = ties(4, 1380.0);
    match improve(&job, &near(600.0, 1000), &Never, &mut |_| {}) {
        Err(JobError::Near(least)) => assert!((least - 634.0).abs() < 1e-6, "{least}"),
        other => panic!("{other:?}"),
    }
    assert!(improve(&job, &near(f64::NAN, 10), &Never, &mut |_| {}).is_err());
}

#[test]
fn a_large_lay_gets_shorter_within_what_is_near() {
    let job = ties(40, 1380.0);
    let start = laid(&job, &near(1500.0, 0));
    let layout = laid(&job, &near(1500.0, 12_000));
    assert!(layout.length < start.length);
    assert!(bundles(&job, &layout).widest() <= 1500.0);
}

/// Pieces behind a touch may settle by what counts as clear.
fn takes(job: &Job, length: f64) {
    let found = laid(job, &steps(3000)).length;
    assert!((found - length).abs() < 1e-6, "{found}, not {length}");
}

#[test]
fn a_large_lay_gets_shorter_among_flaws_and_on_a_repeat() {
    let mut flawed = ties(40, 1380.0);
    flawed.cloth.flaws = vec![
        Rect::new(700., 200., 740., 260.),
        Rect::new(2500., 0., 2505., 1380.),
    ];
    let mut tied = ties(40, 1380.0);
    tied.cloth.repeat.warp = Some(10.0);
    tied.kinds[0].phase = Some(Phase {
        x: Some(4.0),
        y: None,
    });
    for job in [flawed, tied] {
        let start = laid(&job, &steps(0)).length;
        assert!(laid(&job, &steps(24_000)).length < start);
    }
}

#[test]
fn cloth_with_a_flaw_across_is_used_on_both_sides_of_it() {
    let mut job = Job {
        kinds: vec![rectangle(100.0, 100.0, 8)],
        cloth: Cloth {
            width: 200.0,
            ..Cloth::default()
        },
        articles: Vec::new(),
    };
    // Two columns before the first flaw, none between the two, two behind.
    job.cloth.flaws = vec![
        Rect::new(210.0, -5.0, 220.0, 205.0),
        Rect::new(310.0, 0.0, 330.0, 200.0),
    ];
    takes(&job, 530.0);
    // At the very beginning.
    job.cloth.flaws = vec![Rect::new(-20.0, 0.0, 40.0, 200.0)];
    takes(&job, 440.0);
    // Behind all pieces, a flaw costs nothing.
    job.cloth.flaws = vec![Rect::new(400.0, 0.0, 500.0, 200.0)];
    takes(&job, 400.0);
    // Two on one another are no more than one.
    job.cloth.flaws = vec![Rect::new(100.0, 0.0, 150.0, 200.0); 2];
    takes(&job, 450.0);
    // On one edge, wider than a piece: one row goes on beside it.
    job.cloth.flaws = vec![Rect::new(0.0, -10.0, 350.0, 30.0)];
    takes(&job, 600.0);
}

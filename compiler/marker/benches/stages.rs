//! How long each stage takes from an order book to a marker: a first layout, moves of the search, the proof of
//! a layout, and a lay plan beside its floor, the plan with one marker an order.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use serde_json::Value;
use tiewright_marker::plan::{Demand, Effort, Group, Lengths, Order, Rule, Table, naive, plan};
use tiewright_marker::{
    Cloth, Job, Kind, Never, Options, Outline, Point, Turn, first, improve, prove,
};

const PIECES: &str = include_str!("data/tie-pieces.json");
/// Moves of the search in one measurement.
const MOVES: u64 = 6000;

/// So many model ties cut on the bias, half of the pieces turned round if that is shorter.
fn ties(count: usize) -> Job {
    let data: Value = serde_json::from_str(PIECES).expect("pieces");
    let turns = [0.0, 180.0].map(Turn::degrees);
    let kind = |name: &str| {
        let corner = |p: &Value| {
            let at = |i: usize| p[i].as_f64().expect("a number");
            Turn::degrees(45.0).apply(Point::new(at(0), at(1)))
        };
        let corners = data[name].as_array().expect("corners");
        let corners: Vec<Point> = corners.iter().map(corner).collect();
        let outline = Outline::new(&corners).expect("an outline");
        Kind {
            area: outline.area(),
            outline,
            turns: turns.to_vec(),
            count,
            phase: None,
        }
    };
    Job {
        kinds: ["blade", "tail", "neck"].map(kind).to_vec(),
        cloth: Cloth {
            width: data["usable_width"].as_f64().expect("a width"),
            ..Cloth::default()
        },
        ..Job::default()
    }
}

fn markers(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("marker");
    group.sample_size(10);
    for count in [4, 24, 96] {
        let job = ties(count);
        group.throughput(Throughput::Elements(job.pieces() as u64));
        group.bench_with_input(BenchmarkId::new("first layout", count), &job, |b, job| {
            b.iter(|| first(black_box(job), &Never));
        });
        let start = first(&job, &Never).expect("a layout");
        group.bench_with_input(BenchmarkId::new("proof", count), &job, |b, job| {
            b.iter(|| prove(black_box(job), &start));
        });
    }
    let job = ties(24);
    let options = Options {
        steps: Some(MOVES),
        ..Options::default()
    };
    group.throughput(Throughput::Elements(MOVES));
    group.bench_function("first layouts and moves", |b| {
        b.iter(|| improve(black_box(&job), &options, &Never, &mut |_| ()));
    });
    group.finish();
}

/// Markers as long as their ties one behind the other, and a bit.
struct Line;

impl Lengths for Line {
    fn estimate(&mut self, counts: &[u32]) -> f64 {
        300.0 + 220.0 * f64::from(counts.iter().sum::<u32>())
    }

    fn length(&mut self, counts: &[u32]) -> f64 {
        self.estimate(counts)
    }
}

/// Orders of so many articles on so many cloths, with numbers that share no factor.
fn orders(articles: usize, cloths: usize) -> (Group, Vec<Order>) {
    let mut orders = Vec::new();
    let mut wanted = vec![vec![0; articles]; cloths];
    for (cloth, wanted) in wanted.iter_mut().enumerate() {
        for (article, wanted) in wanted.iter_mut().enumerate() {
            *wanted = [7, 12, 30, 5, 18][(3 * cloth + article) % 5];
            let mut counts = vec![0; articles];
            counts[article] = *wanted;
            orders.push(Order { cloth, counts });
        }
    }
    let demand = |wanted| Demand {
        price: 40.0,
        wanted,
    };
    let group = Group {
        articles: vec![2.5e5; articles],
        cloths: wanted.into_iter().map(demand).collect(),
        width: 1380.0,
    };
    (group, orders)
}

fn plans(criterion: &mut Criterion) {
    let table = Table {
        longest: Some(6000.0),
        plies: Some(40),
        end_loss: 20.0,
        set_up: 8.0,
        ..Table::default()
    };
    let (rule, effort) = (Rule::default(), Effort::default());
    let mut benches = criterion.benchmark_group("plan");
    benches.sample_size(10);
    for (articles, cloths) in [(1, 1), (3, 2), (5, 4)] {
        let (group, orders) = orders(articles, cloths);
        let size = format!("{articles} articles on {cloths} cloths");
        benches.bench_function(BenchmarkId::new("planned", &size), |b| {
            b.iter(|| plan(black_box(&group), &table, &rule, &mut Line, &effort));
        });
        benches.bench_function(BenchmarkId::new("floor: order by order", &size), |b| {
            b.iter(|| naive(black_box(&group), &table, &orders, &mut Line));
        });
    }
    benches.finish();
}

criterion_group!(benches, markers, plans);
criterion_main!(benches);

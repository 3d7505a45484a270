//! Lays the model ties of the bench, or an open strip-packing set, and prints what comes out.
//!
//! `marker-bench [--way one|two|any]… [--ties 12,24]… [--seconds 10] [--seed 1] [--cpu] [--width MM]
//! [--curved] [--sizes] [--first] [--set FILE.json]…`
//!
//! `--curved` takes panels with curved edges in fine chords, `--sizes` a third of the ties a size
//! smaller and a third a size larger, `--first` only the quick first layout. One row a job: utilisation at the start and at the end, and beside it the lattice bound: pieces
//! that all lie in one turn pack no denser than each kind alone in its best lattice (Rogers 1951),
//! ends and selvedges not counted. `--cpu` counts seconds of processor time of both threads, for a
//! machine that has other work; every layout is proved.
#![allow(clippy::print_stdout)]

use std::error::Error;
use std::time::Instant;

use serde_json::Value;
use tiewright_marker::{
    Cloth, Job, Kind, Options, Outline, Point, Progress, Turn, first, improve, prove,
};

const PIECES: &str = include_str!("../benches/data/tie-pieces.json");
const CURVED: &str = include_str!("../benches/data/curved-pieces.json");
/// A size smaller, and a size larger.
const SIZES: [f64; 3] = [0.92, 1.0, 1.08];
/// Open sets are in small units of their own: one is taken as this many millimetres.
const SET_SCALE: f64 = 25.0;

struct Asked {
    ways: Vec<String>,
    ties: Vec<usize>,
    seconds: f64,
    seed: u64,
    cpu: bool,
    width: Option<f64>,
    curved: bool,
    sizes: bool,
    first: bool,
    sets: Vec<String>,
}

fn asked() -> Result<Asked, Box<dyn Error>> {
    let mut asked = Asked {
        ways: Vec::new(),
        ties: Vec::new(),
        seconds: 10.0,
        seed: 1,
        cpu: false,
        width: None,
        curved: false,
        sizes: false,
        first: false,
        sets: Vec::new(),
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let switch = match word.as_str() {
            "--cpu" => Some(&mut asked.cpu),
            "--curved" => Some(&mut asked.curved),
            "--sizes" => Some(&mut asked.sizes),
            "--first" => Some(&mut asked.first),
            _ => None,
        };
        if let Some(switch) = switch {
            *switch = true;
            continue;
        }
        let value = words.next().ok_or("a value is missing")?;
        match word.as_str() {
            "--way" => asked.ways.push(value),
            "--ties" => {
                for count in value.split(',') {
                    asked.ties.push(count.parse()?);
                }
            }
            "--seconds" => asked.seconds = value.parse()?,
            "--width" => asked.width = Some(value.parse()?),
            "--seed" => asked.seed = value.parse()?,
            "--set" => asked.sets.push(value),
            _ => return Err(format!("unknown option {word}").into()),
        }
    }
    if asked.sets.is_empty() {
        if asked.ways.is_empty() {
            asked.ways = vec!["one".into(), "two".into()];
        }
        if asked.ties.is_empty() {
            asked.ties = vec![1, 4, 12, 24, 48, 96];
        }
    }
    Ok(asked)
}

fn main() -> Result<(), Box<dyn Error>> {
    let asked = asked()?;
    println!("| job | pieces | s | moves | start % | end % | length mm | lattice bound % |");
    println!("|---|---|---|---|---|---|---|---|");
    for way in &asked.ways {
        for &ties in &asked.ties {
            run(
                &format!("{way}-way {ties}"),
                &tie_job(way, ties, &asked)?,
                &asked,
            )?;
        }
    }
    for set in &asked.sets {
        let (name, job) = open_set(&std::fs::read_to_string(set)?)?;
        run(&name, &job, &asked)?;
    }
    Ok(())
}

fn run(name: &str, job: &Job, asked: &Asked) -> Result<(), Box<dyn Error>> {
    let start = Instant::now();
    let before = cpu_seconds();
    let stop = || {
        let used = if asked.cpu {
            cpu_seconds() - before
        } else {
            start.elapsed().as_secs_f64()
        };
        used > asked.seconds
    };
    let options = Options {
        seed: asked.seed,
        ..Options::default()
    };
    let mut seen: Vec<Progress> = Vec::new();
    let layout = if asked.first {
        first(job, &stop)?
    } else {
        improve(job, &options, &stop, &mut |p| seen.push(p))?
    };
    let seconds = start.elapsed().as_secs_f64();
    prove(job, &layout)?;
    println!(
        "| {name} | {} | {seconds:.3} | {} | {:.2} | {:.2} | {:.1} | {} |",
        job.pieces(),
        seen.last().map_or(0, |p| p.steps),
        100.0 * seen.first().map_or(0.0, |p| p.utilisation),
        100.0 * layout.utilisation(job),
        layout.length,
        lattice_bound(job).map_or("–".to_owned(), |b| format!("{:.1}", 100.0 * b)),
    );
    Ok(())
}

/// Processor time of all threads, seconds; 0 where the system does not tell.
fn cpu_seconds() -> f64 {
    const TICKS: f64 = 100.0;
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap_or("").split(' ').collect();
    let ticks = |i: usize| fields.get(i).and_then(|f| f.parse::<f64>().ok());
    (ticks(12).unwrap_or(0.0) + ticks(13).unwrap_or(0.0)) / TICKS
}

fn corner(value: &Value) -> Result<Point, Box<dyn Error>> {
    let number = |i: usize| value[i].as_f64().ok_or("a corner is no pair of numbers");
    Ok(Point::new(number(0)?, number(1)?))
}

fn corners(value: &Value) -> Result<Vec<Point>, Box<dyn Error>> {
    let list = value.as_array().ok_or("a piece is no list of corners")?;
    list.iter().map(corner).collect()
}

fn tie_job(way: &str, ties: usize, asked: &Asked) -> Result<Job, Box<dyn Error>> {
    let turns: &[f64] = match way {
        "one" => &[0.0],
        "two" => &[0.0, 180.0],
        "any" => &[0.0, 90.0, 180.0, 270.0],
        _ => return Err(format!("unknown way {way}").into()),
    };
    let data: Value = serde_json::from_str(if asked.curved { CURVED } else { PIECES })?;
    let sizes: &[f64] = if asked.sizes { &SIZES } else { &[1.0] };
    let mut kinds = Vec::new();
    for (number, size) in sizes.iter().enumerate() {
        for name in ["blade", "tail", "neck"] {
            let bias = Turn::degrees(45.0);
            let on_bias: Vec<Point> = corners(&data[name])?
                .iter()
                .map(|p| bias.apply((p.to_vec2() * *size).to_point()))
                .collect();
            let outline = Outline::new(&on_bias)?;
            kinds.push(Kind {
                area: outline.area(),
                outline,
                turns: turns.iter().map(|d| Turn::degrees(*d)).collect(),
                count: (ties + number) / sizes.len(),
                phase: None,
            });
        }
    }
    let width = data["usable_width"].as_f64().ok_or("no usable width")?;
    Ok(job(kinds, asked.width.unwrap_or(width)))
}

fn open_set(text: &str) -> Result<(String, Job), Box<dyn Error>> {
    let data: Value = serde_json::from_str(text)?;
    let mut kinds = Vec::new();
    for item in data["items"].as_array().ok_or("no items")? {
        let scaled = |p: &Point| Point::new(p.x * SET_SCALE, p.y * SET_SCALE);
        let points: Vec<Point> = corners(&item["shape"]["data"])?
            .iter()
            .map(scaled)
            .collect();
        let outline = Outline::new(&points)?;
        let turns = item["allowed_orientations"].as_array();
        kinds.push(Kind {
            area: outline.area(),
            outline,
            turns: turns.map_or(vec![Turn::NONE], |turns| {
                turns
                    .iter()
                    .filter_map(Value::as_f64)
                    .map(Turn::degrees)
                    .collect()
            }),
            count: item["demand"].as_u64().unwrap_or(1) as usize,
            phase: None,
        });
    }
    let height = data["strip_height"].as_f64().ok_or("no strip height")?;
    let name = data["name"].as_str().unwrap_or("set").to_owned();
    Ok((name, job(kinds, height * SET_SCALE)))
}

fn job(kinds: Vec<Kind>, width: f64) -> Job {
    let cloth = Cloth {
        width,
        ..Cloth::default()
    };
    Job {
        kinds,
        cloth,
        ..Job::default()
    }
}

/// Net area over the area of the best lattice of each kind; for jobs of convex pieces in one turn.
fn lattice_bound(job: &Job) -> Option<f64> {
    let mut cells = 0.0;
    for kind in &job.kinds {
        if kind.turns.len() > 1 || kind.outline.parts().len() > 1 {
            return None;
        }
        cells += kind.count as f64 * least_cell(kind.outline.points());
    }
    Some(job.area() / cells)
}

/// The least area of a lattice cell in which a convex piece does not meet its translates: one side
/// of the cell is a place where a translate touches the piece, tried all round in fine steps; the
/// other is where a translate touches both.
fn least_cell(piece: &[Point]) -> f64 {
    const STEPS: usize = 400;
    let round = difference_body(piece);
    let edge = |i: usize| (round[i], round[(i + 1) % round.len()]);
    let mut least = f64::INFINITY;
    for i in 0..round.len() {
        for step in 0..STEPS {
            let (a, b) = edge(i);
            let side = a.lerp(b, step as f64 / STEPS as f64).to_vec2();
            for j in 0..round.len() {
                let (p, q) = (edge(j).0 - side, edge(j).1 - side);
                for k in 0..round.len() {
                    let (r, s) = edge(k);
                    let turn = (q - p).cross(s - r);
                    let along = (r - p).cross(s - r) / turn;
                    let other = (r - p).cross(q - p) / turn;
                    if (0.0..=1.0).contains(&along) && (0.0..=1.0).contains(&other) {
                        let cell = side.cross(p.lerp(q, along).to_vec2()).abs();
                        if cell > 1.0 {
                            least = least.min(cell);
                        }
                    }
                }
            }
        }
    }
    least
}

/// The convex piece less itself: where a translate touches it, seen from it, counter-clockwise.
fn difference_body(piece: &[Point]) -> Vec<Point> {
    let count = piece.len();
    let mut sides: Vec<_> = (0..count)
        .flat_map(|i| {
            let d = piece[(i + 1) % count] - piece[i];
            [d, -d]
        })
        .collect();
    sides.sort_by(|a, b| a.atan2().total_cmp(&b.atan2()));
    let mut at = Point::ORIGIN;
    let mut corners = Vec::new();
    for side in sides {
        at += side;
        corners.push(at);
    }
    // Opposite corners are opposite places: their middle is the middle of all.
    let middle = corners[0].midpoint(corners[count]);
    corners.iter().map(|p| (*p - middle).to_point()).collect()
}

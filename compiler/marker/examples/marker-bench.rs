//! Lays the model ties of the bench and prints what came out beside what is known.
#![allow(clippy::print_stdout, clippy::unwrap_used)]
use std::time::{Duration, Instant};
use tiewright_marker::*;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let way: &str = &args[1];
    let n: usize = args[2].parse().unwrap();
    let secs: f64 = args[3].parse().unwrap();
    let seed: u64 = args.get(4).map_or(1, |s| s.parse().unwrap());
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../benches/data/tie-pieces.json")).unwrap();
    let turns = match way {
        "one" => vec![Turn::NONE],
        "two" => vec![Turn::NONE, Turn::HALF],
        _ => vec![Turn::NONE, Turn::QUARTER, Turn::HALF, Turn::THREE_QUARTERS],
    };
    let kinds = ["blade", "tail", "neck"]
        .iter()
        .map(|name| {
            let points: Vec<Point> = data[name]
                .as_array()
                .unwrap()
                .iter()
                .map(|p| {
                    Turn::degrees(45.0)
                        .apply(Point::new(p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
                })
                .collect();
            let outline = Outline::new(&points).unwrap();
            Kind {
                area: outline.area(),
                outline,
                turns: turns.clone(),
                count: n,
            }
        })
        .collect();
    let job = Job {
        kinds,
        cloth: Cloth {
            width: data["usable_width"].as_f64().unwrap(),
            gap: 0.0,
            flaws: vec![],
        },
    };
    let start = Instant::now();
    let stop = move || {
        if std::env::var("CPU").is_ok() {
            stat() > secs
        } else {
            start.elapsed() > Duration::from_secs_f64(secs)
        }
    };
    let mut last = 0.0;
    let verbose = std::env::var("V").is_ok();
    let layout = improve(
        &job,
        &Options {
            seed,
            ..Options::default()
        },
        &stop,
        &mut |p: Progress| {
            if verbose && p.length != last {
                last = p.length;
                println!(
                    "  {:5.1} s {:7} steps {:.2} {:.1}",
                    start.elapsed().as_secs_f64(),
                    p.steps,
                    100.0 * p.utilisation,
                    p.length
                );
            }
        },
    )
    .unwrap();
    println!(
        "{way} {n}: {:.2} proof {:?} in {:.1} s",
        100.0 * layout.utilisation(&job),
        prove(&job, &layout),
        start.elapsed().as_secs_f64()
    );
}

fn stat() -> f64 {
    let s = std::fs::read_to_string("/proc/self/stat").unwrap();
    let f: Vec<&str> = s.rsplit(')').next().unwrap().split_whitespace().collect();
    (f[11].parse::<f64>().unwrap() + f[12].parse::<f64>().unwrap()) / 100.0
}

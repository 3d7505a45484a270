use crate::job::{Job, JobError};
use crate::layout::{Layout, Placement};
use crate::random::Random;
use crate::separate::{Effort, Meter, Separator};
use crate::start::dropped;
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;

struct Clock<'s> { stop: &'s dyn Stop, steps: u64 }
impl Meter for Clock<'_> { fn go_on(&mut self, steps: u64) -> bool { self.steps += steps; !self.stop.stop() } }

pub fn improve(job: &Job, seed: u64, stop: &dyn Stop) -> Result<Layout, JobError> {
    job.check()?;
    let table = Table::new(job);
    let counts: Vec<usize> = job.kinds.iter().map(|k| k.count).collect();
    let mut best = dropped(&table, &counts);
    let say = |s: &State, what: &str, steps: u64| {
        eprintln!("{what} {:.2} {} steps {}", 100.0 * job.area() / (job.cloth.width * s.length), s.is_clear(), steps);
    };
    say(&best, "start", 0);
    { let t = std::time::Instant::now(); if let Some(c) = crate::compact::compacted(&best, 20) { best = c; } eprintln!("compact took {:?}", t.elapsed()); say(&best, "compact", 0); }
    let mut random = Random::new(seed);
    let mut sep = Separator::new();
    let mut clock = Clock { stop, steps: 0 };
    let effort = Effort { patience: 60, near: 150.0, far: 0.3, boxes: 2000 };
    let mut ratio = 0.01;
    while clock.go_on(0) {
        let mut s = best.clone();
        s.length = best.length * (1.0 - ratio);
        let by = best.length - s.length; squeeze(&mut s, by, &mut random);
        let left = sep.separate(&mut s, &mut random, effort, &mut clock);
        if left == 0.0 {
            s.length = s.reach();
            best = s; say(&best, "found", clock.steps);
 let t = std::time::Instant::now(); if let Some(c) = crate::compact::compacted(&best, 5) { best = c; } eprintln!("compact took {:?}", t.elapsed());
            say(&best, "better", clock.steps);
        } else {
            eprintln!("  fail {left:.3} at ratio {ratio:.5} steps {}", clock.steps);
            ratio = (ratio * 0.7_f64).max(0.0005);
        }
    }
    Ok(layout(&best))
}

fn squeeze(s: &mut State, by: f64, random: &mut Random) {
    let cut = random.unit() * s.length;
    for i in 0..s.len() {
        let b = s.table.poses[s.pose[i]].bounds;
        if !s.frozen[i] && s.at[i].x + (b.x0 + b.x1) / 2.0 > cut { s.at[i].x -= by; }
    }
    s.bring_inside();
}

fn layout(state: &State) -> Layout {
    let placements = (0..state.len()).filter(|&i| !state.frozen[i]).map(|i| { let p = &state.table.poses[state.pose[i]];
        Placement { kind: p.kind, turn: p.turn, at: state.at[i].to_vec2() } }).collect();
    Layout { placements, length: state.length }
}

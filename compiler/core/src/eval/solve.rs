//! Determines parameters left open: `find A so that X is Y`.
//!
//! One unknown: the whole range is scanned, every change of sign is closed in on, and every
//! point where the difference comes near zero without changing sign is looked into. Several
//! unknowns: damped Newton steps from a grid of starts over the box of ranges. Either way every
//! root found is kept, so that none and many can be told apart. Nothing is random.

use super::{Evaluator, work};
use crate::diagnostic::{Code, Diagnostic};
use crate::format::quantity;
use crate::kind::Kind;
use crate::program::{Find, Node, SlotId, Unknown, reads_of};
use crate::source::Span;

/// Millimetres, radians or plain. A condition that is met this nearly is met.
const MET: f64 = 1e-7;

/// Two roots nearer to each other than this share of the range are one.
const ONE_ROOT: f64 = 1e-6;

/// Points at which the range of a single unknown is looked at.
const SCAN: usize = 129;

/// Starts for several unknowns, at most.
const STARTS: usize = 343;

/// Drafts tried for several unknowns, at most: more starts or unknowns would only take longer.
const TRIES: usize = 20_000;

/// Newton steps from each start.
const STEPS: usize = 40;

struct Range {
    slot: SlotId,
    low: f64,
    high: f64,
    kind: Kind,
    span: Span,
}

/// Solves all of a style's open parameters together and fixes them; whether it could.
pub fn solve(evaluator: &mut Evaluator<'_>, finds: &[Find]) -> bool {
    let Some(unknowns) = unknowns(evaluator, finds) else {
        return false;
    };
    let equations: Vec<&(Node, Node)> = finds.iter().flat_map(|find| &find.equations).collect();
    let span = finds.first().map_or_else(Span::default, |find| find.span);
    // With the unknowns fixed, their settings and defaults are not read.
    for unknown in &unknowns {
        evaluator.fix(unknown.slot, unknown.low);
    }
    let mut targets: Vec<SlotId> = equations
        .iter()
        .flat_map(|(l, r)| reads_of(l).into_iter().chain(reads_of(r)))
        .collect();
    targets.extend(
        evaluator
            .shape()
            .requires
            .iter()
            .flat_map(|require| reads_of(&require.condition)),
    );
    targets.sort_unstable();
    targets.dedup();
    let order = evaluator.order(&targets);
    if !evaluator.troubles.is_empty() {
        return false;
    }
    let mut system = System {
        evaluator,
        unknowns: &unknowns,
        equations: &equations,
        order,
        closest: None,
        tries: 0,
    };
    let roots = if unknowns.len() == 1 {
        system.scan()
    } else {
        system.newton()
    };
    let closest = system.closest.take();
    evaluator.reset();
    if evaluator.work.is_spent() {
        let fault = work::too_much::<()>(span).err();
        fault
            .into_iter()
            .for_each(|fault| evaluator.tell(fault, &[]));
        return false;
    }
    match roots.as_slice() {
        [root] => {
            for (unknown, value) in unknowns.iter().zip(root) {
                evaluator.fix(unknown.slot, *value);
            }
            true
        }
        [] => {
            let diagnostic = no_root(evaluator, &unknowns, &equations, closest, span);
            evaluator.troubles.push(diagnostic.into());
            false
        }
        many => {
            let diagnostic = many_roots(evaluator, &unknowns, many, span);
            evaluator.troubles.push(diagnostic.into());
            false
        }
    }
}

fn unknowns(evaluator: &mut Evaluator<'_>, finds: &[Find]) -> Option<Vec<Range>> {
    let mut out = Vec::new();
    for Unknown { slot, range, span } in finds.iter().flat_map(|find| &find.unknowns) {
        let declared = evaluator.shape().slot(*slot)?;
        let own = match &declared.definition {
            crate::program::Definition::Parameter(_, range) => range.as_ref(),
            _ => None,
        };
        let limits = |evaluator: &mut Evaluator<'_>, range: &(Node, Node)| -> Option<(f64, f64)> {
            let low = evaluator.bound(&range.0);
            let high = evaluator.bound(&range.1);
            match (low, high) {
                (Ok(low), Ok(high)) => Some((low, high)),
                (Err(fault), _) | (_, Err(fault)) => {
                    evaluator.tell(fault, &[]);
                    None
                }
            }
        };
        let mut found = match own {
            Some(range) => Some(limits(evaluator, range)?),
            None => None,
        };
        if let Some(range) = range {
            let (low, high) = limits(evaluator, range)?;
            // A stated range narrows the parameter's own, never widens it.
            if low >= high {
                let place = range.0.span.to(range.1.span);
                let diagnostic = empty_range(place, low, high, declared.kind);
                evaluator.troubles.push(diagnostic.into());
                return None;
            }
            if let Some((l, h)) = found.filter(|(l, h)| low.max(*l) >= high.min(*h)) {
                let show = |v| quantity(v, declared.kind);
                let message = format!(
                    "`{}` goes from {} to {}, and nothing of that lies in this range",
                    declared.name,
                    show(l),
                    show(h)
                );
                let place = range.0.span.to(range.1.span);
                let diagnostic = Diagnostic::error(Code::EmptyRange, place, message);
                let hint = "look within the parameter's own range";
                evaluator.troubles.push(diagnostic.hint(hint).into());
                return None;
            }
            found = Some(found.map_or((low, high), |(l, h)| (low.max(l), high.min(h))));
        }
        let (low, high) = found?;
        if low >= high {
            let diagnostic = empty_range(declared.span, low, high, declared.kind);
            evaluator.troubles.push(diagnostic.into());
            return None;
        }
        out.push(Range {
            slot: *slot,
            low,
            high,
            kind: declared.kind,
            span: *span,
        });
    }
    Some(out)
}

fn empty_range(span: Span, low: f64, high: f64, kind: Kind) -> Diagnostic {
    let (low, high) = (quantity(low, kind), quantity(high, kind));
    Diagnostic::error(
        Code::EmptyRange,
        span,
        format!("nothing lies between {low} and {high}"),
    )
    .hint("write the range from its lowest to its highest value")
}

/// Where the conditions came nearest to being met.
struct Closest {
    at: Vec<f64>,
    miss: f64,
}

struct System<'e, 'p> {
    evaluator: &'e mut Evaluator<'p>,
    unknowns: &'e [Range],
    equations: &'e [&'e (Node, Node)],
    order: Vec<SlotId>,
    closest: Option<Closest>,
    tries: usize,
}

impl System<'_, '_> {
    /// The differences of all conditions at `x`; none where nothing can be drafted.
    fn misses(&mut self, x: &[f64]) -> Option<Vec<f64>> {
        self.tries += 1;
        self.evaluator.reset();
        for (unknown, value) in self.unknowns.iter().zip(x) {
            self.evaluator.fix(unknown.slot, *value);
        }
        let order = std::mem::take(&mut self.order);
        self.evaluator.run(&order);
        self.order = order;
        for require in &self.evaluator.shape().requires {
            if let Ok(false) = self.evaluator.truth(&require.condition) {
                return None;
            }
        }
        let mut out = Vec::with_capacity(self.equations.len());
        for (left, right) in self.equations {
            out.push(self.evaluator.number(left).ok()? - self.evaluator.number(right).ok()?);
        }
        let miss = norm(&out);
        if self.closest.as_ref().is_none_or(|c| miss < c.miss) {
            self.closest = Some(Closest {
                at: x.to_vec(),
                miss,
            });
        }
        Some(out)
    }

    fn miss(&mut self, x: f64) -> Option<f64> {
        self.misses(&[x])?.first().copied()
    }

    /// All roots of one unknown.
    fn scan(&mut self) -> Vec<Vec<f64>> {
        let Some(unknown) = self.unknowns.first() else {
            return Vec::new();
        };
        let (low, width) = (unknown.low, unknown.high - unknown.low);
        let at = |i: usize| low + width * (i as f64 / (SCAN - 1) as f64);
        let samples: Vec<(f64, Option<f64>)> =
            (0..SCAN).map(|i| (at(i), self.miss(at(i)))).collect();
        let mut roots: Vec<Vec<f64>> = Vec::new();
        for pair in samples.windows(2) {
            let [(a, fa), (b, fb)] = pair else { continue };
            match (fa, fb) {
                (Some(fa), Some(fb)) if fa.signum() != fb.signum() || *fa == 0.0 => {
                    let root = self.close_in(*a, *fa, *b);
                    self.keep(&mut roots, vec![root]);
                }
                // The edge of what can be drafted lies between: look as near to it as may be.
                (Some(f), None) => self.towards_edge(*a, *f, *b, &mut roots),
                (None, Some(f)) => self.towards_edge(*b, *f, *a, &mut roots),
                _ => {}
            }
        }
        for triple in samples.windows(3) {
            let [(a, Some(fa)), (_, Some(fb)), (c, Some(fc))] = triple else {
                continue;
            };
            let dips = fb.abs() <= fa.abs()
                && fb.abs() <= fc.abs()
                && fa.signum() == fb.signum()
                && fb.signum() == fc.signum();
            if dips {
                let x = self.lowest(*a, *c);
                self.keep(&mut roots, vec![x]);
            }
        }
        if let Some((x, Some(0.0))) = samples.last() {
            self.keep(&mut roots, vec![*x]);
        }
        roots
    }

    /// Halves the stretch between a point with a value and one without, to find a root between
    /// the last point with a value and the edge.
    fn towards_edge(
        &mut self,
        inside: f64,
        f_inside: f64,
        outside: f64,
        roots: &mut Vec<Vec<f64>>,
    ) {
        let (mut good, mut bad) = (inside, outside);
        for _ in 0..50 {
            let middle = f64::midpoint(good, bad);
            match self.miss(middle) {
                Some(f) if f.signum() != f_inside.signum() => {
                    let root = self.close_in(inside, f_inside, middle);
                    return self.keep(roots, vec![root]);
                }
                Some(_) => good = middle,
                None => bad = middle,
            }
        }
        // A value that meets the condition just where drafting ends.
        self.keep(roots, vec![good]);
    }

    /// Bisection: slow and sure, to the last bit that matters.
    fn close_in(&mut self, a: f64, fa: f64, b: f64) -> f64 {
        let (mut a, mut b) = (a, b);
        for _ in 0..80 {
            let middle = f64::midpoint(a, b);
            match self.miss(middle) {
                Some(0.0) => return middle,
                Some(f) if f.signum() == fa.signum() => a = middle,
                _ => b = middle,
            }
        }
        f64::midpoint(a, b)
    }

    /// Golden section search for the least miss between `a` and `b`.
    fn lowest(&mut self, a: f64, b: f64) -> f64 {
        const GOLDEN: f64 = 0.618_033_988_749_894_9;
        let (mut a, mut b) = (a, b);
        for _ in 0..60 {
            let (x, y) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
            let fx = self.miss(x).map_or(f64::INFINITY, f64::abs);
            let fy = self.miss(y).map_or(f64::INFINITY, f64::abs);
            if fx <= fy { b = y } else { a = x }
        }
        f64::midpoint(a, b)
    }

    /// Keeps a root if it is one and not known yet.
    fn keep(&mut self, roots: &mut Vec<Vec<f64>>, x: Vec<f64>) {
        let met = self
            .misses(&x)
            .is_some_and(|misses| norm(&misses) <= MET * 10.0);
        let same = |root: &Vec<f64>| {
            self.unknowns
                .iter()
                .zip(root)
                .zip(&x)
                .all(|((u, a), b)| (a - b).abs() <= ONE_ROOT * (u.high - u.low))
        };
        if met && !roots.iter().any(same) {
            roots.push(x);
        }
    }

    /// All roots of several unknowns that Newton's method reaches from a grid of starts.
    fn newton(&mut self) -> Vec<Vec<f64>> {
        let n = self.unknowns.len();
        let mut side = 1;
        while (side + 1usize)
            .checked_pow(u32::try_from(n).unwrap_or(u32::MAX))
            .is_some_and(|count| count <= STARTS)
        {
            side += 1;
        }
        let count = side
            .checked_pow(u32::try_from(n).unwrap_or(u32::MAX))
            .unwrap_or(1);
        let mut roots = Vec::new();
        for index in 0..count {
            if self.tries > TRIES {
                break;
            }
            let mut rest = index;
            let start: Vec<f64> = self
                .unknowns
                .iter()
                .map(|u| {
                    let step = rest % side;
                    rest /= side;
                    u.low + (u.high - u.low) * ((step as f64 + 0.5) / side as f64)
                })
                .collect();
            if let Some(root) = self.descend(start) {
                self.keep(&mut roots, root);
            }
        }
        roots
    }

    fn descend(&mut self, mut x: Vec<f64>) -> Option<Vec<f64>> {
        let mut misses = self.misses(&x)?;
        for _ in 0..STEPS {
            if norm(&misses) <= MET {
                return Some(x);
            }
            let step = self.newton_step(&x, &misses)?;
            let mut share = 1.0;
            loop {
                let next: Vec<f64> = self
                    .unknowns
                    .iter()
                    .zip(x.iter().zip(&step))
                    .map(|(u, (x, s))| (x + s * share).clamp(u.low, u.high))
                    .collect();
                match self.misses(&next) {
                    Some(better) if norm(&better) < norm(&misses) => {
                        x = next;
                        misses = better;
                        break;
                    }
                    _ if share < 1e-4 => return None,
                    _ => share /= 2.0,
                }
            }
        }
        (norm(&misses) <= MET).then_some(x)
    }

    /// The step that would meet all conditions if they were straight.
    fn newton_step(&mut self, x: &[f64], misses: &[f64]) -> Option<Vec<f64>> {
        let n = x.len();
        let mut rows: Vec<Vec<f64>> = misses.iter().map(|m| vec![-m]).collect();
        for (index, unknown) in self.unknowns.iter().enumerate() {
            let width = unknown.high - unknown.low;
            let mut h = width * 1e-6;
            let at = *x.get(index)?;
            if at + h > unknown.high {
                h = -h;
            }
            let mut moved = x.to_vec();
            *moved.get_mut(index)? = at + h;
            let shifted = self.misses(&moved)?;
            for (row, (there, here)) in rows.iter_mut().zip(shifted.iter().zip(misses)) {
                row.insert(row.len() - 1, (there - here) / h);
            }
        }
        eliminate(&mut rows, n)
    }
}

/// Solves the system whose rows end in their right hand side, by elimination with pivoting.
fn eliminate(rows: &mut [Vec<f64>], n: usize) -> Option<Vec<f64>> {
    for column in 0..n {
        let pivot =
            (column..n).max_by(|&a, &b| rows[a][column].abs().total_cmp(&rows[b][column].abs()))?;
        if rows[pivot][column].abs() < 1e-14 {
            return None;
        }
        rows.swap(column, pivot);
        let pivot_row = rows[column].clone();
        for (index, row) in rows.iter_mut().enumerate() {
            if index != column {
                let factor = row[column] / pivot_row[column];
                row.iter_mut()
                    .zip(&pivot_row)
                    .for_each(|(value, above)| *value -= factor * above);
            }
        }
    }
    Some((0..n).map(|i| rows[i][n] / rows[i][i]).collect())
}

fn norm(misses: &[f64]) -> f64 {
    misses.iter().map(|m| m.abs()).fold(0.0, f64::max)
}

fn name(evaluator: &Evaluator<'_>, unknown: &Range) -> String {
    evaluator
        .shape()
        .slot(unknown.slot)
        .map_or_else(String::new, |slot| format!("`{}`", slot.name))
}

fn values(evaluator: &Evaluator<'_>, unknowns: &[Range], at: &[f64]) -> String {
    listed(
        unknowns
            .iter()
            .zip(at)
            .map(|(u, v)| format!("{} {}", name(evaluator, u), quantity(*v, u.kind))),
    )
}

fn ranges(evaluator: &Evaluator<'_>, unknowns: &[Range]) -> String {
    let each = unknowns.iter().map(|u| {
        format!(
            "{} from {} to {}",
            name(evaluator, u),
            quantity(u.low, u.kind),
            quantity(u.high, u.kind)
        )
    });
    listed(each)
}

/// How many open parameters a message names.
const MOST_NAMED: usize = 4;

/// In a row, cut short when there are many.
fn listed(each: impl Iterator<Item = String>) -> String {
    let mut out: Vec<String> = each.take(MOST_NAMED + 1).collect();
    if out.len() > MOST_NAMED {
        out.truncate(MOST_NAMED);
        out.push("…".to_owned());
    }
    out.join(", ")
}

/// How near the conditions came to being met, and what would bring them nearer.
fn nearest_miss(
    evaluator: &Evaluator<'_>,
    unknowns: &[Range],
    equations: &[&(Node, Node)],
    closest: &Closest,
) -> Vec<String> {
    let first = equations
        .first()
        .map_or(Kind::NUMBER, |(left, _)| left.kind);
    let at = values(evaluator, unknowns, &closest.at);
    // Misses of different kinds have no common unit.
    let mut hints = if equations.iter().all(|(left, _)| left.kind == first) {
        let miss = quantity(closest.miss, first);
        vec![format!("the nearest is {at}, which is {miss} off")]
    } else {
        vec![format!("the nearest is {at}")]
    };
    for (unknown, value) in unknowns.iter().zip(&closest.at).take(MOST_NAMED) {
        let width = unknown.high - unknown.low;
        let end = (value - unknown.low).min(unknown.high - value);
        if end <= width * AT_THE_END {
            hints.push(format!(
                "{} is at the end of its range there: widen the range, or change what is asked for",
                name(evaluator, unknown)
            ));
        }
    }
    hints
}

/// Share of a range. A value this near to its end is at the end; the scan is no finer.
const AT_THE_END: f64 = 0.01;

/// Why nothing can be drafted in the ranges: what is wrong in the middle of them.
fn undrafted(evaluator: &mut Evaluator<'_>, unknowns: &[Range]) -> String {
    for unknown in unknowns {
        evaluator.fix(unknown.slot, f64::midpoint(unknown.low, unknown.high));
    }
    let reason = super::draft::unmet_requirement(evaluator);
    evaluator.reset();
    let middle: Vec<f64> = unknowns
        .iter()
        .map(|u| f64::midpoint(u.low, u.high))
        .collect();
    match reason {
        Some(reason) => format!(
            "nothing can be drafted anywhere there; with {}, {reason}",
            values(evaluator, unknowns, &middle)
        ),
        None => "nothing can be drafted anywhere there; look at the other parameters".to_owned(),
    }
}

fn no_root(
    evaluator: &mut Evaluator<'_>,
    unknowns: &[Range],
    equations: &[&(Node, Node)],
    closest: Option<Closest>,
    span: Span,
) -> Diagnostic {
    let what = if equations.len() == 1 {
        "no value meets the condition"
    } else {
        "no values meet the conditions together"
    };
    let mut diagnostic = Diagnostic::error(
        Code::NoSolution,
        span,
        format!("{what}; tried {}", ranges(evaluator, unknowns)),
    );
    diagnostic = match closest {
        Some(closest) => nearest_miss(evaluator, unknowns, equations, &closest)
            .into_iter()
            .fold(diagnostic, Diagnostic::hint),
        None => diagnostic.hint(undrafted(evaluator, unknowns)),
    };
    for unknown in unknowns.iter().take(MOST_NAMED) {
        diagnostic = diagnostic.also(unknown.span, "left open here");
    }
    diagnostic
}

fn many_roots(
    evaluator: &Evaluator<'_>,
    unknowns: &[Range],
    roots: &[Vec<f64>],
    span: Span,
) -> Diagnostic {
    let mut sorted: Vec<&Vec<f64>> = roots.iter().collect();
    sorted.sort_by(|a, b| {
        a.iter()
            .zip(b.iter())
            .map(|(x, y)| x.total_cmp(y))
            .find(|o| o.is_ne())
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut list: Vec<String> = sorted
        .iter()
        .take(4)
        .map(|root| values(evaluator, unknowns, root))
        .collect();
    if sorted.len() > 4 {
        list.push("…".into());
    }
    Diagnostic::error(
        Code::ManySolutions,
        span,
        format!(
            "{} answers meet the condition: {}",
            sorted.len(),
            list.join("; ")
        ),
    )
    .hint("say where to look, as in `find taper-run from 20 in to 30 in so that …`")
}

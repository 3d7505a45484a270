//! Which plies of which lays are cut from which roll.
//!
//! In: lays and the rolls at hand of one cloth. Out: how many plies of each lay each roll gives,
//! what is left of it, and what is missing. A ply is never pieced from two rolls.
//!
//! As few rolls are opened as the search finds, and of those as short ones: short rolls are used up
//! and long ones stay whole. Each roll is filled as full as its plies allow.

use super::Lay;
use super::check::ROUNDING;

/// What a roll gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// The number of plies it gives to each lay.
    pub plies: Vec<u32>,
    /// What is left of it, millimetres; for a roll not opened its whole length.
    pub left: f64,
}

impl Drawn {
    /// Whether anything is cut from it.
    pub fn opened(&self) -> bool {
        self.plies.iter().any(|p| *p > 0)
    }
}

/// What all rolls give.
#[derive(Clone, Debug, PartialEq)]
pub struct Allotment {
    /// For each roll what it gives, in the order of the rolls.
    pub rolls: Vec<Drawn>,
    /// The plies of each lay for which there is no roll.
    pub missing: Vec<u32>,
    /// The cloth they need with their end losses, millimetres.
    pub short: f64,
}

impl Allotment {
    /// How many rolls are opened.
    pub fn opened(&self) -> usize {
        self.rolls.iter().filter(|r| r.opened()).count()
    }
}

/// Plies of one length, and how many.
type Plies = (f64, u32);

/// Allots the plies of `cloth` (its number in the lays) to rolls of the lengths given,
/// millimetres. Rolls whose length is no number above 0 give nothing.
pub fn allot(lays: &[Lay], cloth: usize, end_loss: f64, rolls: &[f64]) -> Allotment {
    let plies = |l: &Lay| l.plies.get(cloth).copied().unwrap_or(0);
    let need: Vec<Plies> = lays
        .iter()
        .map(|l| (l.length + 2.0 * end_loss, plies(l)))
        .collect();
    let mut sorted: Vec<usize> = (0..rolls.len())
        .filter(|r| rolls[*r].is_finite() && rolls[*r] > 0.0)
        .collect();
    sorted.sort_by(|x, y| rolls[*y].total_cmp(&rolls[*x]).then(x.cmp(y)));
    let all = sum(&need);
    let mut cloth = 0.0;
    let least = sorted.iter().take_while(|r| {
        let before = cloth;
        cloth += rolls[**r];
        before + ROUNDING < all
    });
    let least = least.count();
    for number in least..sorted.len() {
        if complete(&need, rolls, &sorted[..number]).is_some() {
            let chosen = shorter(&need, rolls, &sorted, number);
            if let Some(given) = complete(&need, rolls, &chosen) {
                return allotment(&need, rolls, given);
            }
        }
    }
    let given = complete(&need, rolls, &sorted);
    let given = given.unwrap_or_else(|| fill(&need, rolls, &sorted).0);
    allotment(&need, rolls, given)
}

/// The cloth that plies need.
fn sum(need: &[Plies]) -> f64 {
    need.iter().map(|(length, n)| length * f64::from(*n)).sum()
}

/// As many rolls as given that still take all, with shorter ones in place of longer where they do;
/// `sorted` from the longest.
fn shorter(need: &[Plies], rolls: &[f64], sorted: &[usize], number: usize) -> Vec<usize> {
    let mut chosen: Vec<usize> = sorted[..number].to_vec();
    for place in 0..number {
        // The shortest that does: found by halving, since a longer roll seldom takes less.
        let others: Vec<usize> = sorted
            .iter()
            .copied()
            .filter(|r| !chosen.contains(r) && rolls[*r] < rolls[chosen[place]])
            .collect();
        let (mut does, mut not) = (0, others.len() + 1);
        while not - does > 1 {
            let middle = does + (not - does) / 2;
            let mut tried = chosen.clone();
            tried[place] = others[middle - 1];
            if complete(need, rolls, &tried).is_some() {
                does = middle;
            } else {
                not = middle;
            }
        }
        if does > 0 {
            chosen[place] = others[does - 1];
        }
    }
    chosen
}

/// What each roll gives: by roll, the plies of each lay.
type Given = Vec<(usize, Vec<u32>)>;

/// All plies from the rolls chosen, the shortest filled first or the longest; `None` if neither
/// goes out.
fn complete(need: &[Plies], rolls: &[f64], chosen: &[usize]) -> Option<Given> {
    let mut order = chosen.to_vec();
    order.sort_by(|x, y| rolls[*x].total_cmp(&rolls[*y]).then(x.cmp(y)));
    for _ in 0..2 {
        let (given, left) = fill(need, rolls, &order);
        if left.iter().all(|(_, n)| *n == 0) {
            return Some(given);
        }
        order.reverse();
    }
    None
}

/// Rolls filled one after the other, each as full as can be, and the plies left over.
fn fill(need: &[Plies], rolls: &[f64], order: &[usize]) -> (Given, Vec<Plies>) {
    let mut left = need.to_vec();
    let mut given = Vec::new();
    for roll in order {
        let plies = fullest(&left, rolls[*roll] + ROUNDING);
        for ((_, n), taken) in left.iter_mut().zip(&plies) {
            *n -= taken;
        }
        given.push((*roll, plies));
    }
    (given, left)
}

/// Nodes of the search for the fullest roll; a handful of lays needs some hundreds.
const NODES: usize = 5_000;

/// The plies that use most of a roll.
fn fullest(need: &[Plies], length: f64) -> Vec<u32> {
    let mut order: Vec<usize> = (0..need.len()).filter(|l| need[*l].1 > 0).collect();
    order.sort_by(|x, y| need[*y].0.total_cmp(&need[*x].0).then(x.cmp(y)));
    let mut search = Fullest {
        need,
        order: &order,
        taken: vec![0; need.len()],
        best: (0.0, vec![0; need.len()]),
        nodes: NODES,
        length,
    };
    search.from(0, 0.0);
    search.best.1
}

struct Fullest<'n> {
    need: &'n [Plies],
    order: &'n [usize],
    taken: Vec<u32>,
    best: (f64, Vec<u32>),
    nodes: usize,
    length: f64,
}

impl Fullest<'_> {
    /// Tries plies of the lays from `at` on, most first. Ends early when the roll is full or all
    /// is taken.
    fn from(&mut self, at: usize, used: f64) {
        if used > self.best.0 {
            self.best = (used, self.taken.clone());
        }
        let rest: f64 = self.order[at..]
            .iter()
            .map(|l| self.need[*l].0 * f64::from(self.need[*l].1))
            .sum();
        let reach = (used + rest).min(self.length);
        if at == self.order.len() || reach <= self.best.0 + 2.0 * ROUNDING || self.nodes == 0 {
            return;
        }
        self.nodes -= 1;
        let lay = self.order[at];
        let (ply, wanted) = self.need[lay];
        let most = if ply > 0.0 {
            ((self.length - used) / ply).floor().max(0.0) as u32
        } else {
            wanted
        };
        for number in (0..=most.min(wanted)).rev() {
            self.taken[lay] = number;
            self.from(at + 1, used + ply * f64::from(number));
            if self.nodes == 0 {
                break;
            }
        }
        self.taken[lay] = 0;
    }
}

/// What was given, as an answer.
fn allotment(need: &[Plies], rolls: &[f64], given: Given) -> Allotment {
    let mut drawn: Vec<Drawn> = rolls
        .iter()
        .map(|length| Drawn {
            plies: vec![0; need.len()],
            left: *length,
        })
        .collect();
    let mut missing: Vec<u32> = need.iter().map(|(_, n)| *n).collect();
    for (roll, plies) in given {
        let used: f64 = need
            .iter()
            .zip(&plies)
            .map(|((length, _), n)| length * f64::from(*n))
            .sum();
        if used > 0.0 {
            drawn[roll].left = (rolls[roll] - used).max(0.0);
        }
        for (m, n) in missing.iter_mut().zip(&plies) {
            *m -= n;
        }
        drawn[roll].plies = plies;
    }
    let short = need
        .iter()
        .zip(&missing)
        .map(|((length, _), n)| length * f64::from(*n))
        .sum();
    Allotment {
        rolls: drawn,
        missing,
        short,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lay(length: f64, plies: u32) -> Lay {
        Lay {
            counts: vec![1],
            plies: vec![plies],
            length,
        }
    }

    #[test]
    fn the_short_rolls_are_used_and_the_long_one_stays_whole() {
        // 3 plies of 4 m and 2 of 3 m are 18 m: 10 m of 4 + 3 + 3, and 8 m of 4 + 4.
        let lays = [lay(4000.0, 3), lay(3000.0, 2)];
        let got = allot(&lays, 0, 0.0, &[30_000.0, 10_000.0, 8_000.0]);
        // One roll is enough, and of the three only the long one is.
        assert_eq!((got.opened(), got.rolls[0].left), (1, 12_000.0));
        let got = allot(&lays, 0, 0.0, &[17_000.0, 10_000.0, 8_000.0, 16_000.0]);
        assert_eq!(got.opened(), 2);
        assert_eq!(got.rolls[1].plies, [1, 2]);
        assert_eq!(got.rolls[2].plies, [2, 0]);
        assert_eq!((got.rolls[1].left, got.rolls[2].left), (0.0, 0.0));
        assert_eq!(got.short, 0.0);
    }

    #[test]
    fn no_ply_is_pieced_from_two_rolls() {
        // Two rolls of 5 m hold 10 m, yet only one ply of 4 m each.
        let got = allot(&[lay(3960.0, 3)], 0, 20.0, &[5_000.0, 5_000.0]);
        assert_eq!(got.missing, [1]);
        assert_eq!(got.short, 4_000.0);
        assert_eq!(got.rolls[0].left, 1_000.0);
    }

    #[test]
    fn rolls_of_no_length_give_nothing() {
        let got = allot(&[lay(1000.0, 2)], 0, 0.0, &[f64::NAN, 0.0, -1.0]);
        assert_eq!((got.missing.clone(), got.opened()), (vec![2], 0));
    }
}

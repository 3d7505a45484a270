//! Which tie of which ply is whose: lines of the order book shared out over the lays of their group, so
//! that each gets exactly what it ordered. Never: one more or less.

use super::groups::Share;

/// A lay as the sharing sees it: of each cut of the group how many lie in the marker, of each cloth how
/// many plies are spread.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spread {
    /// By cut.
    pub counts: Vec<u32>,
    /// By cloth.
    pub plies: Vec<u32>,
}

/// The pieces of one place of a marker in plies that lie on one another, all of one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bundle {
    /// The lay, from 0.
    pub lay: usize,
    /// The tie of the marker: as [`assign`] leaves it counted from 1 over all of them, cut by cut; as the
    /// marker has it once [`numbered`] has been told.
    pub tie: usize,
    /// The cut, a place in the group.
    pub cut: usize,
    /// The cloth, a place in the group.
    pub stuff: usize,
    /// The lowest ply, counted from 1 on the table.
    pub first: u32,
    /// How many plies.
    pub plies: u32,
    /// The line it is for, a place in the order book; nobody's where more is cut than ordered.
    pub line: Option<usize>,
}

/// Gives the bundles of one lay the numbers its marker has: `ties` are those of each cut, in order. They
/// then come tie by tie, each from the table up, as whoever takes them off the lay does.
pub fn numbered(bundles: &mut [Bundle], ties: &[Vec<usize>]) {
    let all: Vec<usize> = ties.iter().flatten().copied().collect();
    for bundle in bundles.iter_mut() {
        let place = bundle.tie.checked_sub(1);
        bundle.tie = place
            .and_then(|place| all.get(place))
            .map_or(bundle.tie, |tie| *tie);
    }
    bundles.sort_by_key(|bundle| (bundle.tie, bundle.first));
}

/// Shares the lays out among `shares`, the first served first. Plies lie on one another cloth by cloth.
pub fn assign(lays: &[Spread], shares: &[Share]) -> Vec<Bundle> {
    let mut left: Vec<u32> = shares.iter().map(|share| share.quantity).collect();
    let mut next = std::collections::BTreeMap::new();
    let mut queues: std::collections::BTreeMap<(usize, usize), Vec<usize>> =
        std::collections::BTreeMap::new();
    for (index, share) in shares.iter().enumerate() {
        queues
            .entry((share.cut, share.stuff))
            .or_default()
            .push(index);
    }
    let mut out = Vec::new();
    for (lay, spread) in lays.iter().enumerate() {
        let mut below = 0;
        for (stuff, plies) in spread.plies.iter().enumerate() {
            let mut tie = 0;
            for (cut, count) in spread.counts.iter().enumerate() {
                let queue = queues.get(&(cut, stuff)).map_or(&[][..], Vec::as_slice);
                let next: &mut usize = next.entry((cut, stuff)).or_default();
                for _ in 0..*count {
                    tie += 1;
                    let mut first = below + 1;
                    while first <= below + plies {
                        let room = below + plies + 1 - first;
                        let share = queue.get(*next).copied();
                        let taken = share.and_then(|share| left.get_mut(share));
                        let plies = taken.as_ref().map_or(room, |left| room.min(**left));
                        if let Some(left) = taken {
                            *left -= plies;
                            if *left == 0 {
                                *next += 1;
                            }
                        }
                        out.push(Bundle {
                            lay,
                            tie,
                            cut,
                            stuff,
                            first,
                            plies,
                            line: share
                                .and_then(|share| shares.get(share))
                                .map(|share| share.line),
                        });
                        first += plies;
                    }
                }
            }
            below += plies;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(line: usize, cut: usize, stuff: usize, quantity: u32) -> Share {
        Share {
            line,
            cut,
            stuff,
            quantity,
        }
    }

    fn got(bundles: &[Bundle], line: Option<usize>) -> u32 {
        let of_it = bundles.iter().filter(|bundle| bundle.line == line);
        of_it.map(|bundle| bundle.plies).sum()
    }

    #[test]
    fn each_line_gets_exactly_what_it_ordered() {
        let shares = [
            share(4, 0, 0, 5),
            share(1, 0, 0, 3),
            share(2, 1, 0, 8),
            share(3, 0, 1, 2),
        ];
        let lays = [
            Spread {
                counts: vec![1, 1],
                plies: vec![6, 0],
            },
            Spread {
                counts: vec![1, 1],
                plies: vec![2, 0],
            },
            Spread {
                counts: vec![2, 0],
                plies: vec![0, 2],
            },
        ];
        let bundles = assign(&lays, &shares);
        for one in &shares {
            assert_eq!(got(&bundles, Some(one.line)), one.quantity, "{one:?}");
        }
        // Two of the last lay are nobody's.
        assert_eq!(got(&bundles, None), 2);
        let cut: u32 = lays
            .iter()
            .map(|lay| lay.counts.iter().sum::<u32>() * lay.plies.iter().sum::<u32>())
            .sum();
        assert_eq!(bundles.iter().map(|bundle| bundle.plies).sum::<u32>(), cut);
        // The first order is served from the first ply up.
        let first = bundles[0];
        assert_eq!(
            (first.line, first.first, first.plies, first.tie),
            (Some(4), 1, 5, 1)
        );
        assert_eq!(
            (bundles[1].line, bundles[1].first, bundles[1].plies),
            (Some(1), 6, 1)
        );
    }

    #[test]
    fn bundles_have_the_numbers_of_the_marker() {
        // Of the first cut two lie in the marker, of the second one, which lies between them.
        let lay = Spread {
            counts: vec![2, 1],
            plies: vec![3],
        };
        let shares = [share(0, 0, 0, 4), share(1, 0, 0, 2), share(2, 1, 0, 3)];
        let mut bundles = assign(&[lay], &shares);
        numbered(&mut bundles, &[vec![1, 3], vec![2]]);
        let told = |bundle: &Bundle| (bundle.tie, bundle.cut, bundle.line, bundle.first);
        let told: Vec<_> = bundles.iter().map(told).collect();
        let wanted = [
            (1, 0, Some(0), 1),
            (2, 1, Some(2), 1),
            (3, 0, Some(0), 1),
            (3, 0, Some(1), 2),
        ];
        assert_eq!(told, wanted);
    }
}

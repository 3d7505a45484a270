//! The knots a tie can be tied in, as walks. Input: nothing, or what someone calls a knot; output:
//! the knots. Knows no cloth, no lengths and no drafts.
//!
//! After T. Fink and Y. Mao, "Designing tie knots by random walks", Nature 398 (1999) 31, and "Tie
//! knots, random walks and topology", Physica A 276 (2000) 109; rules and measures from memory. The
//! active end hangs in one of three regions: left, right or centre. Each move takes it to another one,
//! alternately towards the shirt (`i`) and away from it (`o`). A knot starts to the left, by
//! convention, and ends right, left, centre or left, right, centre with the last move outwards, so
//! that the end can go through (`T`) under the one before. Moves are counted without `T`.

/// The fewest and the most moves of a knot: with fewer nothing holds, with more a tie is used up.
pub const MOVES: (usize, usize) = (3, 9);

/// Moves in the end that makes a walk a knot.
const END: usize = 3;

/// Names that the trade uses everywhere, from memory, and the walks they stand for.
static NAMES: &[(&str, &str)] = &[
    ("simple", "LRC"),
    ("four-in-hand", "LRLC"),
    ("half-windsor", "LRCLRC"),
    ("windsor", "LCRLCRLC"),
];

/// Where the active end hangs, as the wearer sees it in a mirror.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Region {
    /// Left.
    Left,
    /// Right.
    Right,
    /// Centre.
    Centre,
}

use Region::{Centre, Left, Right};

impl Region {
    fn letter(self) -> char {
        match self {
            Left => 'L',
            Right => 'R',
            Centre => 'C',
        }
    }

    fn of(letter: char) -> Option<Region> {
        [Left, Right, Centre]
            .into_iter()
            .find(|region| region.letter() == letter.to_ascii_uppercase())
    }

    /// The next region clockwise, as the papers draw them.
    fn clockwise(self) -> Region {
        match self {
            Left => Centre,
            Centre => Right,
            Right => Left,
        }
    }
}

/// One move of the active end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Move {
    /// Where it goes.
    pub to: Region,
    /// Away from the shirt, or else towards it.
    pub outward: bool,
}

/// A knot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Knot {
    walk: Vec<Move>,
}

impl Knot {
    /// How many moves, the last one through not counted.
    pub fn moves(&self) -> usize {
        self.walk.len()
    }

    /// Moves to the centre: the more there are, the broader the knot.
    pub fn centre_moves(&self) -> usize {
        self.count(Centre)
    }

    /// How many moves more go to one side than to the other: 0 for a knot that is as full left as
    /// right.
    pub fn symmetry(&self) -> usize {
        self.count(Left).abs_diff(self.count(Right))
    }

    /// How often the winding turns about: 0 for a knot that winds one way only.
    pub fn balance(&self) -> usize {
        let ways: Vec<bool> = pairs(&self.walk)
            .map(|(from, next)| from.to.clockwise() == next.to)
            .collect();
        pairs(&ways).filter(|(one, next)| one != next).count()
    }

    /// The moves in order, as the papers write them: `Li Ro Li Co T`.
    pub fn sequence(&self) -> String {
        let mut out = String::new();
        for step in &self.walk {
            out.push(step.to.letter());
            out.push(if step.outward { 'o' } else { 'i' });
            out.push(' ');
        }
        out + "T"
    }

    /// What the trade calls it.
    pub fn name(&self) -> Option<&'static str> {
        let letters: String = self.walk.iter().map(|step| step.to.letter()).collect();
        let named = NAMES.iter().find(|(_, walk)| *walk == letters);
        named.map(|(name, _)| *name)
    }

    /// Whether the tie is laid round the neck with its back outwards: so with an odd number of moves,
    /// since moves alternate and the last goes outwards.
    pub fn starts_turned_over(&self) -> bool {
        self.walk.first().is_some_and(|first| first.outward)
    }

    fn count(&self, region: Region) -> usize {
        self.walk.iter().filter(|step| step.to == region).count()
    }

    fn ends(&self) -> bool {
        let ends_round = |to: [Region; END]| self.walk.iter().rev().map(|s| s.to).take(END).eq(to);
        (ends_round([Centre, Left, Right]) || ends_round([Centre, Right, Left]))
            && self.walk.last().is_some_and(|last| last.outward)
    }
}

/// Neighbours in a list.
fn pairs<T>(list: &[T]) -> impl Iterator<Item = (&T, &T)> {
    list.iter().zip(list.iter().skip(1))
}

/// Every knot, those of few moves first, then those of few centre moves, then as found.
pub fn all() -> Vec<Knot> {
    let mut found = Vec::new();
    for outward in [false, true] {
        let start = Move { to: Left, outward };
        search(Knot { walk: vec![start] }, &mut found);
    }
    found.sort_by_key(|knot| (knot.moves(), knot.centre_moves()));
    found
}

/// Every knot that begins with these moves.
fn search(begun: Knot, found: &mut Vec<Knot>) {
    let (fewest, most) = MOVES;
    let Some(&last) = begun.walk.last() else {
        return;
    };
    if begun.moves() >= fewest && begun.ends() {
        found.push(begun.clone());
    }
    if begun.moves() == most {
        return;
    }
    for to in [Left, Right, Centre] {
        if to != last.to {
            let mut longer = begun.clone();
            longer.walk.push(Move {
                to,
                outward: !last.outward,
            });
            search(longer, found);
        }
    }
}

/// What someone means who says a knot: a number of moves, and one knot where one was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meant {
    /// Its moves.
    pub moves: usize,
    /// The knot itself, unless only the moves were said.
    pub knot: Option<Knot>,
}

/// Why something said is no knot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoKnot {
    /// A number of moves that no knot has.
    Moves,
    /// Moves that make no knot.
    Sequence,
    /// A name that no knot has.
    Name,
}

/// The knot meant by a name, a number of moves, or a sequence with or without `i`, `o` and `T`.
///
/// # Errors
/// What it would have been, were it one.
pub fn meant(said: &str) -> Result<Meant, NoKnot> {
    let said = said.trim();
    let known = all();
    let one = |knot: &Knot| Meant {
        moves: knot.moves(),
        knot: Some(knot.clone()),
    };
    if said.chars().all(|c| c.is_ascii_digit()) && !said.is_empty() {
        let moves = said.parse().map_err(|_| NoKnot::Moves)?;
        let there = known.iter().any(|knot| knot.moves() == moves);
        return if there {
            Ok(Meant { moves, knot: None })
        } else {
            Err(NoKnot::Moves)
        };
    }
    if let Some(steps) = steps(said) {
        let same = |knot: &&Knot| {
            knot.moves() == steps.len()
                && knot.walk.iter().zip(&steps).all(|(step, (to, outward))| {
                    step.to == *to && outward.is_none_or(|outward| outward == step.outward)
                })
        };
        return known.iter().find(same).map(one).ok_or(NoKnot::Sequence);
    }
    let named = |knot: &&Knot| knot.name().is_some_and(|n| n.eq_ignore_ascii_case(said));
    known.iter().find(named).map(one).ok_or(NoKnot::Name)
}

/// The names of knots that have one.
pub fn names() -> impl Iterator<Item = &'static str> {
    NAMES.iter().map(|(name, _)| *name)
}

/// The moves of a sequence, with their way where it is said; none if it is something else.
fn steps(said: &str) -> Option<Vec<(Region, Option<bool>)>> {
    let letters: Vec<char> = said.chars().filter(|c| !c.is_whitespace()).collect();
    let through = letters.last().is_some_and(|c| c.eq_ignore_ascii_case(&'t'));
    let count = letters.len() - usize::from(through);
    let mut steps: Vec<(Region, Option<bool>)> = Vec::new();
    for letter in letters.iter().take(count) {
        let outward = match letter.to_ascii_lowercase() {
            'i' => Some(false),
            'o' => Some(true),
            _ => None,
        };
        match (outward, steps.last_mut()) {
            (Some(outward), Some((_, way @ None))) => *way = Some(outward),
            (None, _) => steps.push((Region::of(*letter)?, None)),
            _ => return None,
        }
    }
    (!steps.is_empty()).then_some(steps)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counts() -> Vec<usize> {
        let known = all();
        (MOVES.0..=MOVES.1)
            .map(|moves| known.iter().filter(|k| k.moves() == moves).count())
            .collect()
    }

    /// Nature 398 (1999) 31, table 1; Physica A 276 (2000) 109.
    #[test]
    fn there_are_eighty_five() {
        assert_eq!(counts(), [1, 1, 3, 5, 11, 21, 43]);
        assert_eq!(all().len(), 85);
    }

    /// K(h) = (2^(h-2) - (-1)^(h-2)) / 3: Physica A 276 (2000) 109.
    #[test]
    fn as_many_as_the_closed_form_says() {
        for (moves, found) in (MOVES.0..).zip(counts()) {
            let sign: i64 = if moves % 2 == 0 { 1 } else { -1 };
            let wanted = ((1_i64 << (moves - 2)) - sign) / 3;
            assert_eq!(i64::try_from(found), Ok(wanted), "{moves} moves");
        }
    }

    /// K(h, c) = 2^(c-1) (h-c-2 over c-1) of h moves have c to the centre: Physica A 276 (2000) 109,
    /// from memory.
    #[test]
    fn centre_moves_as_the_closed_form_says() {
        let over = |n: usize, k: usize| (0..k).fold(1, |out, i| out * (n - i) / (i + 1));
        let known = all();
        for moves in MOVES.0..=MOVES.1 {
            for centre in 1..moves - 2 {
                let of = |k: &&Knot| k.moves() == moves && k.centre_moves() == centre;
                let (n, k) = (moves - centre - 2, centre - 1);
                let wanted = if k > n { 0 } else { (1 << k) * over(n, k) };
                assert_eq!(known.iter().filter(of).count(), wanted, "{moves}, {centre}");
            }
        }
    }

    #[test]
    fn each_keeps_the_rules_and_comes_once() {
        let known = all();
        for knot in &known {
            let walk = &knot.walk;
            assert_eq!(walk[0].to, Left);
            assert!(pairs(walk).all(|(a, b)| a.to != b.to && a.outward != b.outward));
            assert!(knot.sequence().ends_with("Co T"), "{}", knot.sequence());
            assert_eq!(knot.starts_turned_over(), knot.moves() % 2 == 1);
            // Moves to the sides are odd in number just when one side has more.
            assert_eq!(
                (knot.moves() - knot.centre_moves()) % 2,
                knot.symmetry() % 2
            );
        }
        let mut sequences: Vec<String> = known.iter().map(Knot::sequence).collect();
        sequences.sort();
        sequences.dedup();
        assert_eq!(sequences.len(), known.len());
    }

    /// Sequences of the well-known ones from memory of the same papers; centre moves, symmetry and
    /// balance counted by hand.
    #[test]
    fn the_well_known_are_themselves() {
        let table = [
            ("simple", "Lo Ri Co T", 1, 0, 0),
            ("four-in-hand", "Li Ro Li Co T", 1, 1, 1),
            ("half-windsor", "Li Ro Ci Lo Ri Co T", 2, 0, 0),
            ("windsor", "Li Co Ri Lo Ci Ro Li Co T", 3, 1, 0),
        ];
        for (name, sequence, centre, symmetry, balance) in table {
            let knot = meant(name).expect("a name").knot.expect("one knot");
            let found = (knot.centre_moves(), knot.symmetry(), knot.balance());
            assert_eq!(knot.sequence(), sequence);
            assert_eq!(found, (centre, symmetry, balance), "{name}");
        }
        assert_eq!(names().count(), table.len());
    }

    #[test]
    fn a_knot_is_known_by_name_moves_or_sequence() {
        let sequence = |said: &str| meant(said).map(|m| m.knot.map(|k| k.sequence()));
        let same = Ok(Some("Li Ro Li Co T".to_owned()));
        for said in [
            "Four-in-Hand",
            "LRLC",
            " Li Ro Li Co T ",
            "liroLiCo",
            "L R L C t",
        ] {
            assert_eq!(sequence(said), same, "{said}");
        }
        assert_eq!(
            meant("6"),
            Ok(Meant {
                moves: 6,
                knot: None
            })
        );
        for (said, why) in [
            ("2", NoKnot::Moves),
            ("99999999999999999999999", NoKnot::Moves),
            ("LRRC", NoKnot::Sequence),
            ("Lo Ro Lo Co", NoKnot::Sequence),
            ("RLRC", NoKnot::Sequence),
            ("Lii", NoKnot::Name),
            ("sheepshank", NoKnot::Name),
            ("", NoKnot::Name),
            ("t", NoKnot::Name),
        ] {
            assert_eq!(meant(said), Err(why), "{said}");
        }
    }
}

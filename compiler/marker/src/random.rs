//! Numbers drawn by lot from a seed: the same seed gives the same numbers on every machine.
//!
//! The generator is splitmix64 (Steele, Lea & Flood 2014), whose every state is good.

/// A stream of numbers.
#[derive(Clone, Debug)]
pub(crate) struct Random {
    state: u64,
}

impl Random {
    /// The stream of a seed.
    pub(crate) fn new(seed: u64) -> Random {
        Random { state: seed }
    }

    /// Any 64 bits.
    pub(crate) fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number from 0 to less than 1.
    pub(crate) fn unit(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1_u64 << 53) as f64;
        (self.bits() >> 11) as f64 * STEP
    }

    /// A number from `low` to `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number below `end`; 0 if there is none.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.bits()) * end as u128) >> 64) as usize
    }

    /// Mixes the order.
    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stays_in_range_and_repeats() {
        let (mut a, mut b) = (Random::new(7), Random::new(7));
        for _ in 0..1000 {
            let unit = a.unit();
            assert!((0.0..1.0).contains(&unit));
            assert_eq!(unit, b.unit());
            assert!(a.below(3) < 3);
            b.below(3);
        }
    }

    #[test]
    fn mixing_keeps_every_item() {
        let mut items: Vec<usize> = (0..20).collect();
        Random::new(1).shuffle(&mut items);
        assert_ne!(items, (0..20).collect::<Vec<_>>());
        items.sort_unstable();
        assert_eq!(items, (0..20).collect::<Vec<_>>());
    }
}

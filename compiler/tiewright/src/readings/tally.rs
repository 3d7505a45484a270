//! What the readings of one point come to, kept as they come in, so that any number of them takes the
//! same room.

/// Tolerances shown on either side of the value; what is farther off is counted at the end.
pub const SPAN: f64 = 3.0;
/// Parts of one tolerance that readings are counted in.
pub const PARTS: usize = 15;
/// Parts from one end of what is shown to the other.
pub const BINS: usize = 6 * PARTS;

/// Millimetres. A reading so little past the limit is on it: more than is lost between inches and
/// millimetres, far less than any tape shows.
const EDGE: f64 = 1e-6;

/// The readings of one point.
#[derive(Debug, Clone)]
pub struct Tally {
    /// What the readings should be, mm.
    value: f64,
    /// How far off they may be, mm.
    tolerance: f64,
    /// How many there are.
    pub count: u64,
    /// How many ties were judged without this reading.
    pub blank: u64,
    /// How many are outside the tolerance.
    pub outside: u64,
    mean_off: f64,
    squares: f64,
    least: f64,
    greatest: f64,
    /// How many lie in each part of the scale; what lies beyond it is in the two ends.
    bins: Vec<u64>,
    beyond: (u64, u64),
}

impl Tally {
    /// No readings yet of a point that should be `value`, within `tolerance`, both mm.
    pub fn new(value: f64, tolerance: f64) -> Self {
        Tally {
            value,
            tolerance,
            count: 0,
            blank: 0,
            outside: 0,
            mean_off: 0.0,
            squares: 0.0,
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
            bins: vec![0; BINS],
            beyond: (0, 0),
        }
    }

    /// How far a reading is past the tolerance, mm, above or (negative) below; 0 within it.
    pub fn past(&self, reading: f64) -> f64 {
        let off = reading - self.value;
        let past = off.abs() - self.tolerance;
        if past <= EDGE {
            0.0
        } else {
            past.copysign(off)
        }
    }

    /// Counts a reading, mm. Mean and squares are kept by the updates of B. P. Welford, "Note on a
    /// method for calculating corrected sums of squares and products", Technometrics 4 (1962).
    pub fn add(&mut self, reading: f64) {
        let off = reading - self.value;
        self.count += 1;
        let before = off - self.mean_off;
        self.mean_off += before / self.count as f64;
        self.squares += before * (off - self.mean_off);
        self.least = self.least.min(reading);
        self.greatest = self.greatest.max(reading);
        let past = self.past(reading);
        if past != 0.0 {
            self.outside += 1;
        }
        self.sort_in(off, past);
    }

    fn sort_in(&mut self, off: f64, past: f64) {
        let share = off / self.tolerance;
        if share >= SPAN {
            self.beyond.1 += 1;
        } else if share < -SPAN {
            self.beyond.0 += 1;
        } else {
            // The limits themselves are within.
            let within = (SPAN as usize - 1) * PARTS;
            let bin = ((share + SPAN) * PARTS as f64) as usize;
            let bin = match past {
                0.0 => bin.clamp(within, BINS - within - 1),
                p if p > 0.0 => bin.max(BINS - within),
                _ => bin.min(within - 1),
            };
            if let Some(count) = self.bins.get_mut(bin) {
                *count += 1;
            }
        }
    }

    /// The mean, mm; none without readings.
    pub fn mean(&self) -> Option<f64> {
        self.mean_off().map(|off| self.value + off)
    }

    /// How far the mean is off, mm; none without readings.
    pub fn mean_off(&self) -> Option<f64> {
        (self.count > 0).then_some(self.mean_off)
    }

    /// The standard deviation of what the readings are a sample of, mm; none with fewer than two.
    pub fn spread(&self) -> Option<f64> {
        (self.count > 1).then(|| libm::sqrt(self.squares / (self.count - 1) as f64))
    }

    /// The least and the greatest reading, mm; none without readings.
    pub fn range(&self) -> Option<(f64, f64)> {
        (self.count > 0).then_some((self.least, self.greatest))
    }

    /// The share of the readings that is outside, 0 to 1; none without readings.
    pub fn share_outside(&self) -> Option<f64> {
        (self.count > 0).then(|| self.outside as f64 / self.count as f64)
    }

    /// How many readings lie in each of the [`BINS`] parts from [`SPAN`] tolerances below to as many
    /// above.
    pub fn bins(&self) -> &[u64] {
        &self.bins
    }

    /// How many lie below and above what the parts show.
    pub fn beyond(&self) -> (u64, u64) {
        self.beyond
    }

    /// What the readings should be, and how far off they may be, mm.
    pub fn wanted(&self) -> (f64, f64) {
        (self.value, self.tolerance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_readings_by_hand() {
        let mut tally = Tally::new(10.0, 1.0);
        assert_eq!(
            (tally.mean(), tally.spread(), tally.range()),
            (None, None, None)
        );
        tally.add(9.0);
        assert_eq!((tally.mean(), tally.spread()), (Some(9.0), None));
        for reading in [11.0, 10.0, 12.5] {
            tally.add(reading);
        }
        assert_eq!(tally.mean(), Some(10.625));
        assert_eq!(tally.mean_off(), Some(0.625));
        // Squares about the mean: 2.640625 + 0.140625 + 0.390625 + 3.515625 = 6.6875.
        let spread = tally.spread().expect("four readings");
        assert!((spread - (6.6875f64 / 3.0).sqrt()).abs() < 1e-12);
        assert_eq!(tally.range(), Some((9.0, 12.5)));
        assert_eq!((tally.count, tally.outside), (4, 1));
        assert_eq!(tally.past(12.5), 1.5);
        assert_eq!(tally.past(8.0), -1.0);
    }

    #[test]
    fn the_limit_itself_is_within_in_any_unit() {
        let inch = 25.4;
        let mut tally = Tally::new(57.0 * inch, 0.25 * inch);
        for reading in [56.75, 57.25] {
            tally.add(reading * inch);
        }
        assert_eq!(tally.outside, 0);
        tally.add(57.25 * inch + 0.01);
        assert_eq!(tally.outside, 1);
        let bins = tally.bins();
        let (low, high) = (2 * PARTS, 4 * PARTS);
        assert_eq!((bins[low], bins[high - 1], bins[high]), (1, 1, 1));
    }

    #[test]
    fn every_reading_is_in_one_part_or_beyond() {
        let mut tally = Tally::new(100.0, 2.0);
        for n in 0..10_000 {
            tally.add(80.0 + f64::from(n) * 0.004);
        }
        let held: u64 = tally.bins().iter().sum();
        let (below, above) = tally.beyond();
        assert_eq!(held + below + above, 10_000);
        assert!(below > 0 && above > 0);
        let outside: u64 = tally.bins()[..2 * PARTS].iter().sum::<u64>()
            + tally.bins()[4 * PARTS..].iter().sum::<u64>();
        assert_eq!(outside + below + above, tally.outside);
    }

    #[test]
    fn a_small_spread_about_a_large_value_is_not_lost() {
        let mut tally = Tally::new(1e6, 1.0);
        for n in 0..1000 {
            tally.add(1e6 + if n % 2 == 0 { 0.001 } else { -0.001 });
        }
        let spread = tally.spread().expect("readings");
        let exact = 0.001 * (1000.0f64 / 999.0).sqrt();
        assert!((spread - exact).abs() < 1e-9, "{spread}");
    }
}

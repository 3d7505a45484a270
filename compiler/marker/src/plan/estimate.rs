//! Lengths of markers reckoned from a few true ones.
//!
//! The articles of a group are made of the same pieces in other sizes, so that the length of a
//! marker is nearly a matter of its net area alone: a part lost at the ends, and the rest growing
//! with the area. Between the markers measured the length is a straight line over the area; beyond
//! the largest it goes on as between the last two.
//! An estimate is never taken for the length of a marker that is cut.

use super::Lengths;

/// Reckons lengths from samples; true lengths come from a function.
pub struct Estimate<F> {
    /// Net area of each article over the width, millimetres.
    area: Vec<f64>,
    /// Area over width and length of the samples, rising in both.
    line: Vec<(f64, f64)>,
    /// By how much the marker grows for each millimetre of area over width, beyond the last sample.
    slope: f64,
    truth: F,
}

impl<F: FnMut(&[u32]) -> f64> Estimate<F> {
    /// From net areas, square millimetres, the usable width, millimetres, and markers of known
    /// length as pairs of counts and millimetres. Two samples will do, a single tie and a marker as
    /// long as the table; four or five at doubled numbers are better. `truth` gives true lengths.
    ///
    /// Without samples a marker is taken to be full of pieces, which none is.
    pub fn new(articles: &[f64], width: f64, samples: &[(Vec<u32>, f64)], truth: F) -> Estimate<F> {
        let area: Vec<f64> = articles.iter().map(|a| a / width).collect();
        let mut line: Vec<(f64, f64)> = samples
            .iter()
            .map(|(counts, length)| (whole(&area, counts), *length))
            .filter(|(x, y)| x.is_finite() && y.is_finite() && *x > 0.0)
            .collect();
        line.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.total_cmp(&q.1)));
        // The shorter of two of one area; and no larger area in less length.
        line.dedup_by(|later, first| later.0 <= first.0);
        for k in 1..line.len() {
            line[k].1 = line[k].1.max(line[k - 1].1);
        }
        let slope = match line.as_slice() {
            [] => 1.0,
            [(x, y)] => (y / x).max(1.0),
            [.., (x0, y0), (x1, y1)] => ((y1 - y0) / (x1 - x0)).max(1.0),
        };
        Estimate {
            area,
            line,
            slope,
            truth,
        }
    }

    fn at(&self, area: f64) -> f64 {
        let Some(&(first, length)) = self.line.first() else {
            return area;
        };
        if area <= first {
            // A marker of fewer pieces is no longer, and how much shorter nobody measured.
            return length;
        }
        let above = self.line.partition_point(|(x, _)| *x < area);
        let (x0, y0) = self.line[above - 1];
        match self.line.get(above) {
            Some((x1, y1)) => y0 + (y1 - y0) * (area - x0) / (x1 - x0),
            None => y0 + self.slope * (area - x0),
        }
    }
}

/// The area of counts over the width.
fn whole(area: &[f64], counts: &[u32]) -> f64 {
    let ties = area.iter().zip(counts);
    ties.map(|(a, n)| a * f64::from(*n)).sum()
}

impl<F: FnMut(&[u32]) -> f64> Lengths for Estimate<F> {
    fn estimate(&mut self, counts: &[u32]) -> f64 {
        self.at(whole(&self.area, counts))
    }

    fn length(&mut self, counts: &[u32]) -> f64 {
        (self.truth)(counts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn meets_its_samples_and_lies_between_them() {
        let samples = [
            (vec![1, 0], 500.0),
            (vec![4, 0], 800.0),
            (vec![0, 8], 2000.0),
        ];
        let mut estimate = Estimate::new(&[100_000.0, 150_000.0], 1000.0, &samples, |_| 0.0);
        for (counts, length) in &samples {
            assert!((estimate.estimate(counts) - length).abs() < 1e-9);
        }
        // Areas over the width: 100, 400, 1200; so 300 between, and 1500 beyond.
        assert!((estimate.estimate(&[0, 2]) - 700.0).abs() < 1e-9);
        assert!((estimate.estimate(&[0, 10]) - 2450.0).abs() < 1e-9);
    }

    #[test]
    fn never_falls_though_samples_do() {
        let samples = [(vec![2], 900.0), (vec![1], 950.0), (vec![4], 940.0)];
        let mut estimate = Estimate::new(&[100_000.0], 1000.0, &samples, |_| 0.0);
        let lengths: Vec<f64> = (1..9).map(|n| estimate.estimate(&[n])).collect();
        assert!(lengths.is_sorted(), "{lengths:?}");
    }
}

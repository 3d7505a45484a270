//! How much cloth lays and ties need.
//!
//! Nothing here plans.

use super::Lay;

/// The cloth that lays need of each cloth, millimetres: Σ plies × (length + 2 × end loss).
pub fn cloth_of_lays(lays: &[Lay], end_loss: f64) -> Vec<f64> {
    let cloths = lays.iter().map(|l| l.plies.len()).max().unwrap_or(0);
    let mut need = vec![0.0; cloths];
    for lay in lays {
        for (sum, plies) in need.iter_mut().zip(&lay.plies) {
            *sum += f64::from(*plies) * (lay.length + 2.0 * end_loss);
        }
    }
    need
}

/// The length of cloth that a net area needs: area / (width × efficiency), where the efficiency is
/// the share of the width × length of markers that pieces cover, above 0 to 1. In the unit of the
/// width, the area in its square.
pub fn consumption(area: f64, width: f64, efficiency: f64) -> f64 {
    area / (width * efficiency)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Both examples: published arithmetic of the cutting room, worked again here by hand.
    #[test]
    fn cloth_of_a_lay() {
        // 50 plies of 6.00 m with 0.02 m lost at each end: 50 × 6.04 = 302.00 m.
        let lay = Lay {
            counts: vec![1],
            plies: vec![50],
            length: 6000.0,
        };
        assert_eq!(cloth_of_lays(&[lay], 20.0), [302_000.0]);
    }

    #[test]
    fn cloth_of_one_garment() {
        // 0.62 m² at 82 % of a cloth 1.40 m wide: 0.62 / 1.148 = 0.5401 m.
        assert!((consumption(0.62, 1.40, 0.82) - 0.5401).abs() < 5e-5);
    }
}

//! Cloth that hangs along its true bias, as a pin-jointed net: yarns that never stretch, free to
//! turn where they cross (Weissenberg 1949; Mack & Taylor, *J. Text. Inst.* 47 (1956) T477).
//!
//! Input: how much the cloth lengthens; output: how it narrows, where its yarns point, and the maps
//! between the cloth as cut and as it hangs. It never bends or folds anything.

use kurbo::Affine;

/// A net with its yarns at ±45° to the pull, lengthened by a pull along `x`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Net {
    /// Length as it hangs over length as cut, λl.
    along: f64,
    /// Width as it hangs over width as cut, λw.
    across: f64,
}

impl Net {
    /// The net as cut, pulled by nothing.
    pub const SLACK: Net = Net {
        along: 1.0,
        across: 1.0,
    };

    /// The net lengthened by a share of its length, at least 0 and less than √2 − 1, where all its
    /// yarns point along the pull; `None` outside that. Yarns at ±θ that keep their length have
    /// λl² cos²θ + λw² sin²θ = 1, so at 45° λw = √(2 − λl²).
    pub fn lengthened(share: f64) -> Option<Net> {
        let along = 1.0 + share;
        let rest = 2.0 - along * along;
        (share >= 0.0 && rest > 0.0).then(|| Net {
            along,
            across: rest.sqrt(),
        })
    }

    /// Whether nothing pulls it.
    pub fn is_slack(&self) -> bool {
        *self == Self::SLACK
    }

    /// Length as it hangs over length as cut.
    pub fn along(&self) -> f64 {
        self.along
    }

    /// Width as it hangs over width as cut.
    pub fn across(&self) -> f64 {
        self.across
    }

    /// The angle from the pull to the yarns as it hangs, radians; 45° when it is slack.
    pub fn yarn_angle(&self) -> f64 {
        libm::atan2(self.across, self.along)
    }

    /// By how much the right angle between the yarns has closed, radians: sin γ = λl² − 1.
    pub fn shear(&self) -> f64 {
        libm::asin(self.along * self.along - 1.0)
    }

    /// Area as it hangs over area as cut: cos γ.
    pub fn area_ratio(&self) -> f64 {
        self.along * self.across
    }

    /// From the cloth as cut to the cloth as it hangs.
    pub fn hang(&self) -> Affine {
        Affine::scale_non_uniform(self.along, self.across)
    }

    /// From the cloth as it hangs to the cloth as cut.
    pub fn relax(&self) -> Affine {
        Affine::scale_non_uniform(1.0 / self.along, 1.0 / self.across)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Vec2;

    /// Extension, width change, shear in degrees, area: derived from λl² + λw² = 2, to the decimals
    /// given.
    const TABLE: [(f64, f64, f64, f64); 4] = [
        (0.01, -0.01010, 1.152, 0.99980),
        (0.02, -0.02041, 2.315, 0.99918),
        (0.05, -0.05264, 5.883, 0.99473),
        (0.10, -0.11118, 12.122, 0.97770),
    ];

    #[test]
    fn is_as_derived() {
        for (share, width, shear, area) in TABLE {
            let net = Net::lengthened(share).expect("a net");
            assert!((net.across() - 1.0 - width).abs() < 5e-6, "{share}");
            assert!((net.shear().to_degrees() - shear).abs() < 5e-4, "{share}");
            assert!((net.area_ratio() - area).abs() < 5e-6, "{share}");
        }
    }

    #[test]
    fn area_is_the_cosine_of_shear() {
        for (share, ..) in TABLE {
            let net = Net::lengthened(share).expect("a net");
            assert!((net.area_ratio() - libm::cos(net.shear())).abs() < 1e-12);
            let closed = std::f64::consts::FRAC_PI_2 - 2.0 * net.yarn_angle();
            assert!((closed - net.shear()).abs() < 1e-12);
        }
    }

    #[test]
    fn yarns_keep_their_length_and_lie_at_their_angle() {
        for (share, ..) in TABLE {
            let net = Net::lengthened(share).expect("a net");
            for yarn in [Vec2::new(1.0, 1.0), Vec2::new(-1.0, 1.0)] {
                let pulled = (net.hang() * yarn.to_point()).to_vec2();
                assert!((pulled.length() - yarn.length()).abs() < 1e-12);
                let angle = libm::atan2(pulled.y, pulled.x.abs());
                assert!((angle - net.yarn_angle()).abs() < 1e-12);
                let back = (net.relax() * pulled.to_point()).to_vec2();
                assert!((back - yarn).length() < 1e-12);
            }
        }
    }

    #[test]
    fn cannot_be_longer_than_its_yarns() {
        assert!(Net::lengthened(0.0).is_some_and(|net| net.is_slack()));
        assert!(Net::lengthened(0.41).is_some());
        assert_eq!(Net::lengthened(0.42), None);
        assert_eq!(Net::lengthened(-0.01), None);
        assert_eq!(Net::lengthened(f64::NAN), None);
    }
}

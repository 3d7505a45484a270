//! Seam allowances.

use crate::error::RingError;
use crate::ring::Ring;

/// Moves every edge outwards by its own allowance, mm.
pub fn with_allowance(ring: &Ring, allowances: &[f64]) -> Result<Ring, RingError> {
    let _ = (ring, allowances);
    unimplemented!()
}

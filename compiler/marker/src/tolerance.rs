//! Every tolerance of the marker, with its unit and the reason for it.

/// Pieces deeper in one another than this overlap, millimetres.
///
/// Places are worked out in 64-bit numbers: on a cloth of 100 m one carries an error of 1.5e-11 mm,
/// and a few dozen sums make no more than 1e-9 of it. An atom is ten times this wide.
pub const TOUCH: f64 = 1e-8;

/// The search takes pieces as clear of one another up to this depth, millimetres: well within
/// [`TOUCH`], so that what the search calls clear the proof does too.
pub const CLEAR: f64 = 1e-9;

/// A piece tied to a repeat lies no further from its place than this, millimetres: places are one
/// product and one sum, good to 1e-10 mm on any cloth, and a place may be moved by [`CLEAR`] to be
/// within the selvedges.
pub const PHASE: f64 = 1e-8;

/// A repeat is at least so long, millimetres: a tenth of a fine thread.
pub const LEAST_REPEAT: f64 = 0.01;

/// A phase is at most so far from the corner of the cloth, millimetres: a kilometre, on which
/// places are still good to [`PHASE`].
pub const MOST_PHASE: f64 = 1e6;

/// The linear program keeps pieces this much further apart than they must be, millimetres, since
/// it ends within its own error of the constraints; a metre of touching pieces grows by no more
/// than a ten-thousandth of a millimetre.
pub const RESERVE: f64 = 2e-8;

/// Directions whose sine differs by less are one direction. Two edges that ought to be parallel
/// are so within 1e-14; real edges of a pattern differ by far more.
pub const PARALLEL: f64 = 1e-11;

/// Points of an outline nearer than this are one point, millimetres: no blade can cut less.
pub const SAME_POINT: f64 = 1e-7;

/// The sharpest turn the widened corner of a no-fit polygon takes in one step, as the cosine of
/// the angle: 45°. A corner then stands out from the true round by a twelfth of the gap.
pub const ROUND_STEP_COS: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// A utilisation from here on is full: no cloth is left but for rounding.
pub const FULL: f64 = 1.0 - 1e-9;

/// The search takes outlines of fewer corners that lie no further than this outside the true ones,
/// millimetres: a piece with curved edges then has a dozen corners and few convex parts. The layout
/// found is made short with the true outlines in the end, so that little of it is lost.
pub const SIMPLER: f64 = 1.5;

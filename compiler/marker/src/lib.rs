//! Markers: pieces arranged on one length of cloth, as short as can be, and the proof of it.
//!
//! In: a [`Job`], pieces as polygons with the turns they may take, and the cloth. Out: a [`Layout`],
//! where every piece lies, and [`prove`], which shares nothing with the search. Millimetres
//! throughout; x runs along the warp, y across it.
//!
//! The crate knows no language, no garment and no files. It reads no clock: when to end is asked of
//! a [`Stop`]. The same job, seed and number of steps give the same layout on every machine: only
//! `+ - * /` and the square root, which IEEE 754 rounds exactly, and `libm` for angles.

mod assign;
mod bands;
mod bundle;
mod chase;
mod compact;
mod compose;
mod first;
mod improve;
mod job;
mod lattice;
mod layout;
mod linear;
mod near;
mod nofit;
mod outline;
mod part;
mod parts;
mod phase;
mod place;
pub mod plan;
mod proof;
mod random;
mod separate;
mod simplify;
mod slant;
mod start;
mod state;
mod stop;
mod table;
mod team;
pub mod tolerance;
mod turn;
mod window;
mod worker;

pub use bundle::{Bundles, bundles};
pub use first::{first, simple, simpler};
pub use improve::{Options, Progress, improve};
pub use job::{Article, Cloth, Job, JobError, Kind, Phase, Repeat};
pub use kurbo::{Point, Rect, Vec2};
pub use layout::{Layout, Placement};
pub use outline::{Outline, OutlineError};
pub use proof::{Fault, prove};
pub use stop::{Never, Stop};
pub use turn::Turn;

//! The geometry's promises: against closed forms, under motions, against an outside library and
//! against an independent calculation of a whole tie.

mod common;
mod crossings;
mod curves;
mod outlines;
mod parallels;
mod worked_example;

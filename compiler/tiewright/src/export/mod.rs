//! The formats: pure functions from a sheet, a draft or a document to text or bytes.
//!
//! One module a format. None lets a clock, a file or the environment show in what it writes, and
//! each writes all its numbers through [`number::push_fixed`] with a number of decimals of its own; only
//! in PDF a library writes them, rounded before it gets them.

pub mod csv;
pub mod dxf;
pub mod html;
pub(crate) mod ink;
pub mod json;
pub mod number;
pub mod outline;
pub mod paper_size;
pub(crate) mod path;
pub mod pdf;
pub mod png;
pub mod svg;

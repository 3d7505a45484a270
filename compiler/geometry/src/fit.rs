//! Fitting cubics to smooth curves.

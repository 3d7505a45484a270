//! When to end.
//!
//! Nothing here reads a clock.

use std::sync::atomic::{AtomicBool, Ordering};

/// What the search asks whether to end. The crate reads no clock: the caller does.
pub trait Stop: Sync {
    /// Whether to end now. Asked every few milliseconds from every thread.
    fn stop(&self) -> bool;
}

/// Never ends of itself: for searches with a limit of steps.
#[derive(Clone, Copy, Debug, Default)]
pub struct Never;

impl Stop for Never {
    fn stop(&self) -> bool {
        false
    }
}

impl Stop for AtomicBool {
    fn stop(&self) -> bool {
        self.load(Ordering::Relaxed)
    }
}

impl<F: Fn() -> bool + Sync> Stop for F {
    fn stop(&self) -> bool {
        self()
    }
}

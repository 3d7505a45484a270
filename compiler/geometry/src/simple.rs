//! Whether an outline crosses itself.

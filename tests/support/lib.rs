//! Support for the whole-job tests.

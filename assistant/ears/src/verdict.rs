//! Judging evidence against bars.

//! Sewing order: what it costs, what it must respect, and the best one.

mod exact;
pub mod problem;
mod search;
pub mod solve;

#[cfg(test)]
mod solve_tests;

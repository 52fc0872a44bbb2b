//! Uncertainty of tests as plain numbers: slices in, values out.
//!
//! A tour in reading order: [`absent`] says why a number does not exist, [`scale`] holds probabilities, degrees of freedom
//! and intervals, [`distributions`] their quantiles, [`sample`] means and spreads. Then one test: [`paired`] differences by
//! position, their [`bootstrap`], [`outliers`], [`resolution`] of the meter, [`repeatability`] of the method, the [`budget`]
//! that joins them, [`decibels`] and [`background`] for levels, [`censored`] where some are bounds, [`compare`] for two results,
//! [`equivalence`] for "close enough" and [`fairness`] of the design, [`power`] and [`planning`] for the tests to come, in an order
//! that [`draws`] take from a seed, [`ratio`] and [`frontier`] for what an effect costs. Other quantities than sound: [`air_leakage`], [`thermal`] resistance, [`moisture`] and
//! [`temperature`], on a [`line`](mod@line) through points. Last, [`jobs`] draws several together, [`ranking`] says which is
//! best, and [`multiple`] what many comparisons at once cost.
//!
//! A reduction is before minus after, so positive means quieter. What does not exist is an [`Absent`] with its
//! reason, never NaN and never 0. The crate knows nothing of claims and words; those are made from its values.

pub mod absent;
pub mod air_leakage;
pub mod background;
pub mod bootstrap;
pub mod budget;
pub mod censored;
pub mod compare;
pub mod decibels;
pub mod distributions;
pub mod draws;
pub mod equivalence;
pub mod fairness;
pub mod frontier;
pub mod jobs;
pub mod line;
pub mod moisture;
pub mod multiple;
pub mod outliers;
pub mod paired;
pub mod planning;
pub mod power;
mod quadrature;
pub mod ranking;
pub mod ratio;
pub mod repeatability;
pub mod resolution;
pub mod sample;
pub mod scale;
pub mod temperature;
pub mod thermal;

pub use absent::{Absent, Known};
pub use compare::Estimate;
pub use sample::SampleError;
pub use scale::{Confidence, Dof, Interval, Probability, Sides};

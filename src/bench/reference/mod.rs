//! Published values, each beside its source, with its range and uncertainty.
//!
//! A published equation is a formula like any other: a tree over the worksheet's quantities, so that its value, its
//! sensitivities and its typeset form come from one definition.

pub mod air;
pub mod atomic_weights;
pub mod brine;
pub mod brine_strength;
pub mod expansion;
pub mod glassware;
pub mod solubility;
pub mod water;
pub mod weighing;

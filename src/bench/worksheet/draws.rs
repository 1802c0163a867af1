//! What is drawn for an input, component by component.

use rand_distr::{ChiSquared, Distribution as _, StandardNormal, StandardUniform, StudentT};
use rand_pcg::Pcg64Dxsm;

use super::{Component, Distribution};

/// A shape to draw from, of mean zero, before scaling.
#[derive(Debug, Clone, Copy)]
pub(super) enum Shape {
    Normal,
    /// Student's t: unit scale, not unit variance (JCGM 101:2008, 6.4.9).
    Student(StudentT<f64>),
    /// A standard deviation over its estimate of so many degrees of freedom, √(ν/χ²): above 0, and of no mean zero. A
    /// normal draw times it is Student's t.
    OfEstimate(ChiSquared<f64>, f64),
    /// Even between −1 and 1.
    Rectangular,
    /// Peaked between −1 and 1.
    Triangular,
}

/// Returns what to draw for an input: normal components of known uncertainty together, for their sum is normal too.
/// Components that share an estimate with others are left out: they are not drawn for one input alone.
pub(super) fn draws(components: &[Component]) -> Vec<(Shape, f64)> {
    let mut normal = 0.0_f64;
    let mut draws = Vec::new();
    let own = |c: &&Component| c.standard_uncertainty != 0.0 && c.estimate.is_none();
    for component in components.iter().filter(own) {
        let u = component.standard_uncertainty;
        match component.distribution {
            Distribution::Rectangular => draws.push((Shape::Rectangular, u * 3f64.sqrt())),
            Distribution::Triangular => draws.push((Shape::Triangular, u * 6f64.sqrt())),
            Distribution::Normal if component.dof.is_infinite() => normal = normal.hypot(u),
            Distribution::Normal => match StudentT::new(component.dof) {
                Ok(student) => draws.push((Shape::Student(student), u)),
                // No degrees of freedom, no distribution: nothing that depends on it has a value.
                Err(_) => normal = f64::NAN,
            },
        }
    }
    if normal != 0.0 {
        draws.push((Shape::Normal, normal));
    }
    draws
}

pub(super) fn draw(slot: &mut [f64], shape: Shape, scale: f64, random: &mut Pcg64Dxsm) {
    match shape {
        Shape::Normal => add(slot, scale, || StandardNormal.sample(random)),
        Shape::Student(student) => add(slot, scale, || student.sample(random)),
        Shape::OfEstimate(chi_squared, dof) => {
            add(slot, scale, || (dof / chi_squared.sample(random)).sqrt());
        }
        Shape::Rectangular => add(slot, scale, || 2.0 * uniform(random) - 1.0),
        Shape::Triangular => add(slot, scale, || uniform(random) - uniform(random)),
    }
}

/// Adds draws to the values of a slot.
fn add(slot: &mut [f64], scale: f64, mut draw: impl FnMut() -> f64) {
    for value in slot {
        *value += scale * draw();
    }
}

/// Adds normal draws, each times the scale of its own draw.
pub(super) fn draw_scaled(slot: &mut [f64], scales: &[f64], by: f64, random: &mut Pcg64Dxsm) {
    for (value, scale) in slot.iter_mut().zip(scales) {
        let drawn: f64 = StandardNormal.sample(random);
        *value += by * scale * drawn;
    }
}

/// Even between 0 and 1.
fn uniform(random: &mut Pcg64Dxsm) -> f64 {
    StandardUniform.sample(random)
}

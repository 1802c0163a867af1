//! Where a line or curve of coefficients by rising powers has a value: at its one root in a range, or continued beyond.

/// Why no composition follows from a density.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoRoot {
    /// The calibration never has that density.
    None,
    /// It has it at two compositions of the calibrated range.
    Two,
    /// It turns within the range and has that density only outside, on either side.
    Turned,
}

/// Returns the composition at which a line or curve of coefficients by rising powers has a density, where that is one.
pub(super) fn single_root(
    coefficients: &[f64],
    density: f64,
    range: (f64, f64),
) -> Result<f64, NoRoot> {
    let x = match *coefficients {
        [b0, b1] => (density - b0) / b1,
        [b0, b1, b2] => {
            let rising = rising_at_root([b0, b1, b2], density, range)?;
            let slope = (b1 * b1 + 4.0 * b2 * (density - b0)).sqrt();
            let slope = if rising { slope } else { -slope };
            // Without the difference of two numbers nearly equal.
            if b1 * slope > 0.0 {
                2.0 * (density - b0) / (b1 + slope)
            } else {
                (slope - b1) / (2.0 * b2)
            }
        }
        _ => return Err(NoRoot::None),
    };
    Some(x).filter(|x| x.is_finite()).ok_or(NoRoot::None)
}

/// Returns the value of a polynomial of coefficients by rising powers.
pub(super) fn value_at(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, b| sum * x + b)
}

/// Returns whether the curve rises where it is to be read: at its one root in the range, else on its continuation.
pub(super) fn rising_at_root(
    [b0, b1, b2]: [f64; 3],
    density: f64,
    (low, high): (f64, f64),
) -> Result<bool, NoRoot> {
    let discriminant = b1 * b1 + 4.0 * b2 * (density - b0);
    // At the vertex itself the composition would have no finite uncertainty.
    if discriminant.is_nan() || discriminant <= 0.0 {
        return Err(NoRoot::None);
    }
    let slope = |x: f64| b1 + 2.0 * b2 * x;
    let value = |x: f64| b0 + x * (b1 + x * b2);
    let (at_low, at_high) = (slope(low), slope(high));
    if at_low * at_high >= 0.0 {
        // No turn within the range: the curve's one branch, in the range or continued, up to its vertex.
        return Ok(at_low + at_high > 0.0);
    }
    // It turns within. A density between the vertex and an end is met once on the way to that end.
    let reached = |end: f64| {
        let vertex = value(-b1 / (2.0 * b2));
        (vertex.min(value(end))..=vertex.max(value(end))).contains(&density)
    };
    match (reached(low), reached(high)) {
        (true, true) => Err(NoRoot::Two),
        (true, false) => Ok(at_low > 0.0),
        (false, true) => Ok(at_high > 0.0),
        (false, false) => Err(NoRoot::Turned),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_is_read_where_it_can_be_read_once() {
        let rising = |b: [f64; 3], density| rising_at_root(b, density, (0.0, 10.0));
        // 1 + x + x²/100 rises throughout, vertex at −50.
        let gentle = [1.0, 1.0, 0.01];
        assert_eq!(rising(gentle, 6.0), Ok(true), "within");
        assert_eq!(rising(gentle, 30.0), Ok(true), "continued upward");
        assert_eq!(rising(gentle, 0.0), Ok(true), "continued downward");
        assert_eq!(rising(gentle, -30.0), Err(NoRoot::None), "below the vertex");
        // 1 + 6x − x²/2 turns at 6, at the height of 19; it begins at 1 and ends at 11.
        let turning = [1.0, 6.0, -0.5];
        assert_eq!(rising(turning, 5.0), Ok(true), "once, on the way up");
        assert_eq!(rising(turning, 15.0), Err(NoRoot::Two), "up and down again");
        assert_eq!(rising(turning, 20.0), Err(NoRoot::None), "above the vertex");
        assert_eq!(rising(turning, 0.0), Err(NoRoot::Turned), "on either side");
        // Its mirror image is met once on the way up as well, to the right.
        assert_eq!(
            rising([-11.0, -4.0, 0.5], -15.0),
            Err(NoRoot::Two),
            "mirror"
        );
        assert_eq!(rising([-11.0, -4.0, 0.5], -5.0), Ok(true), "mirror, once");
        // Falling all the way.
        assert_eq!(rising([1.0, -1.0, -0.01], -3.0), Ok(false), "falling");
    }
}

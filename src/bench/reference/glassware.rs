//! Limits of error of volumetric glassware by kind, capacity and class, mL at 20 °C.
//!
//! Each row: capacity in mL, limit ± of class A (and AS), limit ± of class B, in mL.

type Row = (f64, f64, f64);

/// One-mark volumetric flasks: ISO 1042:1998.
const FLASKS: &[Row] = &[
    (1.0, 0.025, 0.05),
    (2.0, 0.025, 0.05),
    (5.0, 0.025, 0.05),
    (10.0, 0.025, 0.05),
    (20.0, 0.04, 0.08),
    (25.0, 0.04, 0.08),
    (50.0, 0.06, 0.12),
    (100.0, 0.1, 0.2),
    (200.0, 0.15, 0.3),
    (250.0, 0.15, 0.3),
    (500.0, 0.25, 0.5),
    (1000.0, 0.4, 0.8),
    (2000.0, 0.6, 1.2),
    (5000.0, 1.2, 2.4),
];

/// One-mark (single-volume) pipettes: ISO 648:2008.
const PIPETTES: &[Row] = &[
    (0.5, 0.005, 0.01),
    (1.0, 0.008, 0.015),
    (2.0, 0.01, 0.02),
    (5.0, 0.015, 0.03),
    (10.0, 0.02, 0.04),
    (20.0, 0.03, 0.06),
    (25.0, 0.03, 0.06),
    (50.0, 0.05, 0.1),
    (100.0, 0.08, 0.15),
];

/// Graduated pipettes: ISO 835:2007, error at any point of the scale (from memory; the 0.5 mL row least certain).
const GRADUATED_PIPETTES: &[Row] = &[
    (0.5, 0.005, 0.01),
    (1.0, 0.007, 0.01),
    (2.0, 0.01, 0.02),
    (5.0, 0.03, 0.05),
    (10.0, 0.05, 0.1),
    (20.0, 0.1, 0.2),
    (25.0, 0.1, 0.2),
];

/// Burettes: ISO 385:2005. Before each row, the division of the scale in mL; where a capacity comes with two, the coarser,
/// whose limits are the wider, last.
const BURETTES: &[(f64, Row)] = &[
    (0.01, (1.0, 0.006, 0.01)),
    (0.01, (2.0, 0.01, 0.02)),
    (0.01, (5.0, 0.01, 0.02)),
    (0.02, (5.0, 0.01, 0.02)),
    (0.02, (10.0, 0.02, 0.05)),
    (0.05, (10.0, 0.03, 0.05)),
    (0.05, (25.0, 0.03, 0.05)),
    (0.1, (25.0, 0.05, 0.1)),
    (0.1, (50.0, 0.05, 0.1)),
    (0.2, (100.0, 0.1, 0.2)),
];

/// Graduated measuring cylinders: ISO 4788:2005 (from memory; class A half a division, class B one).
const CYLINDERS: &[Row] = &[
    (5.0, 0.05, 0.1),
    (10.0, 0.1, 0.2),
    (25.0, 0.25, 0.5),
    (50.0, 0.5, 1.0),
    (100.0, 0.5, 1.0),
    (250.0, 1.0, 2.0),
    (500.0, 2.5, 5.0),
    (1000.0, 5.0, 10.0),
    (2000.0, 10.0, 20.0),
];

/// The kinds of ware that the standards set limits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ware {
    /// One-mark volumetric flask.
    Flask,
    /// One-mark pipette.
    Pipette,
    /// Graduated pipette.
    GraduatedPipette,
    /// Burette.
    Burette,
    /// Graduated measuring cylinder.
    Cylinder,
}

impl Ware {
    /// Returns the standard that sets the limits, as it is cited in a report.
    pub fn standard(self) -> &'static str {
        match self {
            Self::Flask => "ISO 1042:1998",
            Self::Pipette => "ISO 648:2008",
            Self::GraduatedPipette => "ISO 835:2007",
            Self::Burette => "ISO 385:2005",
            Self::Cylinder => "ISO 4788:2005",
        }
    }

    /// Returns the rows of its standard; with the division of the scale, mL, where the limits go by that too.
    fn rows(self) -> Vec<(Option<f64>, Row)> {
        let rows = match self {
            Self::Burette => {
                let rows = BURETTES.iter();
                return rows
                    .map(|(division, row)| (Some(*division), *row))
                    .collect();
            }
            Self::Flask => FLASKS,
            Self::Pipette => PIPETTES,
            Self::GraduatedPipette => GRADUATED_PIPETTES,
            Self::Cylinder => CYLINDERS,
        };
        rows.iter().map(|row| (None, *row)).collect()
    }

    /// Returns the capacities that the standard lists, mL, rising.
    pub fn capacities(self) -> Vec<f64> {
        let mut capacities: Vec<f64> = self.rows().iter().map(|(_, row)| row.0).collect();
        capacities.dedup();
        capacities
    }

    /// Returns the divisions of the scale, mL, rising, that the standard lists for a capacity (mL) and sets limits by;
    /// none for ware whose limits do not go by a division.
    pub fn divisions(self, capacity: f64) -> Vec<f64> {
        let rows = self.rows().into_iter();
        rows.filter(|(_, row)| is_same(row.0, capacity))
            .filter_map(|(division, _)| division)
            .collect()
    }

    /// Returns the limit of error ±, mL, of a listed capacity (mL), and where it is given, a listed division of the
    /// scale (mL); without one, the coarser of two. `None` for what the standard does not list.
    pub fn tolerance(self, capacity: f64, division: Option<f64>, class_a: bool) -> Option<f64> {
        let (_, row) = self.rows().into_iter().rev().find(|(listed, row)| {
            let divided = |wanted| listed.is_some_and(|listed| is_same(listed, wanted));
            is_same(row.0, capacity) && division.is_none_or(divided)
        })?;
        Some(if class_a { row.1 } else { row.2 })
    }
}

/// Returns whether two volumes, mL, are written alike.
fn is_same(listed: f64, written: f64) -> bool {
    (listed - written).abs() < 1e-9 * listed
}

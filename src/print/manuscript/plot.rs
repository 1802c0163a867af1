//! Plots as data: what is to be drawn, not how.

/// A plot over a horizontal axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// The horizontal axis.
    pub x: Axis,
    /// What stands vertically.
    pub y: Vertical,
    /// What is drawn, from back to front.
    pub series: Vec<Series>,
    /// A lower panel on the same horizontal axis.
    pub below: Option<Box<Panel>>,
    /// What the plot says, for those who cannot see it, computed from its data.
    pub alternative: String,
}

impl Plot {
    /// Height over width, with the panel below; `None` if rows make the height.
    pub fn aspect(&self) -> Option<f64> {
        match self.y {
            Vertical::Scale { aspect, .. } => {
                Some(aspect + self.below.as_ref().map_or(0.0, |panel| panel.aspect))
            }
            Vertical::Rows(_) => None,
        }
    }
}

/// What stands vertically in a plot.
#[derive(Debug, Clone, PartialEq)]
pub enum Vertical {
    /// A scale.
    Scale {
        /// Its axis.
        axis: Axis,
        /// Height of the plot, without a panel below it, over its width.
        aspect: f64,
    },
    /// Named rows from the top, the first at y = 0, the next at y = −1, and so on; each as high as a line of text wants.
    Rows(Vec<String>),
}

/// A panel below a plot.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Its vertical axis.
    pub y: Axis,
    /// What is drawn, from back to front; not in the legend.
    pub series: Vec<Series>,
    /// Height over width.
    pub aspect: f64,
}

/// An axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Quantity, in italics, e.g. `ρ`.
    pub symbol: String,
    /// What it is, upright, set before the symbol, e.g. `Density`.
    pub name: String,
    /// Unit, upright, e.g. `g/mL`; the label reads "Density *ρ* / (g/mL)".
    pub unit: String,
}

impl Axis {
    /// Returns an axis; an empty symbol, name or unit is left out.
    pub fn new(symbol: &str, name: impl Into<String>, unit: &str) -> Self {
        Self {
            symbol: symbol.into(),
            name: name.into(),
            unit: unit.into(),
        }
    }
}

/// Something drawn, with its name for the legend (empty: not in the legend).
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Name in the legend.
    pub name: String,
    /// What is drawn.
    pub shape: SeriesShape,
}

impl Series {
    /// Returns something drawn.
    pub fn new(name: impl Into<String>, shape: SeriesShape) -> Self {
        let name = name.into();
        Self { name, shape }
    }

    /// Returns a curve.
    pub fn curve(name: impl Into<String>, points: Vec<(f64, f64)>, pen: Pen) -> Self {
        Self::new(name, SeriesShape::Curve { points, pen })
    }
}

/// The kinds of series.
#[derive(Debug, Clone, PartialEq)]
pub enum SeriesShape {
    /// Measured points with error bars.
    Points(Vec<Point>),
    /// A curve through finite points, with rising x.
    Curve {
        /// Its points.
        points: Vec<(f64, f64)>,
        /// How it is drawn.
        pen: Pen,
    },
    /// A closed curve by which points are judged, shown whole.
    Outline(Vec<(f64, f64)>),
    /// An area between two curves: x, lower y, upper y.
    Band(Vec<(f64, f64, f64)>),
    /// The two curves that bound an area, alone: x, lower y, upper y.
    Bounds(Vec<(f64, f64, f64)>),
    /// A value read back from the curve: from (axis, y) across to (x, y) and down to (x, axis).
    ReadBack(Point),
}

/// How a curve is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pen {
    /// The main line.
    Main,
    /// A thin line behind, for what is published.
    Thin,
}

/// A point with its error bars.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Where, horizontally.
    pub x: f64,
    /// Where, vertically.
    pub y: f64,
    /// Half length of the horizontal bar; 0 for none.
    pub half_x: f64,
    /// Half length of the vertical bar; 0 for none.
    pub half_y: f64,
    /// Name set beside it; empty for none.
    pub label: String,
    /// Drawn hollow and struck: left out.
    pub hollow: bool,
}

impl Point {
    /// Returns a point without bars.
    pub fn new(x: f64, y: f64, label: impl Into<String>) -> Self {
        Self {
            x,
            y,
            half_x: 0.0,
            half_y: 0.0,
            label: label.into(),
            hollow: false,
        }
    }
}

//! Laws of whole drawings.

mod placing;

use super::*;
use crate::print::manuscript::plot::{Axis, Panel, Pen, Point, Series, SeriesShape, Vertical};
use crate::print::page::{GlyphRun, Step};

/// The second ink of the drawings.
const ACCENT: Colour = Colour(0.11, 0.29, 0.44);

fn point(x: f64, y: f64, label: &str) -> Point {
    Point {
        half_x: 0.05,
        half_y: 0.001,
        ..Point::new(x, y, label)
    }
}

fn plot(series: Vec<Series>) -> Plot {
    Plot {
        x: Axis::new("w", "Mass percent", "%"),
        y: Vertical::Scale {
            axis: Axis::new("ρ", "Density", "g/mL"),
            aspect: 0.62,
        },
        series,
        below: None,
        alternative: String::new(),
    }
}

/// A calibration with all kinds of series.
fn calibration() -> Plot {
    let measured = [
        (0.0, 0.9982),
        (0.8, 1.0040),
        (2.0, 1.0121),
        (3.9, 1.0258),
        (17.6, 1.1286),
    ];
    let mut points: Vec<Point> = measured
        .iter()
        .zip(["water", "E", "D", "C", "A"])
        .map(|(&(x, y), label)| point(x, y, label))
        .collect();
    points.push(Point {
        hollow: true,
        ..point(8.0, 1.0490, "B")
    });
    let line = |x: f64| 0.9980 + 0.00739 * x;
    let at = |i: i32| f64::from(i) * 0.45;
    plot(vec![
        Series::new(
            "95 % confidence",
            SeriesShape::Band(
                (0..=40)
                    .map(|i| (at(i), line(at(i)) - 0.002, line(at(i)) + 0.002))
                    .collect(),
            ),
        ),
        Series::curve(
            "published, 20 °C",
            (0..=60)
                .map(|i| (at(i), 0.9982 + 0.0070 * at(i) + 0.00002 * at(i) * at(i)))
                .collect(),
            Pen::Thin,
        ),
        Series::curve(
            "fitted line",
            vec![(0.0, line(0.0)), (18.0, line(18.0))],
            Pen::Main,
        ),
        Series::new("measured", SeriesShape::Points(points)),
        Series::new(
            "read back",
            SeriesShape::ReadBack(Point {
                half_x: 0.2,
                ..point(11.28, 1.0813, "bath 3")
            }),
        ),
    ])
}

/// The box of a run of glyphs: left, top, right, bottom.
fn bounds(run: &GlyphRun, typefaces: &Typefaces) -> [f32; 4] {
    let length = run.glyphs.iter().map(|glyph| glyph.advance).sum::<f32>() / 1000.0 * run.size;
    let heights = typefaces.heights(run.face);
    let (up, down) = (heights.capital * run.size, heights.descent * run.size);
    if run.turn == 0.0 {
        [run.x, run.y - up, run.x + length, run.y + down]
    } else {
        [run.x - up, run.y - length, run.x + down, run.y]
    }
}

/// All places that the marks name.
fn places(drawing: &Drawing, typefaces: &Typefaces) -> Vec<(f32, f32)> {
    let mut all = Vec::new();
    for mark in &drawing.marks {
        match mark {
            Mark::Glyphs(run) => {
                let [left, top, right, bottom] = bounds(run, typefaces);
                all.extend([(left, top), (right, bottom)]);
            }
            Mark::Picture(picture) => panic!("a plot has no picture: {picture:?}"),
            Mark::Shape(shape) => {
                for step in &shape.steps {
                    match *step {
                        Step::Move(x, y) | Step::Line(x, y) => all.push((x, y)),
                        Step::Curve(a, b, c, d, x, y) => all.extend([(a, b), (c, d), (x, y)]),
                        Step::Close => {}
                    }
                }
            }
        }
    }
    all
}

fn assert_inside(drawing: &Drawing, typefaces: &Typefaces, told: &str) {
    for (x, y) in places(drawing, typefaces) {
        assert!(x.is_finite() && y.is_finite(), "{told}: ({x}, {y})");
        let inside = (-0.02..=drawing.width + 0.02).contains(&x)
            && (-0.02..=drawing.height + 0.02).contains(&y);
        assert!(
            inside,
            "{told}: ({x}, {y}) is outside {} by {}",
            drawing.width, drawing.height
        );
    }
}

/// Runs of one line follow each other end to end; anything more than a touch is an overlap.
fn assert_apart(drawing: &Drawing, typefaces: &Typefaces, told: &str) {
    let runs: Vec<&GlyphRun> = drawing
        .marks
        .iter()
        .filter_map(|mark| {
            if let Mark::Glyphs(run) = mark {
                Some(run)
            } else {
                None
            }
        })
        .collect();
    let said = |run: &GlyphRun| {
        run.glyphs
            .iter()
            .map(|glyph| &*glyph.text)
            .collect::<String>()
    };
    for (index, one) in runs.iter().enumerate() {
        for other in &runs[index + 1..] {
            let (a, b) = (bounds(one, typefaces), bounds(other, typefaces));
            let width = a[2].min(b[2]) - a[0].max(b[0]);
            let height = a[3].min(b[3]) - a[1].max(b[1]);
            assert!(
                width < 0.1 || height < 0.1,
                "{told}: “{}” on “{}”",
                said(one),
                said(other)
            );
        }
    }
}

#[test]
fn the_same_plot_gives_the_same_marks_within_the_drawing() {
    let typefaces = Typefaces::load();
    for width in [220.0, 300.0, 440.0, 800.0] {
        let drawing = draw(&calibration(), width, ACCENT, &typefaces).unwrap();
        assert_inside(&drawing, &typefaces, "calibration");
        assert_apart(&drawing, &typefaces, "calibration");
        assert_eq!(
            drawing,
            draw(&calibration(), width, ACCENT, &Typefaces::load()).unwrap(),
            "drawn again"
        );
        assert!(
            (drawing.height / drawing.width - 0.62).abs() < 1e-4,
            "aspect"
        );
    }
}

#[test]
fn poor_data_make_a_plot_or_a_failure() {
    let typefaces = Typefaces::load();
    let drawn = |series: Vec<Series>| draw(&plot(series), 360.0, ACCENT, &typefaces);
    let points = |points: Vec<Point>| Series::new("", SeriesShape::Points(points));

    assert_eq!(drawn(vec![]), Err(FigureError::Empty), "no series");
    assert_eq!(
        drawn(vec![points(vec![])]),
        Err(FigureError::Empty),
        "no point"
    );
    for bad in [f64::NAN, f64::INFINITY, -1e200] {
        let failure = drawn(vec![points(vec![point(bad, 1.0, "")])]);
        assert_eq!(
            failure,
            Err(FigureError::NotANumber {
                series: "the points".into()
            }),
            "{bad}"
        );
        let failure = drawn(vec![Series::new(
            "area",
            SeriesShape::Band(vec![(0.0, bad, 1.0)]),
        )]);
        assert_eq!(
            failure,
            Err(FigureError::NotANumber {
                series: "area".into()
            }),
            "{bad}"
        );
    }
    for fair in [
        vec![point(3.0, 1.0, "alone")],
        vec![point(0.0, 0.0, "zero")],
        vec![
            point(3.0, 1.0, "a"),
            point(3.0, 1.1, "b"),
            point(3.0, 1.2, "c"),
        ],
        vec![point(1e90, -1e-90, "far"), point(-1e90, 1e-90, "and near")],
        vec![point(1.0, 1.0, &"x".repeat(100_000)), point(2.0, 2.0, "")],
        vec![Point {
            half_x: 1e6,
            half_y: -3.0,
            ..point(1.0, 1.0, "wide")
        }],
    ] {
        let drawing = drawn(vec![points(fair.clone())]).unwrap();
        assert_inside(
            &drawing,
            &typefaces,
            &fair[0].label.chars().take(10).collect::<String>(),
        );
    }
    let one = SeriesShape::Curve {
        points: vec![(1.0, 1.0)],
        pen: Pen::Main,
    };
    assert_inside(
        &drawn(vec![Series::new("short", one)]).unwrap(),
        &typefaces,
        "a curve of one point",
    );
}

#[test]
fn room_that_is_no_room_is_refused() {
    let typefaces = Typefaces::load();
    for (width, aspect) in [
        (0.0, 0.6),
        (50.0, 0.6),
        (f32::NAN, 0.6),
        (1e9, 0.6),
        (400.0, 0.0),
        (400.0, f64::NAN),
        (400.0, -1.0),
    ] {
        let drawing = draw(
            &Plot {
                y: Vertical::Scale {
                    axis: Axis::new("ρ", "Density", "g/mL"),
                    aspect,
                },
                ..calibration()
            },
            width,
            ACCENT,
            &typefaces,
        );
        assert!(
            matches!(drawing, Err(FigureError::NoRoom { .. })),
            "{width}, {aspect}: {drawing:?}"
        );
    }
}

//! Names, legend, labels and lines are where they belong.

use super::super::geometry::At;
use super::super::legend::Key;
use super::*;

/// The plan of the upper panel.
fn upper(plot: &Plot, width: f64, typefaces: &Typefaces) -> plan::Plan {
    plan::planned(plot, width, typefaces)
        .unwrap()
        .panels
        .swap_remove(0)
}

/// Places along the lines of a plot, close together, and the middles of its markers; points in the drawing.
fn inked(plot: &Plot, plan: &plan::Plan) -> (Vec<At>, Vec<At>) {
    let (mut lines, mut markers) = (Vec::new(), Vec::new());
    let mut along = |from: At, to: At| {
        let between = |t: f64| (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
        lines.extend((0..=500).map(|i| between(f64::from(i) / 500.0)));
    };
    for series in &plot.series {
        match &series.shape {
            SeriesShape::Points(points) => {
                markers.extend(points.iter().map(|point| plan.at((point.x, point.y))));
            }
            SeriesShape::Curve { points, .. } | SeriesShape::Outline(points) => {
                points
                    .windows(2)
                    .for_each(|pair| along(plan.at(pair[0]), plan.at(pair[1])));
            }
            SeriesShape::ReadBack(point) => {
                let at = plan.at((point.x, point.y));
                along((plan.frame.x0, at.1), at);
                along(at, (at.0, plan.frame.y1));
                markers.push(at);
            }
            // A name may lie on the tint of an area and cross its edge.
            SeriesShape::Band(_) | SeriesShape::Bounds(_) => {}
        }
    }
    (lines, markers)
}

#[test]
fn names_and_legend_hide_nothing_in_the_calibration() {
    let typefaces = Typefaces::load();
    let plot = calibration();
    for width in [300.0, 440.0] {
        let plan = upper(&plot, width, &typefaces);
        assert_eq!(plan.names.len(), 7, "every name has a place");
        assert_eq!(
            plan.legend.entries.len(),
            5,
            "every series is in the legend"
        );
        // What is measured comes first, and entries one below the other stand in columns.
        let entries = &plan.legend.entries;
        assert_eq!(entries[0].0.key, Key::Marker { hollow: false });
        let first_row: Vec<f64> = entries
            .iter()
            .filter(|(_, at)| (at.1 - entries[0].1.1).abs() < 0.01)
            .map(|(_, at)| at.0)
            .collect();
        assert!(entries.iter().all(|(_, at)| first_row.contains(&at.0)));
        let (lines, markers) = inked(&plot, &plan);
        let legend = plan
            .legend
            .entries
            .iter()
            .map(|(entry, (x, y))| geometry::Area {
                x0: *x,
                y0: y - 4.0,
                x1: x + plan.legend.key + style::KEY_GAP + entry.name.width(),
                y1: y + 4.0,
            });
        for area in plan.names.iter().map(|name| name.area).chain(legend) {
            let away = |point: At| {
                let near = area.pulled_in(point);
                (near.0 - point.0).hypot(near.1 - point.1)
            };
            assert!(
                lines.iter().all(|point| away(*point) > 0.0),
                "{width}: {area:?} on a line"
            );
            assert!(
                markers.iter().all(|point| away(*point) > style::MARKER),
                "{width}: {area:?} on a marker"
            );
        }
    }
}

#[test]
fn of_too_many_points_only_what_is_read_back_is_named() {
    let typefaces = Typefaces::load();
    let named = |count: usize| {
        let points = (0..count).map(|i| {
            let x = i as f64 / count as f64;
            point(20.0 * x, 1.0 + 0.1 * x, &format!("D{i}"))
        });
        let measured = Series::new("measured", SeriesShape::Points(points.collect()));
        let unknown = point(9.0, 1.045, "bath");
        let read_back = Series::new("read back", SeriesShape::ReadBack(unknown));
        upper(&plot(vec![measured, read_back]), 440.0, &typefaces).names
    };
    // Not all of sixty find a place, but some do.
    assert!(named(60).len() > 10);
    let names = named(61);
    assert!(names.len() == 1 && names[0].read_back);
}

#[test]
fn curves_and_areas_end_at_the_frame() {
    let typefaces = Typefaces::load();
    let mut plot = calibration();
    plot.series
        .retain(|series| matches!(series.shape, SeriesShape::Points(_)));
    let steep = |x: f64| 1.0 + 0.1 * (x - 5.0);
    let points = vec![(-20.0, steep(-20.0)), (5.0, 1.0), (40.0, steep(40.0))];
    let band = points
        .iter()
        .map(|&(x, y)| (x, y - 1.0, y + 0.05))
        .collect();
    plot.series.push(Series::new(
        "",
        SeriesShape::Curve {
            points,
            pen: Pen::Main,
        },
    ));
    plot.series.push(Series::new("", SeriesShape::Band(band)));
    let frame = upper(&plot, 440.0, &typefaces).frame.grown(0.011);
    let drawing = draw(&plot, 440.0, ACCENT, &typefaces).unwrap();
    let [Mark::Shape(area), Mark::Shape(curve), ..] = &drawing.marks[..] else {
        panic!("shapes come first")
    };
    assert!(
        area.fill.is_some() && area.steps.len() > 3,
        "the area: {area:?}"
    );
    assert!(curve.stroke.is_some(), "the curve: {curve:?}");
    // They are painted first, before frame and labels.
    for (x, y) in places(
        &Drawing {
            marks: drawing.marks[..2].to_vec(),
            ..drawing
        },
        &typefaces,
    ) {
        let place = geometry::Area::about((f64::from(x), f64::from(y)), 0.0, 0.0);
        assert!(frame.holds(&place), "({x}, {y}) is outside {frame:?}");
    }
}

#[test]
fn a_cut_line_keeps_its_slope() {
    let typefaces = Typefaces::load();
    let mut plot = calibration();
    plot.series
        .retain(|series| matches!(series.shape, SeriesShape::Points(_)));
    let line = |x: f64| 1.06 + 0.02 * (x - 8.0);
    let points = vec![(-50.0, line(-50.0)), (90.0, line(90.0))];
    plot.series.push(Series::new(
        "",
        SeriesShape::Curve {
            points,
            pen: Pen::Main,
        },
    ));
    let plan = upper(&plot, 440.0, &typefaces);
    let drawing = draw(&plot, 440.0, ACCENT, &typefaces).unwrap();
    let Mark::Shape(shape) = &drawing.marks[0] else {
        panic!("the line comes first")
    };
    let [Step::Move(x0, y0), Step::Line(x1, y1)] = shape.steps[..] else {
        panic!("one straight line: {shape:?}")
    };
    let (from, to) = (plan.at((0.0, line(0.0))), plan.at((10.0, line(10.0))));
    let wanted = (to.1 - from.1) / (to.0 - from.0);
    let drawn = f64::from((y1 - y0) / (x1 - x0));
    assert!(
        (drawn / wanted - 1.0).abs() < 1e-3,
        "slope {drawn}, not {wanted}"
    );
}

#[test]
fn tick_labels_stand_under_their_ticks() {
    let typefaces = Typefaces::load();
    for (low, high) in [
        (3.0, 3.0),
        (0.5, 9.5),
        (0.1, 3.15),
        (0.1, 17.6),
        (0.1, 20.0),
        (0.1, 1000.0),
    ] {
        let points = SeriesShape::Points(vec![point(low, 1.0, ""), point(high, 1.1, "")]);
        let plan = upper(&plot(vec![Series::new("", points)]), 300.0, &typefaces);
        for (value, label) in &plan.x.ticks {
            let (at, _) = plan.at((*value, 1.0));
            let left = plan.centred(at, label.width());
            assert!(
                (left + label.width() / 2.0 - at).abs() < 0.01,
                "{high}: {value} is pushed aside"
            );
        }
    }
}

#[test]
fn a_plot_without_a_free_corner_has_its_legend_above() {
    let typefaces = Typefaces::load();
    let corners: Vec<Point> = (0..400)
        .map(|i| point(f64::from(i % 20), 1.0 + f64::from(i / 20) / 20.0, ""))
        .collect();
    let plot = plot(vec![Series::new("measured", SeriesShape::Points(corners))]);
    let plan = upper(&plot, 400.0, &typefaces);
    assert!(
        plan.legend.entries[0].1.1 < plan.frame.y0,
        "{:?}",
        plan.legend
    );
    assert_inside(
        &draw(&plot, 400.0, ACCENT, &typefaces).unwrap(),
        &typefaces,
        "full",
    );
}

#[test]
fn a_panel_below_shares_the_axis_above() {
    let typefaces = Typefaces::load();
    let residuals = SeriesShape::Points(vec![point(0.0, -1.2, ""), point(20.0, 0.7, "")]);
    let plot = Plot {
        below: Some(Box::new(Panel {
            y: Axis::new("z", "", ""),
            series: vec![Series::new("", residuals)],
            aspect: 0.13,
        })),
        ..calibration()
    };
    let panels = plan::planned(&plot, 440.0, &typefaces).unwrap().panels;
    let [upper, lower] = &panels[..] else {
        panic!("two panels");
    };
    assert_eq!(upper.x.scale, lower.x.scale, "one scale");
    let ends = |plan: &plan::Plan| (plan.frame.x0.to_bits(), plan.frame.x1.to_bits());
    assert_eq!(ends(upper), ends(lower), "sides in line");
    assert!(upper.frame.y1 < lower.frame.y0, "one above the other");
    assert!(
        upper.x.label.is_none() && lower.x.label.is_some(),
        "labelled once, at the foot"
    );
    let drawing = draw(&plot, 440.0, ACCENT, &typefaces).unwrap();
    assert_inside(&drawing, &typefaces, "two panels");
    assert_apart(&drawing, &typefaces, "two panels");
}

/// Thirty points with long names, more than can be named, and two values read back.
fn crowded() -> Plot {
    let line = |x: f64| 0.9980 + 0.00739 * x;
    let points = (0..30).map(|i| {
        let x = f64::from(i * 7 % 30) * 0.7;
        point(x, line(x), &format!("brine from tank {i}, lower tap"))
    });
    let read_back = |x: f64, name: &str| {
        let point = Point {
            half_x: 0.2,
            ..point(x, line(x), name)
        };
        Series::new("read back", SeriesShape::ReadBack(point))
    };
    plot(vec![
        Series::new("measured", SeriesShape::Points(points.collect())),
        read_back(8.1, "bath before the salt was added"),
        read_back(14.3, "bath after the salt was added"),
    ])
}

#[test]
fn names_without_room_are_left_out_and_those_read_back_stay() {
    let typefaces = Typefaces::load();
    for width in [300.0, 390.0] {
        let plan = upper(&crowded(), width, &typefaces);
        let read_back = plan.names.iter().filter(|name| name.read_back).count();
        assert_eq!(read_back, 2, "{width}: values read back are named");
        assert!(
            (4..30).contains(&plan.names.len()),
            "{width}: {} names",
            plan.names.len()
        );
        let (_, markers) = inked(&crowded(), &plan);
        let measured = plan.names.iter().filter(|name| !name.read_back);
        for name in measured {
            let on_marker = |at: &At| {
                let near = name.area.pulled_in(*at);
                (near.0 - at.0).hypot(near.1 - at.1) < style::MARKER
            };
            assert!(
                !markers.iter().any(on_marker),
                "{width}: {name:?} on a marker"
            );
            let others = plan
                .names
                .iter()
                .filter(|other| !std::ptr::eq(*other, name));
            let shared: f64 = others.map(|other| other.area.shared(&name.area)).sum();
            assert!(shared == 0.0, "{width}: {name:?} on another");
        }
    }
}

#[test]
fn values_read_back_are_in_the_legend_once() {
    let typefaces = Typefaces::load();
    let plan = upper(&crowded(), 390.0, &typefaces);
    assert_eq!(plan.legend.entries.len(), 2, "{:?}", plan.legend);
}

#[test]
fn a_wide_interval_does_not_squeeze_the_points() {
    let typefaces = Typefaces::load();
    let mut plot = calibration();
    for series in &mut plot.series {
        if let SeriesShape::ReadBack(point) = &mut series.shape {
            (point.half_x, point.half_y) = (500.0, 9.0);
        }
    }
    let plan = upper(&plot, 390.0, &typefaces);
    let (left, _) = plan.at((0.0, 1.0));
    let (right, _) = plan.at((17.6, 1.0));
    assert!(
        right - left > 0.4 * plan.frame.width(),
        "the points keep their share"
    );
    let drawing = draw(&plot, 390.0, ACCENT, &typefaces).unwrap();
    assert_inside(&drawing, &typefaces, "wide interval");
}

#[test]
fn a_sign_alone_beside_an_axis_is_not_turned() {
    let typefaces = Typefaces::load();
    for (label, turned) in [
        (Axis::new("z", "", ""), 0.0),
        (Axis::new("z", "Residual", ""), 90.0),
    ] {
        let plot = Plot {
            y: Vertical::Scale {
                axis: label,
                aspect: 0.6,
            },
            ..plot(vec![Series::new(
                "",
                SeriesShape::Points(vec![point(0.0, -1.0, ""), point(9.0, 2.0, "")]),
            )])
        };
        let drawing = draw(&plot, 300.0, ACCENT, &typefaces).unwrap();
        let has_z = |mark: &&Mark| matches!(mark, Mark::Glyphs(run) if run.glyphs.iter().any(|glyph| &*glyph.text == "z"));
        let Some(Mark::Glyphs(run)) = drawing.marks.iter().find(has_z) else {
            panic!("the label is set");
        };
        assert!((run.turn - turned).abs() < 1e-6, "{}", run.turn);
        assert_inside(&drawing, &typefaces, "sign alone");
        assert_apart(&drawing, &typefaces, "sign alone");
    }
}

//! What a report's plots show is what its results and readings say.

use crate::common::{close, path, reduced};
use fillmark::pipeline::Run;
use fillmark::print::figure;
use fillmark::print::layout::Style;
use fillmark::print::manuscript::plot::{Axis, Plot, Point, Series, SeriesShape, Vertical};
use fillmark::print::manuscript::{Block, Figure, Shown};
use fillmark::print::page::{GlyphRun, Mark, Step};
use fillmark::print::typeface::Typefaces;
use fillmark::report::templates::Templates;

const SAMPLE: &str = "sample_runs/creamery_brine_bath.yaml";

fn plots(run: &Run, text: &str) -> Vec<Figure> {
    plots_by(run, text, &Templates::default())
}

fn plots_by(run: &Run, text: &str, templates: &Templates) -> Vec<Figure> {
    let manuscript = fillmark::report::manuscript(&run.material(text), templates);
    let blocks = manuscript.expect("a manuscript").blocks;
    let figures = blocks.into_iter().filter_map(|block| match block {
        Block::Figure(figure) => Some(figure),
        _ => None,
    });
    figures.collect()
}

fn plot<'a>(figures: &'a [Figure], label: &str) -> &'a Plot {
    let found = figures.iter().find(|f| f.label.as_deref() == Some(label));
    match &found.unwrap_or_else(|| panic!("no figure {label}")).shows {
        Shown::Plot(plot) => plot,
        Shown::Photo(_) => panic!("{label} is a photograph"),
    }
}

fn rows(plot: &Plot) -> &[String] {
    match &plot.y {
        Vertical::Rows(rows) => rows,
        Vertical::Scale { .. } => panic!("no rows"),
    }
}

fn points(plot: &Plot) -> Vec<&Point> {
    let mut all = Vec::new();
    for series in &plot.series {
        if let SeriesShape::Points(points) = &series.shape {
            all.extend(points);
        }
    }
    all
}

#[test]
fn strips_hold_every_weighing_about_the_mean_of_those_that_count() {
    let text = std::fs::read_to_string(path(SAMPLE)).unwrap();
    let figures = plots(&reduced(&text), &text);
    let plot = plot(&figures, "plot-spread");
    assert_eq!(rows(plot), ["water", "A", "B", "C", "D", "bath 3"]);
    let of_bath: Vec<&Point> = points(plot)
        .into_iter()
        .filter(|point| point.y.round().abs() as usize == 5)
        .collect();
    let masses = [39.664 - 28.316, 39.657 - 28.311, 39.658 - 28.315];
    let mean = masses.iter().sum::<f64>() / 3.0;
    let counted: Vec<&&Point> = of_bath.iter().filter(|p| !p.hollow).collect();
    assert_eq!(counted.len(), 3, "{of_bath:?}");
    for (point, mass) in counted.iter().zip(masses) {
        close(
            "off the mean",
            point.x,
            1000.0 * (mass - mean) / 10.0,
            1e-6,
            0.0,
        );
    }
    let out = of_bath.iter().find(|p| p.hollow).expect("one left out");
    // 39.560 − 28.316 = 11.244 g, a milligram in ten a millilitre: far off, so at the edge, with its value.
    assert_eq!(out.label, "3 (−10)", "{out:?}");
    let numbers: Vec<&str> = counted.iter().map(|point| &*point.label).collect();
    assert_eq!(numbers, ["1", "2", "4"]);
    let level = |point: &&Point| point.y.total_cmp(&out.y).is_eq();
    assert!(of_bath.iter().all(level), "{of_bath:?}");
    assert!(
        points(plot)
            .iter()
            .all(|p| p.hollow || p.x.abs() < out.x.abs())
    );
}

/// A plot of rows of points: each at its place, mg/mL from the mean.
fn of_rows(rows: &[Vec<f64>]) -> Plot {
    let point = |row: usize, number: usize, x: f64| Point {
        x,
        y: -(row as f64) - 0.2,
        half_x: 0.0,
        half_y: 0.0,
        label: (number + 1).to_string(),
        hollow: false,
    };
    let of_row = |(row, places): (usize, &Vec<f64>)| -> Vec<Point> {
        let places = places.iter().enumerate();
        places.map(|(number, x)| point(row, number, *x)).collect()
    };
    Plot {
        x: Axis::new("", "Deviation", "mg/mL"),
        y: Vertical::Rows((0..rows.len()).map(|row| format!("S{row}")).collect()),
        series: vec![Series::new(
            "",
            SeriesShape::Points(rows.iter().enumerate().flat_map(of_row).collect()),
        )],
        below: None,
        alternative: String::new(),
    }
}

/// The numbers drawn in each row, from the left: the middle of each, points, and what it says.
fn drawn(rows: &[Vec<f64>]) -> Vec<Vec<(f32, String)>> {
    let faces = Typefaces::load();
    let drawing = figure::draw(&of_rows(rows), 400.0, Style::default().accent, &faces);
    let marks = drawing.expect("can be drawn").marks;
    let said = |run: &GlyphRun| run.glyphs.iter().map(|g| &*g.text).collect::<String>();
    let runs = marks.iter().filter_map(|mark| match mark {
        Mark::Glyphs(run) => Some(run),
        _ => None,
    });
    let runs: Vec<&GlyphRun> = runs.collect();
    let names: Vec<f32> = (0..rows.len())
        .map(|row| {
            let name = format!("S{row}");
            let name = runs.iter().find(|run| said(run) == name);
            name.unwrap_or_else(|| panic!("no S{row}")).y
        })
        .collect();
    let mut drawn = vec![Vec::new(); rows.len()];
    for run in &runs {
        let number = said(run);
        let Some(row) = names.iter().position(|y| (y - run.y).abs() < 5.0) else {
            continue;
        };
        if number.parse::<usize>().is_err() {
            continue;
        }
        assert!(run.size >= 7.0, "{number}: {}", run.size);
        let width = run.glyphs.iter().map(|g| g.advance).sum::<f32>() * run.size / 1000.0;
        drawn[row].push((run.x, run.x + width, number));
    }
    let row = |mut numbers: Vec<(f32, f32, String)>| {
        numbers.sort_by(|one, other| one.0.total_cmp(&other.0));
        for pair in numbers.windows(2) {
            assert!(pair[0].1 + 1.0 < pair[1].0, "{pair:?}");
        }
        let middles = numbers
            .into_iter()
            .map(|(from, to, number)| (f32::midpoint(from, to), number));
        middles.collect()
    };
    drawn.into_iter().map(row).collect()
}

#[test]
fn numbers_stand_above_their_points_or_not_at_all() {
    let many: Vec<f64> = (0..20).map(|at| f64::from(at * 7 % 20) / 40.0).collect();
    let rows = [
        vec![-1.0, 0.5, 1.0],
        vec![0.2, 0.2, 0.2],
        vec![0.21, 0.2, -0.9],
        vec![1.0, 0.99, 0.98],
        many,
    ];
    let drawn = drawn(&rows);
    let said = |row: usize| -> Vec<&str> { drawn[row].iter().map(|(_, said)| &**said).collect() };
    let expected: [&[&str]; 5] = [
        &["1", "2", "3"],
        &["1", "2", "3"],
        &["3", "2", "1"],
        &["3", "2", "1"],
        &[],
    ];
    for (row, expected) in expected.into_iter().enumerate() {
        assert_eq!(said(row), expected, "row {row}");
    }
    // A number that has room stands above its point.
    let (first, last) = (drawn[0][0].0, drawn[0][2].0);
    let place = |x: f64| f64::from(first) + f64::midpoint(x, 1.0) * f64::from(last - first);
    close("above", f64::from(drawn[0][1].0), place(0.5), 0.0, 0.3);
    close("above", f64::from(drawn[1][1].0), place(0.2), 0.0, 0.3);
}

/// The middles of the markers drawn in each row, from the left.
fn markers(rows: &[Vec<f64>]) -> Vec<Vec<f32>> {
    let faces = Typefaces::load();
    let drawing = figure::draw(&of_rows(rows), 400.0, Style::default().accent, &faces);
    let marks = drawing.expect("can be drawn").marks;
    // The only filled shapes that are as high as wide.
    let filled = marks.iter().filter_map(|mark| match mark {
        Mark::Shape(shape) if shape.fill.is_some() => Some(shape),
        _ => None,
    });
    let mut at: Vec<(f32, f32)> = filled
        .filter_map(|shape| {
            let ends = shape.steps.iter().filter_map(|step| match *step {
                Step::Move(x, y) | Step::Line(x, y) | Step::Curve(.., x, y) => Some((x, y)),
                Step::Close => None,
            });
            let [left, right, top, bottom] = ends.fold(
                [f32::MAX, f32::MIN, f32::MAX, f32::MIN],
                |[left, right, top, bottom], (x, y)| {
                    [left.min(x), right.max(x), top.min(y), bottom.max(y)]
                },
            );
            let round = ((right - left) - (bottom - top)).abs() < 0.1;
            round.then(|| (f32::midpoint(top, bottom), f32::midpoint(left, right)))
        })
        .collect();
    at.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)));
    let of_row = at.chunk_by(|one, other| (one.0 - other.0).abs() < 1.0);
    of_row
        .map(|row| row.iter().map(|(_, x)| *x).collect())
        .collect()
}

#[test]
fn points_that_coincide_stand_side_by_side() {
    let crowd: Vec<f64> = (0..90).map(|_| 0.3).collect();
    let rows = [
        vec![-1.0, 0.5, 1.0],
        vec![0.2, 0.2, 0.2],
        vec![0.5, 0.499],
        crowd,
    ];
    let drawn = markers(&rows);
    let numbers: Vec<usize> = drawn.iter().map(Vec::len).collect();
    assert_eq!(numbers, [3, 3, 2, 90]);
    for row in &drawn[..3] {
        // As far as a marker is wide.
        let apart = |pair: &[f32]| pair[1] - pair[0] > 4.0;
        assert!(row.windows(2).all(apart), "{row:?}");
    }
    let per_unit = (drawn[0][2] - drawn[0][0]) / 2.0;
    let place = |x: f64| drawn[0][0] + (x as f32 + 1.0) * per_unit;
    let near = |row: usize, at: usize, x: f64, within: f64| {
        close(
            "its place",
            f64::from(drawn[row][at]),
            f64::from(place(x)),
            0.0,
            within,
        );
    };
    near(0, 1, 0.5, 0.1);
    near(1, 1, 0.2, 0.1);
    near(1, 0, 0.2, 5.0);
    near(2, 0, 0.4995, 2.5);
    // Side by side, they would be a row of their own that says nothing.
    near(3, 0, 0.3, 0.1);
    near(3, 89, 0.3, 0.1);
}

#[test]
fn as_many_rows_as_a_plot_holds_have_their_numbers() {
    let row = |row: usize| -> Vec<f64> {
        let place = |at: usize| ((row * 3 + at) * 37 % 101) as f64 / 50.0 - 1.0;
        (0..4).map(place).collect()
    };
    let rows: Vec<Vec<f64>> = (0..20).map(row).collect();
    for (row, numbers) in drawn(&rows).into_iter().enumerate() {
        assert_eq!(numbers.len(), 4, "{row}: {numbers:?}");
    }
}

#[test]
fn residuals_stand_below_the_points_they_belong_to() {
    let text = std::fs::read_to_string(path(SAMPLE)).unwrap();
    let run = reduced(&text);
    let figures = plots(&run, &text);
    let plot = plot(&figures, "plot-calibration");
    let below = plot.below.as_ref().expect("a panel below");
    let residuals: Vec<&Point> = below
        .series
        .iter()
        .filter_map(|s| match &s.shape {
            SeriesShape::Points(points) => Some(points),
            _ => None,
        })
        .flatten()
        .collect();
    let fitted = &run.reduction.calibration.as_ref().unwrap().fitted;
    let measured: Vec<&Point> = points(plot).into_iter().filter(|p| !p.hollow).collect();
    assert_eq!(measured.len(), residuals.len());
    for ((above, below), residual) in measured.iter().zip(&residuals).zip(&fitted.residuals) {
        close("its x", below.x, above.x, 0.0, 1e-15);
        close("its height", below.y, 1000.0 * residual, 1e-9, 0.0);
        close("its bar", below.half_y, 1000.0 * above.half_y, 0.0, 1e-15);
    }
}

#[test]
fn what_a_plot_shows_is_said_in_words() {
    let said = |file: &str| {
        let text = std::fs::read_to_string(path(file)).unwrap();
        let run = reduced(&text);
        let plots = plots(&run, &text);
        (run, plot(&plots, "plot-calibration").alternative.clone())
    };
    let (run, alternative) = said(SAMPLE);
    assert!(
        alternative.contains("with a fitted line. Density rises from "),
        "{alternative}"
    );
    assert!(alternative.contains(" g/mL over "), "{alternative}");
    assert!(
        alternative.contains("Not in the fit: water."),
        "{alternative}"
    );
    assert!(
        alternative.contains("The published curve departs from the fitted line by at most "),
        "{alternative}"
    );
    let (name, stated) = &run.results.unknowns[0];
    let answer = stated.composition.mass_percent.as_ref().expect("an answer");
    let wanted = format!("{name} lies at ");
    assert!(alternative.contains(&wanted), "{alternative}");
    let wanted = format!("is found at {} %.", answer.shown);
    assert!(
        alternative.contains(&wanted) && answer.shown.contains('±'),
        "{alternative}"
    );
    let (_, alternative) = said("sample_runs/potassium_chloride_by_mass.yaml");
    assert!(
        alternative.contains("with a fitted curve. "),
        "{alternative}"
    );
    assert!(
        alternative.contains("from the fitted curve by at most "),
        "{alternative}"
    );
}

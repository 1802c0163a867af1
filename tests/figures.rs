//! What a report's plots show is what its results and readings say.

use crate::common::{close, path, reduced};
use fillmark::pipeline::Run;
use fillmark::print::manuscript::plot::{Plot, Point, SeriesShape, Vertical};
use fillmark::print::manuscript::{Block, Figure, Shown};
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
    assert_eq!(out.label, "−10", "{out:?}");
    assert!(
        points(plot)
            .iter()
            .all(|p| p.hollow || p.x.abs() < out.x.abs())
    );
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

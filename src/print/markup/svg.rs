//! Plots and photographs as SVG: the marks that layout would set on a page, glyphs as outlines, so that they look the
//! same everywhere.

use std::collections::BTreeMap;
use std::sync::Arc;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};

use super::{MarkupError, PLOT_WIDTH};
use crate::print::figure::{self, Drawing};
use crate::print::manuscript::{Figure, Photo, Shown};
use crate::print::page::{
    Colour, Face, GlyphRun, Mark, Picture, Pixels, Samples, Shape, Step, xml,
};
use crate::print::typeface::Typefaces;

/// Returns what a figure shows, in words.
pub(super) fn alternative(figure: &Figure) -> &str {
    match &figure.shows {
        Shown::Plot(plot) => &plot.alternative,
        Shown::Photo(photo) => &photo.alternative,
    }
}

/// Returns a photograph as a drawing of its own.
fn pictured(photo: &Photo) -> Drawing {
    let (columns, rows) = (photo.pixels.columns as f32, photo.pixels.rows as f32);
    let (width, height) = (PLOT_WIDTH, PLOT_WIDTH * rows / columns);
    Drawing {
        width,
        height,
        marks: vec![Mark::Picture(Picture {
            pixels: Arc::clone(&photo.pixels),
            x: 0.0,
            y: 0.0,
            width,
            height,
        })],
    }
}

/// Returns what a figure shows as an `svg` element; `prefix` keeps its ids apart from others of the page.
pub(super) fn svg(
    figure: &Figure,
    prefix: &str,
    accent: Colour,
    typefaces: &Typefaces,
) -> Result<String, MarkupError> {
    let drawing = match &figure.shows {
        Shown::Plot(plot) => {
            figure::draw(plot, PLOT_WIDTH, accent, typefaces).map_err(MarkupError::Figure)?
        }
        Shown::Photo(photo) => pictured(photo),
    };
    let mut writer = Writer {
        prefix,
        outlines: BTreeMap::new(),
        body: String::new(),
    };
    for mark in &drawing.marks {
        writer.mark(mark)?;
    }
    let title = figure
        .number
        .map_or_else(|| "Figure".to_owned(), |n| format!("Figure {n}"));
    let (width, height) = (number(drawing.width), number(drawing.height));
    let mut definitions = String::new();
    for ((face, glyph), index) in &writer.outlines {
        let outline = path(&typefaces.outline(*face, *glyph), 0);
        definitions.push_str(&format!("<path id=\"{prefix}g{index}\" d=\"{outline}\"/>"));
    }
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}pt\" \
         height=\"{height}pt\" role=\"img\" aria-labelledby=\"{prefix}t {prefix}d\">\n\
         <title id=\"{prefix}t\">{title}</title>\n<desc id=\"{prefix}d\">{}</desc>\n\
         <defs>{definitions}</defs>\n{}</svg>\n",
        xml(alternative(figure)),
        writer.body
    ))
}

/// Bytes of a picture, as the JPEG it is or as a PNG, at an address of their own.
pub(super) fn data_address(pixels: &Pixels) -> Result<String, MarkupError> {
    let rgb = match &pixels.samples {
        Samples::Jpeg(file) => {
            return Ok(format!("data:image/jpeg;base64,{}", STANDARD.encode(file)));
        }
        Samples::Rgb(rgb) => rgb,
    };
    let mut png = Vec::new();
    PngEncoder::new(&mut png)
        .write_image(rgb, pixels.columns, pixels.rows, ExtendedColorType::Rgb8)
        .map_err(|error| MarkupError::Picture(error.to_string()))?;
    Ok(format!("data:image/png;base64,{}", STANDARD.encode(png)))
}

struct Writer<'a> {
    prefix: &'a str,
    /// Outlines used, each with its number.
    outlines: BTreeMap<(Face, u16), usize>,
    body: String,
}

impl Writer<'_> {
    fn mark(&mut self, mark: &Mark) -> Result<(), MarkupError> {
        match mark {
            Mark::Glyphs(run) => self.glyphs(run),
            Mark::Shape(shape) => self.shape(shape),
            Mark::Picture(picture) => self.body.push_str(&format!(
                "<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" href=\"{}\"/>\n",
                number(picture.x),
                number(picture.y),
                number(picture.width),
                number(picture.height),
                data_address(&picture.pixels)?
            )),
        }
        Ok(())
    }

    fn glyphs(&mut self, run: &GlyphRun) {
        let turn = if run.turn == 0.0 {
            String::new()
        } else {
            format!(" rotate({})", number(-run.turn))
        };
        self.body.push_str(&format!(
            "<g fill=\"{}\" transform=\"translate({} {}){turn} scale({})\">",
            ink(run.colour),
            number(run.x),
            number(run.y),
            decimals(run.size / 1000.0, 5)
        ));
        let mut x = 0.0;
        for glyph in &*run.glyphs {
            if !glyph.text.trim().is_empty() || glyph.text.is_empty() {
                let next = self.outlines.len();
                let index = *self.outlines.entry((run.face, glyph.id)).or_insert(next);
                self.body.push_str(&format!(
                    "<use href=\"#{}g{index}\" x=\"{}\"/>",
                    self.prefix,
                    decimals(x, 0)
                ));
            }
            x += glyph.advance;
        }
        self.body.push_str("</g>\n");
    }

    fn shape(&mut self, shape: &Shape) {
        let fill = shape.fill.map_or_else(|| "none".to_owned(), ink);
        let mut drawn = String::new();
        if let Some(stroke) = &shape.stroke {
            drawn = format!(
                " stroke=\"{}\" stroke-width=\"{}\"",
                ink(stroke.colour),
                number(stroke.width)
            );
            if !stroke.dashes.is_empty() {
                let dashes: Vec<String> = stroke.dashes.iter().map(|d| number(*d)).collect();
                drawn.push_str(&format!(" stroke-dasharray=\"{}\"", dashes.join(" ")));
            }
        }
        self.body.push_str(&format!(
            "<path d=\"{}\" fill=\"{fill}\"{drawn}/>\n",
            path(&shape.steps, 2)
        ));
    }
}

/// Returns an outline as path data, with so many decimals.
fn path(steps: &[Step], places: usize) -> String {
    let mut path = String::new();
    let mut step = |letter: char, numbers: &[f32]| {
        path.push(letter);
        let written: Vec<String> = numbers.iter().map(|n| decimals(*n, places)).collect();
        path.push_str(&written.join(" "));
    };
    for each in steps {
        match *each {
            Step::Move(x, y) => step('M', &[x, y]),
            Step::Line(x, y) => step('L', &[x, y]),
            Step::Curve(x1, y1, x2, y2, x, y) => step('C', &[x1, y1, x2, y2, x, y]),
            Step::Close => step('Z', &[]),
        }
    }
    path
}

/// Returns a colour as `#rrggbb`.
pub(super) fn ink(Colour(red, green, blue): Colour) -> String {
    let [red, green, blue] =
        [red, green, blue].map(|part| (part.clamp(0.0, 1.0) * 255.0).round() as u8);
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// Returns a length in points: a hundredth is finer than any screen shows.
fn number(length: f32) -> String {
    decimals(length, 2)
}

/// Returns a number with at most so many decimals, none of them an idle zero.
fn decimals(number: f32, places: usize) -> String {
    let written = format!("{number:.places$}");
    let short = if written.contains('.') {
        written.trim_end_matches('0').trim_end_matches('.')
    } else {
        &written
    };
    if short == "-0" { "0" } else { short }.to_owned()
}

#[cfg(test)]
mod tests {
    use super::{decimals, ink};
    use crate::print::page::Colour;

    #[test]
    fn numbers_are_short_and_plain() {
        for (number, places, written) in [
            (1.0, 2, "1"),
            (-0.001, 2, "0"),
            (100.0, 0, "100"),
            (2.346, 2, "2.35"),
            (0.009, 5, "0.009"),
        ] {
            assert_eq!(decimals(number, places), written);
        }
        assert_eq!(ink(Colour(0.0, 1.0, 0.5)), "#00ff80");
    }
}

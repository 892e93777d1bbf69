//! Text of an SVG file, written piece by piece.

use std::fmt::Write;

/// Dark grey of all text and axes.
pub(super) const TEXT: &str = "#333333";
/// Grey of helping lines.
pub(super) const FAINT: &str = "#c8c8c8";
/// Fill of a band.
pub(super) const BAND: &str = "#f0f0f0";

/// Where a text is held.
#[derive(Clone, Copy)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// An SVG document in the making.
pub(super) struct Svg {
    out: String,
}

impl Svg {
    pub(super) fn new(width: f64, height: f64, title: &str, alt: &str) -> Self {
        let mut out = String::with_capacity(32 * 1024);
        let (title, alt) = (escaped(title), escaped(alt));
        let _ = write!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" width=\"{}\" \
             height=\"{}\" role=\"img\" font-family=\"sans-serif\" font-size=\"12\">\n\
             <title>{title}</title>\n<desc>{alt}</desc>\n\
             <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
            short(width),
            short(height),
            short(width),
            short(height)
        );
        Self { out }
    }

    pub(super) fn text(&mut self, x: f64, y: f64, anchor: Anchor, size: u32, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let (x, y, text) = (short(x), short(y), escaped(text));
        let _ = writeln!(
            self.out,
            "<text x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\" font-size=\"{size}\" \
             fill=\"{TEXT}\">{text}</text>"
        );
    }

    /// Text that reads upward along the vertical axis.
    pub(super) fn upward(&mut self, x: f64, y: f64, text: &str) {
        let (x, y, text) = (short(x), short(y), escaped(text));
        let _ = writeln!(
            self.out,
            "<text transform=\"translate({x} {y}) rotate(-90)\" text-anchor=\"middle\" \
             fill=\"{TEXT}\">{text}</text>"
        );
    }

    pub(super) fn rect(&mut self, x: f64, y: f64, width: f64, height: f64, fill: &str) {
        let (x, y, width, height) = (short(x), short(y), short(width), short(height));
        let _ = writeln!(
            self.out,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{fill}\"/>"
        );
    }

    /// Straight line; `dash` is empty for a solid one.
    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64), stroke: Stroke<'_>) {
        let (x1, y1, x2, y2) = (short(from.0), short(from.1), short(to.0), short(to.1));
        let _ = writeln!(
            self.out,
            "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"{}/>",
            stroke.attributes()
        );
    }

    /// Line through stretches of points; a stretch of one point becomes a dot.
    pub(super) fn path(&mut self, stretches: &[Vec<(f64, f64)>], stroke: Stroke<'_>) {
        let mut data = String::new();
        for stretch in stretches {
            for (place, (x, y)) in stretch.iter().enumerate() {
                data.push(if place == 0 { 'M' } else { 'L' });
                let _ = write!(data, "{} {}", short(*x), short(*y));
            }
            if let [(x, y)] = stretch.as_slice() {
                let _ = write!(data, "L{} {}", short(*x), short(*y));
            }
        }
        if !data.is_empty() {
            let _ = writeln!(
                self.out,
                "<path d=\"{data}\" fill=\"none\" stroke-linejoin=\"round\" \
                 stroke-linecap=\"round\"{}/>",
                stroke.attributes()
            );
        }
    }

    /// Closed shape of a mark.
    pub(super) fn shape(&mut self, points: &[(f64, f64)], filled: bool) {
        let list: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("{},{}", short(*x), short(*y)))
            .collect();
        let fill = if filled { TEXT } else { "#ffffff" };
        let _ = writeln!(
            self.out,
            "<polygon points=\"{}\" fill=\"{fill}\" stroke=\"{TEXT}\" stroke-width=\"1\"/>",
            list.join(" ")
        );
    }

    /// Open square around a point.
    pub(super) fn square(&mut self, x: f64, y: f64) {
        let (left, right, top, bottom) = (x - 4.0, x + 4.0, y - 4.0, y + 4.0);
        self.shape(
            &[(left, top), (right, top), (right, bottom), (left, bottom)],
            false,
        );
    }

    pub(super) fn ring(&mut self, x: f64, y: f64) {
        let (x, y) = (short(x), short(y));
        let _ = writeln!(
            self.out,
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"4\" fill=\"none\" stroke=\"{TEXT}\"/>"
        );
    }

    pub(super) fn finished(mut self) -> String {
        self.out.push_str("</svg>\n");
        self.out
    }
}

/// Colour, width and dash pattern of a line.
#[derive(Clone, Copy)]
pub(super) struct Stroke<'a> {
    pub(super) colour: &'a str,
    pub(super) width: f64,
    pub(super) dash: &'a str,
}

impl Stroke<'_> {
    fn attributes(self) -> String {
        let mut text = format!(
            " stroke=\"{}\" stroke-width=\"{}\"",
            self.colour,
            short(self.width)
        );
        if !self.dash.is_empty() {
            let _ = write!(text, " stroke-dasharray=\"{}\"", self.dash);
        }
        text
    }
}

/// A coordinate with one decimal, without a useless ".0" or "-0".
fn short(value: f64) -> String {
    let text = format!("{value:.1}");
    match text.strip_suffix(".0") {
        Some("-0") => "0".to_owned(),
        Some(whole) => whole.to_owned(),
        None => text,
    }
}

/// Text for XML content and attributes; characters that XML forbids become a replacement sign.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            other => out.push(other),
        }
    }
    out
}

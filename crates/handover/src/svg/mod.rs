//! A small writer of SVG pictures, measured in millimetres of paper.
//!
//! Shapes are appended in drawing order; every text is escaped; numbers are rounded to a hundredth of a millimetre, so the
//! same picture always gives the same bytes. Hatches are listed in [`hatch`] and only those used are written.

pub mod hatch;
pub mod palette;
mod widths;

use hatch::Hatch;
use std::collections::BTreeSet;
use std::fmt::Write;

/// The face of all text in pictures: an open face that the page engine carries with it.
pub const FACE: &str = "Libertinus Serif";

/// A picture in the making.
pub struct Svg {
    width_mm: f64,
    height_mm: f64,
    hatches: BTreeSet<Hatch>,
    clips: Vec<String>,
    body: String,
}

/// Where a text hangs on its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The point is at its left end.
    Start,
    /// The point is at its middle.
    Middle,
    /// The point is at its right end.
    End,
}

/// How a text looks.
#[derive(Clone, Copy, Debug)]
pub struct Type {
    /// Size, millimetres.
    pub size_mm: f64,
    /// Where it hangs.
    pub anchor: Anchor,
    /// Colour.
    pub colour: &'static str,
    /// Bold.
    pub bold: bool,
    /// Italic.
    pub italic: bool,
    /// A light rim that keeps it readable over a map.
    pub rim: bool,
}

impl Type {
    /// Upright text in ink, hanging at its left end.
    pub fn plain(size_mm: f64) -> Self {
        Self { size_mm, anchor: Anchor::Start, colour: palette::INK, bold: false, italic: false, rim: false }
    }

    /// The same, bold.
    pub fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    /// The same, italic.
    pub fn italic(self) -> Self {
        Self { italic: true, ..self }
    }

    /// The same with a light rim.
    pub fn rim(self) -> Self {
        Self { rim: true, ..self }
    }

    /// The same in another colour.
    pub fn colour(self, colour: &'static str) -> Self {
        Self { colour, ..self }
    }

    /// How wide a text will be at most, millimetres.
    pub fn width_mm(self, text: &str) -> f64 {
        text.chars().map(|c| widths::share(c, self.bold)).sum::<f64>() * self.size_mm
    }

    /// The text cut to fit a width, with an ellipsis where it was cut.
    pub fn fitted(self, text: &str, width_mm: f64) -> String {
        if self.width_mm(text) <= width_mm {
            return text.to_owned();
        }
        let (mut out, mut wide) = (String::new(), self.width_mm("…"));
        for letter in text.chars() {
            wide += widths::share(letter, self.bold) * self.size_mm;
            if wide > width_mm {
                break;
            }
            out.push(letter);
        }
        format!("{}…", out.trim_end())
    }

    /// The same, hung elsewhere.
    pub fn anchor(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }
}

/// How wide a text that is not bold will be at most, millimetres.
pub fn text_width_mm(text: &str, size_mm: f64) -> f64 {
    Type::plain(size_mm).width_mm(text)
}

/// A text that is not bold, cut to fit a width, with an ellipsis where it was cut.
pub fn fitted(text: &str, size_mm: f64, width_mm: f64) -> String {
    Type::plain(size_mm).fitted(text, width_mm)
}

/// The text with every character that means something in markup made harmless; control characters and those that turn the direction
/// of text are dropped.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() || holding::words::turns(c) || c == '\u{fffe}' || c == '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}

/// A number for a path or an attribute: hundredths, no trailing noughts, no minus nought.
pub fn number(value: f64) -> String {
    let mut text = format!("{value:.2}");
    while text.ends_with('0') {
        text.pop();
    }
    if text.ends_with('.') {
        text.pop();
    }
    if text == "-0" { "0".to_owned() } else { text }
}

impl Svg {
    /// An empty picture of a size in millimetres.
    pub fn new(width_mm: f64, height_mm: f64) -> Self {
        Self { width_mm, height_mm, hatches: BTreeSet::new(), clips: vec![], body: String::new() }
    }

    /// Width, millimetres.
    pub fn width_mm(&self) -> f64 {
        self.width_mm
    }

    /// Height, millimetres.
    pub fn height_mm(&self) -> f64 {
        self.height_mm
    }

    /// The fill that paints a hatch; the hatch is written with the picture.
    pub fn hatch(&mut self, hatch: Hatch) -> String {
        self.hatches.insert(hatch);
        format!("url(#{})", hatch.id())
    }

    /// A rectangle; `style` are the attributes of paint.
    pub fn rect(&mut self, x: f64, y: f64, width: f64, height: f64, style: &str) {
        let (x, y, w, h) = (number(x), number(y), number(width.max(0.0)), number(height.max(0.0)));
        let _ = writeln!(self.body, r#"<rect x="{x}" y="{y}" width="{w}" height="{h}" {style}/>"#);
    }

    /// A straight line.
    pub fn line(&mut self, x1: f64, y1: f64, x2: f64, y2: f64, style: &str) {
        let (a, b, c, d) = (number(x1), number(y1), number(x2), number(y2));
        let _ = writeln!(self.body, r#"<line x1="{a}" y1="{b}" x2="{c}" y2="{d}" {style}/>"#);
    }

    /// A circle.
    pub fn circle(&mut self, x: f64, y: f64, radius: f64, style: &str) {
        let (x, y, r) = (number(x), number(y), number(radius));
        let _ = writeln!(self.body, r#"<circle cx="{x}" cy="{y}" r="{r}" {style}/>"#);
    }

    /// A path by its data.
    pub fn path(&mut self, data: &str, style: &str) {
        if !data.is_empty() {
            let _ = writeln!(self.body, r#"<path d="{data}" {style}/>"#);
        }
    }

    /// A text at a point (its baseline).
    pub fn text(&mut self, x: f64, y: f64, look: Type, text: &str) {
        let anchor = match look.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let mut style = format!(r#"font-size="{}" text-anchor="{anchor}" fill="{}""#, number(look.size_mm), look.colour);
        if look.bold {
            style.push_str(r#" font-weight="bold""#);
        }
        if look.italic {
            style.push_str(r#" font-style="italic""#);
        }
        if look.rim {
            let rim = number(look.size_mm * 0.24);
            let _ = write!(style, r#" stroke="{}" stroke-width="{rim}" stroke-linejoin="round" paint-order="stroke""#, palette::COTTON);
        }
        let _ = writeln!(self.body, r#"<text x="{}" y="{}" {style}>{}</text>"#, number(x), number(y), escape(text));
    }

    /// A PNG stretched over a rectangle.
    pub fn image(&mut self, x: f64, y: f64, width: f64, height: f64, png: &[u8]) {
        use base64::Engine;
        let data = base64::engine::general_purpose::STANDARD.encode(png);
        let (x, y, w, h) = (number(x), number(y), number(width), number(height));
        let _ = writeln!(
            self.body,
            r#"<image x="{x}" y="{y}" width="{w}" height="{h}" preserveAspectRatio="none" href="data:image/png;base64,{data}"/>"#
        );
    }

    /// Begins a group cut to a rectangle; end it with [`Svg::end`].
    pub fn clip(&mut self, x: f64, y: f64, width: f64, height: f64) {
        let id = format!("cut{}", self.clips.len());
        let (x, y, w, h) = (number(x), number(y), number(width), number(height));
        self.clips.push(format!(r#"<clipPath id="{id}"><rect x="{x}" y="{y}" width="{w}" height="{h}"/></clipPath>"#));
        let _ = writeln!(self.body, r#"<g clip-path="url(#{id})">"#);
    }

    /// Begins a named group; end it with [`Svg::end`].
    pub fn group(&mut self, name: &str) {
        let _ = writeln!(self.body, r#"<g id="{}">"#, escape(name));
    }

    /// Ends a group.
    pub fn end(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// The finished picture.
    pub fn finish(self) -> String {
        let (w, h) = (number(self.width_mm), number(self.height_mm));
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" font-family=\"{FACE}\">\n<defs>\n"
        );
        for hatch in &self.hatches {
            out.push_str(&hatch.definition());
            out.push('\n');
        }
        for clip in &self.clips {
            out.push_str(clip);
            out.push('\n');
        }
        out.push_str("</defs>\n");
        out.push_str(&self.body);
        out.push_str("</svg>\n");
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_cannot_break_out_of_the_picture() {
        let mut svg = Svg::new(10.0, 10.0);
        svg.text(1.0, 1.0, Type::plain(3.0), "<b>\"Cold & Wet\"</b>\u{0} \u{202e}'x'\u{2066}\n#$*_[]");
        let text = svg.finish();
        assert!(text.contains("&lt;b&gt;&quot;Cold &amp; Wet&quot;&lt;/b&gt; &#39;x&#39; #$*_[]</text>"), "{text}");
        assert!(!text.contains("<b>"));
    }

    #[test]
    fn numbers_are_short_and_have_no_minus_nought() {
        for (value, text) in [(1.0, "1"), (-0.001, "0"), (12.345, "12.35"), (0.1, "0.1"), (-2.5, "-2.5"), (100.0, "100")] {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn long_texts_are_cut_with_an_ellipsis() {
        let cut = fitted("The very long name of a very small field", 3.0, 20.0);
        assert!(cut.ends_with('…') && text_width_mm(&cut, 3.0) <= 21.0, "{cut}");
        assert_eq!(fitted("Short", 3.0, 20.0), "Short");
    }
}

//! A small writer of SVG: what the figures need and no more. Every text and attribute is escaped here.

use std::fmt::Write;

/// A drawing in the making, in units of its view box.
#[derive(Debug)]
pub struct Drawing {
    width: f64,
    height: f64,
    body: String,
    open: usize,
}

/// How a shape is painted.
#[derive(Debug, Clone, Copy, Default)]
pub struct Paint<'a> {
    /// Class, by which a page finds it again.
    pub class: &'a str,
    /// Colour or pattern within; nothing where empty.
    pub fill: &'a str,
    /// Colour of the line; none where empty.
    pub stroke: &'a str,
    /// Width of the line.
    pub width: f64,
    /// Dashes of the line; solid where empty.
    pub dash: &'a str,
    /// Opacity of the filling, 0 to 1; 0 is taken as 1.
    pub fill_opacity: f64,
}

/// How a text is set.
#[derive(Debug, Clone, Copy)]
pub struct Lettering<'a> {
    /// Height in units.
    pub size: f64,
    /// `start`, `middle` or `end`.
    pub anchor: &'a str,
    /// Colour.
    pub fill: &'a str,
    /// `normal` or `bold`.
    pub weight: &'a str,
}

impl Default for Lettering<'_> {
    fn default() -> Self {
        Self {
            size: 12.0,
            anchor: "start",
            fill: "currentColor",
            weight: "normal",
        }
    }
}

impl Drawing {
    /// An empty drawing.
    #[must_use]
    pub fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            body: String::new(),
            open: 0,
        }
    }

    /// Makes the drawing at least so high.
    pub fn reach(&mut self, height: f64) {
        self.height = self.height.max(height);
    }

    /// Opens a group with attributes.
    pub fn open(&mut self, attributes: &[(&str, &str)]) {
        self.element("g", attributes, false);
        self.open += 1;
    }

    /// Closes the group opened last.
    pub fn close(&mut self) {
        if self.open > 0 {
            self.body.push_str("</g>");
            self.open -= 1;
        }
    }

    /// What a reader's help or a pointer at rest tells of the group it stands first in.
    pub fn title(&mut self, text: &str) {
        let _ = write!(self.body, "<title>{}</title>", escape(text));
    }

    /// Slanting lines under a name, to fill with.
    pub fn hatch(&mut self, name: &str, spacing: f64, width: f64) {
        let _ = write!(
            self.body,
            "<pattern id=\"{0}\" width=\"{1}\" height=\"{1}\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
             <line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"{1}\" stroke=\"currentColor\" stroke-width=\"{2}\"/></pattern>",
            escape(name),
            number(spacing),
            number(width)
        );
    }

    /// A rectangle under a name, to cut others to.
    pub fn clip(&mut self, name: &str, [x, y, w, h]: [f64; 4]) {
        let _ = write!(
            self.body,
            "<clipPath id=\"{}\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>",
            escape(name),
            number(x),
            number(y),
            number(w),
            number(h)
        );
    }

    /// A rectangle with corners rounded by `radius`.
    pub fn rect(&mut self, [x, y, w, h]: [f64; 4], radius: f64, paint: Paint) {
        let (x, y, w, h, radius) = (number(x), number(y), number(w), number(h), number(radius));
        let mut attributes = vec![
            ("x", x.as_str()),
            ("y", y.as_str()),
            ("width", w.as_str()),
            ("height", h.as_str()),
        ];
        if radius != "0" {
            attributes.push(("rx", radius.as_str()));
        }
        self.shape("rect", &attributes, paint);
    }

    /// A circle.
    pub fn circle(&mut self, [x, y]: [f64; 2], radius: f64, paint: Paint) {
        let (x, y, radius) = (number(x), number(y), number(radius));
        self.shape("circle", &[("cx", &x), ("cy", &y), ("r", &radius)], paint);
    }

    /// A straight line.
    pub fn line(&mut self, from: [f64; 2], to: [f64; 2], paint: Paint) {
        let [x1, y1, x2, y2] = [from[0], from[1], to[0], to[1]].map(number);
        self.shape("line", &[("x1", &x1), ("y1", &y1), ("x2", &x2), ("y2", &y2)], paint);
    }

    /// Closed rings as one shape.
    pub fn rings<'r>(&mut self, rings: impl IntoIterator<Item = &'r [[f64; 2]]>, paint: Paint) {
        let mut path = String::new();
        for ring in rings {
            for (index, [x, y]) in ring.iter().enumerate() {
                let _ = write!(
                    path,
                    "{}{} {}",
                    if index == 0 { "M" } else { "L" },
                    number(*x),
                    number(*y)
                );
            }
            if !ring.is_empty() {
                path.push('Z');
            }
        }
        if !path.is_empty() {
            self.shape("path", &[("d", &path)], paint);
        }
    }

    /// Rectangles as one shape.
    pub fn rects(&mut self, rects: impl IntoIterator<Item = [f64; 4]>, paint: Paint) {
        let mut path = String::new();
        for [x, y, w, h] in rects {
            let _ = write!(
                path,
                "M{} {}h{}v{}h{}z",
                number(x),
                number(y),
                number(w),
                number(h),
                number(-w)
            );
        }
        if !path.is_empty() {
            self.shape("path", &[("d", &path)], paint);
        }
    }

    /// A text.
    pub fn text(&mut self, [x, y]: [f64; 2], text: &str, lettering: Lettering) {
        let _ = write!(
            self.body,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\" fill=\"{}\" font-weight=\"{}\">{}</text>",
            number(x),
            number(y),
            number(lettering.size),
            lettering.anchor,
            lettering.fill,
            lettering.weight,
            escape(text)
        );
    }

    /// A picture, stretched to the rectangle.
    pub fn image(&mut self, [x, y, w, h]: [f64; 4], address: &str) {
        let _ = write!(
            self.body,
            "<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\" href=\"{}\"/>",
            number(x),
            number(y),
            number(w),
            number(h),
            escape(address)
        );
    }

    /// A colour running upwards from the first to the last of `colours`, under a name.
    pub fn gradient_up(&mut self, name: &str, colours: &[[u8; 3]]) {
        let _ = write!(
            self.body,
            "<linearGradient id=\"{}\" x1=\"0\" y1=\"1\" x2=\"0\" y2=\"0\">",
            escape(name)
        );
        let last = colours.len().saturating_sub(1).max(1) as f64;
        for (index, [r, g, b]) in colours.iter().enumerate() {
            let share = number(index as f64 / last * 100.0);
            let _ = write!(
                self.body,
                "<stop offset=\"{share}%\" stop-color=\"#{r:02x}{g:02x}{b:02x}\"/>"
            );
        }
        self.body.push_str("</linearGradient>");
    }

    fn shape(&mut self, name: &str, geometry: &[(&str, &str)], paint: Paint) {
        let (width, opacity) = (number(paint.width), number(paint.fill_opacity));
        let mut attributes = geometry.to_vec();
        if !paint.class.is_empty() {
            attributes.push(("class", paint.class));
        }
        attributes.push(("fill", if paint.fill.is_empty() { "none" } else { paint.fill }));
        if paint.fill_opacity > 0.0 {
            attributes.push(("fill-opacity", &opacity));
        }
        if !paint.stroke.is_empty() {
            attributes.push(("stroke", paint.stroke));
            attributes.push(("stroke-width", &width));
        }
        if !paint.dash.is_empty() {
            attributes.push(("stroke-dasharray", paint.dash));
        }
        self.element(name, &attributes, true);
    }

    fn element(&mut self, name: &str, attributes: &[(&str, &str)], is_empty: bool) {
        let _ = write!(self.body, "<{name}");
        for (key, value) in attributes {
            let _ = write!(self.body, " {key}=\"{}\"", escape(value));
        }
        self.body.push_str(if is_empty { "/>" } else { ">" });
    }

    /// The whole drawing; `label` says in words what it shows.
    #[must_use]
    pub fn finish(mut self, label: &str) -> String {
        while self.open > 0 {
            self.close();
        }
        let (width, height) = (number(self.width), number(self.height));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
             role=\"group\" aria-label=\"{}\" font-family=\"DejaVu Sans, system-ui, sans-serif\">{}</svg>",
            escape(label),
            self.body
        )
    }
}

/// A coordinate to a hundredth, without idle zeros.
fn number(value: f64) -> String {
    let value = if value.is_finite() { value.clamp(-1e6, 1e6) } else { 0.0 };
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if matches!(text, "-0" | "") {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Text that XML takes as text, within elements and attributes.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            // XML 1.0 has no place for control characters.
            c if c.is_control() && !matches!(c, '\t' | '\n') => escaped.push('\u{fffd}'),
            '\u{fffe}' | '\u{ffff}' => escaped.push('\u{fffd}'),
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_stay_texts() {
        let mut drawing = Drawing::new(10.0, 10.0);
        drawing.text([0.0, 1.0], "<script>\"&'\u{1}", Lettering::default());
        let svg = drawing.finish("a \"b\" <c>");
        assert!(svg.contains(">&lt;script&gt;&quot;&amp;&#39;\u{fffd}</text>"), "{svg}");
        assert!(svg.contains("aria-label=\"a &quot;b&quot; &lt;c&gt;\""));
    }

    #[test]
    fn numbers_are_short_and_finite() {
        assert_eq!(number(1.0), "1");
        assert_eq!(number(1.256), "1.26");
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(f64::NAN), "0");
        assert_eq!(number(100.0), "100");
    }

    #[test]
    fn groups_are_closed() {
        let mut drawing = Drawing::new(1.0, 1.0);
        drawing.open(&[("class", "zone")]);
        assert!(drawing.finish("x").ends_with("</g></svg>"));
    }
}

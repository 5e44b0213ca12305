//! A drawing on paper, in mm, as SVG. It is made for print: black on white, told apart by dash, width and mark.

use std::fmt::Write;

/// A drawing of a given size.
#[derive(Debug)]
pub(super) struct Drawing {
    size: [f64; 2],
    title: String,
    about: String,
    body: String,
}

/// A drawing as a part of an HTML page, and its size, mm.
#[derive(Debug, Clone)]
pub(super) struct Picture {
    pub(super) svg: String,
    pub(super) size: [f64; 2],
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    /// Width, mm.
    pub(super) width: f64,
    /// Lengths of strokes and gaps, mm; empty: unbroken.
    pub(super) dash: &'static str,
    /// Shade of grey, 0 black to 255 white.
    pub(super) grey: u8,
}

/// A mark on a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Disc,
    Ring,
    Square,
    Triangle,
    Diamond,
    Cross,
}

/// Where a text stands at its point.
#[derive(Debug, Clone, Copy)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

impl Pen {
    pub(super) const fn plain(width: f64) -> Self {
        Self { width, dash: "", grey: 0 }
    }

    pub(super) const fn grey(width: f64, grey: u8) -> Self {
        Self { width, dash: "", grey }
    }
}

impl Drawing {
    /// An empty sheet, mm; `about` says in words what the drawing shows.
    pub(super) fn new(size: [f64; 2], title: &str, about: &str) -> Self {
        Self { size, title: title.to_owned(), about: about.to_owned(), body: String::new() }
    }

    pub(super) fn line(&mut self, points: &[[f64; 2]], pen: Pen) {
        let path: Vec<String> = points.iter().map(|[x, y]| format!("{},{}", mm(*x), mm(*y))).collect();
        let dash =
            if pen.dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", pen.dash) };
        let _ = writeln!(
            self.body,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"{dash}/>",
            path.join(" "),
            shade(pen.grey),
            mm(pen.width)
        );
    }

    /// The edge of a rectangle between two corners.
    pub(super) fn frame(&mut self, [x0, y0]: [f64; 2], [x1, y1]: [f64; 2], pen: Pen) {
        self.line(&[[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]], pen);
    }

    /// A filled rectangle between two corners.
    pub(super) fn fill(&mut self, [x0, y0]: [f64; 2], [x1, y1]: [f64; 2], grey: u8) {
        let _ = writeln!(
            self.body,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"/>",
            mm(x0.min(x1)),
            mm(y0.min(y1)),
            mm((x1 - x0).abs()),
            mm((y1 - y0).abs()),
            shade(grey)
        );
    }

    /// A filled shape.
    pub(super) fn polygon(&mut self, points: &[[f64; 2]]) {
        let points: Vec<String> = points.iter().map(|[x, y]| format!("{},{}", mm(*x), mm(*y))).collect();
        let _ = writeln!(self.body, "<polygon points=\"{}\" fill=\"#000\"/>", points.join(" "));
    }

    /// A mark of a given radius.
    pub(super) fn mark(&mut self, [x, y]: [f64; 2], mark: Mark, radius: f64) {
        let r = radius;
        let polygon = |points: &[[f64; 2]]| {
            let points: Vec<String> =
                points.iter().map(|[dx, dy]| format!("{},{}", mm(x + dx * r), mm(y + dy * r))).collect();
            format!(
                "<polygon points=\"{}\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"0.25\"/>",
                points.join(" ")
            )
        };
        let circle = |fill: &str| {
            let (x, y, r) = (mm(x), mm(y), mm(r));
            format!(
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{fill}\" stroke=\"#000\" stroke-width=\"0.25\"/>"
            )
        };
        let shape = match mark {
            Mark::Disc => circle("#000"),
            Mark::Ring => circle("#fff"),
            Mark::Square => polygon(&[[-0.9, -0.9], [0.9, -0.9], [0.9, 0.9], [-0.9, 0.9]]),
            Mark::Triangle => polygon(&[[0.0, -1.2], [1.1, 0.8], [-1.1, 0.8]]),
            Mark::Diamond => polygon(&[[0.0, -1.3], [1.0, 0.0], [0.0, 1.3], [-1.0, 0.0]]),
            Mark::Cross => {
                let (a, b, c, d) = (mm(x - r), mm(y - r), mm(x + r), mm(y + r));
                format!(
                    "<path d=\"M{a},{b} L{c},{d} M{a},{d} L{c},{b}\" stroke=\"#000\" stroke-width=\"0.4\"/>"
                )
            }
        };
        let _ = writeln!(self.body, "{shape}");
    }

    /// A text; `size` is the height of its capitals and ascenders together, mm.
    pub(super) fn text(&mut self, [x, y]: [f64; 2], anchor: Anchor, size: f64, text: &str) {
        self.write(&format!("x=\"{}\" y=\"{}\"", mm(x), mm(y)), anchor, size, text);
    }

    /// A text as the lines that it takes in a width.
    pub(super) fn lines(wide: f64, size: f64, text: &str) -> Vec<String> {
        /// The mean breadth of a letter over the size of its type, where it is broad.
        const LETTER: f64 = 0.58;
        textwrap::wrap(text, count_in(wide, LETTER * size)).into_iter().map(Into::into).collect()
    }

    /// A text in a width, in as many lines as it needs; gives the foot of the last.
    pub(super) fn words(&mut self, [x, y]: [f64; 2], wide: f64, size: f64, text: &str) -> f64 {
        let mut foot = y;
        for line in Self::lines(wide, size, text) {
            self.text([x, foot], Anchor::Start, size, &line);
            foot += size * 1.2;
        }
        foot - size * 1.2
    }

    /// Makes the sheet as high as something that was drawn on it needs.
    pub(super) fn grow_to(&mut self, height: f64) {
        self.size[1] = self.size[1].max(height);
    }

    /// A text that runs upward.
    pub(super) fn text_up(&mut self, [x, y]: [f64; 2], anchor: Anchor, size: f64, text: &str) {
        self.write(&format!("transform=\"translate({},{}) rotate(-90)\"", mm(x), mm(y)), anchor, size, text);
    }

    fn write(&mut self, place: &str, anchor: Anchor, size: f64, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let _ = writeln!(
            self.body,
            "<text {place} font-size=\"{}\" text-anchor=\"{anchor}\" stroke=\"#fff\" stroke-width=\"0.9\" \
             stroke-linejoin=\"round\" paint-order=\"stroke\">{}</text>",
            mm(size),
            escape(text)
        );
    }

    /// The drawing as a part of an HTML page.
    pub(super) fn inline(self) -> Picture {
        let size = self.size;
        let [width, height] = size.map(mm);
        let svg = format!(
            "<svg width=\"{width}mm\" viewBox=\"0 0 {width} {height}\" role=\"img\" font-family=\"sans-serif\" fill=\"#000\">\n{}</svg>\n",
            self.content("")
        );
        Picture { svg, size }
    }

    /// The whole file.
    pub(super) fn finish(self) -> String {
        let [width, height] = self.size.map(mm);
        let ground = format!("<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n");
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" \
             height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" role=\"img\" font-family=\"sans-serif\" fill=\"#000\">\n{}</svg>\n",
            self.content(&ground)
        )
    }

    /// What it is, for those who do not see it, and all that is drawn on some ground.
    fn content(&self, ground: &str) -> String {
        let Self { title, about, body, .. } = self;
        format!("<title>{}</title>\n<desc>{}</desc>\n{ground}{body}", escape(title), escape(about))
    }
}

/// Places for labels that stand one below the other, as near as can be to where they belong, at least `apart` from each
/// other and within `low` to `high`. They come back in the order in which they were given.
pub(super) fn spread(wanted: &[f64], apart: f64, [low, high]: [f64; 2]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let mut places = wanted.to_vec();
    let mut least = low;
    for &i in &order {
        places[i] = places[i].max(least);
        least = places[i] + apart;
    }
    let mut most = high;
    for &i in order.iter().rev() {
        places[i] = places[i].min(most);
        most = places[i] - apart;
    }
    places
}

/// How many things of a breadth find room beside each other in a width; one always does.
pub(super) fn count_in(wide: f64, each: f64) -> usize {
    (1..=u16::MAX).take_while(|count| f64::from(*count) * each <= wide).last().map_or(1, usize::from)
}

/// A length on paper, to a hundredth of a mm.
fn mm(value: f64) -> String {
    super::number::fixed(value, 2)
}

fn shade(grey: u8) -> String {
    format!("#{grey:02x}{grey:02x}{grey:02x}")
}

/// Text as XML or HTML: what would be markup is escaped, what XML forbids is replaced.
pub(super) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => escaped += "&amp;",
            '<' => escaped += "&lt;",
            '>' => escaped += "&gt;",
            '"' => escaped += "&quot;",
            '\'' => escaped += "&apos;",
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => escaped.push('\u{fffd}'),
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::{escape, spread};

    #[test]
    fn no_text_is_markup() {
        assert_eq!(escape("a<b> & \"c\" 'd'\u{7}"), "a&lt;b&gt; &amp; &quot;c&quot; &apos;d&apos;\u{fffd}");
    }

    #[test]
    fn labels_keep_apart_and_inside() {
        assert_eq!(spread(&[10.0, 30.0], 4.0, [0.0, 50.0]), [10.0, 30.0]);
        assert_eq!(spread(&[11.0, 10.0, 10.5], 4.0, [0.0, 50.0]), [18.0, 10.0, 14.0]);
        assert_eq!(spread(&[49.0, 50.0], 4.0, [0.0, 50.0]), [46.0, 50.0]);
    }
}

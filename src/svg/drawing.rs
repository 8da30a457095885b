//! A drawing in the making: shapes, and texts whose boxes are known.

use crate::quantities::show::fixed;
use crate::svg::palette;
use crate::svg::text_width::{em, wrapped};

/// Which end of a text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle.
    Middle,
    /// It ends there.
    End,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// As usual.
    Plain,
    /// Lighter, for what explains.
    Soft,
    /// Bold, for what is looked for.
    Bold,
}

/// The room that a text takes.
#[derive(Debug, Clone, PartialEq)]
pub struct TextBox {
    /// The text.
    pub text: String,
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Width at most.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl TextBox {
    /// Whether two boxes share an area.
    #[must_use]
    pub fn overlaps(&self, other: &TextBox) -> bool {
        self.left < other.left + other.width
            && other.left < self.left + self.width
            && self.top < other.top + other.height
            && other.top < self.top + self.height
    }

    /// Whether it lies in a field: left, top, right, bottom.
    #[must_use]
    pub fn is_inside(&self, (left, top, right, bottom): (f64, f64, f64, f64)) -> bool {
        self.left >= left
            && self.top >= top
            && self.left + self.width <= right
            && self.top + self.height <= bottom
    }
}

/// Size of ordinary text, in the units of a drawing. A drawing is 400 wide (our choice), so that its text
/// can be read on a telephone.
pub const TEXT: f64 = 13.0;

/// Size of text on axes. Our choice.
pub const SMALL: f64 = 11.5;

/// Width of every drawing. Our choice: it stands on a telephone without being made smaller.
pub const WIDTH: f64 = 400.0;

/// Part of the font size above the line that letters stand on, and below: DejaVu Sans 2.37, from its
/// font file.
const ASCENT: f64 = 0.93;
const DESCENT: f64 = 0.24;

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    id: String,
    title: String,
    description: String,
    height: f64,
    body: String,
    texts: Vec<TextBox>,
}

/// So many, as a number to be measured with.
pub(crate) fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// A number of a drawing.
fn n(value: f64) -> String {
    let text = fixed(value, 2);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A text as it stands in markup.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

impl Drawing {
    /// An empty drawing; `id` is its own on a page, `description` says in words what it shows.
    #[must_use]
    pub fn new(id: &str, title: impl Into<String>, description: impl Into<String>) -> Self {
        Self {
            id: id.to_owned(),
            title: title.into(),
            description: description.into(),
            height: 0.0,
            body: String::new(),
            texts: Vec::new(),
        }
    }

    /// Makes it reach down to `bottom` at least.
    pub fn reach_down_to(&mut self, bottom: f64) {
        self.height = self.height.max(bottom);
    }

    /// Its height so far.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.height
    }

    /// Its title.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The texts on it, with the room that they take at most.
    #[must_use]
    pub fn texts(&self) -> &[TextBox] {
        &self.texts
    }

    /// Whether no text stands in a box.
    #[must_use]
    pub fn is_free(&self, room: &TextBox) -> bool {
        !self.texts.iter().any(|other| other.overlaps(room))
    }

    /// A straight line.
    pub fn line(&mut self, class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) {
        self.body.push_str(&format!(
            "<path class=\"{class}\" d=\"M{} {}L{} {}\"/>",
            n(x1),
            n(y1),
            n(x2),
            n(y2)
        ));
    }

    /// A line through points, closed or not.
    pub fn path(&mut self, class: &str, points: &[(f64, f64)], closed: bool) {
        let Some(((x, y), rest)) = points.split_first() else { return };
        let mut d = format!("M{} {}", n(*x), n(*y));
        for (x, y) in rest {
            d.push_str(&format!("L{} {}", n(*x), n(*y)));
        }
        if closed {
            d.push('Z');
        }
        self.body.push_str(&format!("<path class=\"{class}\" d=\"{d}\"/>"));
    }

    /// A rectangle by its left upper corner.
    pub fn rectangle(&mut self, class: &str, corner: (f64, f64), size: (f64, f64)) {
        self.styled(class, "", corner, size);
    }

    fn styled(
        &mut self,
        class: &str,
        style: &str,
        (x, y): (f64, f64),
        (width, height): (f64, f64),
    ) {
        self.body.push_str(&format!(
            "<rect class=\"{class}\"{style} x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            n(x),
            n(y),
            n(width.max(0.0)),
            n(height.max(0.0))
        ));
    }

    /// The same, seen through by a part of one.
    pub fn veil(&mut self, corner: (f64, f64), size: (f64, f64), opacity: f64) {
        let style = format!(" style=\"stroke:none;opacity:{}\"", n(opacity));
        self.styled("m1", &style, corner, size);
    }

    /// A point as a circle.
    pub fn circle(&mut self, class: &str, (x, y): (f64, f64), radius: f64) {
        self.body.push_str(&format!(
            "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            n(x),
            n(y),
            n(radius)
        ));
    }

    /// A point as a square that stands on a corner.
    pub fn diamond(&mut self, class: &str, (x, y): (f64, f64), radius: f64) {
        let r = radius * 1.25;
        self.path(class, &[(x, y - r), (x + r, y), (x, y + r), (x - r, y)], true);
    }

    /// A point as a triangle.
    pub fn triangle(&mut self, class: &str, (x, y): (f64, f64), radius: f64) {
        let r = radius * 1.2;
        self.path(class, &[(x, y - r), (x + r, y + 0.8 * r), (x - r, y + 0.8 * r)], true);
    }

    /// A point as a square.
    pub fn square(&mut self, class: &str, (x, y): (f64, f64), radius: f64) {
        let r = radius * 0.9;
        self.path(class, &[(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)], true);
    }

    /// A text on one line; `y` is the line that the letters stand on.
    pub fn text(&mut self, at: (f64, f64), size: f64, weight: Weight, anchor: Anchor, text: &str) {
        self.set("", at, size, weight, anchor, text);
    }

    /// A small text from the left, broken into lines that are at most so wide and `step` apart; gives where
    /// the next line would stand.
    pub fn wrapped(
        &mut self,
        (x, y): (f64, f64),
        (width, step): (f64, f64),
        weight: Weight,
        text: &str,
    ) -> f64 {
        wrapped(text, weight == Weight::Bold, width / SMALL).iter().fold(y, |y, line| {
            self.text((x, y), SMALL, weight, Anchor::Start, line);
            y + step
        })
    }

    /// A small text that lies over lines and stands out from them.
    pub fn text_over(&mut self, at: (f64, f64), weight: Weight, anchor: Anchor, text: &str) {
        self.set("over", at, SMALL, weight, anchor, text);
    }

    fn set(
        &mut self,
        class: &str,
        (x, y): (f64, f64),
        size: f64,
        weight: Weight,
        anchor: Anchor,
        text: &str,
    ) {
        if text.is_empty() {
            return;
        }
        let found = text_box((x, y), size, weight, anchor, text);
        self.reach_down_to(found.top + found.height);
        self.texts.push(found);
        let (soft, bold) = match weight {
            Weight::Plain => ("", ""),
            Weight::Soft => ("soft", ""),
            Weight::Bold => ("", " font-weight=\"600\""),
        };
        let class = format!("{class} {soft}");
        let class = match class.trim() {
            "" => String::new(),
            class => format!(" class=\"{class}\""),
        };
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        self.body.push_str(&format!(
            "<text{class} x=\"{}\" y=\"{}\" font-size=\"{}\"{bold}{anchor}>{}</text>",
            n(x),
            n(y),
            n(size),
            escaped(text)
        ));
    }

    fn opened(&self, more: &str) -> String {
        let id = &self.id;
        format!(
            "<svg {more}class=\"picture\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\" \
             viewBox=\"0 0 {} {}\"><title id=\"{id}-t\">{}</title><desc id=\"{id}-d\">{}</desc>",
            n(WIDTH),
            n(self.height + 4.0),
            escaped(&self.title),
            escaped(&self.description)
        )
    }

    /// The drawing as a part of a page, which brings the colours.
    #[must_use]
    pub fn inline(&self) -> String {
        format!("{}{}</svg>", self.opened(""), self.body)
    }

    /// The drawing as a file of its own.
    #[must_use]
    pub fn file(&self) -> String {
        format!(
            "<!-- {MARK} -->\n{}<style>{}.picture{{--face:{};background:var(--ground)}}{}</style>{}</svg>\n",
            self.opened("xmlns=\"http://www.w3.org/2000/svg\" "),
            palette::variables(".picture"),
            palette::FACE,
            palette::picture_rules(".picture"),
            self.body
        )
    }
}

/// What a file of this program says of itself, so that it may be replaced by a newer one.
pub const MARK: &str = "made by waterflight";

/// The room that a text takes at most.
#[must_use]
pub fn text_box(
    (x, y): (f64, f64),
    size: f64,
    weight: Weight,
    anchor: Anchor,
    text: &str,
) -> TextBox {
    let width = em(text, weight == Weight::Bold) * size;
    let left = match anchor {
        Anchor::Start => x,
        Anchor::Middle => x - width / 2.0,
        Anchor::End => x - width,
    };
    TextBox {
        text: text.to_owned(),
        left,
        top: y - ASCENT * size,
        width,
        height: (ASCENT + DESCENT) * size,
    }
}

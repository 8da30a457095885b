//! Waters on a map of two measures, with what a shelf can make and what others have published.

use crate::svg::drawing::{SMALL, TEXT, WIDTH, text_box};
use crate::svg::labels;
use crate::svg::levels::joined;
use crate::svg::plot::{Axis, Plot, clipped};
use crate::svg::text_width::wrapped;
use crate::svg::{Anchor, Drawing, Weight};

/// A water on the map.
#[derive(Debug, Clone, PartialEq)]
pub struct MapPoint {
    /// Its short label: a number or a letter.
    pub label: String,
    /// Its name.
    pub name: String,
    /// Where it is.
    pub at: (f64, f64),
    /// What it is.
    pub kind: PointKind,
}

/// What stands on the map.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PointKind {
    /// A water as wanted.
    Reached,
    /// The nearest there is to a goal.
    OutOfReach,
    /// A base water.
    Base,
    /// A water that is proposed.
    Proposed,
}

impl PointKind {
    fn words(self) -> &'static str {
        match self {
            PointKind::Reached => "water",
            PointKind::OutOfReach => "nearest to a water out of reach",
            PointKind::Base => "base water",
            PointKind::Proposed => "proposed",
        }
    }

    fn draw(self, drawing: &mut Drawing, at: (f64, f64)) {
        match self {
            PointKind::Reached => drawing.circle("m1", at, 4.5),
            PointKind::OutOfReach => drawing.circle("open", at, 4.5),
            PointKind::Base => drawing.square("m3", at, 5.0),
            PointKind::Proposed => drawing.diamond("m2", at, 5.0),
        }
    }
}

/// A published range: of one measure or of both.
#[derive(Debug, Clone, PartialEq)]
pub struct PublishedRange {
    /// Its short label.
    pub label: String,
    /// The document.
    pub source: String,
    /// On the axis to the right; nothing where the document says nothing of it.
    pub x: Option<(f64, f64)>,
    /// On the axis upward.
    pub y: Option<(f64, f64)>,
}

/// A line along which something is the same.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelLine {
    /// What it is, for the key.
    pub name: String,
    /// Its label on the map.
    pub label: String,
    /// What it is of.
    pub kind: LevelKind,
    /// Its pieces.
    pub pieces: Vec<[(f64, f64); 2]>,
}

/// What a line is of, which decides how it is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LevelKind {
    /// It parts water that forms limescale from water that dissolves it.
    Border,
    /// So much of something: limescale, liking.
    Amount,
    /// A limit of corrosion.
    Corrosion,
}

impl LevelKind {
    fn class(self) -> &'static str {
        match self {
            LevelKind::Border => "scale-0",
            LevelKind::Amount => "scale",
            LevelKind::Corrosion => "corrosion",
        }
    }
}

/// What the map shows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Map {
    /// To the right.
    pub x: String,
    /// Upward.
    pub y: String,
    /// The waters.
    pub points: Vec<MapPoint>,
    /// The corners of what the shelf can make, in order; empty where it is not known.
    pub region: Vec<(f64, f64)>,
    /// What others have published.
    pub published: Vec<PublishedRange>,
    /// Lines along which something is the same.
    pub lines: Vec<LevelLine>,
    /// Shades beneath all of it.
    pub shades: Vec<Shade>,
    /// What the shades mean; empty without any.
    pub shades_mean: String,
    /// Whether the axes hold zero.
    pub from_zero: bool,
}

/// A shaded cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Shade {
    /// Two opposite corners.
    pub corners: [(f64, f64); 2],
    /// How dark, 0 to 1.
    pub depth: f64,
}

/// The darkest shade: text on it can still be read. Our choice.
pub const DARKEST: f64 = 0.35;

/// Height of the field, our choice.
const FIELD: f64 = 300.0;

impl Map {
    /// The ends of the axes that hold the waters, with zero; nothing without waters.
    #[must_use]
    pub fn axes(&self) -> Option<(Axis, Axis)> {
        let zero = self.from_zero.then_some((0.0, 0.0));
        let shaded = self.shades.iter().flat_map(|s| s.corners);
        let all: Vec<(f64, f64)> =
            self.points.iter().map(|p| p.at).chain(zero).chain(shaded).collect();
        let x = Axis::holding(self.x.as_str(), all.iter().map(|p| p.0))?;
        Some((x, Axis::holding(self.y.as_str(), all.iter().map(|p| p.1))?))
    }

    /// Draws it; nothing without waters.
    #[must_use]
    pub fn draw(&self, id: &str, title: &str) -> Option<Drawing> {
        let (x, y) = self.axes()?;
        let named: Vec<String> = self.points.iter().map(|p| self.sentence(p)).collect();
        let mut drawing = Drawing::new(id, title, named.join("; "));
        let region = clipped(&self.region, &x, &y);
        let plot = Plot::new(x, y, FIELD);
        let corners: Vec<(f64, f64)> = region.iter().map(|p| plot.at(*p)).collect();
        drawing.path("reach", &corners, true);
        for shade in &self.shades {
            let [(x0, y0), (x1, y1)] = shade.corners.map(|corner| plot.at(corner));
            let size = ((x1 - x0).abs(), (y1 - y0).abs());
            drawing.veil((x0.min(x1), y0.min(y1)), size, shade.depth);
        }
        plot.draw(&mut drawing);
        let mut taken = drawing.texts().to_vec();
        for line in &self.lines {
            level(&mut drawing, &plot, line);
        }
        for range in &self.published {
            published(&mut drawing, &plot, range);
        }
        taken.extend(drawing.texts().iter().skip(taken.len()).cloned().collect::<Vec<_>>());
        let mut points = Vec::new();
        for point in &self.points {
            let at = plot.at(point.at);
            point.kind.draw(&mut drawing, at);
            points.push((at, point.label.clone()));
        }
        labels::draw(&mut drawing, &labels::placed(&points, plot.field, &taken));
        drawing.reach_down_to(plot.bottom());
        self.key(&mut drawing);
        Some(drawing)
    }

    fn sentence(&self, point: &MapPoint) -> String {
        use crate::quantities::show::three_figures;
        let (x, y) = point.at;
        format!(
            "{} {} ({}): {} {}, {} {}",
            point.label,
            point.name,
            point.kind.words(),
            self.x,
            three_figures(x),
            self.y,
            three_figures(y)
        )
    }

    /// What each mark is, under the field.
    fn key(&self, drawing: &mut Drawing) {
        let mut y = drawing.height() + 18.0;
        let column = WIDTH / 2.0;
        let kinds =
            [PointKind::Reached, PointKind::OutOfReach, PointKind::Base, PointKind::Proposed];
        for kind in kinds {
            let own: Vec<&MapPoint> = self.points.iter().filter(|p| p.kind == kind).collect();
            let Some(first) = own.first() else { continue };
            kind.draw(drawing, (8.0, y - 4.0));
            let words = if kind == PointKind::Reached { "waters" } else { first.kind.words() };
            drawing.text((20.0, y), SMALL, Weight::Soft, Anchor::Start, words);
            y += 18.0;
            let half = own.len().div_ceil(2);
            let columns = [own.get(..half), own.get(half..)];
            let mut lowest = y;
            for (n, names) in columns.into_iter().enumerate() {
                let left = if n == 0 { 4.0 } else { column + 4.0 };
                let mut at = y;
                for point in names.into_iter().flatten() {
                    drawing.text((left + 22.0, at), TEXT, Weight::Bold, Anchor::End, &point.label);
                    for text in wrapped(&point.name, false, (column - 36.0) / TEXT) {
                        drawing.text((left + 28.0, at), TEXT, Weight::Plain, Anchor::Start, &text);
                        at += 17.0;
                    }
                }
                lowest = f64::max(lowest, at);
            }
            y = lowest + 4.0;
        }
        if !self.region.is_empty() {
            drawing.rectangle("reach", (2.0, y - 10.0), (14.0, 11.0));
            y = explained(drawing, y, "what this shelf can make, by the planner");
        }
        if !self.shades_mean.is_empty() {
            drawing.veil((2.0, y - 10.0), (14.0, 11.0), DARKEST);
            y = explained(drawing, y, &self.shades_mean);
        }
        for line in &self.lines {
            drawing.line(line.kind.class(), (2.0, y - 4.0), (16.0, y - 4.0));
            y = explained(drawing, y, &line.name);
        }
        for range in &self.published {
            drawing.line("published", (2.0, y - 4.0), (16.0, y - 4.0));
            y = explained(drawing, y, &format!("{}: {}", range.label, range.source));
        }
        drawing.reach_down_to(y - 12.0);
    }
}

fn level(drawing: &mut Drawing, plot: &Plot, line: &LevelLine) {
    let class = line.kind.class();
    let inside = line.pieces.iter().filter(|[a, b]| plot.holds(*a) && plot.holds(*b));
    let pieces: Vec<[(f64, f64); 2]> = inside.map(|piece| piece.map(|p| plot.at(p))).collect();
    for path in joined(&pieces) {
        drawing.path(class, &path, false);
    }
    let mut ends: Vec<(f64, f64)> = pieces.into_iter().flatten().collect();
    // As far to the right as there is room for its label.
    ends.sort_by(|a, b| b.0.total_cmp(&a.0));
    let text = &line.label;
    let (left, top, right, _) = plot.field;
    let wide = crate::svg::text_width::em(text, false) * SMALL;
    for (x, y) in ends {
        let at = ((x - 4.0).min(right - 4.0).max(left + wide), (y - 5.0).max(top + 12.0));
        if drawing.is_free(&text_box(at, SMALL, Weight::Soft, Anchor::End, text)) {
            drawing.text_over(at, Weight::Soft, Anchor::End, text);
            return;
        }
    }
}

fn explained(drawing: &mut Drawing, y: f64, text: &str) -> f64 {
    drawing.wrapped((22.0, y), (WIDTH - 30.0, 15.0), Weight::Soft, text) + 3.0
}

fn published(drawing: &mut Drawing, plot: &Plot, range: &PublishedRange) {
    let (low_x, high_x) = plot.x.marks.ends;
    let (low_y, high_y) = plot.y.marks.ends;
    let cut = |ends: (f64, f64), low: f64, high: f64| (ends.0.max(low), ends.1.min(high));
    let xs = cut(range.x.unwrap_or((low_x, high_x)), low_x, high_x);
    let ys = cut(range.y.unwrap_or((low_y, high_y)), low_y, high_y);
    if xs.0 > xs.1 || ys.0 > ys.1 {
        return;
    }
    let sides = [
        (range.x, [(xs.0, ys.0), (xs.0, ys.1)], range.x.is_some_and(|r| r.0 >= low_x)),
        (range.x, [(xs.1, ys.0), (xs.1, ys.1)], range.x.is_some_and(|r| r.1 <= high_x)),
        (range.y, [(xs.0, ys.0), (xs.1, ys.0)], range.y.is_some_and(|r| r.0 >= low_y)),
        (range.y, [(xs.0, ys.1), (xs.1, ys.1)], range.y.is_some_and(|r| r.1 <= high_y)),
    ];
    for (_, [a, b], _) in sides.into_iter().filter(|(of, _, shown)| of.is_some() && *shown) {
        drawing.line("published", plot.at(a), plot.at(b));
    }
    let (x, y) = plot.at((xs.0, ys.1));
    for (dx, dy) in [(4.0, 12.0), (4.0, 26.0), (60.0, 12.0), (120.0, 12.0), (4.0, -4.0)] {
        let at = (x + dx, y + dy);
        let room = text_box(at, SMALL, Weight::Soft, Anchor::Start, &range.label);
        if room.is_inside(plot.field) && drawing.is_free(&room) {
            drawing.text_over(at, Weight::Soft, Anchor::Start, &range.label);
            return;
        }
    }
}

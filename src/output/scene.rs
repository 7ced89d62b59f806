//! One model of pictures for the report and the proof: marks in mm, y to the back; each writer turns it over as its format
//! asks.
//!
//! A scene says *what* a mark is (a sheet, a piece of layer 2, a seam), never how it looks: the writers know that. A shape
//! that is seen in several pictures is named by its number and stored once by the writer.

use crate::geometry::bounds::Bounds;
use crate::geometry::path::Path;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::transform::Pose;

/// What a mark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A sheet.
    Sheet,
    /// What cannot be used of it.
    Defect,
    /// A leftover worth keeping.
    Remnant,
    /// A piece or a layer; the number chooses colour, hatch and dashes (layers first, then parts).
    Tint(usize),
    /// The outline of the fixture or of a layer.
    Outline,
    /// A pocket.
    Pocket,
    /// The item that a pocket holds.
    Blank,
    /// A screw's hole, its relief, an opening.
    Hole,
    /// A screw.
    Screw,
    /// A seam.
    Seam,
    /// The bed.
    Bed,
    /// The datum cross.
    Datum,
    /// A line that is measured: dimensions, scales.
    Measure,
    /// Ticks, crop marks, what is there for reference only.
    Fine,
}

/// What is drawn.
#[derive(Clone, Debug)]
pub(crate) enum Draw {
    /// An area with its holes.
    Area(Region),
    /// A shape of the writer's store by its number, in a pose.
    Shared(usize, Pose),
    /// An open line.
    Line(Path),
    /// A straight line.
    Stroke(Point, Point),
    /// Text about its middle.
    Text(Text),
}

/// Text in a picture.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Text {
    /// Its middle.
    pub(crate) at: Point,
    /// Height of the letters' line.
    pub(crate) height: f64,
    /// Whether it runs to the back instead of to the right.
    pub(crate) upright: bool,
    /// What it says.
    pub(crate) words: String,
}

/// A mark.
#[derive(Clone, Debug)]
pub(crate) struct Mark {
    /// What it is.
    pub(crate) kind: Kind,
    /// What is drawn.
    pub(crate) draw: Draw,
}

/// A picture.
#[derive(Clone, Debug)]
pub(crate) struct Scene {
    /// What is seen, in mm.
    pub(crate) frame: Bounds,
    /// Back to front.
    pub(crate) marks: Vec<Mark>,
}

impl Scene {
    /// An empty picture of a frame.
    pub(crate) fn new(frame: Bounds) -> Self {
        Self {
            frame,
            marks: Vec::new(),
        }
    }

    /// Adds a mark.
    pub(crate) fn add(&mut self, kind: Kind, draw: Draw) {
        self.marks.push(Mark { kind, draw });
    }

    /// Adds areas of one kind.
    pub(crate) fn areas<'a>(&mut self, kind: Kind, regions: impl IntoIterator<Item = &'a Region>) {
        for region in regions {
            self.add(kind, Draw::Area(region.clone()));
        }
    }

    /// Adds a straight line.
    pub(crate) fn stroke(&mut self, kind: Kind, from: Point, to: Point) {
        self.add(kind, Draw::Stroke(from, to));
    }

    /// Adds text that runs to the right.
    pub(crate) fn text(&mut self, kind: Kind, at: Point, height: f64, words: impl Into<String>) {
        let words = words.into();
        self.add(
            kind,
            Draw::Text(Text {
                at,
                height,
                upright: false,
                words,
            }),
        );
    }

    /// Adds text that runs to the back.
    pub(crate) fn upright(&mut self, kind: Kind, at: Point, height: f64, words: impl Into<String>) {
        let words = words.into();
        self.add(
            kind,
            Draw::Text(Text {
                at,
                height,
                upright: true,
                words,
            }),
        );
    }

    /// Adds a line with ticks at its ends and words beside it, for measuring or as a dimension.
    pub(crate) fn measure(&mut self, from: Point, to: Point, height: f64, words: String) {
        let across = (to - from).unit().left();
        self.stroke(Kind::Measure, from, to);
        for end in [from, to] {
            let tick = across * (height * 0.45);
            self.stroke(Kind::Measure, end - tick, end + tick);
        }
        let middle = from.toward(to, 0.5);
        let beside = height * 0.8;
        if (to - from).x.abs() >= (to - from).y.abs() {
            self.text(
                Kind::Measure,
                middle + Point::new(0.0, beside),
                height,
                words,
            );
        } else {
            self.upright(
                Kind::Measure,
                middle - Point::new(beside, 0.0),
                height,
                words,
            );
        }
    }
}

/// How wide text of a height is at most: a letter of the usual sans-serif faces measures 0.6 of the height on average.
pub(crate) fn text_width(words: &str, height: f64) -> f64 {
    0.6 * height * words.chars().count() as f64
}

//! Engraved marks: a piece's id, and an arrow toward the datum corner.
//!
//! In: a finished piece, its text, the datum in the piece's frame. Out: open lines in the sheet's frame.
//!
//! Steps: among the clear boxes of the piece the one is taken in which the mark is highest (at most as high as asked, in
//! a row or turned by a quarter), of equals the largest; the mark stands in its middle. The letters read from the side
//! that lies up on the sheet, so on a piece that is cut face down they stand on its back, and are not mirrored; the arrow
//! points to the datum corner as the piece lies in the finished fixture.
//!
//! Guarantees: the lines keep `CLEAR` from every edge of the piece. What is too small for letters of `LEAST` gets no
//! mark.

use crate::cut::font;
use crate::geometry::{
    bounds::Bounds, clear_box::ClearSpace, edge::Edge, path::Path, point::Point, region::Region,
    transform::Pose,
};
use crate::model::source::SourceKind;

/// From a mark to an edge in mm: more than the charred or melted rim of a laser cut.
const CLEAR: f64 = 1.0;

/// Least height of letters in mm that can be read once engraved.
const LEAST: f64 = 1.5;

/// From the arrow to the letters, in grid units of the font.
const GAP: f64 = 2.5;

/// A mark to place.
pub(crate) struct Mark<'a> {
    /// The letters.
    pub(crate) text: &'a str,
    /// Where the arrow points, piece's frame; `None` for no arrow.
    pub(crate) toward: Option<Point>,
    /// Height asked for.
    pub(crate) height: f64,
}

/// The lines of a mark; empty where there is no room for it.
pub(crate) fn lines(finished: &Region, pose: Pose, mark: &Mark) -> Vec<Path> {
    let width = mark.toward.map_or(0.0, |_| font::HEIGHT + GAP) + font::width(mark.text);
    let size = |b: Bounds, turned: bool| {
        let (along, across) = if turned {
            (b.depth(), b.width())
        } else {
            (b.width(), b.depth())
        };
        (across / font::HEIGHT)
            .min(along / width)
            .min(mark.height / font::HEIGHT)
    };
    let space = ClearSpace::new(std::slice::from_ref(finished), CLEAR, &[], 0.0);
    let mut best: Option<(f64, f64, bool, Bounds)> = None;
    space.each_maximal(|b| {
        for turned in [false, true] {
            let (scale, area) = (size(b, turned), b.width() * b.depth());
            if best
                .is_none_or(|(s, a, t, _)| scale > s || (scale == s && (turned, -area) < (t, -a)))
            {
                best = Some((scale, area, turned, b));
            }
        }
    });
    let Some((scale, _, turned, place)) = best else {
        return Vec::new();
    };
    if scale * font::HEIGHT < LEAST.min(mark.height) {
        return Vec::new();
    }
    let up = pose.turn(if turned {
        Point::new(-1.0, 0.0)
    } else {
        Point::new(0.0, 1.0)
    });
    let frame = Frame {
        middle: pose.apply(place.center()),
        right: -up.left(),
        up,
        scale,
        width,
    };
    let mut drawn = Vec::new();
    let mut left = 0.0;
    if let Some(toward) = mark.toward {
        let way = pose.turn(toward - place.center());
        drawn.extend(arrow(
            Point::new(way.dot(frame.right), way.dot(frame.up)).unit(),
        ));
        left = font::HEIGHT + GAP;
    }
    drawn.extend(
        font::strokes(mark.text)
            .into_iter()
            .map(|s| s.into_iter().map(|p| p + Point::new(left, 0.0)).collect()),
    );
    drawn
        .iter()
        .filter_map(|stroke| frame.path(stroke))
        .collect()
}

/// An arrow in a square as large as a letter is high.
fn arrow(way: Point) -> Vec<Vec<Point>> {
    let reach = font::HEIGHT / 2.0;
    let middle = Point::new(reach, reach);
    let (tip, tail) = (middle + way * reach, middle - way * reach);
    let barb = |side: f64| tip - way * 2.0 + way.left() * (1.2 * side);
    vec![vec![tail, tip], vec![barb(1.0), tip, barb(-1.0)]]
}

/// Where the font's grid lies on the sheet.
struct Frame {
    middle: Point,
    right: Point,
    up: Point,
    scale: f64,
    width: f64,
}

impl Frame {
    fn path(&self, stroke: &[Point]) -> Option<Path> {
        let place = |p: &Point| {
            let q = (*p - Point::new(self.width / 2.0, font::HEIGHT / 2.0)) * self.scale;
            self.middle + self.right * q.x + self.up * q.y
        };
        let points: Vec<Point> = stroke.iter().map(place).collect();
        Path::new(
            points
                .windows(2)
                .map(|w| Edge::line(w[0], w[1], SourceKind::Drawn.id(0)))
                .collect(),
        )
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop where it fails")]
mod tests {
    use super::*;
    use crate::geometry::{edge::SourceId, ring::Ring, transform::Rotation};

    fn plate(w: f64, h: f64, holes: Vec<Ring>) -> Region {
        Region::new(
            Ring::rounded_box(
                Bounds::new(Point::new(0.0, 0.0), Point::new(w, h)),
                0.0,
                SourceId(0),
            ),
            holes,
        )
    }

    fn box_of(paths: &[Path]) -> Bounds {
        paths.iter().fold(Bounds::EMPTY, |b, p| b.join(p.bounds()))
    }

    #[test]
    fn a_mark_has_the_height_asked_for_where_there_is_room() {
        let mark = Mark {
            text: "BASE-1",
            toward: None,
            height: 6.0,
        };
        let b = box_of(&lines(
            &plate(200.0, 100.0, Vec::new()),
            Pose::IDENTITY,
            &mark,
        ));
        // By hand: six letters, 5 · 5.5 + 4 wide less what the 1 does not fill on its right (it reaches 3 of 4); about (100, 50).
        let (low, high) = (
            Point::new(100.0 - 31.5 / 2.0, 47.0),
            Point::new(100.0 + 31.5 / 2.0 - 1.0, 53.0),
        );
        assert!(
            b.min.distance(low) < 1e-12 && b.max.distance(high) < 1e-12,
            "{b:?}: rounding of a few sums near 100"
        );
    }

    #[test]
    fn in_a_narrow_web_it_shrinks_or_turns_and_too_small_a_piece_has_none() {
        let mark = Mark {
            text: "A-1",
            toward: Some(Point::new(-100.0, 0.0)),
            height: 6.0,
        };
        let tall = box_of(&lines(
            &plate(8.0, 100.0, Vec::new()),
            Pose::IDENTITY,
            &mark,
        ));
        assert!(
            tall.depth() > tall.width() && tall.min.x >= 1.0 && tall.max.x <= 7.0,
            "{tall:?}"
        );
        let low = box_of(&lines(
            &plate(100.0, 5.0, Vec::new()),
            Pose::IDENTITY,
            &mark,
        ));
        assert!(
            low.min.y >= 1.0 - 1e-12 && low.max.y <= 4.0 + 1e-12,
            "{low:?}: 5 less 1 on both sides"
        );
        assert!(lines(&plate(3.0, 3.0, Vec::new()), Pose::IDENTITY, &mark).is_empty());
    }

    #[test]
    fn it_stays_off_holes() {
        let hole = Ring::circle(Point::new(50.0, 30.0), 25.0, SourceId(0));
        let mark = Mark {
            text: "RIM-12",
            toward: Some(Point::new(0.0, 0.0)),
            height: 6.0,
        };
        for path in lines(&plate(100.0, 60.0, vec![hole]), Pose::IDENTITY, &mark) {
            for p in path.flatten(0.01) {
                assert!(
                    p.distance(Point::new(50.0, 30.0)) > 26.0 - 1e-9
                        && p.x > 1.0
                        && p.x < 99.0
                        && p.y > 1.0
                        && p.y < 59.0,
                    "{p:?}"
                );
            }
        }
    }

    #[test]
    fn letters_read_the_same_on_a_piece_that_lies_face_down() {
        let piece = plate(200.0, 100.0, Vec::new());
        let mark = Mark {
            text: "L",
            toward: None,
            height: 6.0,
        };
        let down = Pose {
            mirrored: true,
            rotation: Rotation::NONE,
            shift: Point::new(200.0, 0.0),
        };
        let (up, down) = (
            lines(&piece, Pose::IDENTITY, &mark),
            lines(&piece, down, &mark),
        );
        // A mirrored L would have its foot to the left. The plate is symmetric, so both lie at one place.
        for (a, b) in up[0].edges().iter().zip(down[0].edges()) {
            assert!(
                a.start.distance(b.start) < 1e-12 && a.end.distance(b.end) < 1e-12,
                "rounding near 100"
            );
        }
    }

    #[test]
    fn the_arrow_points_to_the_datum_in_the_fixture_however_the_piece_lies() {
        let piece = plate(200.0, 100.0, Vec::new());
        let datum = Point::new(-300.0, -150.0);
        for (mirrored, deg) in [(false, 0.0), (false, 90.0), (true, 0.0), (true, 270.0)] {
            let pose = Pose {
                mirrored,
                rotation: Rotation::from_degrees(deg),
                shift: Point::new(500.0, 400.0),
            };
            let drawn = lines(
                &piece,
                pose,
                &Mark {
                    text: "A",
                    toward: Some(datum),
                    height: 6.0,
                },
            );
            let shaft = (pose.undo(drawn[0].end()) - pose.undo(drawn[0].start())).unit();
            let want = (datum - Point::new(100.0, 50.0)).unit();
            assert!(
                shaft.distance(want) < 1e-12,
                "{mirrored} {deg}: rounding of a unit vector"
            );
        }
    }
}

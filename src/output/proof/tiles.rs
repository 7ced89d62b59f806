//! The face on pages of paper.
//!
//! The first page tells how to use the proof, with a cross of two measured lines and a map of the tiles; then comes a tile a
//! page, row by row from the back, as they lie on the bed. Rows have letters, columns numbers: `B2`. Tiles overlap by
//! [`OVERLAP`]; each has crop marks, arrows with its neighbours' names, and a measured line each way. Tiles that show
//! nothing are left out and crossed on the map.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::units::MM_PER_INCH;
use crate::output::options::{Options, Paper};
use crate::output::proof::MEASURED;
use crate::output::proof::pdf::text_width;
use crate::output::scene::{Draw, Kind, Mark, Scene};

/// How far neighbouring tiles overlap: less cannot be taped true (common practice, no source).
const OVERLAP: f64 = 10.0;
/// Strip below a tile for its line, its name and the title.
const FOOT: f64 = 14.0;
/// Strip left of a tile for its line.
const SIDE: f64 = 9.0;
/// No more tiles than this: a proof of more goes on one page as large as the fixture.
const MOST_TILES: f64 = 600.0;
/// Size of running text on a page.
const BODY: f64 = 3.8;

/// A page in mm, its origin at the front left.
pub(super) struct Page {
    /// Width and height of the paper.
    pub(super) paper: [f64; 2],
    /// What is left when the page is cut along its marks.
    pub(super) trim: Bounds,
    /// The part of the face that is seen, where its front left corner lies on the page, and at which scale.
    pub(super) view: (Bounds, Point, f64),
    /// The page's own marks.
    pub(super) own: Scene,
}

/// Width and height of a paper; none for one page as large as the fixture.
pub(super) fn paper_size(paper: Paper) -> Option<[f64; 2]> {
    match paper {
        Paper::A4 => Some([210.0, 297.0]),
        Paper::A3 => Some([297.0, 420.0]),
        Paper::Letter => Some([8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH]),
        Paper::Bed => None,
    }
}

/// One page as large as the scene.
pub(super) fn whole(scene: &Scene) -> Page {
    let paper = [scene.frame.width(), scene.frame.depth()];
    let sheet = Bounds::new(Point::new(0.0, 0.0), Point::new(paper[0], paper[1]));
    Page {
        paper,
        trim: sheet,
        view: (scene.frame, Point::new(0.0, 0.0), 1.0),
        own: Scene::new(sheet),
    }
}

/// How the face is cut into tiles.
struct Grid {
    /// The paper's sides.
    paper: [f64; 2],
    /// Where a tile lies on its page.
    place: Bounds,
    columns: usize,
    rows: usize,
    /// The face's frame, grown to whole tiles.
    frame: Bounds,
}

impl Grid {
    /// The part of the face that a tile shows.
    fn part(&self, column: usize, row: usize) -> Bounds {
        let (w, d) = (self.place.width(), self.place.depth());
        let left = self.frame.min.x + column as f64 * (w - OVERLAP);
        let back = self.frame.max.y - row as f64 * (d - OVERLAP);
        Bounds::new(Point::new(left, back - d), Point::new(left + w, back))
    }
}

/// The face and its pages; none where there would be too many.
pub(super) fn tiled(
    scene: Scene,
    paper: [f64; 2],
    options: &Options,
    title: &str,
) -> Option<(Scene, Vec<Page>)> {
    let grid = grid(&scene, paper, options.paper_margin)?;
    let tiles = (0..grid.rows).flat_map(|row| (0..grid.columns).map(move |column| (column, row)));
    let shown: Vec<(usize, usize)> = tiles
        .filter(|&(column, row)| {
            let part = grid.part(column, row);
            scene.marks.iter().any(|m| reaches(m, part))
        })
        .collect();
    let mut pages = vec![first_page(&grid, options, title, &shown)];
    for &tile in &shown {
        pages.push(tile_page(&grid, tile, &shown, title));
    }
    Some((scene, pages))
}

fn grid(scene: &Scene, paper: [f64; 2], margin: f64) -> Option<Grid> {
    // A margin that leaves less than half of the paper is held to that half.
    let margin = margin.clamp(0.0, paper[0] / 4.0);
    let place = Bounds::new(
        Point::new(margin + SIDE, margin + FOOT),
        Point::new(paper[0] - margin, paper[1] - margin),
    );
    let count = |extent: f64, room: f64| {
        ((extent - OVERLAP) / (room - OVERLAP) - 1e-9)
            .ceil()
            .max(1.0)
    };
    let columns = count(scene.frame.width(), place.width());
    let rows = count(scene.frame.depth(), place.depth());
    if columns * rows > MOST_TILES {
        return None;
    }
    let size = [
        columns * (place.width() - OVERLAP) + OVERLAP,
        rows * (place.depth() - OVERLAP) + OVERLAP,
    ];
    let half = Point::new(size[0] / 2.0, size[1] / 2.0);
    let middle = scene.frame.center();
    Some(Grid {
        paper,
        place,
        columns: columns as usize,
        rows: rows as usize,
        frame: Bounds::new(middle - half, middle + half),
    })
}

/// Whether a mark may be seen on a part of the face.
pub(super) fn reaches(mark: &Mark, part: Bounds) -> bool {
    match &mark.draw {
        Draw::Area(region) => region.edges().any(|e| e.bounds().touches(part)),
        Draw::Line(path) => path.edges().iter().any(|e| e.bounds().touches(part)),
        Draw::Stroke(a, b) => Bounds::of_points([*a, *b]).touches(part),
        Draw::Text(text) => Bounds::of_points([text.at])
            .grown(text.height * (1.0 + text.words.len() as f64))
            .touches(part),
        Draw::Shared(..) => false,
    }
}

/// The name of a tile: a letter (or more) for its row from the back, a number for its column from the left.
fn tile_name((column, row): (usize, usize)) -> String {
    let mut letters = String::new();
    let mut rest = row + 1;
    while rest > 0 {
        rest -= 1;
        letters.insert(0, char::from(b'A' + (rest % 26) as u8));
        rest /= 26;
    }
    format!("{letters}{}", column + 1)
}

/// Words that begin at a point.
fn words(scene: &mut Scene, at: Point, height: f64, text: &str) {
    let middle = at + Point::new(text_width(text, height) / 2.0, 0.0);
    scene.text(Kind::Fine, middle, height, text);
}

fn measured(scene: &mut Scene, from: Point, way: Point, length: f64) {
    scene.measure(from, from + way * length, 3.4, format!("{length} mm"));
}

// ---- a tile ---------------------------------------------------------------------------------------------------------

fn tile_page(grid: &Grid, tile: (usize, usize), shown: &[(usize, usize)], title: &str) -> Page {
    let paper = Bounds::new(
        Point::new(0.0, 0.0),
        Point::new(grid.paper[0], grid.paper[1]),
    );
    let place = grid.place;
    let mut own = Scene::new(paper);
    crop_marks(&mut own, place);
    neighbours(&mut own, grid, tile, shown);
    let foot = place.min - Point::new(0.0, FOOT);
    let line = Point::new(place.min.x, foot.y + 3.0);
    measured(&mut own, line, Point::new(1.0, 0.0), MEASURED);
    let line = Point::new(place.min.x - SIDE + 6.0, place.min.y + 6.0);
    measured(&mut own, line, Point::new(0.0, 1.0), MEASURED);
    let name = tile_name(tile);
    let right = place.max.x - text_width(&name, 8.0);
    words(&mut own, Point::new(right, foot.y + 5.0), 8.0, &name);
    let room = right - line.x - MEASURED - 14.0;
    let note = fitted(title, 3.0, room);
    words(
        &mut own,
        Point::new(place.min.x + MEASURED + 5.0, foot.y + 3.0),
        3.0,
        &note,
    );
    Page {
        paper: grid.paper,
        trim: place,
        view: (grid.part(tile.0, tile.1), place.min, 1.0),
        own,
    }
}

/// A text cut short so that it is no wider than the room.
fn fitted(text: &str, height: f64, room: f64) -> String {
    let mut text = text.to_owned();
    while text_width(&text, height) > room && text.pop().is_some() {}
    text
}

fn crop_marks(scene: &mut Scene, place: Bounds) {
    for (x, outward) in [(place.min.x, -1.0), (place.max.x, 1.0)] {
        for (y, away) in [(place.min.y, -1.0), (place.max.y, 1.0)] {
            let (near, far) = (1.0, 6.0);
            let h = |d: f64| Point::new(x + outward * d, y);
            let v = |d: f64| Point::new(x, y + away * d);
            scene.stroke(Kind::Fine, h(near), h(far));
            scene.stroke(Kind::Fine, v(near), v(far));
        }
    }
}

/// Beside each edge, an arrow to the tile that comes there: outside the tile where the margin has room for it, else in the
/// overlap.
fn neighbours(scene: &mut Scene, grid: &Grid, tile: (usize, usize), shown: &[(usize, usize)]) {
    let (place, (column, row)) = (grid.place, tile);
    // Clear of the measured lines, which take the first 100 mm from the front left corner.
    let x = place.min.x + 0.72 * place.width();
    let y = place.min.y + 0.8 * place.depth();
    let (left, right) = (Point::new(-1.0, 0.0), Point::new(1.0, 0.0));
    let (back, front) = (Point::new(0.0, 1.0), Point::new(0.0, -1.0));
    let before = |k: usize| k.checked_sub(1);
    let sides = [
        (
            before(column).map(|c| (c, row)),
            Point::new(place.min.x, y),
            left,
        ),
        (Some((column + 1, row)), Point::new(place.max.x, y), right),
        (
            before(row).map(|r| (column, r)),
            Point::new(x, place.max.y),
            back,
        ),
        (Some((column, row + 1)), Point::new(x, place.min.y), front),
    ];
    for (other, edge, way) in sides {
        let Some(other) = other.filter(|o| shown.contains(o)) else {
            continue;
        };
        let room = match way {
            w if w == right => grid.paper[0] - place.max.x,
            w if w == back => grid.paper[1] - place.max.y,
            _ => SIDE,
        };
        let tail = if room >= 8.0 {
            edge + way * 1.5
        } else {
            edge - way * 6.0
        };
        arrow(scene, tail, way);
        let along = Point::new(way.y.abs() * 6.0, way.x.abs() * 4.5);
        scene.text(
            Kind::Measure,
            tail + way * 2.0 + along,
            3.4,
            tile_name(other),
        );
    }
}

fn arrow(scene: &mut Scene, tail: Point, way: Point) {
    let tip = tail + way * 4.0;
    let barb = way.left() * 1.2;
    scene.stroke(Kind::Measure, tail, tip);
    scene.stroke(Kind::Measure, tip - way * 1.8 + barb, tip);
    scene.stroke(Kind::Measure, tip - way * 1.8 - barb, tip);
}

// ---- the first page -------------------------------------------------------------------------------------------------

fn first_page(grid: &Grid, options: &Options, title: &str, shown: &[(usize, usize)]) -> Page {
    let [width, height] = grid.paper;
    let paper = Bounds::new(Point::new(0.0, 0.0), Point::new(width, height));
    let margin = options.paper_margin.clamp(8.0, width / 4.0);
    let mut own = Scene::new(paper);
    let foot = instructions(&mut own, paper, margin, title, shown.len());
    // The cross, its middle as far below the text as its arm reaches and a little more.
    let half = MEASURED / 2.0;
    let middle = Point::new(width / 2.0, foot - half - 6.0);
    let (right, back) = (Point::new(1.0, 0.0), Point::new(0.0, 1.0));
    cross_line(&mut own, middle, right);
    cross_line(&mut own, middle, back);
    let room = Bounds::new(
        Point::new(margin, margin),
        Point::new(width - margin, middle.y - half - 8.0),
    );
    let view = map(&mut own, grid, shown, room);
    Page {
        paper: grid.paper,
        trim: paper,
        view,
        own,
    }
}

/// A measured line through a middle, its words beside one arm, clear of the other line.
fn cross_line(scene: &mut Scene, middle: Point, way: Point) {
    let half = MEASURED / 2.0;
    let (from, to) = (middle - way * half, middle + way * half);
    scene.stroke(Kind::Measure, from, to);
    for end in [from, to] {
        let tick = way.left() * 2.5;
        scene.stroke(Kind::Measure, end - tick, end + tick);
    }
    let text = format!("{MEASURED} mm");
    let at = middle + way * (half * 0.5);
    if way.y == 0.0 {
        scene.text(Kind::Measure, at + Point::new(0.0, 3.4), 4.0, text);
    } else {
        scene.upright(Kind::Measure, at - Point::new(3.4, 0.0), 4.0, text);
    }
}

/// The words of the first page; gives the height at which they end.
fn instructions(scene: &mut Scene, paper: Bounds, margin: f64, title: &str, tiles: usize) -> f64 {
    let left = margin;
    let room = paper.width() - 2.0 * margin;
    let mut y = paper.max.y - margin - 4.0;
    words(
        scene,
        Point::new(left, y),
        7.0,
        &fitted(&format!("Proof at 1:1  {title}"), 7.0, room),
    );
    y -= 9.0;
    let pages = format!("{tiles} {}", if tiles == 1 { "tile" } else { "tiles" });
    let lines = [
        "1  Print this page alone, at 100 %, with every kind of fitting to the page switched off.".to_owned(),
        "2  Measure both lines of the cross. Each must be 100.0 mm long; if not, mend the printer's settings first.".to_owned(),
        format!("3  Print the other pages ({pages}). A row has a letter, counted from the back; a column a number."),
        "4  Cut two sides of a tile along its marks, lay it over its neighbour's overlap of 10 mm so that lines meet, tape.".to_owned(),
        "5  Lay the proof on the bed, the heavy cross on the datum corner. Check pockets, screws, and that it is not turned.".to_owned(),
        "Full lines: open in the face. Thin: open below it. Dashed: seams of the face.".to_owned(),
        "Paper moves by up to 0.4 %: a proof shows pattern and orientation, not registration.".to_owned(),
    ];
    // Where the paper is narrow, letters give way.
    let widest = lines
        .iter()
        .map(|l| text_width(l, BODY))
        .fold(1.0, f64::max);
    let size = BODY * (room / widest).min(1.0);
    for line in &lines {
        words(scene, Point::new(left, y), size, line);
        y -= 1.55 * size;
    }
    y
}

/// The tiles side by side with the face small in them; gives the view of the face.
fn map(
    scene: &mut Scene,
    grid: &Grid,
    shown: &[(usize, usize)],
    room: Bounds,
) -> (Bounds, Point, f64) {
    let whole = grid.frame;
    let scale = (room.width() / whole.width())
        .min(room.depth() / whole.depth())
        .max(1e-3);
    let size = Point::new(whole.width(), whole.depth()) * scale;
    let origin = Point::new(room.center().x - size.x / 2.0, room.max.y - size.y);
    let place = |p: Point| origin + (p - whole.min) * scale;
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let part = grid.part(column, row);
            let (a, c) = (place(part.min), place(part.max));
            let (b, d) = (Point::new(c.x, a.y), Point::new(a.x, c.y));
            for (from, to) in [(a, b), (b, c), (c, d), (d, a)] {
                scene.stroke(Kind::Fine, from, to);
            }
            if shown.contains(&(column, row)) {
                let height = (part.depth() * scale / 4.0).clamp(2.0, 6.0);
                scene.text(
                    Kind::Measure,
                    a.toward(c, 0.5),
                    height,
                    tile_name((column, row)),
                );
            } else {
                scene.stroke(Kind::Fine, a, c);
                scene.stroke(Kind::Fine, b, d);
            }
        }
    }
    (whole, origin, scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_are_named_by_row_letter_and_column_number() {
        // By hand; letters go on as A … Z, AA.
        assert_eq!(tile_name((0, 0)), "A1");
        assert_eq!(tile_name((1, 1)), "B2");
        assert_eq!(tile_name((9, 25)), "Z10");
        assert_eq!(tile_name((0, 26)), "AA1");
        assert_eq!(tile_name((0, 52)), "BA1");
    }

    #[test]
    fn every_point_of_the_face_lies_on_a_tile_and_neighbours_share_the_overlap() {
        for size in [[60.0, 40.0], [400.0, 300.0], [1_500.0, 900.0]] {
            for margin in [0.0, 12.0, 60.0] {
                let frame = Bounds::new(
                    Point::new(-7.0, 3.0),
                    Point::new(size[0] - 7.0, size[1] + 3.0),
                );
                let scene = Scene::new(frame);
                let Some(grid) = grid(&scene, [210.0, 297.0], margin) else {
                    panic!("too many tiles");
                };
                let first = grid.part(0, 0);
                let last = grid.part(grid.columns - 1, grid.rows - 1);
                let near = 1e-9; // rounding of sums of some hundreds
                assert!(first.min.x <= frame.min.x + near && first.max.y >= frame.max.y - near);
                assert!(last.max.x >= frame.max.x - near && last.min.y <= frame.min.y + near);
                if grid.columns > 1 {
                    let next = grid.part(1, 0);
                    let shared = first.max.x - next.min.x;
                    assert!((shared - OVERLAP).abs() < near, "{shared}");
                }
                if grid.rows > 1 {
                    let next = grid.part(0, 1);
                    let shared = next.max.y - first.min.y;
                    assert!((shared - OVERLAP).abs() < near, "{shared}");
                }
            }
        }
    }
}

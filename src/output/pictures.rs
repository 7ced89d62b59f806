//! The scenes of a plan: each sheet, each layer with its seams, all seams seen through, the fixture on its bed, the stack
//! from the side, and the face at 1:1.
//!
//! `u` is how many mm one pixel shows at the size for which a picture is meant: letters and ticks are so many pixels high
//! whatever is drawn.

use std::collections::{BTreeMap, BTreeSet};

use crate::format::number;
use crate::geometry::bounds::Bounds;
use crate::geometry::clear_box::ClearSpace;
use crate::geometry::label;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::transform::Pose;
use crate::model::fixture::Setup;
use crate::model::layer::Hole;
use crate::model::piece::Owner;
use crate::model::plan::Plan;
use crate::model::source::SourceKind;
use crate::output::scene::{Draw, Kind, Scene, Text, text_width};

/// Height of a label, in pixels.
const LABEL: f64 = 16.0;
/// A label that fits nowhere is drawn this high all the same, across its piece's edge: it must be read.
const LEAST_LABEL: f64 = 8.0;
/// Height of figures at ticks and dimensions, in pixels.
const FIGURES: f64 = 12.0;
/// Room around a sheet for ticks and their figures, in pixels.
const RULER: f64 = 30.0;
/// How much of a roll is shown beyond what is used, in mm.
const BEYOND_USE: f64 = 150.0;

/// The number that chooses a piece's colour and hatch: its layer's place, or that of its part after all layers.
pub(crate) fn tint(plan: &Plan, piece: usize) -> usize {
    match plan.pieces[piece].owner {
        Owner::Layer { layer, .. } => layer,
        Owner::Part { part } => plan.fixture.layers.len() + part,
    }
}

/// The number of the stored shape that a piece has: its own place, or that of the first piece of its part.
pub(crate) fn shape_of(plan: &Plan, piece: usize) -> usize {
    match plan.pieces[piece].owner {
        Owner::Layer { .. } => piece,
        owner @ Owner::Part { .. } => {
            let first = plan.pieces.iter().position(|p| p.owner == owner);
            first.unwrap_or(piece)
        }
    }
}

/// The numbers of all stored shapes; each is the finished shape of the piece of that place.
pub(crate) fn shapes(plan: &Plan) -> BTreeSet<usize> {
    (0..plan.pieces.len()).map(|k| shape_of(plan, k)).collect()
}

/// A piece's finished shape on its sheet, by its placement.
pub(crate) fn laid(plan: &Plan, placement: usize) -> Region {
    let p = &plan.placements[placement];
    plan.pieces[p.piece].finished.posed(p.pose)
}

fn block(min: Point, max: Point) -> Region {
    let ring = Ring::rounded_box(Bounds::new(min, max), 0.0, SourceKind::Sheet.id(0));
    Region::solid(ring)
}

/// What two decimals say, without zeros at the end.
fn mm(value: f64) -> String {
    number::number(value, 2)
}

// ---- sheets ---------------------------------------------------------------------------------------------------------

/// What is seen of a used sheet: all of it, of a roll as far as it is used and a little more.
pub(crate) fn sheet_bounds(plan: &Plan, sheet: usize) -> Bounds {
    let mut bounds = plan.stock[plan.sheets[sheet].sheet].outline.bounds();
    if let Some(length) = plan.sheets[sheet].used_length {
        bounds.max.x = bounds.max.x.min(bounds.min.x + length + BEYOND_USE);
    }
    bounds
}

/// Labels of shapes as they are turned, for pictures at one scale: of many copies of few kinds each is looked for once.
#[derive(Default)]
pub(crate) struct Labels(BTreeMap<(usize, u64, bool, u64), Text>);

impl Labels {
    /// The label of a placement.
    fn of(&mut self, plan: &Plan, placement: usize, u: f64) -> Text {
        let p = &plan.placements[placement];
        let (piece, words) = (&plan.pieces[p.piece], &plan.pieces[p.piece].id);
        let key = (
            shape_of(plan, p.piece),
            p.pose.rotation.degrees().to_bits(),
            p.pose.mirrored,
            text_width(words, 1.0).to_bits(),
        );
        let shift = p.pose.shift;
        let text = self.0.entry(key).or_insert_with(|| {
            let turned = Pose {
                shift: Point::default(),
                ..p.pose
            };
            label_in(&piece.finished.posed(turned), words, u)
        });
        Text {
            at: text.at + shift,
            words: words.clone(),
            ..*text
        }
    }
}

/// A used sheet with everything on it and a ruler along its front and left edges.
pub(crate) fn sheet(plan: &Plan, sheet: usize, u: f64, labels: &mut Labels) -> Scene {
    let stock = &plan.stock[plan.sheets[sheet].sheet];
    let seen = sheet_bounds(plan, sheet);
    // Figures at the far ends of the rulers stand half beyond the sheet.
    let mut frame = seen.grown(18.0 * u);
    frame.min = frame.min - Point::new(RULER * u, RULER * u);
    let mut scene = Scene::new(frame);
    // The whole outline as a defect, and what can be used over it: what stays visible is what cannot be used.
    scene.add(Kind::Defect, Draw::Area(stock.outline.clone()));
    scene.areas(Kind::Sheet, &stock.region);
    for remnant in plan.remnants.iter().filter(|r| r.sheet == sheet) {
        leftover(&mut scene, &remnant.outline, seen, u);
    }
    if let Some(length) = plan.sheets[sheet].used_length {
        let x = seen.min.x + length;
        scene.stroke(
            Kind::Measure,
            Point::new(x, seen.min.y),
            Point::new(x, seen.max.y),
        );
    }
    let here = plan
        .placements
        .iter()
        .enumerate()
        .filter(|(_, p)| p.sheet == sheet);
    for (k, placement) in here {
        let kind = Kind::Tint(tint(plan, placement.piece));
        let shape = shape_of(plan, placement.piece);
        scene.add(kind, Draw::Shared(shape, placement.pose));
        scene.add(kind, Draw::Text(labels.of(plan, k, u)));
    }
    rulers(&mut scene, seen, u);
    scene
}

fn leftover(scene: &mut Scene, outline: &Region, seen: Bounds, u: f64) {
    scene.add(Kind::Remnant, Draw::Area(outline.clone()));
    let b = outline.bounds();
    let shown = Bounds::new(b.min, Point::new(b.max.x.min(seen.max.x), b.max.y));
    let words = format!(
        "{} × {}",
        number::number(b.width(), 1),
        number::number(b.depth(), 1)
    );
    let text = label_in(&block(shown.min, shown.max), &words, u);
    scene.add(Kind::Remnant, Draw::Text(text));
}

/// Ticks with figures along the front and the left edge, counted from the sheet's own origin.
fn rulers(scene: &mut Scene, seen: Bounds, u: f64) {
    let step = tick_step(seen.width().max(seen.depth()), u);
    let first = |from: f64| (from / step - 1e-9).ceil() as i64;
    let last = |to: f64| (to / step + 1e-9).floor() as i64;
    for k in first(seen.min.x)..=last(seen.max.x) {
        let x = k as f64 * step;
        let foot = Point::new(x, seen.min.y);
        scene.stroke(Kind::Fine, foot, foot - Point::new(0.0, 7.0 * u));
        scene.text(
            Kind::Fine,
            foot - Point::new(0.0, 16.0 * u),
            FIGURES * u,
            mm(x),
        );
    }
    for k in first(seen.min.y)..=last(seen.max.y) {
        let y = k as f64 * step;
        let foot = Point::new(seen.min.x, y);
        scene.stroke(Kind::Fine, foot, foot - Point::new(7.0 * u, 0.0));
        scene.upright(
            Kind::Fine,
            foot - Point::new(16.0 * u, 0.0),
            FIGURES * u,
            mm(y),
        );
    }
}

/// A step of 1, 2 or 5 times a power of ten that leaves at least 60 pixels from tick to tick.
fn tick_step(extent: f64, u: f64) -> f64 {
    let least = (60.0 * u).min(extent);
    let mut power = 0.001;
    loop {
        for digit in [1.0, 2.0, 5.0] {
            if digit * power >= least {
                return digit * power;
            }
        }
        power *= 10.0;
    }
}

/// Where a shape takes a label, and how high: at its middle where there is room for the usual height, else in the box that
/// takes the highest letters, to the right or to the back.
fn label_in(shape: &Region, words: &str, u: f64) -> Text {
    let wish = LABEL * u;
    let (at, room) = label::inner_point(shape);
    // A box of this height and width in the disc: half its diagonal is the radius.
    let aspect = text_width(words, 1.0);
    let in_disc = 2.0 * room / (1.0 + aspect * aspect).sqrt();
    let mut best = Text {
        at,
        height: wish.min(in_disc),
        upright: false,
        words: words.to_owned(),
    };
    if in_disc < wish {
        let fit = |b: Bounds, upright: bool| {
            let (along, across) = if upright {
                (b.depth(), b.width())
            } else {
                (b.width(), b.depth())
            };
            (0.85 * across).min(0.95 * along / aspect).min(wish)
        };
        let space = ClearSpace::new(std::slice::from_ref(shape), 0.0, &[], 0.0);
        let found = space.best(|b| Some(fit(b, false).max(0.98 * fit(b, true))));
        if let Some(b) = found {
            let upright = 0.98 * fit(b, true) > fit(b, false);
            let height = fit(b, upright);
            if height > best.height {
                best = Text {
                    at: b.center(),
                    height,
                    upright,
                    ..best
                };
            }
        }
    }
    best.height = best.height.max(LEAST_LABEL * u);
    best
}

// ---- layers and seams -----------------------------------------------------------------------------------------------

/// One layer of one copy with its pieces and seams.
pub(crate) fn layer(plan: &Plan, layer: usize, copy: usize, u: f64) -> Scene {
    let mut scene = Scene::new(fixture_frame(plan).grown(18.0 * u));
    let own =
        (0..plan.pieces.len()).filter(|&k| plan.pieces[k].owner == Owner::Layer { layer, copy });
    for k in own {
        scene.add(Kind::Tint(layer), Draw::Shared(k, Pose::IDENTITY));
        let text = label_in(&plan.pieces[k].finished, &plan.pieces[k].id, u);
        scene.add(Kind::Tint(layer), Draw::Text(text));
    }
    for seam in plan
        .seams
        .iter()
        .filter(|s| s.layer == layer && s.copy == copy)
    {
        scene.add(Kind::Seam, Draw::Line(seam.path.clone()));
    }
    datum(plan, &mut scene, 14.0 * u);
    scene
}

/// The seams of all layers of a copy seen through one another.
pub(crate) fn seams_through(plan: &Plan, copy: usize, u: f64) -> Scene {
    let mut scene = Scene::new(fixture_frame(plan).grown(18.0 * u));
    scene.areas(Kind::Outline, &plan.fixture.outline);
    for pocket in &plan.fixture.pockets {
        scene.add(Kind::Pocket, Draw::Area(pocket.region.clone()));
    }
    for seam in plan.seams.iter().filter(|s| s.copy == copy) {
        scene.add(Kind::Tint(seam.layer), Draw::Line(seam.path.clone()));
    }
    datum(plan, &mut scene, 14.0 * u);
    scene
}

// ---- the fixture ----------------------------------------------------------------------------------------------------

/// The fixture on the bed: outline, pockets with their numbers, screws, datum, and the dimensions that a person sets.
pub(crate) fn fixture(plan: &Plan, u: f64) -> Scene {
    let mut scene = Scene::new(dimensioned(plan, u));
    if plan.fixture.has_bed {
        let [width, depth] = plan.fixture.bed;
        let bed = block(Point::new(0.0, 0.0), Point::new(width, depth));
        scene.add(Kind::Bed, Draw::Area(bed));
    }
    scene.areas(Kind::Outline, &plan.fixture.outline);
    openings(plan, &mut scene);
    for pocket in &plan.fixture.pockets {
        let words = format!("{},{}", pocket.column, pocket.row);
        let text = label_in(&pocket.region, &words, 0.9 * u);
        scene.add(Kind::Pocket, Draw::Text(text));
    }
    for layer in &plan.fixture.layers {
        for hole in &layer.locating {
            screw(&mut scene, hole, u);
        }
    }
    datum(plan, &mut scene, 16.0 * u);
    if let Some(setup) = &plan.fixture.setup {
        dimensions(plan, setup, &mut scene, u);
    }
    scene
}

/// A locating hole: its middle marked by a cross.
fn screw(scene: &mut Scene, hole: &Hole, u: f64) {
    let arm = hole.diameter.max(10.0 * u);
    for way in [Point::new(arm, 0.0), Point::new(0.0, arm)] {
        scene.stroke(Kind::Screw, hole.center - way, hole.center + way);
    }
}

/// First corner and pitch, each way, outside the bed on the sides that meet at the datum.
fn dimensions(plan: &Plan, setup: &Setup, scene: &mut Scene, u: f64) {
    let datum = plan.fixture.datum;
    let way = inward(plan);
    let corner = datum + Point::new(way.x * setup.first.x, way.y * setup.first.y);
    let (off, height) = (38.0 * u, FIGURES * u);
    // Along x: (from, to) for the first corner, then for the next column's.
    let y = datum.y - way.y * off;
    let next = corner.x + way.x * setup.pitch[0];
    let mut spans = vec![(datum.x, corner.x, setup.first.x)];
    if setup.columns > 1 {
        spans.push((corner.x, next, setup.pitch[0]));
    }
    for (from, to, length) in spans {
        scene.stroke(Kind::Fine, Point::new(to, y), Point::new(to, corner.y));
        scene.measure(Point::new(from, y), Point::new(to, y), height, mm(length));
    }
    // Along y likewise.
    let x = datum.x - way.x * off;
    let next = corner.y + way.y * setup.pitch[1];
    let mut spans = vec![(datum.y, corner.y, setup.first.y)];
    if setup.rows > 1 {
        spans.push((corner.y, next, setup.pitch[1]));
    }
    for (from, to, length) in spans {
        scene.stroke(Kind::Fine, Point::new(x, to), Point::new(corner.x, to));
        scene.measure(Point::new(x, from), Point::new(x, to), height, mm(length));
    }
}

/// What is seen of the fixture with its dimensions: most room on the sides that meet at the datum.
fn dimensioned(plan: &Plan, u: f64) -> Bounds {
    let (bounds, way) = (fixture_frame(plan).grown(20.0 * u), inward(plan));
    let far = plan.fixture.datum - way * (62.0 * u);
    bounds.with(far)
}

/// The direction inward from the datum: 1 or −1 each way.
fn inward(plan: &Plan) -> Point {
    let word = plan.fixture.datum_word;
    Point::new(
        if word.ends_with("right") { -1.0 } else { 1.0 },
        if word.starts_with("back") { -1.0 } else { 1.0 },
    )
}

/// What is open in the layers, from the face down: pockets with their notches and everything else, each shape once.
fn openings(plan: &Plan, scene: &mut Scene) {
    let mut seen: BTreeSet<[u64; 6]> = BTreeSet::new();
    for (k, layer) in plan.fixture.layers.iter().enumerate().rev() {
        let face = k + 1 == plan.fixture.layers.len();
        for hole in layer.shape.iter().flat_map(Region::holes) {
            if seen.insert(print_of(hole)) {
                let kind = if face { Kind::Pocket } else { Kind::Hole };
                scene.add(kind, Draw::Area(Region::solid(hole.clone())));
            }
        }
    }
}

/// What tells one ring from another for a picture: box, length and number of edges, to the bit.
fn print_of(ring: &Ring) -> [u64; 6] {
    let b = ring.bounds();
    let figures = [b.min.x, b.min.y, b.max.x, b.max.y, ring.length()];
    let [a, b, c, d, e] = figures.map(f64::to_bits);
    [a, b, c, d, e, ring.edges().len() as u64]
}

/// What pictures of the fixture show: the bed and the outline.
fn fixture_frame(plan: &Plan) -> Bounds {
    let outline = plan.fixture.outline.iter().map(Region::bounds);
    let frame = outline
        .fold(Bounds::EMPTY, Bounds::join)
        .with(plan.fixture.datum);
    if plan.fixture.has_bed {
        let [width, depth] = plan.fixture.bed;
        frame
            .with(Point::new(0.0, 0.0))
            .with(Point::new(width, depth))
    } else {
        frame
    }
}

/// Extent of the pictures of the fixture, without what stands around it.
pub(crate) fn fixture_extent(plan: &Plan) -> Bounds {
    fixture_frame(plan)
}

fn datum(plan: &Plan, scene: &mut Scene, arm: f64) {
    let at = plan.fixture.datum;
    for way in [Point::new(arm, 0.0), Point::new(0.0, arm)] {
        scene.stroke(Kind::Datum, at - way, at + way);
    }
}

// ---- the stack from the side ----------------------------------------------------------------------------------------

/// Width of the side view, in its own units.
const SIDE: f64 = 1000.0;
/// Height that the stack with all that stands out of it is drawn in.
const TALL: f64 = 190.0;

/// The stack from the side, heights to scale with one another and widths not: the layers, one pocket with its blank, one
/// screw in its relief.
pub(crate) fn side(plan: &Plan) -> Scene {
    let layers = &plan.fixture.layers;
    let face: f64 = layers.iter().map(|l| l.thickness).sum();
    let setup = plan.fixture.setup.as_ref().filter(|s| s.pocket_depth > 0.0);
    let head = plan.fixture.setup.as_ref().and_then(|s| s.head);
    let blank_top = setup.map_or(face, |s| face - s.pocket_depth + s.blank_thickness);
    let head_top = head.map_or(face, |[height, room]| face - room + height);
    let k = TALL / face.max(blank_top).max(head_top).max(1e-3);
    let top = k * face.max(blank_top).max(head_top);
    let mut scene = Scene::new(Bounds::new(
        Point::new(-70.0, -14.0),
        Point::new(SIDE + 16.0, top + 16.0),
    ));
    let mut low = 0.0;
    for (n, layer) in layers.iter().enumerate() {
        let high = low + layer.thickness;
        let slab = block(Point::new(0.0, k * low), Point::new(SIDE, k * high));
        scene.add(Kind::Tint(n), Draw::Area(slab));
        let words = format!(
            "{} · {} {}",
            layer.name,
            layer.material,
            mm(layer.thickness)
        );
        let height = (0.7 * k * layer.thickness)
            .min(17.0)
            .min(330.0 / text_width(&words, 1.0));
        let at = Point::new(605.0, k * (low + high) / 2.0);
        scene.text(Kind::Tint(n), at, height, words);
        low = high;
    }
    if let Some(setup) = setup {
        let floor = k * (face - setup.pocket_depth);
        let open = block(Point::new(110.0, floor), Point::new(410.0, k * face));
        scene.add(Kind::Pocket, Draw::Area(open));
        let blank = block(Point::new(120.0, floor), Point::new(400.0, k * blank_top));
        scene.add(Kind::Blank, Draw::Area(blank));
        let at = Point::new(260.0, (floor + k * blank_top) / 2.0);
        let words = format!("blank {}", mm(setup.blank_thickness));
        let height = (0.7 * k * setup.blank_thickness).min(17.0);
        scene.text(Kind::Blank, at, height, words);
    }
    if let Some([height, room]) = head {
        let seat = k * (face - room);
        let open = block(Point::new(812.0, seat), Point::new(948.0, k * face));
        scene.add(Kind::Pocket, Draw::Area(open));
        let shaft = block(Point::new(866.0, -10.0), Point::new(894.0, seat));
        scene.add(Kind::Screw, Draw::Area(shaft));
        if height > 0.0 {
            let head = block(
                Point::new(840.0, seat),
                Point::new(920.0, seat + k * height),
            );
            scene.add(Kind::Screw, Draw::Area(head));
        }
    }
    scene.measure(
        Point::new(-22.0, 0.0),
        Point::new(-22.0, k * face),
        17.0,
        mm(face),
    );
    scene
}

// ---- the proof ------------------------------------------------------------------------------------------------------

/// The face at 1:1: outline, what is open, pocket numbers `text` high, seams of the topmost layer of the first copy, the
/// datum with arms of `arm`.
pub(crate) fn face(plan: &Plan, scene: &mut Scene, text: f64, arm: f64) {
    let top = plan.fixture.layers.len().saturating_sub(1);
    match plan.fixture.layers.last() {
        Some(layer) => {
            let filled: Vec<Region> = layer.shape.iter().map(Region::filled).collect();
            scene.areas(Kind::Outline, &filled);
        }
        None => scene.areas(Kind::Outline, &plan.fixture.outline),
    }
    openings(plan, scene);
    for pocket in &plan.fixture.pockets {
        let words = format!("{},{}", pocket.column, pocket.row);
        let (at, room) = label::inner_point(&pocket.region);
        scene.text(Kind::Pocket, at, text.min(room), words);
    }
    for layer in &plan.fixture.layers {
        for hole in &layer.locating {
            let reach = hole.diameter / 2.0 + 3.0;
            for way in [Point::new(reach, 0.0), Point::new(0.0, reach)] {
                scene.stroke(Kind::Fine, hole.center - way, hole.center + way);
            }
        }
    }
    let seams = plan.seams.iter().filter(|s| s.layer == top && s.copy == 1);
    for seam in seams {
        scene.add(Kind::Seam, Draw::Line(seam.path.clone()));
    }
    datum(plan, scene, arm);
}

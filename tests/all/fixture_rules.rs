//! A fixture is drawn as its job says, and what cannot be cut is refused.

use std::f64::consts::PI;
use std::sync::Arc;

use seamwright::fixture::brief::{
    Bed, Blank, Brief, Datum, Fastener, Feature, Fit, Grid, HoleSize, LayerBrief, Locating, Notch,
    Opening, OpeningPlace, OpeningShape, Outline, Shape, Side, Step,
};
use seamwright::fixture::error::FixtureError;
use seamwright::fixture::{LayerSheets, MAX_BLANKS, check_stack, draw};
use seamwright::geometry::edge::SourceId;
use seamwright::geometry::point::Point;
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;
use seamwright::model::cutter::{CutterKind, Turns};
use seamwright::model::fault::{Fault, Place};
use seamwright::model::finding::Finding;
use seamwright::model::fixture::Fixture;
use seamwright::model::layer::Layer;
use seamwright::model::sheet::Finish;
use seamwright::model::source::{SourceKind, meaning};

/// Rounding of sums of some twenty lengths below 1000 mm.
const ROUNDED: f64 = 1e-9;

/// Areas of shapes that went through a boolean: points on a grid of 1e-6 mm along less than 10 m of edge.
const ROUNDED_MM2: f64 = 0.01;

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn rect(width: f64, depth: f64, radius: f64) -> Shape {
    Shape::Rect {
        size: [width, depth],
        radius,
    }
}

fn thread(x: f64, y: f64, name: &str, slot: f64) -> Locating {
    Locating {
        at: p(x, y),
        size: HoleSize::Thread {
            name: name.to_owned(),
            fit: Fit::Medium,
        },
        slot,
    }
}

fn layer(name: &str, thickness: f64, features: &[Feature]) -> LayerBrief {
    LayerBrief {
        name: name.to_owned(),
        material: "acrylic".to_owned(),
        thickness,
        features: features.to_vec(),
        drawn: None,
        pattern: None,
        cut_width: 0.16,
        turns: Turns::Quarter,
        grain: None,
        own_kerf: None,
        own_turns: None,
        min_web: 2.0 * thickness,
    }
}

/// A plate with nothing in it, no bed.
fn plate(width: f64, depth: f64) -> Brief {
    Brief {
        most_blanks: MAX_BLANKS,
        bed: None,
        outline: Some(Outline {
            shape: Some(rect(width, depth, 0.0)),
            at: p(0.0, 0.0),
        }),
        fastener: Fastener {
            head_diameter: None,
            head_height: None,
            reach: 1.5,
        },
        blank: None,
        grid: None,
        notch: None,
        openings: Vec::new(),
        layers: vec![layer("face", 3.0, &[])],
        kind: CutterKind::Laser,
        part_materials: Vec::new(),
        order_quantity: None,
    }
}

fn grid(step: Step, columns: Option<usize>, rows: Option<usize>, first: Option<Point>) -> Grid {
    Grid {
        step,
        columns,
        rows,
        first,
        shift: 0.0,
        margin: 10.0,
        skip: Vec::new(),
    }
}

/// A plate with pockets in its one layer.
fn tray(size: [f64; 2], shape: Shape, clearance: f64, grid: Grid) -> Brief {
    let mut brief = plate(size[0], size[1]);
    brief.blank = Some(Blank {
        shape,
        thickness: 3.0,
        clearance,
        angle_deg: 0.0,
    });
    brief.grid = Some(grid);
    brief.layers[0].features = vec![Feature::Pocket];
    brief
}

/// Three layers on a bed of 900 × 620 with two screws: a base, a core with holes to push the blanks out, and a frame with
/// 7 × 6 pockets of which two stay empty.
fn badges() -> Brief {
    let mut brief = tray(
        [880.0, 600.0],
        rect(85.0, 54.0, 3.0),
        0.2,
        grid(
            Step::Pitch([110.0, 80.0]),
            Some(7),
            Some(6),
            Some(p(60.0, 50.0)),
        ),
    );
    brief.bed = Some(Bed {
        size: [900.0, 620.0],
        datum: Datum::FrontLeft,
        head_gap: 0.0,
        clear_height: Some(40.0),
        locating: vec![
            thread(22.0, 24.0, "M6", 0.0),
            thread(878.0, 596.0, "M6", 3.0),
        ],
    });
    brief.outline = Some(Outline {
        shape: Some(rect(880.0, 600.0, 8.0)),
        at: p(10.0, 10.0),
    });
    if let Some(grid) = &mut brief.grid {
        grid.skip = vec![[0, 0], [6, 5]];
    }
    brief.notch = Some(Notch {
        diameter: 16.0,
        sides: vec![Side::Front, Side::Back],
    });
    brief.openings = vec![Opening {
        name: "eject".to_owned(),
        shape: OpeningShape::Own(Shape::Circle { diameter: 14.0 }),
        place: OpeningPlace::EachBlank(p(0.0, 0.0)),
    }];
    brief.order_quantity = Some(300);
    brief.layers = vec![
        layer("base", 6.0, &[Feature::Locating]),
        layer("core", 6.0, &[Feature::Relief, Feature::Opening(0)]),
        layer(
            "frame",
            3.0,
            &[Feature::Relief, Feature::Pocket, Feature::Notch],
        ),
    ];
    brief
}

fn polygon(points: &[(f64, f64)]) -> Region {
    let points: Vec<Point> = points.iter().map(|q| p(q.0, q.1)).collect();
    Region::solid(Ring::polygon(&points, SourceId(0)).expect("three points or more"))
}

fn drawn(regions: Vec<Region>) -> Shape {
    Shape::Drawn {
        regions: Arc::new(regions),
        stray: 0.0,
    }
}

fn right(brief: &Brief) -> (Fixture, Vec<Finding>) {
    draw(brief).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn refused(brief: &Brief) -> Vec<Fault> {
    draw(brief).map_or_else(
        |faults| faults.iter().map(FixtureError::fault).collect(),
        |_| panic!("drawn, though it is wrong"),
    )
}

fn only(faults: Vec<Fault>) -> Fault {
    assert_eq!(faults.len(), 1, "one fault: {faults:?}");
    faults.into_iter().next().expect("one")
}

fn area(layer: &Layer) -> f64 {
    layer.shape.iter().map(Region::area_mm2).sum()
}

/// Area of a rectangle with rounded corners.
fn rounded(width: f64, depth: f64, radius: f64) -> f64 {
    width * depth - (4.0 - PI) * radius * radius
}

fn has(findings: &[Finding], code: &str) -> bool {
    findings.iter().any(|f| f.code == code)
}

fn close(got: f64, want: f64, tolerance: f64, why: &str) {
    assert!((got - want).abs() <= tolerance, "{got}, not {want}: {why}");
}

fn close_point(got: Point, want: Point, why: &str) {
    assert!(
        got.distance(want) <= ROUNDED,
        "{got:?}, not {want:?}: {why}"
    );
}

// ---- a whole fixture ------------------------------------------------------------------------------------------------

#[test]
fn a_tray_of_three_layers_has_the_areas_of_its_closed_forms() {
    let (fixture, findings) = right(&badges());
    let outline = rounded(880.0, 600.0, 8.0);
    let disc = |d: f64| PI * d * d / 4.0;
    close(
        area(&fixture.layers[0]),
        outline - 2.0 * disc(6.6) - 3.0 * 6.6,
        ROUNDED_MM2,
        "outline less a hole and a slot 3 longer",
    );
    let reliefs = 2.0 * disc(13.22) + 3.0 * 13.22;
    close(
        area(&fixture.layers[1]),
        outline - reliefs - 40.0 * disc(14.0),
        ROUNDED_MM2,
        "reliefs and 40 discs",
    );
    // Half of each notch lies in the pocket: 85.4 × 54.4, radius 3.2, and two half discs of 16.
    let pocket = rounded(85.4, 54.4, 3.2) + disc(16.0);
    close(
        area(&fixture.layers[2]),
        outline - reliefs - 40.0 * pocket,
        ROUNDED_MM2,
        "reliefs and 40 pockets with notches",
    );
    assert!(
        fixture.layers.iter().all(|l| l.shape.len() == 1),
        "each layer is one piece"
    );
    assert_eq!(findings, Vec::new(), "nothing is doubtful");
}

#[test]
fn pockets_are_counted_and_placed_from_the_datum() {
    let (fixture, _) = right(&badges());
    assert_eq!(fixture.pockets.len(), 40, "7 · 6 less two that are skipped");
    assert_eq!(
        (fixture.pockets[0].column, fixture.pockets[0].row),
        (1, 0),
        "row by row, [0, 0] stays empty"
    );
    let last = fixture
        .pockets
        .iter()
        .find(|k| (k.column, k.row) == (5, 5))
        .expect("column 5, row 5");
    close_point(
        last.corner,
        p(60.0 + 5.0 * 110.0, 50.0 + 5.0 * 80.0),
        "first + (5 · 110, 5 · 80)",
    );
    close_point(
        last.bed_center,
        last.corner + p(42.5, 27.0),
        "half of 85 × 54 farther in",
    );
    assert_eq!(fixture.notches.len(), 80, "two to each of 40 pockets");
    let setup = fixture.setup.expect("there are blanks");
    assert_eq!(
        setup.order,
        Some([300, 8, 20]),
        "by hand: 7 · 40 = 280, 300 − 280 = 20"
    );
    assert_eq!(
        (setup.pocket_depth, setup.stack_height, setup.head),
        (3.0, 15.0, Some([6.0, 9.0])),
        "sums of thicknesses; M6 head 6 in 6 + 3"
    );
    assert_eq!(setup.blank, "85 × 54, radius 3", "in words");
}

#[test]
fn holes_are_those_of_the_standards_and_stay_circles() {
    let (fixture, _) = right(&badges());
    let hole = fixture.layers[0].locating[0];
    assert_eq!(
        (hole.center, hole.diameter, hole.slot),
        (p(22.0, 24.0), 6.6, 0.0),
        "ISO 273 medium, M6"
    );
    let relief = fixture.layers[1].relief[0];
    close(
        relief.diameter,
        13.22,
        ROUNDED,
        "ISO 4762 knurled head of M6, 10.22, and 2 · 1.5",
    );
    let circle = |layer: &Layer, kind| {
        let ring = layer.shape[0]
            .holes()
            .iter()
            .find(|h| meaning(h.edges()[0].source) == (kind, 0));
        ring.and_then(Ring::as_circle)
    };
    assert_eq!(
        circle(&fixture.layers[0], SourceKind::Locating),
        Some((p(22.0, 24.0), 3.3)),
        "a circle to the bit"
    );
    assert!(
        circle(&fixture.layers[2], SourceKind::Relief)
            .is_some_and(|(c, r)| c == p(22.0, 24.0) && (r - 6.61).abs() < ROUNDED),
        "a circle to the bit"
    );
}

#[test]
fn a_slot_points_at_the_first_hole_and_its_relief_does_too() {
    let (fixture, _) = right(&badges());
    let (slot, relief) = (fixture.layers[0].locating[1], fixture.layers[2].relief[1]);
    // From (878, 596) to (22, 24): atan2(−572, −856), brought into [0, 360).
    let want = (-572.0_f64).atan2(-856.0).to_degrees() + 360.0;
    close(
        slot.slot_deg,
        want,
        1e-9,
        "closed form; plans write angles to 1e-9 degrees",
    );
    assert_eq!(
        (slot.slot, relief.slot, relief.slot_deg),
        (3.0, 3.0, slot.slot_deg),
        "the relief repeats both"
    );
}

#[test]
fn edges_tell_pocket_and_notch_apart_by_their_source() {
    let (fixture, _) = right(&badges());
    // Row 2, column 3 of 7 columns: index 17.
    let mine = |kind| {
        fixture.layers[2].shape[0]
            .edges()
            .filter(|e| meaning(e.source) == (kind, 17))
            .count()
    };
    assert!(
        mine(SourceKind::Pocket) >= 8,
        "four corners and at least four sides"
    );
    assert!(
        mine(SourceKind::Notch) >= 2,
        "an arc of each of two notches"
    );
}

// ---- the frame ------------------------------------------------------------------------------------------------------

#[test]
fn from_the_back_right_everything_is_mirrored_both_ways() {
    let mut brief = badges();
    if let Some(bed) = &mut brief.bed {
        bed.datum = Datum::BackRight;
    }
    let (fixture, _) = right(&brief);
    assert_eq!(
        (fixture.datum, fixture.datum_word),
        (p(900.0, 620.0), "back-right"),
        "the corner of the bed"
    );
    assert_eq!(
        fixture.layers[0].locating[0].center,
        p(878.0, 596.0),
        "900 − 22, 620 − 24"
    );
    let pocket = fixture
        .pockets
        .iter()
        .find(|k| (k.column, k.row) == (1, 0))
        .expect("column 1, row 0");
    close_point(
        pocket.corner,
        p(170.0, 50.0),
        "inward from the datum, whatever corner that is",
    );
    close_point(
        pocket.bed_center,
        p(900.0 - 170.0 - 42.5, 620.0 - 50.0 - 27.0),
        "from the right and from the back",
    );
    close_point(pocket.center, p(212.5, 77.0), "inward from the datum");
    // A corner of 8 · 8 is rounded, so the box tells the place.
    let around = fixture.layers[0].shape[0].bounds();
    close_point(
        around.max,
        p(890.0, 610.0),
        "the fixture's corner nearest the datum, 10 and 10 inward",
    );
}

#[test]
fn an_offset_moves_an_opening_away_from_the_datum() {
    let mut brief = badges();
    if let Some(bed) = &mut brief.bed {
        bed.datum = Datum::FrontRight;
    }
    brief.openings[0].place = OpeningPlace::EachBlank(p(5.0, 2.0));
    let (fixture, _) = right(&brief);
    let first = &fixture.pockets[0];
    let discs: Vec<Point> = fixture.layers[1].shape[0]
        .holes()
        .iter()
        .filter_map(|h| h.as_circle().map(|c| c.0))
        .collect();
    let want = first.bed_center + p(-5.0, 2.0);
    assert!(
        discs.iter().any(|c| c.distance(want) <= ROUNDED),
        "5 to the left of the middle, 2 behind it"
    );
}

#[test]
fn without_a_bed_the_fixture_is_the_bed_and_its_place_is_the_origin() {
    let mut brief = plate(300.0, 200.0);
    brief.outline = Some(Outline {
        shape: Some(rect(300.0, 200.0, 0.0)),
        at: p(33.0, 44.0),
    });
    let (fixture, _) = right(&brief);
    assert_eq!(
        (fixture.bed, fixture.has_bed, fixture.datum),
        ([300.0, 200.0], false, p(0.0, 0.0)),
        "front-left corner of the fixture"
    );
    assert_eq!(
        fixture.layers[0].shape[0].bounds().min,
        p(0.0, 0.0),
        "`at` has nothing to be measured from"
    );
}

#[test]
fn drawn_layers_move_together_to_the_corner_of_the_fixture() {
    let mut brief = plate(1.0, 1.0);
    brief.bed = Some(Bed {
        size: [320.0, 270.0],
        datum: Datum::BackLeft,
        head_gap: 0.0,
        clear_height: None,
        locating: vec![thread(30.0, 40.0, "M4", 0.0)],
    });
    brief.outline = Some(Outline {
        shape: None,
        at: p(10.0, 12.0),
    });
    let base = polygon(&[(100.0, 50.0), (400.0, 50.0), (400.0, 250.0), (100.0, 250.0)]);
    let face = polygon(&[(105.0, 55.0), (395.0, 55.0), (395.0, 245.0), (105.0, 245.0)]);
    brief.layers = vec![
        layer("base", 3.0, &[Feature::Locating]),
        layer("face", 3.0, &[Feature::Relief]),
    ];
    brief.layers[0].drawn = Some(Arc::new(vec![base]));
    brief.layers[1].drawn = Some(Arc::new(vec![face]));
    let (fixture, _) = right(&brief);
    // Common box 300 × 200; its back-left corner goes 10 right of the left and 12 before the back edge: y 270 − 12 − 200 = 58.
    assert_eq!(
        fixture.layers[0].shape[0].bounds().min,
        p(10.0, 58.0),
        "hand calculation"
    );
    assert_eq!(
        fixture.layers[1].shape[0].bounds().min,
        p(15.0, 63.0),
        "5 farther in on each side, as drawn"
    );
    close(
        area(&fixture.layers[1]),
        290.0 * 190.0 - PI * 10.22 * 10.22 / 4.0,
        ROUNDED_MM2,
        "relief 7.22 + 2 · 1.5 cut into the drawn outline",
    );
    close(
        fixture.outline.iter().map(Region::area_mm2).sum(),
        300.0 * 200.0,
        ROUNDED_MM2,
        "what the layers cover together",
    );
}

#[test]
fn a_drawn_outline_is_placed_by_its_own_box() {
    let mut brief = plate(1.0, 1.0);
    brief.bed = Some(Bed {
        size: [400.0, 350.0],
        datum: Datum::BackLeft,
        head_gap: 0.0,
        clear_height: None,
        locating: Vec::new(),
    });
    let disc = Region::solid(Ring::circle(p(500.0, 500.0), 150.0, SourceId(0)));
    brief.outline = Some(Outline {
        shape: Some(drawn(vec![disc])),
        at: p(20.0, 15.0),
    });
    let (fixture, _) = right(&brief);
    let circle = fixture.layers[0].shape[0].outer().as_circle();
    assert_eq!(
        circle,
        Some((p(170.0, 185.0), 150.0)),
        "by hand: x 20 + 150, y 350 − 15 − 150"
    );
}

// ---- blanks and pockets ---------------------------------------------------------------------------------------------

#[test]
fn a_pocket_without_clearance_has_the_blanks_area_and_perimeter() {
    let brief = tray(
        [200.0, 200.0],
        rect(85.0, 54.0, 3.0),
        0.0,
        grid(Step::Pitch([100.0, 100.0]), Some(1), Some(1), None),
    );
    let pocket = &right(&brief).0.pockets[0].region;
    close(
        pocket.area_mm2(),
        4582.2743,
        5e-5,
        "closed form a·b − (4 − π)·r², four decimals",
    );
    close(
        pocket.outer().length(),
        272.8496,
        5e-5,
        "closed form 2·(a + b) − (8 − 2π)·r, four decimals",
    );
}

#[test]
fn a_notch_adds_the_half_of_its_disc_that_lies_outside() {
    let mut brief = tray(
        [200.0, 200.0],
        rect(85.0, 54.0, 0.0),
        0.0,
        grid(Step::Pitch([100.0, 100.0]), Some(1), Some(1), None),
    );
    brief.notch = Some(Notch {
        diameter: 18.0,
        sides: vec![Side::Front],
    });
    brief.layers[0].features.push(Feature::Notch);
    let (fixture, _) = right(&brief);
    close(
        200.0 * 200.0 - area(&fixture.layers[0]),
        4717.2345,
        ROUNDED_MM2,
        "closed form a·b + π·d²/8",
    );
}

#[test]
fn a_sharp_rectangle_stays_sharp_and_a_circle_stays_a_circle() {
    let one = grid(Step::Pitch([100.0, 100.0]), Some(1), Some(1), None);
    let sharp = right(&tray(
        [200.0, 200.0],
        rect(40.0, 30.0, 0.0),
        0.25,
        one.clone(),
    ))
    .0;
    assert_eq!(
        sharp.pockets[0].region.outer().edges().len(),
        4,
        "four sides, no corner arcs"
    );
    close(
        sharp.pockets[0].region.area_mm2(),
        40.5 * 30.5,
        ROUNDED,
        "closed form",
    );
    let round = right(&tray(
        [200.0, 200.0],
        Shape::Circle { diameter: 95.0 },
        0.25,
        one,
    ))
    .0;
    assert_eq!(
        round.pockets[0].region.outer().as_circle(),
        Some((p(100.0, 100.0), 47.75)),
        "diameter grows by twice the clearance"
    );
}

#[test]
fn a_drawn_blank_grows_with_round_corners_and_its_holes_are_ignored() {
    // An L of 40 × 30; A + P·d + π·d² holds for its hull's five outer corners, and the inner corner, pushed outward, stays
    // sharp: (1 − π/4)·d² less for its round, so A + P·d + (5/4)·π·d² − d² in all.
    let ell = polygon(&[
        (5.0, 7.0),
        (45.0, 7.0),
        (45.0, 17.0),
        (15.0, 17.0),
        (15.0, 37.0),
        (5.0, 37.0),
    ]);
    let hole = Ring::circle(p(10.0, 12.0), 2.0, SourceId(0));
    let brief = tray(
        [200.0, 200.0],
        drawn(vec![Region::new(ell.outer().clone(), vec![hole])]),
        0.5,
        grid(
            Step::Pitch([100.0, 100.0]),
            Some(1),
            Some(1),
            Some(p(30.0, 30.0)),
        ),
    );
    let (fixture, _) = right(&brief);
    let (a, perimeter, d) = (40.0 * 10.0 + 10.0 * 20.0, 140.0, 0.5_f64);
    let want = a + perimeter * d + 1.25 * PI * d * d - d * d;
    close(
        fixture.pockets[0].region.area_mm2(),
        want,
        ROUNDED_MM2,
        "closed form of an outward offset",
    );
    close_point(
        fixture.pockets[0].bed_center,
        p(50.0, 45.0),
        "the middle of its box of 40 × 30",
    );
}

#[test]
fn a_turned_blank_is_placed_by_its_box_after_the_turn() {
    let mut brief = tray(
        [300.0, 300.0],
        rect(60.0, 20.0, 0.0),
        0.0,
        grid(
            Step::Spacing([10.0, 30.0]),
            Some(2),
            Some(1),
            Some(p(40.0, 50.0)),
        ),
    );
    if let Some(blank) = &mut brief.blank {
        blank.angle_deg = 90.0;
    }
    let (fixture, _) = right(&brief);
    close_point(
        fixture.pockets[0].bed_center,
        p(50.0, 80.0),
        "20 × 60 after the turn: 40 + 10, 50 + 30",
    );
    close_point(
        fixture.pockets[1].corner,
        p(70.0, 50.0),
        "20 wide and 10 clear",
    );
    if let Some(blank) = &mut brief.blank {
        blank.angle_deg = 30.0;
    }
    let (fixture, _) = right(&brief);
    // Box of a·cos + b·sin: 60·cos 30° + 20·sin 30° wide.
    let pitch = 60.0 * (PI / 6.0).cos() + 10.0 + 10.0;
    close(
        fixture.pockets[1].corner.x - fixture.pockets[0].corner.x,
        pitch,
        ROUNDED,
        "closed form of a turned rectangle's box",
    );
}

#[test]
fn an_opening_of_the_blanks_outline_shrinks_and_turns_with_it() {
    let mut brief = tray(
        [200.0, 200.0],
        rect(60.0, 20.0, 5.0),
        0.2,
        grid(Step::Pitch([100.0, 100.0]), Some(1), Some(1), None),
    );
    if let Some(blank) = &mut brief.blank {
        blank.angle_deg = 90.0;
    }
    brief.openings = vec![Opening {
        name: "window".to_owned(),
        shape: OpeningShape::Grow(-3.0),
        place: OpeningPlace::EachBlank(p(0.0, 0.0)),
    }];
    brief
        .layers
        .push(layer("cover", 2.0, &[Feature::Opening(0)]));
    let (fixture, _) = right(&brief);
    close(
        200.0 * 200.0 - area(&fixture.layers[1]),
        rounded(54.0, 14.0, 2.0),
        ROUNDED,
        "3 less all round, radius 5 − 3",
    );
    let window = fixture.layers[1].shape[0].holes()[0].bounds();
    close_point(
        window.min,
        p(93.0, 73.0),
        "14 wide and 54 deep about (100, 100)",
    );
    // In the pocket's own layer it belongs to the pocket, and there is no web between the two.
    brief.layers[0].features.push(Feature::Opening(0));
    let (fixture, _) = right(&brief);
    close(
        200.0 * 200.0 - area(&fixture.layers[0]),
        rounded(60.4, 20.4, 5.2),
        ROUNDED_MM2,
        "the pocket holds the window",
    );
}

// ---- counting -------------------------------------------------------------------------------------------------------

#[test]
fn spacing_is_the_clear_room_between_two_blanks() {
    let brief = tray(
        [880.0, 600.0],
        rect(63.5, 114.3, 0.0),
        0.2,
        grid(Step::Spacing([19.05, 19.05]), None, None, None),
    );
    let setup = right(&brief).0.setup.expect("there are blanks");
    close(setup.pitch[0], 82.55, ROUNDED, "63.5 + 19.05");
    close(setup.pitch[1], 133.35, ROUNDED, "114.3 + 19.05");
    // By hand: (860 − 0.4 + 19.05) / 82.55 = 10.6; (580 − 0.4 + 19.05) / 133.35 = 4.5.
    assert_eq!((setup.columns, setup.rows), (10, 4), "hand calculation");
}

#[test]
fn as_many_blanks_as_keep_the_margin_are_taken_and_centred() {
    let mut free = grid(Step::Spacing([25.4, 25.4]), None, None, None);
    free.margin = 20.0;
    let (fixture, _) = right(&tray([880.0, 600.0], rect(76.2, 152.4, 0.0), 0.0, free));
    let setup = fixture.setup.expect("there are blanks");
    // By hand: floor((840 + 25.4) / 101.6) = 8, floor((560 + 25.4) / 177.8) = 3;
    // (880 − 7 · 101.6 − 76.2) / 2 = 46.3, (600 − 2 · 177.8 − 152.4) / 2 = 46.
    assert_eq!((setup.columns, setup.rows), (8, 3), "hand calculation");
    close_point(
        setup.first,
        p(46.3, 46.0),
        "hand calculation: equal room left and right, front and back",
    );
}

#[test]
fn a_pocket_that_lies_exactly_on_the_margin_fits() {
    // 3 · 30 + 2 · 10 = 110, with clearance 0.2 each side 110.4, with 10 margin each side 130.4.
    let step = Step::Spacing([10.0, 10.0]);
    let exact = tray(
        [130.4, 50.4],
        rect(30.0, 30.0, 0.0),
        0.2,
        grid(step, None, None, None),
    );
    assert_eq!(
        right(&exact).0.pockets.len(),
        3,
        "three fit to the last digit"
    );
    let short = tray(
        [130.39, 50.4],
        rect(30.0, 30.0, 0.0),
        0.2,
        grid(step, None, None, None),
    );
    assert_eq!(
        right(&short).0.pockets.len(),
        2,
        "0.01 less, and they do not"
    );
}

#[test]
fn of_counts_that_hold_as_many_the_one_with_more_columns_is_taken() {
    // A disc of 100 with margin 10: corners of the blanks within a radius of 40 of its middle. Two blanks of 30 with 2 between
    // them reach √(31² + 15²) = 34.4 either way; four reach √(31² + 31²) = 43.8. So 2 × 1 and 1 × 2 hold the same.
    let mut brief = tray(
        [1.0, 1.0],
        rect(30.0, 30.0, 0.0),
        0.0,
        grid(Step::Spacing([2.0, 2.0]), None, None, None),
    );
    let disc = Region::solid(Ring::circle(p(50.0, 50.0), 50.0, SourceId(0)));
    brief.outline = Some(Outline {
        shape: Some(drawn(vec![disc])),
        at: p(0.0, 0.0),
    });
    let setup = right(&brief).0.setup.expect("there are blanks");
    assert_eq!((setup.columns, setup.rows), (2, 1), "hand calculation");
}

#[test]
fn notches_count_for_the_margin() {
    // 60 + 2 · 10 = 80 leaves 0 for a notch of 8 beyond each side of the blank.
    let mut brief = tray(
        [200.0, 80.0],
        rect(60.0, 60.0, 0.0),
        0.0,
        grid(Step::Spacing([20.0, 20.0]), None, None, None),
    );
    assert_eq!(
        right(&brief).0.pockets.len(),
        2,
        "(180 + 20) / 80 = 2.5 without notches"
    );
    brief.notch = Some(Notch {
        diameter: 16.0,
        sides: vec![Side::Back],
    });
    brief.layers[0].features.push(Feature::Notch);
    let fault = only(refused(&brief));
    assert_eq!(fault.code, "F020", "{fault:?}");
}

#[test]
fn every_second_row_moves_by_the_shift_and_the_grid_stays_centred() {
    let mut shifted = grid(Step::Pitch([40.0, 35.0]), Some(3), Some(3), None);
    shifted.shift = 20.0;
    let mut brief = tray(
        [200.0, 200.0],
        Shape::Circle { diameter: 30.0 },
        0.0,
        shifted,
    );
    let (fixture, _) = right(&brief);
    // Taken: 2 · 40 + 30 + 20 = 130, so 35 each side; 2 · 35 + 30 = 100, so 50.
    close_point(fixture.pockets[0].corner, p(35.0, 50.0), "hand calculation");
    close_point(
        fixture.pockets[3].corner,
        p(55.0, 85.0),
        "row 1, 20 farther from the datum",
    );
    close_point(
        fixture.pockets[6].corner,
        p(35.0, 120.0),
        "row 2 lies as row 0",
    );
    // Toward the datum the first row stands farther in.
    if let Some(grid) = &mut brief.grid {
        grid.shift = -20.0;
    }
    let (fixture, _) = right(&brief);
    close_point(fixture.pockets[0].corner, p(55.0, 50.0), "35 and the shift");
    close_point(
        fixture.pockets[3].corner,
        p(35.0, 85.0),
        "row 1 at the left",
    );
    // One row has no second row to shift.
    if let Some(grid) = &mut brief.grid {
        grid.rows = Some(1);
    }
    close_point(
        right(&brief).0.pockets[0].corner,
        p(45.0, 85.0),
        "(200 − 110) / 2, (200 − 30) / 2",
    );
}

#[test]
fn skipped_places_need_no_room_and_do_not_move_the_others() {
    // In a disc of radius 60 with margin 10, a grid of 3 × 3 blanks of 20 at pitch 30 reaches √(40² + 40²) = 56.6 at its
    // corners and √(40² + 10²) = 41.2 beside them: without its corners it fits in 50.
    let mut cross = grid(Step::Pitch([30.0, 30.0]), Some(3), Some(3), None);
    cross.skip = vec![[0, 0], [2, 0], [0, 2], [2, 2]];
    let mut brief = tray([1.0, 1.0], rect(20.0, 20.0, 0.0), 0.0, cross);
    let disc = Region::solid(Ring::circle(p(0.0, 0.0), 60.0, SourceId(0)));
    brief.outline = Some(Outline {
        shape: Some(drawn(vec![disc])),
        at: p(0.0, 0.0),
    });
    let (fixture, _) = right(&brief);
    assert_eq!(fixture.pockets.len(), 5, "a cross");
    close_point(
        fixture.pockets[0].bed_center,
        p(60.0, 30.0),
        "column 1, row 0, as if none were skipped",
    );
    if let Some(grid) = &mut brief.grid {
        grid.skip.pop();
    }
    assert_eq!(
        only(refused(&brief)).code,
        "F021",
        "the fourth corner does not fit"
    );
}

#[test]
fn a_place_to_skip_that_the_grid_does_not_have_is_told() {
    let mut brief = badges();
    if let Some(grid) = &mut brief.grid {
        grid.skip.push([7, 0]);
    }
    let (fixture, findings) = right(&brief);
    assert_eq!(fixture.pockets.len(), 40, "it takes nothing away");
    assert!(
        findings
            .iter()
            .any(|f| f.code == "F113" && f.what.contains("[7, 0]")),
        "{findings:?}"
    );
}

#[test]
fn a_count_that_does_not_fit_is_told_with_the_count_that_would() {
    let mut brief = badges();
    if let Some(grid) = &mut brief.grid {
        grid.columns = Some(9);
    }
    let fault = only(refused(&brief));
    // By hand: the right edge lies at 890, less margin 880; column i ends at 60 + 110 i + 85.2, so i ≤ 6: 7 columns. With
    // `skip` [6, 5] as the only empty place there, the eighth is not saved.
    assert_eq!(
        (fault.code, fault.place.clone()),
        ("F021", Place::Key("grid.columns".to_owned())),
        "{fault:?}"
    );
    assert!(
        fault
            .what
            .starts_with("9 columns × 6 rows of blanks do not fit")
            && fault.what.contains("7 columns"),
        "{}",
        fault.what
    );
    assert!(
        fault
            .hint
            .as_deref()
            .is_some_and(|h| h.contains("`columns = 7`")),
        "{fault:?}"
    );
    assert!(
        fault.label.contains("column 7, row 0"),
        "the first blank that stands out is named: {}",
        fault.label
    );
}

#[test]
fn rows_that_do_not_fit_are_told_at_their_own_key() {
    let mut brief = badges();
    if let Some(grid) = &mut brief.grid {
        (grid.columns, grid.rows) = (None, Some(1_000_000_000));
    }
    let fault = only(refused(&brief));
    assert_eq!(
        (fault.code, fault.place),
        ("F021", Place::Key("grid.rows".to_owned())),
        "{}",
        fault.what
    );
    // By hand: 610 − 10 = 600; row j ends at 50 + 80 j + 54.2 + 8 with its notch: j ≤ 6, 7 rows.
    assert!(fault.what.contains("7 × 7"), "{}", fault.what);
}

#[test]
fn a_blank_larger_than_the_fixture_is_refused_with_both_sizes() {
    let brief = tray(
        [100.0, 80.0],
        rect(120.0, 40.0, 0.0),
        0.2,
        grid(Step::Spacing([5.0, 5.0]), None, None, None),
    );
    let fault = only(refused(&brief));
    assert_eq!(fault.code, "F020", "{fault:?}");
    assert!(
        fault.what.contains("120.4 × 40.4") && fault.what.contains("80 × 60"),
        "{}",
        fault.what
    );
}

#[test]
fn a_pitch_of_a_hair_ends_in_a_message_and_not_in_a_long_wait() {
    let brief = tray(
        [800.0, 600.0],
        rect(40.0, 40.0, 0.0),
        0.2,
        grid(Step::Pitch([0.01, 0.01]), None, None, None),
    );
    assert_eq!(only(refused(&brief)).code, "F015", "80,000 × 60,000 places");
    let brief = tray(
        [800.0, 600.0],
        rect(40.0, 40.0, 0.0),
        0.2,
        grid(Step::Pitch([0.0, 50.0]), None, None, None),
    );
    assert_eq!(only(refused(&brief)).code, "F012", "no pitch at all");
    for (columns, rows, width, code) in [
        (7, 6, 790.0, "F020"),
        (usize::MAX, usize::MAX, 40.0, "F015"),
    ] {
        let counts = grid(Step::Pitch([0.01, 0.01]), Some(columns), Some(rows), None);
        let fault = only(refused(&tray(
            [800.0, 600.0],
            rect(width, 40.0, 0.0),
            0.2,
            counts,
        )));
        assert_eq!(fault.code, code, "told, or too many to try: {}", fault.what);
    }
}

// ---- webs -----------------------------------------------------------------------------------------------------------

#[test]
fn pockets_that_overlap_are_refused_with_column_row_and_what_to_skip() {
    let brief = tray(
        [400.0, 200.0],
        rect(60.0, 60.0, 0.0),
        0.2,
        grid(Step::Pitch([60.0, 80.0]), Some(3), Some(1), None),
    );
    let fault = only(refused(&brief));
    assert_eq!(
        (fault.code, fault.place.clone()),
        ("F023", Place::Key("grid.pitch".to_owned())),
        "{fault:?}"
    );
    assert!(
        fault.what.contains("column 0, row 0")
            && fault.what.contains("column 1, row 0")
            && fault.what.contains("meet"),
        "{}",
        fault.what
    );
    let hint = fault.hint.unwrap_or_default();
    assert!(
        hint.contains("skip = [[1, 0]]"),
        "without the middle one neither pair is left: {hint}"
    );
    assert!(
        hint.contains("66.4 mm or more along x"),
        "60.4 and a web of 6: {hint}"
    );
}

#[test]
fn a_web_below_one_millimetre_is_refused_and_one_below_the_jobs_is_told() {
    let web = |gap: f64| {
        tray(
            [400.0, 200.0],
            rect(60.0, 60.0, 0.0),
            0.0,
            grid(Step::Spacing([gap, 20.0]), Some(3), Some(1), None),
        )
    };
    let fault = only(refused(&web(0.999)));
    assert!(fault.what.contains("0.999 mm apart"), "{}", fault.what);
    let (_, findings) = right(&web(1.0));
    let told = findings
        .iter()
        .find(|f| f.code == "F102")
        .expect("a finding");
    assert!(
        told.what.contains("web") && told.limit == Some(6.0),
        "twice the thickness of 3: {told:?}"
    );
    close(
        told.measured.unwrap_or(0.0),
        1.0,
        ROUNDED,
        "the spacing itself",
    );
    assert!(!has(&right(&web(6.0)).1, "F102"), "6 is wide enough");
}

#[test]
fn a_pocket_over_a_screws_hole_is_refused() {
    let mut brief = badges();
    if let Some(bed) = &mut brief.bed {
        bed.locating[0].at = p(230.0, 80.0);
    }
    let fault = only(refused(&brief));
    assert_eq!(
        (fault.code, fault.place.clone()),
        ("F023", Place::Key("bed.locating.0".to_owned())),
        "{fault:?}"
    );
    assert!(
        fault.what.contains("locating hole 1 at (230, 80)")
            && fault.what.contains("column 1, row 0"),
        "{}",
        fault.what
    );
    assert!(
        fault
            .hint
            .is_some_and(|h| h.contains("skip = [[0, 0], [6, 5], [1, 0]]")),
        "by hand: column 1 spans 170 to 255"
    );
}

#[test]
fn a_third_opening_between_two_makes_no_web_of_them() {
    // Discs of 10 at 0, 12 and 24 along x: neighbours are 2 apart; the outer two are 14 apart, with the middle one between.
    let mut brief = plate(100.0, 60.0);
    let places = vec![p(30.0, 30.0), p(42.0, 30.0), p(54.0, 30.0)];
    brief.openings = vec![Opening {
        name: "pin".to_owned(),
        shape: OpeningShape::Own(Shape::Circle { diameter: 10.0 }),
        place: OpeningPlace::At(places),
    }];
    brief.layers[0].features = vec![Feature::Opening(0)];
    brief.layers[0].min_web = 15.0;
    let (_, findings) = right(&brief);
    let told = findings
        .iter()
        .find(|f| f.code == "F102")
        .expect("a finding");
    assert!(
        told.what.contains("1 more"),
        "two webs, not three: {}",
        told.what
    );
}

#[test]
fn an_opening_inside_the_pocket_of_its_own_layer_is_refused() {
    let mut brief = badges();
    brief.layers[2].features.push(Feature::Opening(0));
    let fault = only(refused(&brief));
    assert_eq!(fault.code, "F023", "they meet: {fault:?}");
    assert!(fault.what.contains("opening \"eject\""), "{}", fault.what);
}

#[test]
fn a_hole_near_the_edge_or_over_it_is_told() {
    let at = |x: f64| {
        let mut brief = badges();
        if let Some(bed) = &mut brief.bed {
            bed.locating[0].at = p(x, 300.0);
        }
        // Out of the way of the first column.
        if let Some(grid) = &mut brief.grid {
            grid.first = Some(p(70.0, 50.0));
        }
        right(&brief).1
    };
    // The edge lies at 10; a relief of 13.22 ends 6.61 before its middle, the hole 3.3.
    assert!(
        at(17.0)
            .iter()
            .any(|f| f.code == "F112" && f.what.contains("only 0.39 mm")),
        "10 + 6.61 + 0.39 = 17"
    );
    assert!(
        at(15.0)
            .iter()
            .any(|f| f.code == "F112" && f.what.contains("over the edge")),
        "15 − 6.61 < 10"
    );
    assert!(!has(&at(17.62), "F112"), "1.01 is left");
}

#[test]
fn a_layer_that_falls_apart_is_drawn_in_parts_and_told() {
    let mut brief = plate(100.0, 60.0);
    brief.openings = vec![Opening {
        name: "gap".to_owned(),
        shape: OpeningShape::Own(rect(10.0, 80.0, 0.0)),
        place: OpeningPlace::At(vec![p(50.0, 30.0)]),
    }];
    brief.layers[0].features = vec![Feature::Opening(0)];
    let (fixture, findings) = right(&brief);
    assert_eq!(
        fixture.layers[0].shape.len(),
        2,
        "left and right of the gap"
    );
    close(
        area(&fixture.layers[0]),
        90.0 * 60.0,
        ROUNDED_MM2,
        "closed form",
    );
    assert!(has(&findings, "F115"), "{findings:?}");
    brief.openings[0].shape = OpeningShape::Own(rect(120.0, 80.0, 0.0));
    assert_eq!(only(refused(&brief)).code, "F025", "nothing is left");
}

// ---- screws ---------------------------------------------------------------------------------------------------------

#[test]
fn a_screw_covered_by_a_layer_above_is_refused() {
    let mut brief = badges();
    brief.layers[1].features = vec![Feature::Opening(0)];
    let fault = only(refused(&brief));
    assert_eq!(
        (fault.code, fault.place),
        ("F024", Place::Key("layer.1.features".to_owned())),
        "{}",
        fault.what
    );
    assert!(
        fault.what.contains("\"core\"")
            && fault.what.contains("locating hole 1 at (22, 24)")
            && fault.what.contains("locating hole 2"),
        "{}",
        fault.what
    );
}

#[test]
fn a_relief_smaller_than_its_hole_covers_the_screw() {
    let mut brief = badges();
    brief.fastener = Fastener {
        head_diameter: Some(3.0),
        head_height: Some(0.0),
        reach: 1.0,
    };
    assert!(
        refused(&brief).iter().all(|f| f.code == "F024"),
        "a relief of 5 over a hole of 6.6"
    );
}

#[test]
fn a_drawn_layer_that_is_open_over_the_screw_by_its_drawing_is_right() {
    let mut brief = plate(100.0, 60.0);
    brief.bed = Some(Bed {
        size: [100.0, 60.0],
        datum: Datum::FrontLeft,
        head_gap: 0.0,
        clear_height: None,
        locating: vec![thread(20.0, 30.0, "M5", 0.0)],
    });
    let square = |hole: f64| {
        let outer = polygon(&[(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]);
        Arc::new(vec![Region::new(
            outer.outer().clone(),
            vec![Ring::circle(p(20.0, 30.0), hole / 2.0, SourceId(0))],
        )])
    };
    brief.layers = vec![
        layer("base", 3.0, &[Feature::Locating]),
        layer("face", 3.0, &[]),
    ];
    brief.layers[1].drawn = Some(square(12.0));
    right(&brief);
    // ISO 273 medium for M5 is 5.5: the drawn hole is its equal, then smaller.
    brief.layers[1].drawn = Some(square(5.5));
    right(&brief);
    brief.layers[1].drawn = Some(square(5.0));
    assert_eq!(
        only(refused(&brief)).code,
        "F024",
        "a ring of 0.25 lies over the hole"
    );
}

#[test]
fn a_relief_over_a_smaller_drawn_hole_takes_it_up() {
    let mut brief = plate(100.0, 60.0);
    brief.bed = Some(Bed {
        size: [100.0, 60.0],
        datum: Datum::FrontLeft,
        head_gap: 0.0,
        clear_height: None,
        locating: vec![thread(20.0, 30.0, "M5", 0.0)],
    });
    let outer = polygon(&[(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]);
    let hole = Ring::circle(p(20.0, 30.0), 2.0, SourceId(0));
    brief.layers = vec![
        layer("base", 3.0, &[Feature::Locating]),
        layer("face", 3.0, &[Feature::Relief]),
    ];
    brief.layers[1].drawn = Some(Arc::new(vec![Region::new(
        outer.outer().clone(),
        vec![hole],
    )]));
    let (fixture, findings) = right(&brief);
    assert_eq!(
        fixture.layers[1].shape[0].holes().len(),
        1,
        "one hole, not one in another"
    );
    close(
        100.0 * 60.0 - area(&fixture.layers[1]),
        PI * 11.72 * 11.72 / 4.0,
        ROUNDED_MM2,
        "8.72 + 2 · 1.5 across",
    );
    assert!(
        !has(&findings, "F112"),
        "a drawn hole is no edge to keep from: {findings:?}"
    );
}

#[test]
fn a_tight_relief_is_told_with_the_reach_that_makes_room() {
    let mut brief = badges();
    brief.fastener = Fastener {
        head_diameter: Some(8.0),
        head_height: None,
        reach: 1.0,
    };
    let (_, findings) = right(&brief);
    let told = findings
        .iter()
        .find(|f| f.code == "F101")
        .expect("a finding");
    // ISO 4762 knurled 10.22, play 6.6 − 6, and 1: 11.82; the relief is 8 + 2 = 10.
    assert!(
        told.what.contains("relief") && told.what.contains("11.82"),
        "{told:?}"
    );
    assert!(
        told.hint.contains("reach = 1.91"),
        "1 + 1.82 / 2: {}",
        told.hint
    );
}

#[test]
fn faults_of_holes_are_told_together_with_their_places() {
    let mut brief = badges();
    if let Some(bed) = &mut brief.bed {
        bed.locating = vec![thread(22.0, 24.0, "M9", 0.0), thread(40.0, 24.0, "M6", 0.0)];
        bed.locating.push(Locating {
            at: p(60.0, 24.0),
            size: HoleSize::Diameter(2.0),
            slot: 0.0,
        });
        bed.locating.push(thread(22.0, 24.0, "M6", 3.0));
    }
    let faults = refused(&brief);
    let codes: Vec<_> = faults.iter().map(|f| f.code).collect();
    assert_eq!(
        codes,
        ["F001", "F003"],
        "an unknown thread; a slot on the first hole"
    );
    assert!(
        faults[0].hint.as_deref().is_some_and(|h| h.contains("M6")
            && h.contains("1/4-20")
            && h.contains("did you mean")),
        "{faults:?}"
    );
    if let Some(bed) = &mut brief.bed {
        bed.locating.remove(3);
        bed.locating[0] = thread(22.0, 24.0, "M6", 2.0);
    }
    assert_eq!(
        only(refused(&brief)).code,
        "F002",
        "the first hole has no slot"
    );
    if let Some(bed) = &mut brief.bed {
        bed.locating[0].slot = 0.0;
    }
    assert_eq!(
        only(refused(&brief)).code,
        "F004",
        "no screw is as small as a hole of 2"
    );
}

// ---- what else is refused -------------------------------------------------------------------------------------------

#[test]
fn pvc_on_a_laser_is_refused_with_its_reason_and_a_router_may_cut_it() {
    let mut brief = plate(100.0, 60.0);
    brief.layers[0].material = "Foamed PVC".to_owned();
    brief.part_materials = vec![("spacer".to_owned(), "vinyl".to_owned())];
    let faults = refused(&brief);
    assert_eq!(
        faults.iter().map(|f| f.code).collect::<Vec<_>>(),
        ["F005", "F005"],
        "layer and part"
    );
    assert!(
        faults[0].what.contains("Foamed PVC") && faults[0].what.contains("hydrogen chloride"),
        "{}",
        faults[0].what
    );
    assert_eq!(
        faults[1].place,
        Place::Key("part.0.material".to_owned()),
        "the part's own key"
    );
    brief.kind = CutterKind::Router;
    right(&brief);
}

#[test]
fn what_burns_badly_or_nobody_knows_is_told_as_the_job_writes_it() {
    let mut brief = plate(100.0, 60.0);
    brief.layers[0].material = "Poly-Styrene".to_owned();
    brief.part_materials = vec![
        ("a".to_owned(), "Moon (rock)".to_owned()),
        ("b".to_owned(), "Moon (rock)".to_owned()),
    ];
    let (_, findings) = right(&brief);
    assert_eq!(
        findings.iter().map(|f| f.code).collect::<Vec<_>>(),
        ["F110", "F111"],
        "each material once"
    );
    assert!(
        findings[0].what.contains("Poly-Styrene") && findings[1].what.contains("Moon (rock)"),
        "{findings:?}"
    );
}

#[test]
fn a_notch_at_a_slanted_blank_is_refused_and_at_a_circle_it_is_not() {
    let mut brief = badges();
    if let Some(blank) = &mut brief.blank {
        blank.angle_deg = 10.0;
    }
    assert_eq!(
        only(refused(&brief)).code,
        "F022",
        "no side faces the front"
    );
    if let Some(blank) = &mut brief.blank {
        blank.shape = Shape::Circle { diameter: 50.0 };
    }
    right(&brief);
    if let Some(blank) = &mut brief.blank {
        (blank.shape, blank.angle_deg) = (rect(54.0, 85.0, 3.0), -90.0);
    }
    right(&brief);
}

#[test]
fn shapes_that_cannot_be_are_refused_at_their_keys() {
    let one = || grid(Step::Pitch([50.0, 50.0]), Some(1), Some(1), None);
    let key = |brief: &Brief| {
        let fault = only(refused(brief));
        (fault.code, fault.place)
    };
    let place = |key: &str| Place::Key(key.to_owned());
    assert_eq!(
        key(&tray([100.0, 100.0], rect(40.0, 30.0, 15.1), 0.2, one())),
        ("F006", place("blank.shape")),
        "15 is half of 30"
    );
    let two = vec![
        polygon(&[(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)]),
        polygon(&[(9.0, 0.0), (14.0, 0.0), (14.0, 5.0)]),
    ];
    assert_eq!(
        key(&tray([100.0, 100.0], drawn(two), 0.2, one())),
        ("F008", place("blank.shape")),
        "two triangles are no one blank"
    );
    assert_eq!(
        key(&tray([100.0, 100.0], drawn(Vec::new()), 0.2, one())),
        ("F009", place("blank.shape")),
        "an empty drawing"
    );
    let mut brief = tray([100.0, 100.0], rect(40.0, 30.0, 0.0), 0.2, one());
    brief.openings = vec![Opening {
        name: "window".to_owned(),
        shape: OpeningShape::Grow(-15.0),
        place: OpeningPlace::EachBlank(p(0.0, 0.0)),
    }];
    assert_eq!(
        key(&brief),
        ("F007", place("opening.0.grow")),
        "30 less 2 · 15"
    );
    let mut brief = plate(100.0, 60.0);
    brief.outline = Some(Outline {
        shape: Some(rect(100.0, 60.0, 31.0)),
        at: p(0.0, 0.0),
    });
    assert_eq!(
        key(&brief),
        ("F006", place("fixture.corner_radius")),
        "30 is half of 60"
    );
    brief.outline = None;
    assert_eq!(
        key(&brief),
        ("F011", place("layer.0")),
        "neither drawn nor generated"
    );
}

#[test]
fn features_without_their_tables_are_refused_all_at_once() {
    let mut brief = plate(100.0, 60.0);
    brief.layers[0].features = vec![
        Feature::Locating,
        Feature::Relief,
        Feature::Pocket,
        Feature::Notch,
    ];
    let faults = refused(&brief);
    assert_eq!(
        faults.iter().map(|f| f.code).collect::<Vec<_>>(),
        ["F010"; 4],
        "{faults:?}"
    );
    assert!(
        faults[2].what.contains("\"pocket\"") && faults[2].what.contains("[blank]"),
        "{}",
        faults[2].what
    );
}

#[test]
fn what_no_layer_takes_is_told() {
    let mut brief = badges();
    brief.layers[0].features.clear();
    brief.layers[1].features = vec![Feature::Relief];
    brief.layers[2].features = vec![Feature::Relief, Feature::Pocket];
    let (_, findings) = right(&brief);
    let unused: Vec<_> = findings
        .iter()
        .filter(|f| f.code == "F114")
        .map(|f| f.where_.as_str())
        .collect();
    assert_eq!(
        unused,
        ["bed.locating", "notch", "opening.0"],
        "{findings:?}"
    );
}

#[test]
fn a_fixture_that_hangs_over_the_bed_is_told() {
    let mut brief = badges();
    brief.outline = Some(Outline {
        shape: Some(rect(880.0, 600.0, 8.0)),
        at: p(21.0, 10.0),
    });
    assert!(
        right(&brief)
            .1
            .iter()
            .any(|f| f.code == "F116" && f.what.contains("1 mm")),
        "21 + 880 − 900"
    );
}

#[test]
fn a_job_of_parts_alone_has_an_empty_fixture() {
    let mut brief = plate(1.0, 1.0);
    (brief.outline, brief.layers) = (None, Vec::new());
    let (fixture, _) = right(&brief);
    assert!(
        fixture.layers.is_empty() && fixture.outline.is_empty() && fixture.setup.is_none(),
        "{fixture:?}"
    );
    assert_eq!(
        check_stack(&brief, &fixture, &[]),
        Vec::new(),
        "no stack, no doubts"
    );
}

// ---- the stack ------------------------------------------------------------------------------------------------------

fn sheets(copy: usize, layer: usize, sheets: &[(Option<f64>, Option<Finish>)]) -> LayerSheets {
    LayerSheets {
        layer,
        copy,
        sheets: sheets.to_vec(),
    }
}

/// A base with the screw, a face of 6 with relief and pocket, a blank of 6.
fn flush(head_gap: f64) -> Brief {
    let mut brief = badges();
    brief.layers = vec![
        layer("base", 6.0, &[Feature::Locating]),
        layer("face", 6.0, &[Feature::Relief, Feature::Pocket]),
    ];
    brief.notch = None;
    brief.openings.clear();
    if let (Some(bed), Some(blank)) = (&mut brief.bed, &mut brief.blank) {
        (bed.head_gap, bed.clear_height, blank.thickness) = (head_gap, Some(12.0), 6.0);
    }
    brief
}

fn stack(brief: &Brief, measured: &[LayerSheets]) -> Vec<Finding> {
    check_stack(brief, &right(brief).0, measured)
}

fn codes(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|f| f.code).collect()
}

#[test]
fn a_flush_stack_has_no_doubts() {
    assert_eq!(
        stack(&flush(0.0), &[]),
        Vec::new(),
        "head 6 in 6, blank 6 in 6, 12 high"
    );
}

#[test]
fn on_a_thin_glossy_sheet_head_and_blank_stand_proud_and_the_face_reflects() {
    let gloss = [(Some(5.4), Some(Finish::Gloss))];
    let findings = stack(
        &flush(0.5),
        &[sheets(1, 0, &[(None, None)]), sheets(1, 1, &gloss)],
    );
    assert_eq!(codes(&findings), ["F103", "F104", "F106"], "{findings:?}");
    close(
        findings[0].measured.unwrap_or(0.0),
        0.6,
        ROUNDED,
        "6 − 5.4; the head gap of 0.5 is all reserve",
    );
    assert!(
        findings[0].what.contains("head of the screw at (22, 24)"),
        "{}",
        findings[0].what
    );
    assert!(
        findings[1].what.contains("blank") && findings[2].what.contains("gloss"),
        "{findings:?}"
    );
}

#[test]
fn the_head_gap_less_its_reserve_is_allowed() {
    let thin = [sheets(1, 1, &[(Some(5.4), None)])];
    assert_eq!(
        codes(&stack(&flush(1.1), &thin)),
        Vec::<&str>::new(),
        "0.6 proud, 1.1 − 0.5 allowed"
    );
    assert_eq!(
        codes(&stack(&flush(1.05), &thin)),
        ["F103", "F104"],
        "0.55 allowed"
    );
}

#[test]
fn a_blank_too_deep_is_told_and_one_at_half_a_millimetre_is_not() {
    let deep = |measured| stack(&flush(0.0), &[sheets(1, 1, &[(Some(measured), None)])]);
    assert_eq!(
        codes(&deep(6.5)),
        ["F107"],
        "0.5 deep is allowed; 12.5 is too high"
    );
    assert_eq!(codes(&deep(6.6)), ["F105", "F107"], "0.6 deep");
}

#[test]
fn heads_without_any_relief_are_told_and_so_is_a_screw_that_ends_in_the_base() {
    let mut brief = flush(0.0);
    brief.layers = vec![layer("base", 6.0, &[Feature::Locating, Feature::Pocket])];
    let findings = stack(&brief, &[]);
    assert!(
        findings
            .iter()
            .any(|f| f.code == "F103" && f.what.contains("no layer with `relief`")),
        "{findings:?}"
    );
    brief.fastener.head_height = Some(0.0);
    assert!(
        !has(&stack(&brief, &[]), "F103"),
        "a stud of height 0 stands nowhere proud"
    );
}

#[test]
fn sheets_of_one_layer_that_differ_are_told_with_its_name_and_copy() {
    let measured = [
        sheets(1, 1, &[(Some(6.0), None), (Some(6.0), None)]),
        sheets(
            2,
            1,
            &[(Some(5.95), None), (Some(6.08), None), (None, None)],
        ),
    ];
    let mut brief = flush(1.0);
    if let Some(bed) = &mut brief.bed {
        bed.clear_height = None;
    }
    let findings = stack(&brief, &measured);
    assert_eq!(codes(&findings), ["F108"], "0.13 apart: {findings:?}");
    assert!(
        findings[0].what.contains("\"face\"")
            && findings[0].what.contains("thickness")
            && findings[0].where_.contains("copy 2"),
        "{findings:?}"
    );
}

#[test]
fn a_finding_of_every_copy_is_told_once() {
    let thin = [
        sheets(1, 1, &[(Some(5.4), None)]),
        sheets(2, 1, &[(Some(5.4), None)]),
    ];
    let findings = stack(&flush(0.0), &thin);
    assert_eq!(codes(&findings), ["F103", "F104"], "{findings:?}");
    assert!(
        !findings[0].where_.contains("cop"),
        "it holds of all: {}",
        findings[0].where_
    );
}

//! Cutting: contours, findings, order and figures of a sheet, against closed forms.

#![allow(clippy::unwrap_used, reason = "a test may stop where it fails")]

use std::f64::consts::PI;

use seamwright::cut::{PieceToCut, cut_sheet, options::Marks};
use seamwright::geometry::{
    boolean::difference,
    bounds::Bounds,
    distance::point_edge,
    edge::{Curve, SourceId},
    point::Point,
    predicate::{Location, point_in_region},
    region::Region,
    ring::Ring,
    transform::{Pose, Rotation},
};
use seamwright::model::cut_path::{CutPath, Operation, SheetCut, Stroke};
use seamwright::model::cutter::{Cutter, CutterKind, Pace, Turns};
use seamwright::model::finding::Finding;

const NO_SOURCE: SourceId = SourceId(0);
const NO_MARKS: Marks = Marks {
    labels: false,
    text_height: 6.0,
};

fn boxed(x0: f64, y0: f64, x1: f64, y1: f64, radius: f64) -> Ring {
    Ring::rounded_box(
        Bounds::new(Point::new(x0, y0), Point::new(x1, y1)),
        radius,
        NO_SOURCE,
    )
}

fn laser(kerf: f64) -> Cutter {
    Cutter {
        kind: CutterKind::Laser,
        cut_width: kerf,
        area: None,
        pass_through: None,
        spacing: 2.0,
        edge_margin: 5.0,
        flip: false,
        turns: Turns::Quarter,
        compensate: true,
        tab_width: 4.0,
        pace: Pace {
            speed: 12.0,
            travel_speed: 100.0,
            acceleration: 500.0,
            pierce_s: 0.0,
        },
    }
}

fn cut(piece: &Region, pose: Pose, cutter: &Cutter, marks: &Marks) -> (SheetCut, Vec<Finding>) {
    let sheet = [Region::solid(boxed(-10.0, -10.0, 1000.0, 800.0, 0.0))];
    let to_cut = PieceToCut {
        piece: 0,
        id: "rim-1",
        finished: piece,
        pose,
        cut_width: cutter.cut_width,
        datum: Some(Point::new(0.0, 0.0)),
    };
    cut_sheet("01-sheet", &sheet, &[to_cut], cutter, marks).unwrap()
}

fn ring(path: &CutPath) -> &Ring {
    match &path.stroke {
        Stroke::Closed(ring) => ring,
        Stroke::Open(_) => panic!("a contour is closed"),
    }
}

fn of(sheet: &SheetCut, operation: Operation) -> Vec<&Ring> {
    sheet
        .paths
        .iter()
        .filter(|p| p.operation == operation)
        .map(ring)
        .collect()
}

fn close(got: f64, want: f64, tolerance: f64, why: &str) {
    assert!(
        (got - want).abs() <= tolerance,
        "{got} is not {want}: {why}"
    );
}

#[test]
fn the_cut_runs_half_a_kerf_outside_and_holes_stay_circles() {
    let plate = Region::new(
        boxed(0.0, 0.0, 880.0, 600.0, 8.0),
        vec![Ring::circle(Point::new(22.0, 24.0), 3.3, NO_SOURCE)],
    );
    let (sheet, findings) = cut(&plate, Pose::IDENTITY, &laser(0.16), &NO_MARKS);
    assert!(findings.is_empty());
    let (_, radius) = of(&sheet, Operation::CutInner)[0].as_circle().unwrap();
    close(radius * 2.0, 6.44, 1e-12, "hole 6.6 less the kerf");
    let outer = of(&sheet, Operation::CutOuter)[0];
    let b = outer.bounds();
    close(
        b.width(),
        880.16,
        2e-6,
        "880 and the kerf; both ends on the grid of 1e-6",
    );
    close(b.depth(), 600.16, 2e-6, "600 and the kerf");
    let radii: Vec<f64> = outer
        .edges()
        .iter()
        .filter_map(|e| {
            if let Curve::Arc { radius, .. } = e.curve {
                Some(radius)
            } else {
                None
            }
        })
        .collect();
    assert_eq!(radii.len(), 4);
    for r in radii {
        close(r, 8.08, 2e-6, "radius 8 and half the kerf");
    }
    let perimeter = 2.0 * (880.0 + 600.0) - 8.0 * 8.0 + 2.0 * PI * 8.08 + PI * 6.44;
    close(
        sheet.cut_length,
        perimeter,
        2e-5,
        "straight sides, four quarter arcs, the hole; ten ends on the grid",
    );
}

#[test]
fn a_sharp_rectangle_grows_as_steiner_says() {
    let plate = Region::solid(boxed(0.0, 0.0, 85.0, 54.0, 0.0));
    let (sheet, _) = cut(&plate, Pose::IDENTITY, &laser(0.16), &NO_MARKS);
    // A + P·d + π·d²: 4590 + 278·0.08 + π·0.0064 = 4612.2601.
    let want = 4590.0 + 278.0 * 0.08 + PI * 0.0064;
    close(
        of(&sheet, Operation::CutOuter)[0].area_mm2(),
        want,
        3e-4,
        "Steiner's formula; a perimeter of 278 off by the grid of 1e-6",
    );
}

#[test]
fn without_compensation_the_contours_are_the_finished_shape() {
    let plate = Region::new(
        boxed(0.0, 0.0, 85.0, 54.0, 3.0),
        vec![Ring::circle(Point::new(40.0, 30.0), 3.0, NO_SOURCE)],
    );
    let cutter = Cutter {
        compensate: false,
        ..laser(0.16)
    };
    let (sheet, _) = cut(&plate, Pose::IDENTITY, &cutter, &NO_MARKS);
    close(
        of(&sheet, Operation::CutOuter)[0].length(),
        272.8496,
        5e-5,
        "2·(85 + 54) − 8·3 + 2π·3, to four decimals",
    );
    assert_eq!(
        of(&sheet, Operation::CutInner)[0].as_circle().unwrap().1,
        3.0
    );
}

#[test]
fn a_hole_narrower_than_the_cut_is_told_and_left_out() {
    let holes = vec![
        boxed(20.0, 20.0, 20.1, 40.0, 0.0),
        Ring::circle(Point::new(60.0, 30.0), 0.07, NO_SOURCE),
        boxed(30.0, 20.0, 40.0, 40.0, 0.0),
    ];
    let plate = Region::new(boxed(0.0, 0.0, 85.0, 54.0, 0.0), holes);
    let (sheet, findings) = cut(&plate, Pose::IDENTITY, &laser(0.16), &NO_MARKS);
    assert_eq!(of(&sheet, Operation::CutInner).len(), 1);
    assert_eq!(
        findings.iter().map(|f| f.code).collect::<Vec<_>>(),
        ["C101", "C101"]
    );
    assert!(
        findings[0].what.contains("rim-1") && findings[0].what.contains("(20.05, 30.00)"),
        "{}",
        findings[0].what
    );
}

#[test]
fn contours_move_with_the_piece_turned_and_mirrored() {
    let plate = Region::new(
        boxed(0.0, 0.0, 100.0, 40.0, 0.0),
        vec![Ring::circle(Point::new(10.0, 10.0), 3.0, NO_SOURCE)],
    );
    let pose = Pose {
        mirrored: true,
        rotation: Rotation::from_degrees(90.0),
        shift: Point::new(300.0, 200.0),
    };
    let (sheet, _) = cut(&plate, pose, &laser(0.2), &NO_MARKS);
    let (center, _) = of(&sheet, Operation::CutInner)[0].as_circle().unwrap();
    // By hand: (10, 10) mirrored (−10, 10), turned (−10, −10), moved (290, 190).
    assert_eq!(center, Point::new(290.0, 190.0));
    let b = of(&sheet, Operation::CutOuter)[0].bounds();
    close(
        b.min.x,
        300.0 - 40.1,
        2e-6,
        "0 to 40 along y becomes 0 to −40 along x, and half the kerf",
    );
    close(b.max.y, 200.1, 2e-6, "0 to −100 along y, and half the kerf");
    assert!(
        of(&sheet, Operation::CutOuter)[0].area_mm2() > 0.0
            && of(&sheet, Operation::CutInner)[0].area_mm2() < 0.0
    );
}

#[test]
fn marks_come_first_and_the_sheet_last_and_neither_counts_as_cut() {
    let plate = Region::solid(boxed(0.0, 0.0, 85.16, 54.16, 0.0));
    let cutter = laser(0.0);
    let (bare, _) = cut(&plate, Pose::IDENTITY, &cutter, &NO_MARKS);
    let (marked, findings) = cut(
        &plate,
        Pose::IDENTITY,
        &cutter,
        &Marks {
            labels: true,
            text_height: 6.0,
        },
    );
    assert!(findings.is_empty());
    let operations: Vec<Operation> = marked.paths.iter().map(|p| p.operation).collect();
    assert!(
        operations.is_sorted() && operations[0] == Operation::Engrave,
        "{operations:?}"
    );
    assert_eq!(*operations.last().unwrap(), Operation::Sheet);
    close(bare.cut_length, 278.64, 1e-12, "2·(85.16 + 54.16)");
    assert_eq!(marked.cut_length, bare.cut_length);
    // Loop of four moves 23.316 s; the way there from the sheet's corner (−10, −10) to (0, 0): √200/100 < v²/a = 20, so 2·√(14.142/500).
    close(
        bare.cut_time_s,
        278.64 / 12.0 + 4.0 * 12.0 / 500.0 + 2.0 * (200.0_f64.sqrt() / 500.0).sqrt(),
        1e-9,
        "closed form",
    );
    assert!(marked.cut_time_s > bare.cut_time_s);
}

#[test]
fn a_piece_too_small_for_a_mark_is_told() {
    let dot = Region::solid(Ring::circle(Point::new(0.0, 0.0), 2.0, NO_SOURCE));
    let (_, findings) = cut(
        &dot,
        Pose::IDENTITY,
        &laser(0.16),
        &Marks {
            labels: true,
            text_height: 6.0,
        },
    );
    assert_eq!(findings[0].code, "C103");
}

/// A corner piece of a pocketed layer: whole pockets with a notch, pockets that its edge cuts open, a slot of 1 mm.
fn pocketed() -> Region {
    let plate = Region::solid(boxed(0.0, 0.0, 300.0, 200.0, 8.0));
    let mut cuts = Vec::new();
    for (x, y) in [
        (70.0, 60.0),
        (190.0, 60.0),
        (310.0, 60.0),
        (70.0, 170.0),
        (190.0, 175.0),
    ] {
        cuts.push(Region::solid(Ring::circle(
            Point::new(x, y),
            42.0,
            NO_SOURCE,
        )));
        cuts.push(Region::solid(Ring::circle(
            Point::new(x - 42.0, y),
            9.0,
            NO_SOURCE,
        )));
    }
    cuts.push(Region::solid(boxed(120.0, 112.0, 140.0, 113.0, 0.0)));
    let mut pieces = difference(&[plate], &cuts).unwrap();
    assert_eq!(pieces.len(), 1, "the webs hold it together");
    pieces.remove(0)
}

#[test]
fn every_point_of_a_contour_lies_half_the_cut_outside_the_finished_piece() {
    let piece = pocketed();
    let pose = Pose {
        mirrored: true,
        rotation: Rotation::from_degrees(17.0),
        shift: Point::new(500.0, 300.0),
    };
    let laid = piece.posed(pose);
    let (sheet, findings) = cut(&piece, pose, &laser(0.3), &NO_MARKS);
    assert!(findings.is_empty());
    assert_eq!(of(&sheet, Operation::CutInner).len(), piece.holes().len());
    for ring in [Operation::CutInner, Operation::CutOuter]
        .iter()
        .flat_map(|&o| of(&sheet, o))
    {
        for p in ring.flatten(0.05) {
            let near = laid
                .edges()
                .map(|e| point_edge(p, e).0)
                .fold(f64::INFINITY, f64::min);
            close(
                near,
                0.15,
                5e-6,
                "half of 0.3; ends on the grid of 1e-6, arcs through them",
            );
            assert_eq!(point_in_region(p, &laid), Location::Outside);
        }
    }
}

#[test]
fn marks_lie_in_the_material_of_a_pocketed_piece() {
    let piece = pocketed();
    let (sheet, findings) = cut(
        &piece,
        Pose::IDENTITY,
        &laser(0.16),
        &Marks {
            labels: true,
            text_height: 6.0,
        },
    );
    assert!(findings.is_empty());
    let marks = sheet.paths.iter().filter_map(|p| {
        if let Stroke::Open(path) = &p.stroke {
            Some(path)
        } else {
            None
        }
    });
    let mut n = 0;
    for p in marks.flat_map(|path| path.flatten(0.1)) {
        n += 1;
        assert_eq!(point_in_region(p, &piece), Location::Inside, "{p:?}");
        let near = piece
            .edges()
            .map(|e| point_edge(p, e).0)
            .fold(f64::INFINITY, f64::min);
        assert!(
            near > 1.0 - 1e-9,
            "{p:?} lies {near} mm from an edge; marks keep 1 mm"
        );
    }
    assert!(n > 20, "five letters and an arrow");
}

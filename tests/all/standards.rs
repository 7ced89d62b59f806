//! The tables of standards give the figures that handbooks print.

use seamwright::fixture::brief::Fit;
use seamwright::fixture::standards::{
    Head, Laser, laser, modulus, nearest_thread, screw, screw_for, threads,
};

/// The hole of a thread, or a failure of the test.
fn hole(thread: &str, fit: Fit) -> f64 {
    screw(thread, fit).map_or(f64::NAN, |s| s.hole)
}

#[test]
fn medium_holes_are_those_of_iso_273() {
    // ISO 273 as a public table prints it; M3 to M10 agree with Machinery's Handbook, 31st ed., p. 2173 (read as an excerpt).
    for (thread, fine, medium, coarse) in [
        ("M3", 3.2, 3.4, 3.6),
        ("M4", 4.3, 4.5, 4.8),
        ("M5", 5.3, 5.5, 5.8),
        ("M6", 6.4, 6.6, 7.0),
        ("M8", 8.4, 9.0, 10.0),
        ("M10", 10.5, 11.0, 12.0),
    ] {
        let got = [Fit::Fine, Fit::Medium, Fit::Coarse].map(|f| hole(thread, f));
        assert_eq!(got, [fine, medium, coarse], "ISO 273, {thread}");
    }
}

#[test]
fn the_m12_row_is_that_of_iso_273_and_not_of_the_older_british_series() {
    // ISO 273: 13, 13.5, 14.5. BS 4186:1967 has 13, 14, 15 (Machinery's Handbook, 31st ed., p. 2173, read as an excerpt).
    assert_eq!(
        [Fit::Fine, Fit::Medium, Fit::Coarse].map(|f| hole("M12", f)),
        [13.0, 13.5, 14.5],
        "ISO 273"
    );
}

#[test]
fn a_normal_hole_for_a_quarter_inch_screw_is_nine_thirty_seconds() {
    // ASME B18.2.8: drill 9/32 in = 7.14375 mm; the table is rounded to 0.001 mm, so half of that is the tolerance.
    assert!(
        (hole("1/4-20", Fit::Medium) - 9.0 / 32.0 * 25.4).abs() <= 0.0005,
        "ASME B18.2.8, 9/32 in"
    );
    assert!(
        (hole("1/4-20", Fit::Fine) - 17.0 / 64.0 * 25.4).abs() <= 0.0005,
        "ASME B18.2.8, 17/64 in"
    );
    assert!(
        (hole("1/4-20", Fit::Coarse) - 19.0 / 64.0 * 25.4).abs() <= 0.0005,
        "ASME B18.2.8, 19/64 in"
    );
}

#[test]
fn inch_holes_grow_by_a_sixty_fourth_two_and_three() {
    // The oversize rule printed beside ASME B18.2.8 for sizes up to 7/16 in: 1/64, 1/32, 3/64 in, within 0.0025 in of every drill.
    for thread in threads().into_iter().filter(|t| t.contains('-')) {
        let own = screw(thread, Fit::Medium)
            .and_then(|s| s.thread)
            .unwrap_or(f64::NAN);
        for (n, fit) in [(1.0, Fit::Fine), (2.0, Fit::Medium), (3.0, Fit::Coarse)] {
            let off = (hole(thread, fit) - own) / 25.4 - n / 64.0;
            assert!(off.abs() <= 0.0025, "{thread}: {off} in off the rule");
        }
    }
}

#[test]
fn heads_are_the_knurled_ones_of_iso_4762_and_those_of_asme_b18_3() {
    let head = |thread| screw(thread, Fit::Medium).and_then(|s| s.head);
    assert_eq!(
        head("M6"),
        Some(Head {
            diameter: 10.22,
            height: 6.0
        }),
        "ISO 4762, knurled, largest"
    );
    assert_eq!(
        head("M12"),
        Some(Head {
            diameter: 18.27,
            height: 12.0
        }),
        "ISO 4762, knurled, largest"
    );
    // ASME B18.3: 3/8 in and 1/4 in, exact in mm.
    assert_eq!(
        head("1/4-20"),
        Some(Head {
            diameter: 9.525,
            height: 6.35
        }),
        "ASME B18.3"
    );
}

#[test]
fn a_thread_without_a_head_takes_the_next_smaller_one() {
    let head = |thread| {
        screw(thread, Fit::Medium)
            .and_then(|s| s.head)
            .map(|h| h.diameter)
    };
    assert_eq!(head("M3.5"), head("M3"), "ISO 4762 has no M3.5");
    assert_eq!(head("M7"), head("M6"), "ISO 4762 has no M7");
    assert_eq!(hole("M7", Fit::Medium), 7.6, "the hole is its own, ISO 273");
}

#[test]
fn a_hole_knows_no_pitch() {
    assert_eq!(
        screw("10-32", Fit::Medium),
        screw("10-24", Fit::Medium),
        "No. 10 either way"
    );
    assert_eq!(
        screw("1/4-28", Fit::Medium),
        screw("1/4-20", Fit::Medium),
        "1/4 in either way"
    );
    assert_eq!(screw("1/4-21", Fit::Medium), None, "no such pitch");
}

#[test]
fn a_hole_by_its_diameter_takes_the_largest_thread_that_passes() {
    // ISO 273 medium: M6 6.6, M7 7.6 (without a head in ISO 4762), M8 9.
    let taken = |d| (screw_for(d).thread, screw_for(d).head.map(|h| h.diameter));
    assert_eq!(
        taken(7.0),
        (Some(6.0), Some(10.22)),
        "M6 is the largest with 6.6 ≤ 7"
    );
    assert_eq!(taken(6.6), (Some(6.0), Some(10.22)), "6.6 itself passes");
    assert_eq!(
        taken(7.7),
        (Some(6.0), Some(10.22)),
        "M7 would pass but has no head"
    );
    assert_eq!(taken(9.0), (Some(8.0), Some(13.27)), "M8");
    assert_eq!(taken(3.3), (None, None), "below the medium hole of M3, 3.4");
}

#[test]
fn two_screws_in_medium_holes_let_a_fixture_turn() {
    // By hand: M6 in 6.6, 860 apart: 0.6 / 860 = 0.00069767 rad; over 900 mm 0.62791 mm. Rounded in the last printed digit.
    let turn = screw("M6", Fit::Medium)
        .and_then(|s| Some((s.hole - s.thread?) / 860.0))
        .unwrap_or(f64::NAN);
    assert!(
        (turn - 0.000_697_7).abs() < 5e-8,
        "hand calculation, four digits: {turn}"
    );
    assert!(
        (turn * 900.0 - 0.6279).abs() < 5e-5,
        "hand calculation, four digits"
    );
}

#[test]
fn an_unknown_thread_is_told_its_nearest() {
    assert_eq!(
        screw("M9", Fit::Medium),
        None,
        "no such row in ISO 273's table"
    );
    assert_eq!(nearest_thread("1/4-2O"), Some("1/4-20"), "one letter off");
    assert_eq!(nearest_thread("wood screw"), None, "nothing is near");
}

#[test]
fn every_figure_of_the_tables_is_a_number() {
    for thread in threads() {
        for fit in [Fit::Fine, Fit::Medium, Fit::Coarse] {
            let screw = screw(thread, fit).unwrap_or(screw_for(0.0));
            let own = screw.thread.unwrap_or(f64::NAN);
            assert!(
                own > 0.0 && screw.hole > own,
                "{thread}: a clearance hole is larger than its thread"
            );
            assert!(
                screw
                    .head
                    .is_some_and(|h| h.diameter > screw.hole && h.height > 0.0),
                "{thread}: a head is larger than its hole"
            );
        }
    }
}

#[test]
fn materials_are_known_by_all_their_names_in_any_spelling() {
    assert_eq!(laser("mdf"), Laser::Yes, "without case");
    assert_eq!(laser("Cast_Acrylic"), Laser::Yes, "without _");
    assert!(
        matches!(laser("foamed PVC"), Laser::Never(reason) if reason.contains("hydrogen chloride")),
        "common practice, no source"
    );
    assert!(
        matches!(laser("F R-4"), Laser::Never(_)),
        "without spaces and -"
    );
    assert!(matches!(laser("HIPS"), Laser::No(_)), "burns with soot");
    assert_eq!(laser("unobtainium"), Laser::Unknown, "not in the table");
    assert_eq!(laser(""), Laser::Unknown, "an empty alias is no name");
}

#[test]
fn moduli_are_those_of_the_table_by_every_name_of_a_material() {
    // Acrylic 3300 MPa: a property database that cites ISO 527. MDF 2700: EN 622-5, from memory.
    assert_eq!(modulus("Cast Acrylic"), Some(3300.0));
    assert_eq!(modulus("pmma"), Some(3300.0));
    assert_eq!(modulus("fibre-board"), Some(2700.0));
    assert_eq!(modulus("hips"), Some(1900.0));
    assert_eq!(modulus("plywood"), None, "it depends on the direction");
    assert_eq!(modulus("unheard of"), None);
}

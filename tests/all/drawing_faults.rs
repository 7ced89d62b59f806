//! Faults of one kind in a drawing are told all at once: twenty one by one, the others as a number.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use seamwright::drawing::limits::Limits;
use seamwright::drawing::{self, DrawingOptions};
use seamwright::model::fault::Fault;

/// What a drawing is refused with.
fn faults(name: &str, text: &str) -> Vec<Fault> {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    let errors = drawing::read(name, text.as_bytes(), options).unwrap_err();
    errors.iter().map(|e| e.fault()).collect()
}

/// Twenty faults of a code, and one that tells how many more.
fn assert_told(faults: &[Fault], code: &str, more: &str) {
    let told: Vec<&Fault> = faults.iter().filter(|f| f.code == code).collect();
    assert_eq!(told.len(), 21, "{faults:#?}");
    assert_eq!(told[20].what, more);
    let mut each: Vec<&str> = told.iter().map(|f| f.what.as_str()).collect();
    each.dedup();
    assert_eq!(each.len(), 21, "none is told twice: {each:#?}");
}

fn dxf(blocks: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

fn square(handle: usize, x: usize, y: usize) -> String {
    let (r, b) = (x + 50, y + 50);
    format!(
        "0\nLWPOLYLINE\n5\n{handle:X}\n8\nFACE\n90\n4\n70\n1\n10\n{x}\n20\n{y}\n10\n{r}\n20\n{y}\n10\n{r}\n20\n{b}\n10\n{x}\n20\n{b}\n"
    )
}

fn insert(handle: usize, block: &str) -> String {
    format!("0\nINSERT\n5\n{handle:X}\n8\nFACE\n2\n{block}\n10\n0\n20\n0\n")
}

#[test]
fn outlines_that_cross_are_told_with_every_place() {
    let pairs: String = (0..15)
        .map(|k| square(2 * k + 16, 100 * k, 0) + &square(2 * k + 17, 100 * k + 25, 25))
        .collect();
    let faults = faults("a.dxf", &dxf("", &pairs));
    assert_told(
        &faults,
        "D023",
        "10 more faults of this kind are not listed",
    );
    // Two squares of 50, one moved by (25, 25), cross in (50, 25) and (25, 50).
    assert!(faults[0].what.contains("(50.000, 25.000)"), "{faults:?}");
    assert!(faults[1].what.contains("(25.000, 50.000)"), "{faults:?}");
}

#[test]
fn outlines_that_touch_are_told_with_every_place_once() {
    // Corner at corner: each place is the end of four edges.
    let row: String = (0..30).map(|k| square(k + 16, 50 * k, 50 * k)).collect();
    let faults = faults("a.dxf", &dxf("", &row));
    assert_told(&faults, "D024", "9 more faults of this kind are not listed");
}

#[test]
fn more_crossings_than_are_looked_for_are_told_as_the_least() {
    let teeth = |flip: bool| {
        let at = |k: usize| {
            let (along, across) = (4 * k + 1, if k.is_multiple_of(2) { 0 } else { 300 });
            let (x, y) = if flip {
                (across, along)
            } else {
                (along, across)
            };
            format!("10\n{x}\n20\n{y}\n")
        };
        let end = if flip {
            "10\n400\n20\n150\n"
        } else {
            "10\n150\n20\n400\n"
        };
        let corners: String = (0..75).map(at).collect();
        format!("0\nLWPOLYLINE\n8\nFACE\n90\n76\n70\n1\n{corners}{end}")
    };
    let faults = faults("a.dxf", &dxf("", &(teeth(false) + &teeth(true))));
    assert_told(
        &faults,
        "D023",
        "at least 980 more faults of this kind are not listed",
    );
}

#[test]
fn missing_blocks_are_told_with_every_insert() {
    let inserts: String = (0..23)
        .map(|k| insert(k + 16, &format!("BOLT{k}")))
        .collect();
    let faults = faults("a.dxf", &dxf("", &inserts));
    assert_told(&faults, "D017", "3 more faults of this kind are not listed");
}

#[test]
fn blocks_and_repeated_elements_inside_of_themselves_are_all_told() {
    let block = |k: usize| {
        let inner = insert(k + 16, &format!("NUT{k}"));
        format!("0\nBLOCK\n8\n0\n2\nNUT{k}\n10\n0\n20\n0\n{inner}0\nENDBLK\n")
    };
    let blocks: String = (0..22).map(block).collect();
    let inserts: String = (0..22)
        .map(|k| insert(k + 99, &format!("NUT{k}")))
        .collect();
    assert_told(
        &faults("a.dxf", &dxf(&blocks, &inserts)),
        "D018",
        "2 more faults of this kind are not listed",
    );
    let uses: String = (0..24)
        .map(|k| format!("<use id=\"u{k}\" href=\"#u{k}\"/>\n"))
        .collect();
    let svg = format!("<svg width=\"9mm\" height=\"9mm\">{uses}</svg>");
    assert_told(
        &faults("a.svg", &svg),
        "D018",
        "4 more faults of this kind are not listed",
    );
}

#[test]
fn a_missing_block_and_a_circle_of_blocks_are_told_together() {
    let block = format!(
        "0\nBLOCK\n8\n0\n2\nNUT\n10\n0\n20\n0\n{}0\nENDBLK\n",
        insert(1, "NUT")
    );
    let told = faults(
        "a.dxf",
        &dxf(&block, &(insert(2, "BOLT") + &insert(3, "NUT"))),
    );
    let codes: Vec<&str> = told.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["D017", "D018"]);
}

#[test]
fn more_name_spaces_than_can_be_told_apart_are_named_as_such() {
    let groups: String = (0..65_600)
        .map(|k| format!("<g xmlns:a{k}=\"b\"/>"))
        .collect();
    let svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{groups}</svg>");
    let faults = faults("a.svg", &svg);
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].code, "D027");
    assert!(
        faults[0].what.contains("more than 65535 XML name spaces"),
        "{}",
        faults[0].what
    );
    assert!(faults[0].hint.clone().unwrap().contains("plain SVG"));
}

//! Each limit of a drawing one below, at and one above its figure; the message gives limit, figure and option.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use seamwright::drawing::limits::{Limit, Limits};
use seamwright::drawing::{self, DrawingOptions};
use seamwright::model::fault::Fault;

fn read(name: &str, text: &str, limits: Limits) -> Result<(), Vec<Fault>> {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits,
    };
    match drawing::read(name, text.as_bytes(), options) {
        Ok(_) => Ok(()),
        Err(errors) => Err(errors.iter().map(|e| e.fault()).collect()),
    }
}

/// A drawing that comes to exactly `figure` passes limits of `figure` and more, and no lower one.
fn assert_limit(name: &str, text: &str, limit: Limit, figure: u64, code: &str) {
    for (at, passes) in [(figure - 1, false), (figure, true), (figure + 1, true)] {
        let found = read(name, text, Limits::default().with(limit, at));
        match (passes, found) {
            (true, found) => assert!(found.is_ok(), "{} {at}: {found:?}", limit.name()),
            (false, Ok(())) => panic!("{} {at} admitted {figure}", limit.name()),
            (false, Err(faults)) => {
                assert_eq!(faults.len(), 1, "{faults:?}");
                assert_eq!(faults[0].code, code, "{faults:?}");
                let hint = faults[0].hint.clone().unwrap();
                let option = format!("--allow {}=", limit.name());
                assert!(hint.contains(&option), "{hint}");
                assert!(
                    faults[0].what.contains(&at.to_string()),
                    "{}",
                    faults[0].what
                );
            }
        }
    }
}

fn dxf(blocks: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

const CIRCLE: &str = "0\nCIRCLE\n8\n0\n10\n0\n20\n0\n40\n5\n";

fn block(name: &str, holds: &str) -> String {
    format!("0\nBLOCK\n8\n0\n2\n{name}\n10\n0\n20\n0\n{holds}0\nENDBLK\n")
}

fn insert(name: &str, columns: usize) -> String {
    format!("0\nINSERT\n8\n0\n2\n{name}\n10\n0\n20\n0\n70\n{columns}\n71\n1\n44\n20\n")
}

#[test]
fn bytes() {
    let text = dxf("", CIRCLE);
    assert_limit("a.dxf", &text, Limit::Bytes, text.len() as u64, "D002");
    let svg = "<svg width=\"9mm\" viewBox=\"0 0 9 9\"><circle r=\"3\"/></svg>";
    assert_limit("a.svg", svg, Limit::Bytes, svg.len() as u64, "D002");
}

#[test]
fn entities() {
    // Six copies of a circle in a row, and one beside.
    let beside = "0\nCIRCLE\n8\n0\n10\n0\n20\n90\n40\n5\n";
    let text = dxf(&block("B", CIRCLE), &(insert("B", 6) + beside));
    assert_limit("a.dxf", &text, Limit::Entities, 7, "D027");
    // svg, defs, circle, use with the circle: five elements.
    let svg = "<svg><defs><circle id=\"c\" r=\"3\"/></defs><use href=\"#c\"/></svg>";
    assert_limit("a.svg", svg, Limit::Entities, 5, "D027");
}

#[test]
fn depth() {
    let text = dxf(
        &(block("A", CIRCLE) + &block("B", &insert("A", 1)) + &block("C", &insert("B", 1))),
        &insert("C", 1),
    );
    assert_limit("a.dxf", &text, Limit::Depth, 3, "D026");
    let svg = "<svg><g><g><g><circle r=\"3\"/></g></g></g></svg>";
    assert_limit("a.svg", svg, Limit::Depth, 5, "D027");
}

#[test]
fn depth_holds_where_a_part_of_the_levels_was_counted_before() {
    let levels = 300;
    let blocks: String = (0..levels)
        .map(|k| {
            let holds = if k == 0 {
                CIRCLE.to_owned()
            } else {
                insert(&format!("L{}", k - 1), 1)
            };
            block(&format!("L{k}"), &holds)
        })
        .collect();
    let text = dxf(&blocks, &(insert("L200", 1) + &insert("L299", 1)));
    let faults = read("a.dxf", &text, Limits::default()).unwrap_err();
    assert_eq!(faults[0].code, "D026", "{faults:?}");
}

#[test]
fn nodes() {
    // The root of the tree and three elements; the figure is the XML reader's own count.
    let svg = "<svg><g><circle r=\"3\"/></g></svg>";
    let admitted = |n: u64| read("a.svg", svg, Limits::default().with(Limit::Nodes, n)).is_ok();
    let figure = (1..20).find(|n| admitted(*n)).unwrap();
    assert!((3..=5).contains(&figure), "{figure} nodes");
    assert_limit("a.svg", svg, Limit::Nodes, figure, "D027");
}

#[test]
fn edges() {
    // A circle is two half circles; a square has four edges.
    let square =
        "0\nLWPOLYLINE\n8\n0\n70\n1\n10\n20\n20\n0\n10\n30\n20\n0\n10\n30\n20\n9\n10\n20\n20\n9\n";
    assert_limit(
        "a.dxf",
        &dxf("", &(CIRCLE.to_owned() + square)),
        Limit::Edges,
        6,
        "D027",
    );
}

#[test]
fn text_of_entities() {
    // An entity of 10 letters, used three times: the figure is what the reader itself counts.
    let svg = "<!DOCTYPE svg [<!ENTITY e \"0123456789\">]><svg><desc>&e;&e;&e;</desc><circle r=\"3\"/></svg>";
    let admitted = |n: u64| read("a.svg", svg, Limits::default().with(Limit::Text, n)).is_ok();
    let figure = (1..200).find(|n| admitted(*n)).unwrap();
    assert!((30..=40).contains(&figure), "{figure} bytes");
    assert_limit("a.svg", svg, Limit::Text, figure, "D028");
}

#[test]
fn levels_of_entities() {
    // No option raises it: ten is what the XML reader itself follows. The last of a chain holds all others.
    for (levels, passes) in [(9, true), (10, true), (11, false), (64, false), (65, false)] {
        for from_behind in [false, true] {
            let name = |k: usize| format!("e{:02}", if from_behind { 99 - k } else { k });
            let chain: String = (2..=levels)
                .map(|k| format!("<!ENTITY {} \"&{};\">", name(k), name(k - 1)))
                .collect();
            let (first, last) = (name(1), name(levels));
            let svg = format!(
                "<!DOCTYPE svg [<!ENTITY {first} \"3\">{chain}]><svg width=\"9mm\" viewBox=\"0 0 9 9\"><circle r=\"&{last};\"/></svg>"
            );
            match read("a.svg", &svg, Limits::default()) {
                Ok(()) => assert!(passes, "{levels} admitted"),
                Err(faults) => {
                    assert!(!passes, "{levels}: {faults:?}");
                    assert_eq!(faults[0].code, "D028", "{faults:?}");
                    assert!(faults[0].what.contains("more than 10 levels"), "{faults:?}");
                }
            }
        }
    }
}

#[test]
fn rules_of_style_sheets() {
    let svg = "<svg><style>a, g, .b { fill: none } #c { fill: red }</style><circle r=\"3\"/></svg>";
    assert_limit("a.svg", svg, Limit::Rules, 4, "D027");
}

#[test]
fn matches_of_elements_and_rules() {
    // Three elements, two rules.
    let svg = "<svg><style>a, g { fill: none }</style><circle r=\"3\"/></svg>";
    assert_limit("a.svg", svg, Limit::Matches, 6, "D027");
}

#[test]
fn attributes_of_an_element() {
    let svg = "<svg><circle r=\"3\" a=\"\" b=\"\" c=\"\" d=\"\"/></svg>";
    assert_limit("a.svg", svg, Limit::Attributes, 5, "D027");
}

#[test]
fn comparisons_of_name_spaces() {
    // Two in scope: 2² / 2 for the root, which declares them, and 2 for each of its two names with room for a prefix and for the circle's.
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:a=\"a\"><circle r=\"3\"/></svg>";
    assert_limit("a.svg", svg, Limit::NameSpaces, 8, "D027");
}

#[test]
fn pairs_of_edges() {
    let text = dxf(
        "",
        &(CIRCLE.to_owned() + &CIRCLE.replace("40\n5\n", "40\n4\n")),
    );
    let admitted = |n: u64| read("a.dxf", &text, Limits::default().with(Limit::Pairs, n)).is_ok();
    let figure = (0..100).find(|n| admitted(*n)).unwrap();
    assert!(
        (4..=6).contains(&figure),
        "{figure} pairs of four half circles"
    );
    assert_limit("a.dxf", &text, Limit::Pairs, figure, "D027");
}

#[test]
fn coordinates() {
    // No option raises it: side tests are exact and tolerances are derived up to a kilometre. The circle's right end lies
    // at its centre and 5 mm.
    for (end, passes) in [(999_999.0, true), (1e6, true), (1_000_000.001, false)] {
        let x = end - 5.0;
        let text = dxf("", &CIRCLE.replace("10\n0\n", &format!("10\n{x}\n")));
        let page = "width=\"100mm\" viewBox=\"0 0 100 100\"";
        let svg = format!("<svg {page}><circle cx=\"{x}\" r=\"5\"/></svg>");
        for (name, text) in [("a.dxf", &text), ("a.svg", &svg)] {
            match read(name, text, Limits::default()) {
                Ok(()) => assert!(passes, "{name}: {end} admitted"),
                Err(faults) => {
                    assert!(!passes, "{name}: {faults:?}");
                    assert_eq!(faults[0].code, "D015");
                    assert!(faults[0].what.contains("at most 1e6"), "{faults:?}");
                }
            }
        }
    }
}

#[test]
fn entities_of_blocks_without_an_option() {
    // Letters take no time: what is asked is only whether they are too many.
    let letter = "0\nTEXT\n8\n0\n10\n0\n20\n0\n40\n5\n1\nA\n";
    let block = block("B", letter);
    for (columns, rows, more, passes) in [
        (499, 501, "", true),
        (500, 500, "", true),
        (500, 500, letter, false),
    ] {
        let array = insert("B", columns).replace("71\n1\n", &format!("71\n{rows}\n45\n20\n"));
        let faults = read("a.dxf", &dxf(&block, &(array + more)), Limits::default()).unwrap_err();
        let code = if passes { "D025" } else { "D027" };
        assert_eq!(faults[0].code, code, "{columns} × {rows}: {faults:?}");
    }
}

#[test]
fn levels_without_an_option() {
    for (levels, passes) in [(255, true), (256, true), (257, false)] {
        let blocks: String = (0..levels)
            .map(|k| match k {
                0 => block("L0", CIRCLE),
                _ => block(&format!("L{k}"), &insert(&format!("L{}", k - 1), 1)),
            })
            .collect();
        let text = dxf(&blocks, &insert(&format!("L{}", levels - 1), 1));
        // The root is a level, and so is the circle.
        let groups = levels - 2;
        let svg = format!(
            "<svg>{}<circle r=\"3\"/>{}</svg>",
            "<g>".repeat(groups),
            "</g>".repeat(groups)
        );
        for (name, text) in [("a.dxf", &text), ("a.svg", &svg)] {
            let found = read(name, text, Limits::default());
            assert_eq!(found.is_ok(), passes, "{name}, {levels}: {found:?}");
        }
    }
}

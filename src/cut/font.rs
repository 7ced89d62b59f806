//! Letters of one stroke, for marks.
//!
//! In: a text. Out: open polylines on a grid in which a letter is `WIDTH` wide and `HEIGHT` high, its foot on y = 0.
//! Capitals, digits and `-` `.` `_` have their shape; small letters are drawn as capitals; a space is empty; everything
//! else is a box, so that a name in any script leaves a mark of the right length.
//!
//! Source: drawn for this program.

use crate::geometry::point::Point;

/// Width of a letter in grid units.
pub(crate) const WIDTH: f64 = 4.0;
/// Height of a letter in grid units.
pub(crate) const HEIGHT: f64 = 6.0;
/// From one letter's left edge to the next one's.
pub(crate) const ADVANCE: f64 = 5.5;

/// Width of a text in grid units.
pub(crate) fn width(text: &str) -> f64 {
    let n_letters = text.chars().count();
    if n_letters == 0 {
        0.0
    } else {
        (n_letters - 1) as f64 * ADVANCE + WIDTH
    }
}

/// The strokes of a text, letter by letter from the left.
pub(crate) fn strokes(text: &str) -> Vec<Vec<Point>> {
    let mut found = Vec::new();
    for (i, letter) in text.chars().enumerate() {
        let left = i as f64 * ADVANCE;
        for stroke in glyph(letter).split_whitespace() {
            let on_grid: Vec<f64> = stroke.bytes().map(|b| f64::from(b - b'0')).collect();
            found.push(
                on_grid
                    .chunks_exact(2)
                    .map(|p| Point::new(left + p[0], p[1]))
                    .collect(),
            );
        }
    }
    found
}

/// A letter's strokes, parted by spaces; each is its corners one after another, x and y a digit each.
fn glyph(letter: char) -> &'static str {
    match letter.to_ascii_uppercase() {
        ' ' => "",
        'A' => "002640 1333",
        'B' => "00063645443303 3342413000",
        'C' => "4536160501103041",
        'D' => "00062644422000",
        'E' => "46060040 0333",
        'F' => "460600 0333",
        'G' => "45361605011030414323",
        'H' => "0006 4046 0343",
        'I' => "1030 1636 2026",
        'J' => "4641301001",
        'K' => "0006 460340",
        'L' => "060040",
        'M' => "0006234640",
        'N' => "00064046",
        'O' => "100105163645413010",
        'P' => "00063645443303",
        'Q' => "100105163645413010 2240",
        'R' => "00063645443303 2340",
        'S' => "453616050413334241301001",
        'T' => "0646 2026",
        'U' => "060110304146",
        'V' => "062046",
        'W' => "0610233046",
        'X' => "0046 0640",
        'Y' => "062346 2023",
        'Z' => "06460040",
        '0' => "100105163645413010 1135",
        '1' => "152620 1030",
        '2' => "05163645440040",
        '3' => "0516364544334241301001 1333",
        '4' => "30360242",
        '5' => "460603334241301001",
        '6' => "4536160501103041423303",
        '7' => "064610",
        '8' => "130405163645443313 1302011030414233",
        '9' => "0110304145361605041343",
        '-' => "1333",
        '.' => "2021",
        '_' => "0040",
        _ => "0006464000",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_stays_in_its_cell_and_no_two_look_alike() {
        let letters: Vec<char> = ('A'..='Z')
            .chain('0'..='9')
            .chain("-._\u{e9}".chars())
            .collect();
        for (i, &letter) in letters.iter().enumerate() {
            let drawn = strokes(&letter.to_string());
            assert!(
                !drawn.is_empty() && drawn.iter().all(|s| s.len() >= 2),
                "{letter}"
            );
            let inside = |p: &Point| (0.0..=WIDTH).contains(&p.x) && (0.0..=HEIGHT).contains(&p.y);
            assert!(drawn.iter().flatten().all(inside), "{letter}");
            assert!(
                letters[..i]
                    .iter()
                    .all(|&other| strokes(&other.to_string()) != drawn),
                "{letter}"
            );
        }
    }

    #[test]
    fn unknown_letters_are_boxes_and_small_ones_capitals() {
        assert_eq!(strokes("\u{7d19}"), strokes("\u{e9}"));
        assert_eq!(strokes("base-1"), strokes("BASE-1"));
    }

    #[test]
    fn a_text_is_as_wide_as_its_last_letter_reaches() {
        let right = strokes("M-0M")
            .iter()
            .flatten()
            .map(|p| p.x)
            .fold(0.0, f64::max);
        assert_eq!(
            right,
            width("M-0M"),
            "the last letter is as wide as its cell: 3 · 5.5 + 4"
        );
    }
}

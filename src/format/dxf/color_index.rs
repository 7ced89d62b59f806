//! The colours behind the format's colour indices, for files that name colours by their parts.
//!
//! 1 to 9 are listed. 10 to 249 are 24 hues by 15°, each in five values (255, 165, 127, 76, 38), full or mixed half and half
//! with grey of that value. 250 to 255 are greys. 7 is the colour that shows on the background: black on paper.
//!
//! Source: the table of ezdxf (`ezdxf.colors.DXF_DEFAULT_COLORS`), compared in the tests.

const LISTED: [&str; 9] = [
    "#ff0000", "#ffff00", "#00ff00", "#00ffff", "#0000ff", "#ff00ff", "#000000", "#808080",
    "#c0c0c0",
];
const GREYS: [&str; 6] = [
    "#000000", "#656565", "#666666", "#999999", "#cccccc", "#ffffff",
];
const VALUES: [u32; 5] = [255, 165, 127, 76, 38];

/// The colour of an index as `#rrggbb`; 0 ("by block") is black.
pub fn hex(index: u8) -> String {
    let i = usize::from(index);
    match index {
        0 => String::from("#000000"),
        1..=9 => LISTED[i - 1].to_owned(),
        250.. => GREYS[i - 250].to_owned(),
        _ => {
            let value = VALUES[i % 10 / 2];
            let [r, g, b] = hue(u32::from(index) / 10 - 1).map(|quarters| {
                let full = value * quarters / 4;
                if index % 2 == 1 {
                    (value + full) / 2
                } else {
                    full
                }
            });
            format!("#{r:02x}{g:02x}{b:02x}")
        }
    }
}

/// The parts of a hue in quarters; `step` counts steps of 15° from red over yellow, green, blue.
fn hue(step: u32) -> [u32; 3] {
    let (sector, rise) = (step / 4, step % 4);
    match sector {
        0 => [4, rise, 0],
        1 => [4 - rise, 4, 0],
        2 => [0, 4, rise],
        3 => [0, 4 - rise, 4],
        4 => [rise, 0, 4],
        _ => [4, 0, 4 - rise],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_those_of_a_reference_table() {
        // Printed from ezdxf 1.4.5, `DXF_DEFAULT_COLORS`.
        for (index, expected) in [
            (1, "#ff0000"),
            (5, "#0000ff"),
            (11, "#ff7f7f"),
            (22, "#a52900"),
            (25, "#7f4f3f"),
            (29, "#261713"),
            (90, "#00ff00"),
            (101, "#7fff9f"),
            (131, "#7fffff"),
            (140, "#00bfff"),
            (151, "#7fbfff"),
            (254, "#cccccc"),
        ] {
            assert_eq!(hex(index), expected, "index {index}");
        }
        assert_eq!(hex(7), "#000000", "shown on paper");
    }
}

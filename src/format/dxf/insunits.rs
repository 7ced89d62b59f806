//! The unit that a drawing is drawn in: what the codes of `$INSUNITS` mean.
//!
//! Source: the table of `$INSUNITS` in Autodesk's "DXF Reference", codes from memory, compared with ezdxf's table in the
//! tests as far as it goes; the inch is 25.4 mm by definition (a foot is 12, a yard 36, a mile 63 360 of them; written out, as the products round), the US survey foot 1200/3937 m (Mendenhall order, 1893), the astronomical
//! unit 149 597 870 700 m (IAU 2012 B2), the light-year that of the IAU, the parsec 648 000/π astronomical units.

use std::f64::consts::PI;

use crate::geometry::units::MM_PER_INCH;

const MM_PER_M: f64 = 1000.0;
const MM_PER_SURVEY_FOOT: f64 = MM_PER_M * 1200.0 / 3937.0;
const MM_PER_AU: f64 = MM_PER_M * 149_597_870_700.0;

/// Millimetres in a unit, and its name; `None` for 0 (no unit) and for codes that the format does not have.
pub fn unit(code: i64) -> Option<(f64, &'static str)> {
    Some(match code {
        1 => (MM_PER_INCH, "inches"),
        2 => (304.8, "feet"),
        3 => (1_609_344.0, "miles"),
        4 => (1.0, "millimetres"),
        5 => (10.0, "centimetres"),
        6 => (MM_PER_M, "metres"),
        7 => (1000.0 * MM_PER_M, "kilometres"),
        8 => (25.4e-6, "microinches"),
        9 => (0.0254, "mils"),
        10 => (914.4, "yards"),
        11 => (1e-7, "angstroms"),
        12 => (1e-6, "nanometres"),
        13 => (1e-3, "micrometres"),
        14 => (100.0, "decimetres"),
        15 => (10.0 * MM_PER_M, "decametres"),
        16 => (100.0 * MM_PER_M, "hectometres"),
        17 => (1e9 * MM_PER_M, "gigametres"),
        18 => (MM_PER_AU, "astronomical units"),
        19 => (MM_PER_M * 9_460_730_472_580_800.0, "light-years"),
        20 => (MM_PER_AU * 648_000.0 / PI, "parsecs"),
        21 => (MM_PER_SURVEY_FOOT, "US survey feet"),
        22 => (MM_PER_SURVEY_FOOT / 12.0, "US survey inches"),
        23 => (3.0 * MM_PER_SURVEY_FOOT, "US survey yards"),
        24 => (5280.0 * MM_PER_SURVEY_FOOT, "US survey miles"),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_those_of_a_reference_table() {
        // Units in a metre, as ezdxf 1.4.5 has them (`ezdxf.units.METER_FACTOR`), to its eight digits and more. Left out: what it
        // has not (8, 9, 21 to 24), and 19 and 20, where it departs from the IAU's figures by 1e-4 and 1e-3.
        for (code, in_a_metre) in [
            (1, 39.370_078_74),
            (2, 3.280_839_895),
            (3, 0.000_621_371_19),
            (4, 1e3),
            (5, 1e2),
            (6, 1.0),
            (7, 1e-3),
            (10, 1.093_613_298),
            (11, 1e10),
            (12, 1e9),
            (13, 1e6),
            (14, 10.0),
            (15, 0.1),
            (16, 0.01),
            (17, 1e-9),
            (18, 6.684_587_122_268_445e-12),
        ] {
            let mm = unit(code).map_or(f64::NAN, |(mm, _)| mm);
            assert!(
                (mm * in_a_metre / 1e3 - 1.0).abs() <= 1e-8,
                "code {code}: {mm}"
            );
        }
        // A thousandth and a millionth of an inch, by their names; the survey foot of 1200/3937 m is 2e-6 longer than 304.8 mm.
        assert_eq!(unit(9).map(|u| u.0), Some(0.0254));
        assert_eq!(unit(8).map(|u| u.0), Some(25.4e-6));
        assert!(unit(21).is_some_and(|(mm, _)| (mm / 304.8 - 1.000_002).abs() < 1e-11));
        assert_eq!([unit(0), unit(25), unit(-1)], [None; 3]);
    }
}

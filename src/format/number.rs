//! The one way in which floats are written to files, and a quick way in which plain ones are read.
//!
//! In: a float. Out: the shortest decimal that is the float rounded to a fixed number of decimals; no exponent, no `-0`,
//! no trailing zeros. The same float gives the same text on every computer, because the conversion is exact decimal
//! arithmetic and asks nothing of the platform.

/// Decimals of lengths in mm and of costs: a thousandth of what a machine resolves.
pub const LENGTH_DECIMALS: usize = 6;
/// Decimals of angles in degrees, and of lengths in inches, so that a length in mm survives the way there and back.
pub const FINE_DECIMALS: usize = 9;

/// The text of a length in mm or of a cost.
pub fn length(value: f64) -> String {
    number(value, LENGTH_DECIMALS)
}

/// The text of an angle in degrees.
pub fn degrees(value: f64) -> String {
    number(value, FINE_DECIMALS)
}

/// The shortest text of a finite float after rounding to `decimals`.
///
/// # Guarantees
/// Parsing the text gives the float that is nearest to the rounded decimal. What is not finite is written as `0`: such a
/// value has no place in a file, and every file would refuse to be read with one.
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return String::from("0");
    }
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" {
        String::from("0")
    } else {
        text
    }
}

/// The shortest text of a finite float that is read back as the same float, bit by bit; no exponent.
pub fn exact(value: f64) -> String {
    format!("{}", if value.is_finite() { value + 0.0 } else { 0.0 })
}

/// The float nearest to `value` rounded to `decimals`: what a reader of `number` gets. Zero is never negative.
pub fn rounded(value: f64, decimals: usize) -> f64 {
    number(value, decimals).parse().unwrap_or(0.0)
}

/// The text of a figure in a sentence: two decimals at the most.
pub fn short(value: f64) -> String {
    number(value, 2)
}

/// Powers of ten that a number with a fraction holds exactly, as far as they are needed here.
const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// The value of the decimal that a text begins with, of at most fifteen digits, which nearly all are, and how many letters
/// it has; an exponent is none of them. The digits without their point and the power of ten are both exact, so their
/// quotient is the nearest number to the decimal: the standard library's answer to the bit, in less time.
pub(crate) fn decimal(text: &[u8]) -> Option<(f64, usize)> {
    let is_negative = text.first() == Some(&b'-');
    let begin = usize::from(is_negative);
    let (mut end, mut whole, mut point) = (begin, 0_u64, None);
    while let Some(letter) = text.get(end) {
        match letter {
            b'0'..=b'9' => whole = 10 * whole + u64::from(letter - b'0'),
            b'.' if point.is_none() => point = Some(end),
            _ => break,
        }
        end += 1;
        if end - begin > 16 {
            return None;
        }
    }
    let n_digits = end - begin - usize::from(point.is_some());
    if n_digits == 0 || n_digits > 15 {
        return None;
    }
    let behind = point.map_or(0, |point| end - 1 - point);
    let value = whole as f64 / TENS[behind];
    Some((if is_negative { -value } else { value }, end))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_plain() {
        // Written by hand from the rule: round to six decimals, drop zeros, no exponent.
        let cases = [
            (0.0, "0"),
            (-0.0, "0"),
            (-1e-9, "0"),
            (1.0, "1"),
            (100.0, "100"),
            (2.5, "2.5"),
            (0.1 + 0.2, "0.3"),
            (1.0 / 3.0, "0.333333"),
            (-12.3456789, "-12.345679"),
            (1e-6, "0.000001"),
            (999_999.999_999_7, "1000000"),
            (1e21, "1000000000000000000000"),
            (f64::NAN, "0"),
        ];
        for (value, text) in cases {
            assert_eq!(length(value), text, "{value:?}");
        }
        assert_eq!(degrees(22.123_456_789_4), "22.123456789");
    }

    #[test]
    fn rounding_twice_changes_nothing() {
        let mut x = 0.123_456_789_f64;
        for _ in 0..200 {
            let once = rounded(x, LENGTH_DECIMALS);
            assert_eq!(rounded(once, LENGTH_DECIMALS).to_bits(), once.to_bits());
            assert!(
                (once - x).abs() <= 0.5e-6 + x.abs() * f64::EPSILON,
                "half a step of the last decimal"
            );
            x = (x * 7.3) % 1.0e5;
        }
    }

    #[test]
    fn an_exact_number_is_read_back_bit_by_bit() {
        assert_eq!(
            exact(0.1 + 0.2),
            "0.30000000000000004",
            "known by heart of binary floats"
        );
        assert_eq!((exact(-0.0).as_str(), exact(250.0).as_str()), ("0", "250"));
        let mut x = 0.123_456_789_f64;
        for _ in 0..200 {
            assert_eq!(exact(x).parse().map(f64::to_bits), Ok(x.to_bits()));
            x = (x * 7.3) % 1.0e5;
        }
    }

    #[test]
    fn a_thickness_in_mm_survives_being_written_in_inches() {
        // 9 decimals of an inch are steps of 25.4e-9 mm; sheets are matched to 1e-6 mm.
        for mm in [3.0, 6.0, 0.8, 12.7, 2.86] {
            let back: f64 = number(mm / crate::geometry::units::MM_PER_INCH, FINE_DECIMALS)
                .parse()
                .unwrap_or(f64::NAN);
            assert!(
                (back * crate::geometry::units::MM_PER_INCH - mm).abs() < 1e-7,
                "{mm}"
            );
        }
    }
}

//! Lengths as people write them: `12.5`, `"6 mm"`, `"3 in"`, `"1/8 in"`, `"1 1/2 in"`.
//!
//! In: text, and what a number without a unit means. Out: millimetres.
//! A length is a sign, then a decimal, a fraction, or a whole number and a fraction, then perhaps a unit. Decimals take a
//! point. What else stands there is refused with the forms that are taken.

use thiserror::Error;

use crate::geometry::units::MM_PER_INCH;

/// The forms that are taken, for messages.
pub const FORMS: &str = "`12.5`, `\"6 mm\"`, `\"2.5 cm\"`, `\"3 in\"`, `\"1/8 in\"` or `\"1 1/2 in\"`; units are mm, cm, m, in, ft and \"";

/// Unit words and what one of them is in mm; the foot is 12 inches.
const UNITS: [(&str, f64); 6] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("m", 1000.0),
    ("in", MM_PER_INCH),
    ("\"", MM_PER_INCH),
    ("ft", 12.0 * MM_PER_INCH),
];

/// Why a text is not a length.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum QuantityError {
    /// A comma between digits.
    #[error("decimals take a point: `{better}`")]
    Comma {
        /// The same with a point.
        better: String,
    },
    /// A word after the number that is no unit.
    #[error("`{unit}` is no unit of length")]
    Unit {
        /// What stands there.
        unit: String,
    },
    /// A fraction over zero.
    #[error("the fraction has no denominator other than 0")]
    Zero,
    /// Anything else.
    #[error("this is no length")]
    Form,
}

/// Reads a length; a number without a unit is multiplied by `bare_mm`.
///
/// # Errors
/// `Comma`, `Unit`, `Zero` or `Form`, as the text is written. The value may still be negative or infinite: ranges are
/// the caller's.
pub fn parse_length(text: &str, bare_mm: f64) -> Result<f64, QuantityError> {
    let trimmed = text.trim();
    let (sign, rest) = match trimmed.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (
            1.0,
            trimmed.strip_prefix('+').unwrap_or(trimmed).trim_start(),
        ),
    };
    let end = number_end(rest);
    let (number, unit) = (rest[..end].trim_end(), rest[end..].trim());
    if let Some(better) = with_point(trimmed) {
        return Err(QuantityError::Comma { better });
    }
    let factor = match unit {
        "" => bare_mm,
        word => UNITS
            .iter()
            .find(|(name, _)| *name == word)
            .map(|(_, mm)| *mm)
            .ok_or_else(|| {
                if number.is_empty() {
                    QuantityError::Form
                } else {
                    QuantityError::Unit {
                        unit: word.to_owned(),
                    }
                }
            })?,
    };
    Ok(sign * times(number, factor)?)
}

/// Where the number ends and the unit begins: at the first letter that is not the exponent of a decimal, or a quote.
fn number_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
    let mut i = 0;
    while i < bytes.len() {
        let exponent = matches!(bytes[i], b'e' | b'E')
            && i > 0
            && (digit(i - 1) || bytes[i - 1] == b'.')
            && (digit(i + 1) || (matches!(bytes.get(i + 1), Some(b'+' | b'-')) && digit(i + 2)));
        if exponent {
            i += 2;
        } else if bytes[i].is_ascii_digit() || matches!(bytes[i], b'.' | b'/' | b' ' | b'\t') {
            i += 1;
        } else {
            break;
        }
    }
    i
}

/// The number times a factor. Fractions are multiplied before they are divided, so that 1/8 in is 3.175 to the bit.
fn times(number: &str, factor: f64) -> Result<f64, QuantityError> {
    let (whole, fraction) = match number.split_once(char::is_whitespace) {
        Some((whole, fraction)) => (Some(whole), fraction.trim_start()),
        None => (None, number),
    };
    let Some((top, bottom)) = fraction.split_once('/') else {
        return if whole.is_none() {
            decimal(fraction).map(|v| v * factor)
        } else {
            Err(QuantityError::Form)
        };
    };
    let (top, bottom) = (digits(top)?, digits(bottom)?);
    let whole = whole.map_or(Ok(0.0), digits)?;
    if bottom == 0.0 {
        return Err(QuantityError::Zero);
    }
    Ok((whole * bottom + top) * factor / bottom)
}

/// A whole number of at most nine digits: all of them exact.
fn digits(text: &str) -> Result<f64, QuantityError> {
    let plain = !text.is_empty() && text.len() <= 9 && text.bytes().all(|b| b.is_ascii_digit());
    if plain {
        text.parse().map_err(|_| QuantityError::Form)
    } else {
        Err(QuantityError::Form)
    }
}

fn decimal(text: &str) -> Result<f64, QuantityError> {
    let begins = text.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    if begins && !text.ends_with('.') {
        text.parse().map_err(|_| QuantityError::Form)
    } else {
        Err(QuantityError::Form)
    }
}

/// The text with a point for its comma, where that alone is wrong.
fn with_point(text: &str) -> Option<String> {
    let (before, after) = text.split_once(',')?;
    let between = before.ends_with(|c: char| c.is_ascii_digit())
        && after.starts_with(|c: char| c.is_ascii_digit());
    (between && !after.contains([',', '.'])).then(|| format!("{before}.{after}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_forms_that_people_write_are_read() {
        // By hand: 1 in = 25.4 mm by definition, 1 ft = 12 in.
        let cases = [
            ("6mm", 6.0),
            ("6 mm", 6.0),
            (" 2.5 cm ", 25.0),
            ("1 m", 1000.0),
            ("3 in", 76.2),
            ("3\"", 76.2),
            ("1/8 in", 3.175),
            ("1 1/2 in", 38.1),
            ("2 ft", 609.6),
            ("-3 mm", -3.0),
            ("+ 4 mm", 4.0),
            (".5 in", 12.7),
            ("1e2 mm", 100.0),
            ("1.5e-1 m", 150.0),
            ("7", 7.0),
        ];
        for (text, mm) in cases {
            let read = parse_length(text, 1.0).unwrap_or(f64::NAN);
            assert!(
                (read - mm).abs() <= mm.abs() * f64::EPSILON,
                "{text}: {read}, one rounding of a product"
            );
        }
        assert_eq!(
            parse_length("1/8 in", 1.0),
            Ok(3.175),
            "to the bit: multiplied before divided"
        );
        assert_eq!(parse_length("7", MM_PER_INCH), Ok(7.0 * 25.4));
        assert_eq!(parse_length("7 mm", MM_PER_INCH), Ok(7.0));
    }

    #[test]
    fn what_is_no_length_is_refused_with_its_reason() {
        assert_eq!(
            parse_length("3,5 mm", 1.0),
            Err(QuantityError::Comma {
                better: "3.5 mm".into()
            })
        );
        assert_eq!(
            parse_length("3 inches", 1.0),
            Err(QuantityError::Unit {
                unit: "inches".into()
            })
        );
        assert_eq!(parse_length("1/0 in", 1.0), Err(QuantityError::Zero));
        for text in [
            "",
            " ",
            "mm",
            "three",
            "1 2 mm",
            "1/2/3 in",
            "1 1.5/2 in",
            "--3",
            "3.",
            "1..2",
            "inf",
            "nan",
            "1/2 1 in",
            "1,2,3",
        ] {
            assert!(parse_length(text, 1.0).is_err(), "{text:?}");
        }
    }

    #[test]
    fn no_text_makes_it_panic() {
        for text in [
            "e",
            "1e",
            "1e+",
            "1e+m",
            "é",
            "1é",
            "１ mm",
            "1\u{0}mm",
            "9999999999/1 in",
            "1e999 mm",
            "-",
            "+",
            "/",
            "1/",
            "/2",
        ] {
            let _ = parse_length(text, 1.0);
        }
    }
}

//! Reading numbers, counts, lengths and points: each in its range, else a fault at its place and nothing.

use toml::de::DeValue;

use crate::format::{number, quantity};
use crate::geometry::point::Point;
use crate::job::error::JobError;
use crate::job::limits::{Limit, Most, Span};
use crate::job::reader::{Item, Table, Walk};

impl Walk<'_> {
    /// A number without a unit.
    pub(crate) fn number(&mut self, table: &Table<'_>, key: &str, span: Span) -> Option<f64> {
        let item = table.get(key)?;
        let Some(value) = plain_number(item.value) else {
            return self.wrong_type(&item, "a number");
        };
        if span.holds(value) {
            Some(value)
        } else {
            self.out_of_range(&item, value.to_string(), span.words(value, ""))
        }
    }

    /// Seconds of a search.
    pub(crate) fn seconds(&mut self, table: &Table<'_>, key: &str) -> Option<f64> {
        let most = self.limits.most(Limit::Seconds);
        let span = Span::from_zero(most.count as f64);
        let item = table.get(key)?;
        match plain_number(item.value) {
            Some(value) if value.is_finite() && value > span.high => {
                let above = Some((most, value.ceil() as u64));
                self.out_of_reach(&item, value.to_string(), span.words(value, ""), above)
            }
            _ => self.number(table, key, span),
        }
    }

    /// A whole number from `least` to `most`.
    pub(crate) fn count(
        &mut self,
        table: &Table<'_>,
        key: &str,
        least: usize,
        most: impl Into<Most>,
    ) -> Option<usize> {
        let item = table.get(key)?;
        self.as_count(&item, least, most)
    }

    pub(crate) fn as_count(
        &mut self,
        item: &Item<'_>,
        least: usize,
        most: impl Into<Most>,
    ) -> Option<usize> {
        let most = most.into();
        let DeValue::Integer(integer) = item.value else {
            return self.wrong_type(item, "a whole number");
        };
        let value = i128::from_str_radix(integer.as_str(), integer.radix()).ok();
        let small = value
            .and_then(|v| usize::try_from(v).ok())
            .filter(|v| (least..=most.count).contains(v));
        if small.is_some() {
            return small;
        }
        let low = value.map_or(integer.as_str().starts_with('-'), |v| v < least as i128);
        let text = integer.as_str().to_owned();
        if low {
            return self.out_of_range(item, text, format!("at least {least}"));
        }
        let asked = value.and_then(|v| u64::try_from(v).ok());
        let above = Some((most, asked.unwrap_or(u64::MAX)));
        self.out_of_reach(item, text, format!("at most {}", most.count), above)
    }

    /// A length in mm.
    pub(crate) fn length(&mut self, table: &Table<'_>, key: &str, span: Span) -> Option<f64> {
        let item = table.get(key)?;
        self.as_length(&item, span)
    }

    pub(crate) fn as_length(&mut self, item: &Item<'_>, span: Span) -> Option<f64> {
        let value = match item.value {
            DeValue::String(text) => match quantity::parse_length(text, self.bare_mm) {
                Ok(value) => value,
                Err(fault) => {
                    self.fault(
                        &JobError::Length {
                            key: item.name(),
                            fault,
                        },
                        item,
                    );
                    return None;
                }
            },
            value => match plain_number(value) {
                Some(value) => value * self.bare_mm,
                None => return self.wrong_type(item, "a length"),
            },
        };
        if span.holds(value) {
            Some(value)
        } else {
            self.out_of_range(item, mm(value), span.words(value, " mm"))
        }
    }

    /// Two lengths.
    pub(crate) fn pair(&mut self, table: &Table<'_>, key: &str, span: Span) -> Option<[f64; 2]> {
        let item = table.get(key)?;
        self.as_pair(&item, span)
    }

    pub(crate) fn as_pair(&mut self, item: &Item<'_>, span: Span) -> Option<[f64; 2]> {
        let items = match item.value {
            DeValue::Array(values) if values.len() == 2 => self.list(item, 2),
            _ => return self.wrong_type(item, "a list of two lengths, `[x, y]`"),
        };
        let values: Vec<f64> = items
            .iter()
            .filter_map(|item| self.as_length(item, span))
            .collect();
        <[f64; 2]>::try_from(values).ok()
    }

    /// A point.
    pub(crate) fn point(&mut self, table: &Table<'_>, key: &str) -> Option<Point> {
        self.pair(table, key, Span::COORDINATE)
            .map(|[x, y]| Point::new(x, y))
    }

    /// A list of points.
    pub(crate) fn points(
        &mut self,
        table: &Table<'_>,
        key: &str,
        most: impl Into<Most>,
    ) -> Option<Vec<[f64; 2]>> {
        let item = table.get(key)?;
        let items = self.list(&item, most);
        let n = items.len();
        let points: Vec<[f64; 2]> = items
            .iter()
            .filter_map(|item| self.as_pair(item, Span::COORDINATE))
            .collect();
        (n > 0 && points.len() == n).then_some(points)
    }
}

/// The value of a number, whole or not; `inf` and `nan` are numbers too, and out of every range.
fn plain_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse().ok(),
        DeValue::Integer(integer) => i128::from_str_radix(integer.as_str(), integer.radix())
            .map(|v| v as f64)
            .or_else(|_| integer.as_str().parse())
            .ok(),
        _ => None,
    }
}

/// A length in words.
fn mm(value: f64) -> String {
    if value.is_finite() {
        format!("{} mm", number::length(value))
    } else {
        format!("{value} mm")
    }
}

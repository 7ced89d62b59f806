//! How the report spells figures.

use maud::{Markup, html};

use crate::format::number::number;

/// A sentence whose words between back ticks are code; a tick without another stays as it is.
pub(in crate::output) fn sentence(text: &str) -> Markup {
    let parts: Vec<&str> = text.split('`').collect();
    let last = parts.len() - 1;
    html! { @for (k, part) in parts.iter().enumerate() {
        @if k % 2 == 0 { (part) } @else if k < last { code { (part) } } @else { "`" (part) }
    } }
}

/// A cost with two decimals, as prices are written.
pub(in crate::output) fn money(value: f64) -> String {
    format!("{:.2}", number(value, 2).parse().unwrap_or(0.0_f64))
}

/// One decimal of a mm: sizes at a glance.
pub(in crate::output) fn mm1(value: f64) -> String {
    number(value, 1)
}

/// Two decimals of a mm: what is set or measured.
pub(in crate::output) fn mm2(value: f64) -> String {
    number(value, 2)
}

/// A share as a percentage with one decimal.
pub(in crate::output) fn percent(share: f64) -> String {
    format!("{} %", number(share * 100.0, 1))
}

/// A length of cuts in metres.
pub(in crate::output) fn metres(mm: f64) -> String {
    format!("{} m", number(mm / 1000.0, 2))
}

/// Seconds as whole minutes, or hours and minutes; begun ones count.
pub(in crate::output) fn duration(seconds: f64) -> String {
    let minutes = (seconds / 60.0).ceil().max(1.0) as u64;
    if minutes >= 60 {
        format!("{} h {:02} min", minutes / 60, minutes % 60)
    } else {
        format!("{minutes} min")
    }
}

/// `1 sheet`, `2 sheets`.
pub(in crate::output) fn counted(n: usize, word: &str) -> String {
    format!("{n} {}", plural(n, word))
}

/// The word for so many.
pub(in crate::output) fn plural(n: usize, word: &str) -> String {
    if n == 1 {
        word.to_owned()
    } else {
        format!("{word}s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_spelt_as_people_read_them() {
        // By hand.
        assert_eq!(money(9.5), "9.50");
        assert_eq!(money(-0.001), "0.00");
        assert_eq!(duration(0.0), "1 min");
        assert_eq!(duration(59.0 * 60.0), "59 min");
        assert_eq!(duration(59.0 * 60.0 + 1.0), "1 h 00 min");
        assert_eq!(percent(0.57649), "57.6 %");
        assert_eq!(metres(54_390.4), "54.39 m");
        assert_eq!(counted(1, "sheet"), "1 sheet");
        assert_eq!(counted(0, "sheet"), "0 sheets");
    }
}

//! What the choice of a pattern costs, in one sentence.

use crate::format::number::{LENGTH_DECIMALS, rounded};
use crate::model::comparison::Comparison;
use crate::model::plan::Plan;
use crate::model::seam::{Bond, Pattern};
use crate::output::comparison::figures::stack;
use crate::output::report::words::{money, percent};

/// A pattern with its plan.
type Row<'a> = (Pattern, &'a Plan);

/// What the choice costs: the cheapest pattern, and what the one that holds by itself and the stiffest one cost more.
pub fn choice(all: &Comparison) -> String {
    let rows: Vec<Row<'_>> = all.planned().collect();
    let Some(least) = rows.iter().map(cost).min_by(f64::total_cmp) else {
        return "no pattern has a plan".to_owned();
    };
    let cheapest: Vec<&str> = rows
        .iter()
        .filter(|r| cost(r) == least)
        .map(|r| r.0.word())
        .collect();
    let be = if cheapest.len() == 1 { "is" } else { "are" };
    if rows.iter().all(|r| r.1.seams.is_empty()) {
        return format!(
            "no layer has to be split, so the pattern makes no difference: {} at {}",
            joined(&cheapest),
            money(least)
        );
    }
    format!(
        "{} {be} cheapest at {}; {}; {}",
        joined(&cheapest),
        money(least),
        holding(&rows, least),
        stiffest(&rows, least)
    )
}

fn cost(row: &Row<'_>) -> f64 {
    rounded(row.1.metrics.stock_cost, LENGTH_DECIMALS)
}

/// `a`, `a and b`, `a, b and c`.
fn joined(words: &[&str]) -> String {
    match words {
        [rest @ .., a, b] => {
            let rest: String = rest.iter().map(|w| format!("{w}, ")).collect();
            format!("{rest}{a} and {b}")
        }
        [one] => (*one).to_owned(),
        [] => String::new(),
    }
}

/// The cheapest of some rows, all where several cost the same: their words, the verb's ending, and what they cost more.
fn cheapest_of<'a>(rows: impl Iterator<Item = &'a Row<'a>>, least: f64) -> Option<Told> {
    let rows: Vec<&Row<'_>> = rows.collect();
    let cost_of_all = rows.iter().map(|r| cost(r)).min_by(f64::total_cmp)?;
    let words: Vec<&str> = rows
        .iter()
        .filter(|r| cost(r) == cost_of_all)
        .map(|r| r.0.word())
        .collect();
    Some(Told {
        is_one: words.len() == 1,
        words: joined(&words),
        more: more(cost_of_all, least),
    })
}

/// Patterns that a part of the sentence is about.
struct Told {
    words: String,
    is_one: bool,
    more: String,
}

/// What seams that hold by themselves cost.
fn holding(rows: &[Row<'_>], least: f64) -> String {
    let play = |r: &Row<'_>| stack(r.1).and_then(|f| f.play);
    let holds = |r: &&Row<'_>| play(r).is_some_and(|p| p.holds_all());
    match cheapest_of(rows.iter().filter(holds), least) {
        None => "none holds by itself every way in the plane".to_owned(),
        Some(t) if t.is_one => format!(
            "{} holds by itself every way in the plane {}",
            t.words, t.more
        ),
        Some(t) => format!(
            "{} hold by themselves every way in the plane {}",
            t.words, t.more
        ),
    }
}

/// What the greatest stiffness costs: bonded, or dry where nothing bonds the layers; of the weaker way of the two.
fn stiffest(rows: &[Row<'_>], least: f64) -> String {
    let dry = rows.iter().any(|r| r.1.bond == Bond::Dry);
    let kept = |r: &Row<'_>| {
        let both = stack(r.1).map(|f| f.stiffness);
        let share = both
            .into_iter()
            .flatten()
            .map(|s| if dry { s.dry } else { s.bonded });
        rounded(share.fold(1.0, f64::min), LENGTH_DECIMALS)
    };
    let word = if dry { "dry" } else { "bonded" };
    let most = rows.iter().map(kept).fold(0.0, f64::max);
    if rows.iter().all(|r| kept(r) == most) {
        return format!(
            "all keep {} of the stiffness ({word}) at the weakest section",
            percent(most)
        );
    }
    cheapest_of(rows.iter().filter(|r| kept(r) == most), least).map_or_else(String::new, |t| {
        format!(
            "{} keep{} most stiffness at the weakest section ({}, {word}) {}",
            t.words,
            if t.is_one { "s" } else { "" },
            percent(most),
            t.more
        )
    })
}

/// How much more than the least.
fn more(cost: f64, least: f64) -> String {
    if cost == least {
        "at no extra cost".to_owned()
    } else if least > 0.0 {
        format!(
            "for {} more ({})",
            money(cost - least),
            percent((cost - least) / least)
        )
    } else {
        format!("for {} more", money(cost - least))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_joined_as_they_are_spoken() {
        assert_eq!(joined(&["a"]), "a");
        assert_eq!(joined(&["a", "b"]), "a and b");
        assert_eq!(joined(&["a", "b", "c"]), "a, b and c");
    }

    #[test]
    fn what_costs_more_is_told_with_its_share() {
        assert_eq!(more(12.5, 10.0), "for 2.50 more (25 %)", "2.5 / 10");
        assert_eq!(more(10.0, 10.0), "at no extra cost");
        assert_eq!(
            more(3.0, 0.0),
            "for 3.00 more",
            "nothing has a share of nothing"
        );
    }
}

//! The figures that patterns are compared by, read off a plan.
//!
//! What a plan tells of each copy's stack is put together over its copies as it is over the layers of one: sums of
//! lengths, times and pieces, the worst of everything else.

use crate::format::number;
use crate::geometry::units;
use crate::model::comparison::Comparison;
use crate::model::judged::{Figures, Play};
use crate::model::plan::Plan;
use crate::model::seam::Pattern;
use crate::output::report::words::{duration, metres, mm1, mm2, money, percent};

/// What stands where nothing limits a play.
pub(super) const NO_LIMIT: &str = "no limit";
/// What stands on the page where there is nothing to measure.
pub(super) const NONE: &str = "–";

/// A figure of a plan.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Value {
    /// A number in the figure's unit.
    Number(f64),
    /// Ways that a seam holds, a space between them.
    Words(String),
    /// Nothing limits it.
    NoLimit,
    /// There is nothing to measure.
    Nothing,
}

/// What a figure is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    Cost,
    Count,
    Share,
    Mm,
    Mm2,
    Degrees,
    Seconds,
    Ways,
}

impl Unit {
    /// The word of `comparison.json`.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Cost => "cost",
            Self::Count => "count",
            Self::Share => "share, 0 to 1",
            Self::Mm => "mm",
            Self::Mm2 => "mm²",
            Self::Degrees => "degrees",
            Self::Seconds => "s",
            Self::Ways => "ways",
        }
    }
}

/// Which figures are better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Better {
    Less,
    More,
    Neither,
}

impl Better {
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Less => "less",
            Self::More => "more",
            Self::Neither => "neither",
        }
    }
}

/// A row of the comparison.
pub(super) struct Figure {
    /// Its key in the files.
    pub(super) key: &'static str,
    /// Its words on the page.
    pub(super) label: &'static str,
    /// What it means to whoever makes the fixture.
    pub(super) meaning: &'static str,
    pub(super) unit: Unit,
    pub(super) better: Better,
    of: fn(&Plan) -> Value,
}

impl Figure {
    /// Its value, as files write it.
    pub(super) fn value(&self, plan: &Plan) -> Value {
        match (self.of)(plan) {
            Value::Number(v) if self.unit == Unit::Degrees => {
                Value::Number(number::rounded(v, number::FINE_DECIMALS))
            }
            Value::Number(v) => Value::Number(number::rounded(v, number::LENGTH_DECIMALS)),
            other => other,
        }
    }

    /// The head of its column in `comparison.csv`.
    pub(super) fn column(&self) -> String {
        let unit = match self.unit {
            Unit::Mm => "_mm",
            Unit::Mm2 => "_mm2",
            Unit::Degrees => "_deg",
            Unit::Seconds => "_s",
            Unit::Cost | Unit::Count | Unit::Share | Unit::Ways => "",
        };
        format!("{}{unit}", self.key)
    }

    /// Its value as the page spells it.
    pub(super) fn spelt(&self, plan: &Plan) -> String {
        let sign = if self.key == "play_along" { "± " } else { "" };
        match (self.value(plan), self.unit) {
            (Value::Nothing, _) => NONE.to_owned(),
            (Value::NoLimit, _) => NO_LIMIT.to_owned(),
            (Value::Words(words), _) => match words.split(' ').count() {
                _ if words.is_empty() => "nothing".to_owned(),
                4 => "every way".to_owned(),
                _ => format!(
                    "{} only",
                    words.replace(' ', ", ").replace("turn", "turning")
                ),
            },
            (Value::Number(v), Unit::Cost) => money(v),
            (Value::Number(v), Unit::Count | Unit::Ways) => number::number(v, 0),
            (Value::Number(v), Unit::Share) => percent(v),
            (Value::Number(v), Unit::Mm) if self.key == "cut_length" => metres(v),
            (Value::Number(v), Unit::Mm) if self.key.starts_with("play") => {
                format!("{sign}{} mm", number::number(v, 3))
            }
            (Value::Number(v), Unit::Mm) if v >= 100.0 => format!("{} mm", mm1(v)),
            (Value::Number(v), Unit::Mm) => format!("{} mm", mm2(v)),
            (Value::Number(v), Unit::Mm2) => format!("{} cm²", mm1(v / 100.0)),
            (Value::Number(v), Unit::Degrees) => format!("± {}°", mm2(v)),
            (Value::Number(v), Unit::Seconds) => duration(v),
        }
    }
}

/// Shortens the list below.
const fn row(
    key: &'static str,
    unit: Unit,
    better: Better,
    of: fn(&Plan) -> Value,
    label: &'static str,
    meaning: &'static str,
) -> Figure {
    Figure {
        key,
        label,
        meaning,
        unit,
        better,
        of,
    }
}

/// Every figure, in the order of the files.
#[rustfmt::skip]
pub(super) const FIGURES: [Figure; 23] = [
    row("stock_cost", Unit::Cost, Better::Less, |p| Value::Number(p.metrics.stock_cost), "cost of the sheets", "What is used up: prices, or m² of sheet where the stock tells none."),
    row("bound", Unit::Cost, Better::Neither, |p| Value::Number(p.metrics.bound.stock_cost), "no plan can cost less", "By area alone; the rest of the cost may be the search's or the sheets'."),
    row("sheets_used", Unit::Count, Better::Less, |p| count(p.sheets.len()), "sheets", "So many are put on the machine."),
    row("yield", Unit::Share, Better::More, |p| Value::Number(p.metrics.yield_), "yield", "Of the sheets used, defects left out, so much is pieces."),
    row("leftovers", Unit::Count, Better::Neither, |p| count(p.remnants.len()), "leftovers worth keeping", "So many go back on the shelf."),
    row("leftover_area", Unit::Mm2, Better::More, |p| Value::Number(p.remnants.iter().map(|r| r.outline.area_mm2()).sum()), "area of the leftovers", "What can be cut from another time."),
    row("pieces", Unit::Count, Better::Less, |p| count(p.pieces.len()), "pieces", "So many are cut, cleaned and put together; parts count."),
    row("seam_length", Unit::Mm, Better::Less, |p| seamed(p, |f| f.length), "length of the seams", "Along the curve, in material; both faces are cut."),
    row("toothed", Unit::Share, Better::More, |p| or_nothing(stack(p).and_then(|f| f.toothed)), "of that with teeth", "From the first tooth of a run to its last; the rest only butts."),
    row("neck", Unit::Mm, Better::More, |p| or_nothing(stack(p).and_then(|f| f.neck)), "narrowest neck", "A piece that is forced breaks there first."),
    row("play_along", Unit::Mm, Better::Less, |p| play(p, |q| q.along), "play along", "So far a piece slides along its neighbour while the seam is shut."),
    row("play_closing", Unit::Mm, Better::Less, |p| play(p, |q| q.closing), "play across, closing", "So far two pieces can still be pushed together."),
    row("play_opening", Unit::Mm, Better::Less, |p| play(p, |q| q.opening), "play across, opening", "So far two pieces can be drawn apart."),
    row("play_turn", Unit::Degrees, Better::Less, |p| play(p, |q| q.turn.map(units::degrees)), "play in rotation", "So far a piece turns against its neighbour."),
    row("holds", Unit::Ways, Better::More, holds, "holds by itself", "What the seams alone keep in place in the plane; for the rest screws, pins or another layer are needed."),
    row("stiffness_x_bonded", Unit::Share, Better::More, |p| stiff(p, |f| f.stiffness[0].bonded), "stiffness along x, bonded", "Of a beam from left to right: what is left at its weakest seam of the same section uncut, all layers as one."),
    row("stiffness_x_dry", Unit::Share, Better::More, |p| stiff(p, |f| f.stiffness[0].dry), "stiffness along x, dry", "The same with nothing between the layers."),
    row("stiffness_y_bonded", Unit::Share, Better::More, |p| stiff(p, |f| f.stiffness[1].bonded), "stiffness along y, bonded", "Of a beam from front to back."),
    row("stiffness_y_dry", Unit::Share, Better::More, |p| stiff(p, |f| f.stiffness[1].dry), "stiffness along y, dry", "Likewise."),
    row("added_time", Unit::Seconds, Better::Less, |p| seamed(p, |f| f.added_s), "cutting time that seams add", "An estimate: both faces and a pierce for each contour more."),
    row("cut_time", Unit::Seconds, Better::Less, |p| Value::Number(p.metrics.cut_time_s), "cutting time in all", "An estimate."),
    row("cut_length", Unit::Mm, Better::Less, |p| Value::Number(p.metrics.cut_length), "length of all cuts", "What the cutter runs."),
    row("findings", Unit::Count, Better::Neither, |p| count(p.findings.len()), "findings", "Doubts: comparison.json lists them."),
];

fn count(n: usize) -> Value {
    Value::Number(n as f64)
}

fn or_nothing(value: Option<f64>) -> Value {
    value.map_or(Value::Nothing, Value::Number)
}

/// The stacks of all copies together.
pub(super) fn stack(plan: &Plan) -> Option<Figures> {
    let least = |a: Option<f64>, b: Option<f64>| a.into_iter().chain(b).reduce(f64::min);
    let stacks = plan.metrics.seams.stacks.iter().copied();
    stacks.reduce(|a, b| Figures {
        pieces: a.pieces + b.pieces,
        length: a.length + b.length,
        toothed: least(a.toothed, b.toothed),
        neck: least(a.neck, b.neck),
        play: a.play.into_iter().chain(b.play).reduce(Play::or_more),
        stiffness: [0, 1].map(|k| a.stiffness[k].or_less(b.stiffness[k])),
        added_s: a.added_s + b.added_s,
    })
}

/// A figure of stacks with seams.
fn seamed(plan: &Plan, of: fn(&Figures) -> f64) -> Value {
    or_nothing(stack(plan).filter(|f| f.toothed.is_some()).map(|f| of(&f)))
}

fn stiff(plan: &Plan, of: fn(&Figures) -> f64) -> Value {
    or_nothing(stack(plan).map(|f| of(&f)))
}

fn play(plan: &Plan, of: fn(&Play) -> Option<f64>) -> Value {
    let play = stack(plan).and_then(|f| f.play);
    play.map_or(Value::Nothing, |p| {
        of(&p).map_or(Value::NoLimit, Value::Number)
    })
}

fn holds(plan: &Plan) -> Value {
    let words = ["along", "closing", "opening", "turn"];
    let play = stack(plan).and_then(|f| f.play);
    play.map_or(Value::Nothing, |p| {
        let held = words
            .iter()
            .zip(p.holds())
            .filter_map(|(w, h)| h.then_some(*w));
        Value::Words(held.collect::<Vec<_>>().join(" "))
    })
}

/// The patterns whose figure is best, all of them where several are equal as written; none where no way is better or nothing
/// was measured.
pub(super) fn best(all: &Comparison, figure: &Figure) -> Vec<Pattern> {
    let worth = |value: Value| match (value, figure.better) {
        (Value::Number(v), Better::Less) => Some(-v),
        (Value::Number(v), Better::More) => Some(v),
        (Value::Words(words), _) => Some(words.split_whitespace().count() as f64),
        _ => None,
    };
    let worths: Vec<(Pattern, f64)> = all
        .planned()
        .filter_map(|(p, plan)| worth(figure.value(plan)).map(|w| (p, w)))
        .collect();
    let most = worths.iter().map(|w| w.1).fold(f64::NEG_INFINITY, f64::max);
    worths
        .into_iter()
        .filter(|w| w.1 == most)
        .map(|w| w.0)
        .collect()
}

//! What the seams are worth: play, hold, stiffness and cost, layer by layer and for the stack.

use maud::{Markup, html};

use crate::geometry::units;
use crate::model::judged::{Figures, Judged, Play};
use crate::model::plan::Plan;
use crate::model::seam::Bond;
use crate::output::report::picture::swatch;
use crate::output::report::words::{duration, mm1, mm2, percent};

const NONE: &str = "–";
const FREE: &str = "no limit";

/// A row: its word, its figure for a layer or the stack, what it means to whoever makes the fixture.
type Row = (&'static str, fn(&Figures) -> String, &'static str);

const ROWS: [Row; 13] = [
    (
        "pieces",
        |f| f.pieces.to_string(),
        "So many are cut, cleaned and put together.",
    ),
    (
        "length of the seams",
        |f| seamed(f, |f| format!("{} mm", mm1(f.length))),
        "Along the curve, in material; both faces are cut.",
    ),
    (
        "of that with teeth",
        |f| f.toothed.map_or_else(|| NONE.to_owned(), percent),
        "From the first tooth of a run between openings to its last; the rest is flat and only butts.",
    ),
    (
        "narrowest neck",
        |f| {
            f.neck
                .map_or_else(|| NONE.to_owned(), |v| format!("{} mm", mm2(v)))
        },
        "The least material between the face of a seam and what lies opposite: a piece that is forced breaks there first.",
    ),
    (
        "play along",
        |f| millimetres(f, "± ", |p| p.along),
        "So far a piece slides along its neighbour while the seam is shut.",
    ),
    (
        "play closing",
        |f| millimetres(f, "", |p| p.closing),
        "So far two pieces can still be pushed together; it adds up from seam to seam.",
    ),
    (
        "play opening",
        |f| millimetres(f, "", |p| p.opening),
        "So far two pieces can be drawn apart; where there is no limit, clamp them until another layer holds them.",
    ),
    (
        "play turning",
        |f| turning(f),
        "So far a piece turns against its neighbour, and how far off that is 100 mm away.",
    ),
    (
        "holds by itself",
        |f| f.play.map_or_else(|| NONE.to_owned(), holds),
        "What the seams alone keep in place in the plane; for the rest screws, pins or another layer are needed.",
    ),
    (
        "stiffness along x, bonded",
        |f| percent(f.stiffness[0].bonded),
        "Of a beam from left to right: what is left at its weakest seam of the same section uncut, all layers as one.",
    ),
    (
        "stiffness along x, dry",
        |f| percent(f.stiffness[0].dry),
        "The same with nothing between the layers: a real stack lies between dry and bonded.",
    ),
    (
        "stiffness along y, bonded; dry",
        |f| {
            format!(
                "{}; {}",
                percent(f.stiffness[1].bonded),
                percent(f.stiffness[1].dry)
            )
        },
        "Of a beam from front to back, likewise.",
    ),
    (
        "cutting time they add",
        |f| seamed(f, |f| duration(f.added_s)),
        "An estimate: both faces of all seams and a pierce for each contour more; travel is not counted.",
    ),
];

/// The section; nothing where no layer is split.
pub(super) fn section(plan: &Plan) -> Markup {
    let judged = &plan.metrics.seams;
    let n = plan.fixture.layers.len();
    html! { @if !plan.seams.is_empty() {
        section #holds aria-labelledby="h-holds" {
            h2 #h-holds { "What the seams hold" }
            p { (in_words(plan, judged)) }
            @for (k, stack) in judged.stacks.iter().enumerate() {
                @let layers: Vec<&Figures> = judged.layers[k * n..(k + 1) * n].iter().map(|l| &l.figures).collect();
                @if plan.copies > 1 { h3 { "Copy " (k + 1) } }
                (table(plan, &layers, stack))
            }
            p.quiet { "Play is worked out from the faces as drawn, with the gap of " (mm2(plan.limits.gap)) " mm all along, to first order; "
                @if plan.limits.gap > 0.0 { "the cut adds its own error. " } @else { "without a gap all play comes from the cut. " } "Pieces that meet at a corner only count as held by their other neighbours. "
                "Seams that lie in line within " (mm1(plan.limits.min_lap / 4.0)) " mm count as one section, and teeth carry no bending. "
                @if judged.no_modulus.is_empty() { "Moduli come from handbook tables: good for comparing layers, not for a load." }
                @else { "No one modulus is known for " @for (k, name) in judged.no_modulus.iter().enumerate() { @if k > 0 { ", " } bdi { (name) } } ": all layers count as equally stiff." }
            }
        }
    } }
}

fn table(plan: &Plan, layers: &[&Figures], stack: &Figures) -> Markup {
    html! { div.scroll { table {
        caption { "Layers from the bed up, and the stack: sums, and of play, neck and stiffness the worst. The stiffness of a layer is that of the whole stack at the seams of this layer" }
        thead { tr {
            th scope="col" { "figure" }
            @for (k, layer) in plan.fixture.layers.iter().enumerate() { th.n scope="col" { (swatch(k)) bdi { (layer.name) } } }
            th.n scope="col" { "stack" }
        } }
        tbody { @for (word, figure, meaning) in ROWS { tr {
            th.said scope="row" { (word) " " span.quiet { (meaning) } }
            @for f in layers { td.n { (figure(f)) } }
            td.n { b { (figure(stack)) } }
        } } }
    } } }
}

/// The gist in two sentences.
fn in_words(plan: &Plan, judged: &Judged) -> Markup {
    let split = || judged.layers.iter().filter(|l| l.figures.play.is_some());
    let loose: Vec<String> = split()
        .filter(|l| !l.figures.play.is_some_and(|p| p.holds_all()))
        .map(|l| {
            let name = &plan.fixture.layers[l.layer].name;
            if plan.copies > 1 {
                format!("{name} (copy {})", l.copy)
            } else {
                name.clone()
            }
        })
        .collect();
    let worst = judged
        .stacks
        .iter()
        .flat_map(|s| s.stiffness)
        .map(|s| {
            if plan.bond == Bond::Dry {
                s.dry
            } else {
                s.bonded
            }
        })
        .fold(1.0, f64::min);
    let word = if plan.bond == Bond::Dry {
        "Dry"
    } else {
        "Bonded"
    };
    html! {
        @if loose.is_empty() { "The seams of every split layer hold its pieces in the plane by themselves. " }
        @else { "By their seams alone the pieces of "
            @for (k, name) in loose.iter().enumerate() { @if k > 0 { ", " } b { bdi { (name) } } }
            " can still leave their place in the plane: screws, pins or another layer have to hold them. " }
        (word) ", the stack keeps " b { (percent(worst)) } " of its bending stiffness at its weakest section."
    }
}

/// A figure that only a layer with seams has.
fn seamed(f: &Figures, spell: fn(&Figures) -> String) -> String {
    if f.toothed.is_some() {
        spell(f)
    } else {
        NONE.to_owned()
    }
}

fn millimetres(f: &Figures, sign: &str, of: fn(&Play) -> Option<f64>) -> String {
    let spell =
        |p: Play| of(&p).map_or_else(|| FREE.to_owned(), |v| format!("{sign}{} mm", mm2(v)));
    f.play.map_or_else(|| NONE.to_owned(), spell)
}

fn turning(f: &Figures) -> String {
    let spell = |p: Play| {
        p.turn.map_or_else(
            || FREE.to_owned(),
            |t| format!("± {}°, {} mm", mm2(units::degrees(t)), mm2(100.0 * t)),
        )
    };
    f.play.map_or_else(|| NONE.to_owned(), spell)
}

/// What a seam holds, in words.
fn holds(play: Play) -> String {
    if play.holds_all() {
        return "every way".to_owned();
    }
    let words = ["along", "closing", "opening", "turning"];
    let held: Vec<&str> = words
        .iter()
        .zip(play.holds())
        .filter_map(|(w, h)| h.then_some(*w))
        .collect();
    if held.is_empty() {
        "nothing".to_owned()
    } else {
        format!("{} only", held.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_holds_is_said_in_words() {
        let mut play = Play {
            along: Some(0.2),
            along_most: Some(0.2),
            closing: Some(0.2),
            opening: Some(0.3),
            turn: Some(0.001),
        };
        assert_eq!(holds(play), "every way");
        play.opening = None;
        play.turn = None;
        assert_eq!(holds(play), "along, closing only");
    }
}

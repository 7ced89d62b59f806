//! What is shown: faults that point into the file, findings, the closing summary.

use std::fmt::Write as _;
use std::io::{IsTerminal, Write};
use std::ops::Range;
use std::path::Path;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use seamwright::error::Error;
use seamwright::format::{number, shown};
use seamwright::model::fault::{Fault, Place};
use seamwright::model::finding::Finding;
use seamwright::model::progress::Ending;
use seamwright::pipeline::{Compared, Finished, Summary};

use crate::cli::arguments::When;
use crate::cli::sources::Sources;

/// Writes to standard error; a closed one is no error.
pub(crate) fn talk(text: &str) {
    drop(std::io::stderr().write_all(text.as_bytes()));
}

/// Writes to standard output; a closed pipe is no error.
pub(crate) fn result(text: &str) {
    drop(std::io::stdout().write_all(text.as_bytes()));
}

/// Whether a character would drive the terminal instead of being seen; lines and tabs are ours.
fn is_wild(c: char) -> bool {
    c != '\n' && c != '\t' && shown::is_wild(c)
}

/// Text of the user's with such characters escaped.
pub(crate) fn tame(text: &str) -> String {
    text.chars()
        .fold(String::with_capacity(text.len()), |mut out, c| {
            if is_wild(c) {
                out.extend(c.escape_unicode());
            } else {
                out.push(c);
            }
            out
        })
}

/// A file's text with such characters replaced by visible ones of as many bytes, so that places in it stay.
fn tame_source(text: &str) -> String {
    let stand_in = |c: char| match (is_wild(c) && c != '\r', c.len_utf8()) {
        (false, _) => c,
        (true, 1) => '?',
        (true, 2) => '\u{b7}',
        (true, _) => '\u{fffd}',
    };
    text.chars().map(stand_in).collect()
}

/// Whether to use colour on standard error: as told, else never under NO_COLOR, always under FORCE_COLOR or
/// CLICOLOR_FORCE, else on a terminal.
pub(crate) fn in_color(when: When) -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty() && v != "0");
    match when {
        When::Always => true,
        When::Never => false,
        When::Auto if std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty()) => false,
        When::Auto => {
            set("FORCE_COLOR") || set("CLICOLOR_FORCE") || std::io::stderr().is_terminal()
        }
    }
}

/// An error as text.
pub(crate) fn error(error: &Error, sources: &Sources, color: bool) -> String {
    match error {
        Error::Faults(faults) => all_faults(faults, sources, color),
        Error::NoPlan { proved, lines } => {
            let head = if *proved {
                "no plan is possible (proved)"
            } else {
                "no plan was found in the time given"
            };
            let mut out = format!("error: {head}\n");
            for line in lines {
                let _ = writeln!(out, "  - {}", tame(line));
            }
            out + "nothing was written\n"
        }
        Error::Output { what, hint } => {
            format!("error: {}\n   = hint: {}\n", tame(what), tame(hint))
        }
        Error::Stopped => "stopped before a plan was found; nothing was written\n".to_owned(),
        other => format!("error: {}\n", tame(&other.to_string())),
    }
}

/// Faults by file, the job first, and by place; then how many there are.
fn all_faults(faults: &[Fault], sources: &Sources, color: bool) -> String {
    let mut files: Vec<&str> = Vec::new();
    for file in faults.iter().filter_map(|fault| file_of(&fault.place)) {
        if !files.contains(&file) {
            files.push(file);
        }
    }
    let order = |fault: &&Fault| {
        let file = file_of(&fault.place).and_then(|file| files.iter().position(|f| *f == file));
        (
            file,
            if let Place::Span { span, .. } = &fault.place {
                span.start + 1
            } else {
                0
            },
        )
    };
    let mut sorted: Vec<&Fault> = faults.iter().collect();
    sorted.sort_by_key(order);
    let mut out: String = sorted
        .iter()
        .map(|fault| one_fault(fault, sources, color) + "\n\n")
        .collect();
    out += &count(faults.len(), "error");
    if !files.is_empty() {
        out += &format!(" in {}", count(files.len(), "file"));
    }
    out + "; nothing was written\n"
}

fn file_of(place: &Place) -> Option<&str> {
    match place {
        Place::File(file) | Place::Span { file, .. } => Some(file),
        Place::Key(_) | Place::None => None,
    }
}

/// One fault: what, where with a caret, what to do.
fn one_fault(fault: &Fault, sources: &Sources, color: bool) -> String {
    match &fault.place {
        Place::Span { file, span }
            if sources
                .text(file)
                .is_some_and(|text| span.end <= text.len()) =>
        {
            with_caret(fault, file, span, sources, color)
        }
        _ => without_caret(fault, sources),
    }
}

fn with_caret(
    fault: &Fault,
    file: &str,
    span: &Range<usize>,
    sources: &Sources,
    color: bool,
) -> String {
    let text = tame_source(sources.text(file).unwrap_or_default());
    let mut snippet = Snippet::source(text.as_str())
        .path(tame(&sources.shown(file)))
        .annotation(
            AnnotationKind::Primary
                .span(widened(&text, span))
                .label(tame(&fault.label)),
        );
    let mut elsewhere = Vec::new();
    for (place, note) in &fault.also {
        match place {
            Place::Span { file: other, span } if other == file && span.end <= text.len() => {
                snippet = snippet.annotation(
                    AnnotationKind::Context
                        .span(widened(&text, span))
                        .label(tame(note)),
                );
            }
            place => elsewhere.push(noted(place, note, sources)),
        }
    }
    let mut group = Group::with_title(Level::ERROR.primary_title(tame(&fault.what)).id(fault.code))
        .element(snippet);
    for note in elsewhere {
        group = group.element(Level::NOTE.with_name(None::<&str>).message(note));
    }
    if let Some(hint) = &fault.hint {
        group = group.element(Level::HELP.with_name("hint").message(tame(hint)));
    }
    let renderer = if color {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    renderer.render(&[group])
}

fn without_caret(fault: &Fault, sources: &Sources) -> String {
    let mut out = format!("error[{}]: {}", fault.code, tame(&fault.what));
    if let Some(file) = file_of(&fault.place) {
        let _ = write!(out, "\n  --> {}", tame(&sources.shown(file)));
    }
    if !fault.label.is_empty() {
        let _ = write!(out, "\n   = {}", tame(&fault.label));
    }
    for (place, note) in &fault.also {
        let _ = write!(out, "\n   = {}", noted(place, note, sources));
    }
    if let Some(hint) = &fault.hint {
        let _ = write!(out, "\n   = hint: {}", tame(hint));
    }
    out
}

/// A note with the place that it is about: `asked for here: job.toml:58:11`.
fn noted(place: &Place, note: &str, sources: &Sources) -> String {
    let Some(file) = file_of(place) else {
        return tame(note);
    };
    let at = match (place, sources.text(file)) {
        (Place::Span { span, .. }, Some(text)) => position(text, span.start),
        _ => String::new(),
    };
    tame(&format!("{note}: {}{at}", sources.shown(file)))
}

/// `:line:column` of a byte, both from 1, the column in characters.
fn position(text: &str, at: usize) -> String {
    let before = text.get(..at).unwrap_or_default();
    let line = before.matches('\n').count() + 1;
    let column = before
        .rsplit('\n')
        .next()
        .unwrap_or_default()
        .chars()
        .count()
        + 1;
    format!(":{line}:{column}")
}

/// A span that covers something: an empty one takes the character behind it, where the line goes on.
fn widened(text: &str, span: &Range<usize>) -> Range<usize> {
    let next = text
        .get(span.start..)
        .and_then(|rest| rest.chars().next())
        .filter(|c| span.is_empty() && *c != '\n');
    next.map_or(span.clone(), |c| span.start..span.start + c.len_utf8())
}

/// Findings, a line each.
pub(crate) fn findings(findings: &[Finding]) -> String {
    findings
        .iter()
        .map(|f| {
            let hint = if f.hint.is_empty() {
                String::new()
            } else {
                format!(": {}", tame(&f.hint))
            };
            format!("  finding   {}: {}{hint}\n", f.code, tame(&f.what))
        })
        .collect()
}

/// What is removed with a folder that `--force` gives up, though this program did not write it.
pub(crate) fn given_up(folder: &Path, names: &[String]) -> String {
    const SHOWN: usize = 10;
    let mut out = format!(
        "replacing {}, which holds what this program did not write:\n",
        tame(&folder.display().to_string())
    );
    for name in names.iter().take(SHOWN) {
        let _ = writeln!(out, "  {}", tame(name));
    }
    if names.len() > SHOWN {
        let _ = writeln!(out, "  and {} more", names.len() - SHOWN);
    }
    out
}

/// The closing summary: what it cost, what it was held against, where it is, how to have it again. `options` are those of
/// the command line that change the result.
pub(crate) fn summary(finished: &Finished, folder: &Path, options: &str) -> String {
    let s: &Summary = &finished.summary;
    let mut out = format!(
        "done: {}, cost {:.2}, yield {:.1} %      (no plan can cost less than {:.2})\n",
        count(s.sheets, "sheet"),
        s.cost,
        s.yield_ * 100.0,
        s.bound
    );
    let ending = match s.ending {
        Ending::Time => "the time granted is used",
        Ending::Rounds => "the rounds granted are done",
        Ending::Proved => "it cannot be bettered",
        Ending::Stopped => "stopped; the best plan so far is kept",
    };
    let _ = writeln!(
        out,
        "  search    {}, {ending}",
        count(s.rounds as usize, "round")
    );
    let held = if s.recut {
        "every piece is the plan's own and placed once, spacing and margins on true lines and arcs"
    } else {
        "every piece placed once, spacing and margins on true lines and arcs, laps of seams"
    };
    let _ = writeln!(out, "  checked   {held}");
    out += &findings(&finished.findings);
    if s.n_remnants > 0 {
        let _ = writeln!(
            out,
            "  kept      {} worth keeping, in stock-after.toml",
            count(s.n_remnants, "leftover")
        );
    }
    let minutes = (s.cut_time_s / 60.0).ceil();
    let _ = writeln!(
        out,
        "  wrote     {}      cut {:.2} m, about {minutes} min",
        tame(&folder.display().to_string()),
        s.cut_length / 1000.0
    );
    let proof = finished.files.iter().any(|(name, _)| name == "proof.pdf");
    let next = if proof {
        "; print proof.pdf at 100 %, measure its lines, lay it on the bed"
    } else {
        ""
    };
    let _ = writeln!(out, "  next      open report.html{next}");
    let _ = writeln!(
        out,
        "  repeat    --rounds {} --seed {}{options} gives the same bytes",
        s.rounds, s.seed
    );
    out
}

/// The closing lines of a comparison: a line for each pattern, what the choice costs, where it is, how to have it again.
pub(crate) fn comparison(compared: &Compared, folder: &Path, options: &str) -> String {
    let all = &compared.comparison;
    let gap = number::number(all.gap, 3);
    let fit = all.fit.map_or_else(
        || "as the job says".to_owned(),
        |fit| format!("{} fit, common practice", fit.word()),
    );
    let mut out = format!(
        "compared: {}, gap {gap} mm ({fit})\n",
        count(all.tried.len(), "pattern")
    );
    for tried in &all.tried {
        let told = match (tried.outcome.plan(), tried.outcome.reasons()) {
            (Some(plan), _) => format!(
                "{}, cost {:.2}, yield {:.1} %, {}, {}",
                count(plan.sheets.len(), "sheet"),
                plan.metrics.stock_cost,
                plan.metrics.yield_ * 100.0,
                count(plan.pieces.len(), "piece"),
                count(plan.rounds as usize, "round")
            ),
            (None, [first, ..]) => format!("no plan ({}): {}", tried.outcome.word(), tame(first)),
            (None, []) => format!("no plan ({})", tried.outcome.word()),
        };
        let _ = writeln!(out, "  {:<9} {told}", tried.pattern.word());
    }
    let _ = writeln!(out, "  choice    {}", compared.choice);
    let _ = writeln!(
        out,
        "  wrote     {}      comparison.html, comparison.csv, comparison.json",
        tame(&folder.display().to_string())
    );
    let rounds: Vec<u64> = all.planned().map(|(_, plan)| plan.rounds).collect();
    let repeat = match rounds.as_slice() {
        [first, rest @ ..] if rest.iter().all(|r| r == first) => {
            format!(
                "--rounds {first} --seed {}{options} gives the same bytes",
                all.seed
            )
        }
        _ => format!(
            "plan with that pattern, its rounds and --seed {}{options}",
            all.seed
        ),
    };
    let _ = writeln!(out, "  repeat    {repeat}");
    out
}

fn count(n: usize, word: &str) -> String {
    if n == 1 {
        format!("1 {word}")
    } else {
        format!("{n} {word}s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_reaches_the_terminal_untamed() {
        let bait = "a\u{1b}[2J\u{9b}31m\u{202e}b\u{200b}\u{2066}c\u{7f}\u{feff}";
        assert!(!tame(bait).chars().any(is_wild));
        assert!(!tame_source(bait).chars().any(is_wild));
        assert_eq!(tame_source(bait).len(), bait.len(), "places in bytes stay");
        assert_eq!(tame("Größe 1/2″\n"), "Größe 1/2″\n");
    }

    #[test]
    fn faults_come_by_file_and_place_with_their_second_place() {
        let mut sources = Sources::new(Path::new("tray"));
        sources.insert("job.toml", "a = 1\nb = 2\n".to_owned());
        let at = |range| Place::Span {
            file: "job.toml".to_owned(),
            span: range,
        };
        let mut late = Fault::new("J901", "late", at(10..11))
            .label("here")
            .hint("do so");
        late.also.push((at(4..5), "and there".to_owned()));
        let mut drawn = Fault::new("D901", "drawn", Place::File("a.dxf".to_owned()));
        drawn.also.push((at(6..7), "asked for here".to_owned()));
        let faults = vec![late, drawn, Fault::new("J900", "early", at(0..1))];
        let text = all_faults(&faults, &sources, false);
        let place = |word: &str| text.find(word).unwrap_or(usize::MAX);
        assert!(
            place("J900") < place("J901") && place("J901") < place("D901"),
            "{text}"
        );
        for part in [
            "--> tray/job.toml:2:5",
            "^ here",
            "- and there",
            "hint: do so",
            "--> tray/a.dxf",
            "asked for here: tray/job.toml:2:1",
        ] {
            assert!(text.contains(part), "{part} is missing in\n{text}");
        }
        assert!(
            text.ends_with("3 errors in 2 files; nothing was written\n"),
            "{text}"
        );
    }
}

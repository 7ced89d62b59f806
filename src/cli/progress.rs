//! What a person sees while a plan is searched: one lasting line for each improvement, one moving line; and the two-step
//! stop.
//!
//! The first Ctrl-C asks the search to end, and the best plan so far is written. The second ends the program at once. While
//! the output folder is being written the second one waits for that, a fraction of a second, so that nothing half done
//! is left behind.

use std::io::IsTerminal;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use seamwright::model::progress::{Event, Watch};

use crate::cli::arguments::Show;
use crate::cli::exit_status::ExitStatus;
use crate::cli::render;

/// A heading comes again after so many lines.
const HEADING_EVERY: usize = 20;
const HEADING: &str = "    time  round  sheets      cost  at least     over  what changed";

/// Time, stop and talk of one run.
pub(crate) struct Progress {
    start: Instant,
    stop: Arc<Stop>,
    screen: Screen,
    told: AtomicUsize,
    state: Mutex<State>,
}

/// What Ctrl-C and the rest of the program share.
#[derive(Default)]
struct Stop {
    asked: AtomicBool,
    /// Held while the output folder is written; true once the program is about to end by itself.
    ending: Mutex<bool>,
}

/// Where talk goes.
#[derive(Clone)]
struct Screen {
    lines: bool,
    bar: Option<ProgressBar>,
}

/// What the moving line tells.
#[derive(Default)]
struct State {
    granted_s: Option<f64>,
    /// When the search began: 0 for the first, which counts from the start of the program.
    begun_s: f64,
    /// How many searches have begun.
    n_begun: usize,
    gain_s: f64,
    best: String,
}

impl Progress {
    /// Takes the clock, and Ctrl-C from here on.
    pub(crate) fn new(start: Instant, show: Show, quiet: bool) -> Self {
        let screen = Screen::new(show, quiet);
        let stop = Arc::new(Stop::default());
        let (shared, seen) = (stop.clone(), screen.clone());
        // Where the system gives no handler, Ctrl-C ends the program as it always did: nothing to tell.
        drop(ctrlc::set_handler(move || shared.pressed(&seen)));
        Self {
            start,
            stop,
            screen,
            told: AtomicUsize::new(0),
            state: Mutex::default(),
        }
    }

    /// Takes the moving line away, and writes: Ctrl-C cannot come between.
    pub(crate) fn write<T>(&self, write: impl FnOnce() -> T) -> T {
        let mut ending = self
            .stop
            .ending
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        self.finish();
        let result = write();
        *ending = true;
        result
    }

    /// Takes the moving line away.
    pub(crate) fn finish(&self) {
        self.screen.clear();
    }

    fn better(&self, state: &mut State, better: &Better<'_>) {
        let now = self.elapsed_s() - state.begun_s;
        let Better {
            round,
            sheets,
            cost,
            bound,
            yield_,
            what,
        } = better;
        if self.screen.lines {
            if self
                .told
                .fetch_add(1, Ordering::SeqCst)
                .is_multiple_of(HEADING_EVERY)
            {
                self.screen.line(HEADING);
            }
            let over = if *bound > 0.0 {
                format!("{:.1} %", (cost / bound - 1.0) * 100.0)
            } else {
                "-".to_owned()
            };
            let what = render::tame(what);
            self.screen.line(&format!(
                "{now:6.1} s {round:6} {sheets:7} {cost:9.2} {bound:9.2} {over:>8}  {what}"
            ));
        }
        state.gain_s = now;
        state.best = format!("{sheets} sheets, {cost:.2}, yield {:.1} %", yield_ * 100.0);
    }

    fn round(&self, state: &State, round: u64) {
        let Some(bar) = &self.screen.bar else { return };
        let now = self.elapsed_s() - state.begun_s;
        let used = state.granted_s.map_or_else(
            || format!("{now:.1} s"),
            |granted| format!("{now:.1} of {granted} s"),
        );
        let gain = now - state.gain_s;
        bar.set_message(format!(
            "{used} · round {round} · {} · last gain {gain:.1} s ago · Ctrl-C keeps this",
            state.best
        ));
    }
}

/// The figures of an improvement.
struct Better<'a> {
    round: u64,
    sheets: usize,
    cost: f64,
    bound: f64,
    yield_: f64,
    what: &'a str,
}

impl Watch for Progress {
    fn elapsed_s(&self) -> f64 {
        self.start.elapsed().as_secs_f64()
    }

    fn stop_asked(&self) -> bool {
        self.stop.asked.load(Ordering::SeqCst)
    }

    fn tell(&self, event: Event) {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        match event {
            Event::Begin { what, seconds } => {
                *state = State {
                    granted_s: seconds,
                    begun_s: if state.n_begun > 0 {
                        self.elapsed_s()
                    } else {
                        0.0
                    },
                    n_begun: state.n_begun + 1,
                    ..State::default()
                };
                self.told.store(0, Ordering::SeqCst);
                if self.screen.lines {
                    self.screen.line(&format!(" {}", render::tame(&what)));
                }
            }
            Event::Better {
                round,
                sheets,
                cost,
                bound,
                yield_,
                what,
            } => {
                self.better(
                    &mut state,
                    &Better {
                        round,
                        sheets,
                        cost,
                        bound,
                        yield_,
                        what: &what,
                    },
                );
            }
            Event::Without { why } => {
                if self.screen.lines {
                    self.screen
                        .line(&format!("   no plan: {}", render::tame(&why)));
                }
            }
            Event::Remedies { seconds } => {
                let told =
                    format!("no plan; looking for what would help, {seconds:.0} s at the most");
                if self.screen.lines {
                    self.screen.line(&format!("   {told}"));
                } else if let Some(bar) = &self.screen.bar {
                    bar.set_message(told);
                }
            }
            Event::Round { round } => self.round(&state, round),
        }
    }
}

impl Stop {
    /// What Ctrl-C does.
    fn pressed(&self, screen: &Screen) {
        if !self.asked.swap(true, Ordering::SeqCst) {
            if screen.lines {
                screen.line(
                    " stopping: the best plan so far will be written; Ctrl-C again ends at once",
                );
            }
            return;
        }
        let ending = self.ending.lock().unwrap_or_else(PoisonError::into_inner);
        if !*ending {
            screen.clear();
            render::talk("stopped; nothing was written\n");
            std::process::exit(i32::from(ExitStatus::Stopped.number()));
        }
    }
}

impl Screen {
    fn new(show: Show, quiet: bool) -> Self {
        let terminal =
            std::io::stderr().is_terminal() && std::env::var_os("TERM").is_none_or(|t| t != "dumb");
        let lines = !quiet && (show == Show::Lines || (show == Show::Auto && terminal));
        let bar = (!quiet && show == Show::Auto && terminal).then(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
            bar.set_style(
                ProgressStyle::with_template(" {wide_msg}")
                    .unwrap_or_else(|_| ProgressStyle::default_bar()),
            );
            bar.enable_steady_tick(Duration::from_millis(200));
            bar
        });
        Self { lines, bar }
    }

    fn line(&self, text: &str) {
        match &self.bar {
            Some(bar) => bar.println(text),
            None => render::talk(&format!("{text}\n")),
        }
    }

    fn clear(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

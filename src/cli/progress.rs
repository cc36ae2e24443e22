//! The progress bar of the strength calculation: on a terminal only, and only for a calculation that takes its time.

use std::sync::mpsc::{Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::strength::{Progress, Stage};

/// A bar that is gone before a person has read it only flickers.
const PATIENCE: Duration = Duration::from_secs(1);

/// Time between two pictures of the bar.
const TICK: Duration = Duration::from_millis(120);

/// Stages of one calculation, for the bar's length: five a pass, two passes, two more at the end.
const STEPS: u64 = 12;

/// A bar on standard error.
pub(super) struct Bar {
    line: ProgressBar,
    done: Sender<()>,
    shower: Option<JoinHandle<()>>,
}

impl Bar {
    /// A bar, if standard error is a `terminal`.
    pub(super) fn new(terminal: bool) -> Option<Self> {
        if !terminal {
            return None;
        }
        let bar = ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template("strength [{bar:24}] {msg} ({elapsed})") {
            bar.set_style(style.progress_chars("=> "));
        }
        let (done, wait) = channel::<()>();
        let shown = bar.clone();
        // Shows the bar once the calculation has outlasted a person's patience.
        let shower = std::thread::spawn(move || {
            if wait.recv_timeout(PATIENCE) == Err(std::sync::mpsc::RecvTimeoutError::Timeout) {
                shown.set_draw_target(ProgressDrawTarget::stderr());
                shown.enable_steady_tick(TICK);
            }
        });
        Some(Self {
            line: bar,
            done,
            shower: Some(shower),
        })
    }
}

impl Progress for Bar {
    fn begins(&mut self, stage: Stage, pass: usize) {
        self.line.inc(1);
        self.line.set_message(if pass > 1 {
            format!("{}, pass {pass}", stage.name())
        } else {
            stage.name().to_owned()
        });
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        // Whoever waits may be gone already: then there is nothing to tell.
        let _ = self.done.send(());
        if let Some(shower) = self.shower.take() {
            let _ = shower.join();
        }
        self.line.finish_and_clear();
    }
}

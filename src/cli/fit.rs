//! `fit`: every variant of a job against every rule.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::params;
use crate::project::{self, variants::Fleet};
use crate::report::fit::Matrix;
use crate::report::json_text;

use super::args::{FitArgs, Format};
use super::{Outcome, Status, remarks};

/// Time after which a person wants to see that something happens.
const PATIENCE: Duration = Duration::from_secs(1);

pub(super) fn run(args: &FitArgs, colour: bool, terminal: bool) -> Outcome {
    let started = Instant::now();
    let loaded = match params::open(&args.job, &project::disk()) {
        Ok(l) => l,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let (mut found, sources) = (loaded.findings.clone(), loaded.sources.clone());
    let fleet = Fleet::of(loaded);
    let bar =
        ProgressBar::with_draw_target(Some(fleet.views.len() as u64), ProgressDrawTarget::hidden());
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} variants {wide_bar}") {
        bar.set_style(style);
    }
    let outcomes = fleet.judge_all(&|| {
        if terminal && bar.is_hidden() && started.elapsed() > PATIENCE {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        bar.inc(1);
    });
    bar.finish_and_clear();
    found.extend(fleet.idle_deviations(&outcomes));
    let matrix = Matrix::of(&fleet, &outcomes);
    Outcome {
        results: match args.format {
            Format::Text => matrix.text(),
            // A matrix holds strings, flags and finite numbers only.
            Format::Json => json_text(&serde_json::to_value(&matrix).unwrap_or_default()),
        },
        remarks: remarks(&found, &sources, colour),
        status: if matrix.holds {
            Status::Holds
        } else {
            Status::Fails
        },
    }
}

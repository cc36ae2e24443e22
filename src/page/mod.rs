//! The page of a job: one HTML file with the verdict, every rule and its place on the pictures, the set in
//! space, and the lists.
//!
//! It reads results and computes none. Everything it shows lies in the file itself: no network, no font, no
//! library. The same inputs give the same bytes.

mod base64;
mod figures;
mod lists;
mod place;
mod plates;
mod rules;
mod scene;
mod svg;
mod template;
mod verdict;

pub use lists::List;
pub use scene::{Kind, Part};

use crate::drive::picture::Picture;
use crate::project::Project;
use crate::report::fit::Matrix;

use place::Places;
use scene::Scene;

/// What the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    /// The job with everything computed from it.
    pub project: &'a Project,
    /// Every variant against every rule, for a job with variants.
    pub fit: Option<&'a Matrix>,
    /// The drive's picture, for a job with a drive.
    pub drive: Option<&'a Picture>,
    /// Parts of the set as solids, each placed.
    pub parts: &'a [Part<'a>],
    /// Pictures of strength and vibration, in the order shown.
    pub strength: &'a [Drawn],
    /// Lists for the shop.
    pub lists: &'a [List<'a>],
    /// What to mind before anyone picks up a wrench: a heading, points that start with `- `, paragraphs.
    pub cautions: &'a str,
}

/// A finished picture that the page shows as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// What it shows.
    pub title: String,
    /// What findings refer to it: a plate, or a mode.
    pub of: Shows,
    /// The SVG document.
    pub svg: String,
}

/// What a finished picture shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shows {
    /// Stress of a plate, by name.
    Stress(String),
    /// Mode shapes.
    Modes,
    /// Natural frequencies against speed.
    Resonance,
}

/// The page as an HTML document.
#[must_use]
pub fn html(page: &Page<'_>) -> String {
    let job = &page.project.loaded.job;
    let scene = Scene::of(page.parts);
    let mut figures = figures::all(page);
    let places = Places::new(page, &figures);
    let links: Vec<place::Link> = page
        .project
        .findings
        .iter()
        .map(|f| places.link(f))
        .collect();
    figures::number(&mut figures, &page.project.findings, &links);
    let title = format!("{}, revision {}", job.title, job.revision);
    template::fill(
        include_str!("page.html"),
        &[
            ("title", &crate::drive::picture::escape(&title)),
            (
                "style",
                &format!("{}{}", include_str!("page.css"), include_str!("print.css")),
            ),
            ("verdict", &verdict::header(page)),
            ("rules", &rules::section(page, &figures, &links)),
            ("contents", &figures::contents(&figures)),
            ("scene", &scene.section()),
            ("figures", &figures::section(&figures)),
            ("variants", &lists::variants(page)),
            ("lists", &lists::section(page.lists)),
            ("cautions", &lists::cautions(page.cautions)),
            ("data", &scene.data()),
            (
                "script",
                &format!("{}{}", include_str!("page.js"), include_str!("view.js")),
            ),
        ],
    )
}

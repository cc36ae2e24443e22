//! The command line: every command, argument and option, and nothing else.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum, ValueHint};
use clap_complete::Shell;

/// Lay out, prove and export bolt-on accessory-drive brackets.
#[derive(Debug, Parser)]
#[command(
    name = "platewright",
    version,
    about,
    max_term_width = 100,
    after_help = "Exit status: 0 every rule holds, 1 a rule fails, 2 the input cannot be used, 3 a file cannot be written.\n\
                  Results go to standard output, everything else to standard error."
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,

    /// When to use colour.
    #[arg(long, global = true, value_enum, default_value_t = ColorWhen::Auto)]
    pub color: ColorWhen,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ColorWhen {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// How results are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For a person.
    Text,
    /// For a program; a stable contract.
    Json,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Start a job folder from the demo.
    #[command(after_help = "Example: platewright new my-bracket")]
    New(NewArgs),
    /// Lay the job out and judge it; writes nothing.
    #[command(after_help = "Example: platewright check params/jobs/forwarder.toml")]
    Check(CheckArgs),
    /// Check, then write the shop package into exports/JOB-REV/.
    #[command(after_help = "Example: platewright release params/jobs/forwarder.toml --out exports")]
    Release(ReleaseArgs),
    /// The belt drive alone: path, tensions, take-up, alignment, margins.
    #[command(
        after_help = "Example: platewright drive params/jobs/forwarder.toml --picture drive.svg"
    )]
    Drive(DriveArgs),
    /// Every variant of the job against every rule: one table.
    #[command(after_help = "Example: platewright fit params/jobs/forwarder-fleet.toml")]
    Fit(FitArgs),
    /// What it takes to hold another accessory, as a new revision of the job.
    #[command(
        after_help = "Example: platewright adapt bracket.toml --accessory alternator --with alternator-24v-pad"
    )]
    Adapt(AdaptArgs),
    /// List what changed between two jobs, two released packages, or a package and its job today.
    #[command(
        after_help = "Examples: platewright compare bracket-a.toml bracket-b.toml\n          platewright compare exports/bracket-A bracket.toml"
    )]
    Compare(CompareArgs),
    /// Find hole positions from caliper readings between holes.
    #[command(
        after_help = "Example: platewright measure face.toml --picture face.svg --clearance medium --against"
    )]
    Measure(MeasureArgs),
    /// Find the washers that line a mocked-up drive up, from rod readings or a symptom.
    #[command(
        after_help = "Examples: platewright shim JOB.toml --readings rods.toml\n          platewright shim JOB.toml --symptom walks --at idler --towards front"
    )]
    Shim(ShimArgs),
    /// Print the JSON Schema of a kind of parameter file, for editor completion.
    #[command(after_help = "Example: platewright schema job > job.schema.json")]
    Schema(SchemaArgs),
    /// Explain a finding or a rule by its id.
    #[command(after_help = "Example: platewright explain H301")]
    Explain(ExplainArgs),
    /// Print shell completions.
    Completions {
        /// For which shell.
        shell: Shell,
    },
    /// Print the manual page (roff).
    Man,
}

/// The job and how to print what is said of it.
#[derive(Debug, Args)]
pub struct JobArgs {
    /// The job file.
    #[arg(value_name = "JOB.toml", value_hint = ValueHint::FilePath)]
    pub job: PathBuf,
    /// One of the job's variants; the job as it stands without this.
    #[arg(long, value_name = "NAME")]
    pub variant: Option<String>,
    /// How to print the result.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// Arguments of `fit`.
#[derive(Debug, Args)]
pub struct FitArgs {
    /// The job file.
    #[arg(value_name = "JOB.toml", value_hint = ValueHint::FilePath)]
    pub job: PathBuf,
    /// How to print the result.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// Arguments of `adapt`.
#[derive(Debug, Args)]
pub struct AdaptArgs {
    /// The job file.
    #[arg(value_name = "JOB.toml", value_hint = ValueHint::FilePath)]
    pub job: PathBuf,
    /// Name of the placed accessory that is replaced.
    #[arg(long, value_name = "NAME")]
    pub accessory: String,
    /// Name of the accessory file that takes its place.
    #[arg(long, value_name = "NAME")]
    pub with: String,
    /// Where the new revision goes; JOB-REVISION.toml beside the job unless given.
    #[arg(long, value_name = "FILE.toml", value_hint = ValueHint::FilePath)]
    pub out: Option<PathBuf>,
    /// How to print the result.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The job.
    #[command(flatten)]
    pub job: JobArgs,
    /// List every finding, not just the closest of each rule.
    #[arg(long)]
    pub all: bool,
    /// Leave strength and vibration out; the result says so.
    #[arg(long)]
    pub no_strength: bool,
}

/// Arguments of `drive`.
#[derive(Debug, Args)]
pub struct DriveArgs {
    /// The job.
    #[command(flatten)]
    pub job: JobArgs,
    /// Also draw the drive to scale into this file.
    #[arg(long, value_name = "FILE.svg", value_hint = ValueHint::FilePath)]
    pub picture: Option<PathBuf>,
}

/// Arguments of `release`.
#[derive(Debug, Args)]
pub struct ReleaseArgs {
    /// The job.
    #[command(flatten)]
    pub job: JobArgs,
    /// Folder in which the package folder JOB-REV is made.
    #[arg(long, value_name = "DIR", default_value = "exports", value_hint = ValueHint::DirPath)]
    pub out: PathBuf,
    /// Replace a package of this revision that has other content.
    #[arg(long)]
    pub force: bool,
    /// Leave strength and vibration out; the result says so.
    #[arg(long)]
    pub no_strength: bool,
    /// DXF version: R2000 or, for old controllers, R12.
    #[arg(long, value_enum, default_value_t = DxfVersion::R2000)]
    pub dxf: DxfVersion,
    /// STEP application protocol.
    #[arg(long, value_enum, default_value_t = StepProtocol::Ap242)]
    pub step: StepProtocol,
}

/// DXF versions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DxfVersion {
    /// AC1015.
    R2000,
    /// AC1009.
    R12,
}

/// STEP application protocols.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum StepProtocol {
    /// ISO 10303-242.
    Ap242,
    /// ISO 10303-214.
    Ap214,
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// Folder to make; its name becomes the job's.
    #[arg(value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// The earlier job file, or a released package's folder.
    #[arg(value_name = "OLD", value_hint = ValueHint::FilePath)]
    pub old: PathBuf,
    /// The later job file, or a released package's folder.
    #[arg(value_name = "NEW", value_hint = ValueHint::FilePath)]
    pub new: PathBuf,
    /// How to print the result.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// Arguments of `schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Kind of file.
    #[arg(value_enum)]
    pub kind: Kind,
}

/// Kinds of parameter files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// An engine's measured side.
    Block,
    /// Anything bolted on.
    Accessory,
    /// What is built.
    Job,
    /// What the machines can do.
    Shop,
    /// What it is cut from.
    Stock,
    /// What caliper and depth gauge read.
    CaliperReadings,
    /// What the rod read on the mock-up.
    RodReadings,
}

/// Arguments of `measure`.
#[derive(Debug, Args)]
pub struct MeasureArgs {
    /// The caliper readings file.
    #[arg(value_name = "READINGS.toml", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// How to print the result.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Let doubtful readings take part in the result; they are named either way.
    #[arg(long)]
    pub keep_doubtful: bool,
    /// State uncertainties from the scatter the readings achieved, not from the one they claim.
    #[arg(long)]
    pub achieved: bool,
    /// Round coordinates to multiples of this, mm, where their uncertainty allows it.
    #[arg(long, value_name = "MM", conflicts_with = "symmetric")]
    pub round: Option<f64>,
    /// Make the pattern symmetric about a line, if its uncertainty allows it.
    #[arg(long)]
    pub symmetric: bool,
    /// Say whether a plate with clearance holes of this class still goes on.
    #[arg(long, value_enum, value_name = "FIT")]
    pub clearance: Option<FitClass>,
    /// Hold the pattern against every block and accessory that can be found.
    #[arg(long)]
    pub against: bool,
    /// Write a picture of the network (SVG).
    #[arg(long, value_name = "FILE.svg", value_hint = ValueHint::FilePath)]
    pub picture: Option<PathBuf>,
    /// Write the holes as a whole block or accessory file; it says what is left to fill in.
    #[arg(long, value_name = "FILE.toml", value_hint = ValueHint::FilePath)]
    pub write: Option<PathBuf>,
    /// Write the holes as tables, to go into a file there is.
    #[arg(long, value_name = "FILE.toml", value_hint = ValueHint::FilePath)]
    pub pattern: Option<PathBuf>,
    /// Kind of file the holes are written for.
    #[arg(long, value_enum, default_value_t = WriteAs::Block)]
    pub pattern_as: WriteAs,
    /// Replace files that are there.
    #[arg(long)]
    pub force: bool,
}

/// Classes of clearance holes (ISO 273).
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FitClass {
    /// Fine series.
    Fine,
    /// Medium series.
    Medium,
    /// Coarse series.
    Coarse,
}

/// Kinds of file a pattern can go into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WriteAs {
    /// `[[hole]]` tables of a block.
    Block,
    /// `[[mount]]` tables of an accessory.
    Accessory,
}

/// Arguments of `shim`.
#[derive(Debug, Args)]
pub struct ShimArgs {
    /// The job.
    #[command(flatten)]
    pub job: JobArgs,
    /// The rod readings file.
    #[arg(long, value_name = "FILE.toml", value_hint = ValueHint::FilePath, required_unless_present = "symptom")]
    pub readings: Option<PathBuf>,
    /// What is seen or heard, when there are no readings.
    #[arg(long, value_enum, requires = "at", conflicts_with = "readings")]
    pub symptom: Option<SymptomWord>,
    /// The pulley it shows at.
    #[arg(long, value_name = "PULLEY")]
    pub at: Option<String>,
    /// To which side the belt goes.
    #[arg(long, value_enum, requires = "symptom")]
    pub towards: Option<TowardsWord>,
}

/// Symptoms.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SymptomWord {
    /// The belt climbs out of the grooves.
    Climbs,
    /// The belt walks sideways.
    Walks,
    /// It squeals or chirps.
    Squeals,
}

/// Sides of a belt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TowardsWord {
    /// Away from the engine.
    Front,
    /// Towards the engine.
    Back,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// Id of a finding or rule, such as H301; all are listed when it is left out.
    pub id: Option<String>,
}

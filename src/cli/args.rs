//! Arguments as typed. Nothing is looked up here; `settle` does that.

use std::path::{Path, PathBuf};

use clap::{ArgAction, Args, Parser, Subcommand, ValueEnum};

use crate::archive::{Field, Sort};

/// Turns a film photographer's spoken notes, scans and edge prints into a
/// checked record of every frame. Works without a network.
#[derive(Debug, Parser)]
#[command(name = "spooltalk", version, propagate_version = true, max_term_width = 100)]
#[command(
    after_help = "Exit codes: 0 done; 1 done, but some input was unusable; 2 wrong usage; 3 nothing could be done."
)]
pub struct Cli {
    /// Say nothing but errors
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    pub quiet: bool,
    /// Say more: -v what is done, -vv why
    #[arg(short, long, global = true, action = ArgAction::Count)]
    pub verbose: u8,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a first kit file for a trip, from a few questions or from what its notes speak of
    Init(InitArgs),
    /// Take a trip's clips, scans and edge prints and write what every frame got
    Ingest(IngestArgs),
    /// Add what was heard to the kit, or look the kit through
    #[command(subcommand)]
    Kit(KitCommand),
    /// Settle what is in doubt by ear, in the browser, on this machine alone
    Review(ReviewArgs),
    /// Read notes, one a line, and print one JSON object a line
    Parse(ParseArgs),
    /// Show what was heard for a frame, what else it could have been, and why one value won
    Explain(ExplainArgs),
    /// Search the archive by words and conditions
    #[command(after_help = find_help())]
    Find(FindArgs),
    /// List what was changed by hand in a trip's tables
    Edits(EditsArgs),
    /// Show how frames lie against the daylight rule, by film, light, filter, lens and year, and what worked
    Habits(HabitsArgs),
    /// List, check, export or move the archive of all trips, or take a trip out of it
    #[command(subcommand)]
    Archive(ArchiveCommand),
    /// Take speech models in, or show which are there
    #[command(subcommand)]
    Model(ModelCommand),
    /// Read what the camera wrote on the film edge
    #[command(subcommand)]
    Rebate(RebateCommand),
    /// Print a page of the manual
    Man(ManArgs),
    /// Print the completions for a shell
    Completions {
        /// Which shell
        shell: clap_complete::Shell,
    },
}

/// Arguments of `ingest`.
#[derive(Debug, Args)]
pub struct IngestArgs {
    /// Folders of trips, each with notes/, scans/ROLL/, rebate/ and kit.toml in it; without any, what is new in the
    /// phone's folder that the settings name
    #[arg(value_name = "TRIP")]
    pub trips: Vec<PathBuf>,
    /// Where to write [default: TRIP/spooltalk]
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Kit file to use instead of the trip's or the user's own
    #[arg(short, long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Speech model: a name from `spooltalk model list`, or a file
    #[arg(short, long, value_name = "NAME|PATH")]
    pub model: Option<String>,
    /// Leave the trade ear out: hear as the model does that was not taught how exposures are spoken
    #[arg(long)]
    pub plain_ear: bool,
    /// Flag values that are less sure than this, 0 to 1 [default: 0.8, or as the kit says]
    #[arg(long, value_name = "P", value_parser = share)]
    pub unsure_below: Option<f64>,
    /// Folder of a grammar to read instead of the built-in one, to try phrases or a reader out
    #[arg(long, value_name = "DIR")]
    pub grammar: Option<PathBuf>,
    /// Archive to write to alone [default: archive.db beside the other results, and the one of all trips]
    #[arg(long, value_name = "PATH")]
    pub archive: Option<PathBuf>,
    /// Also write copies of the JPEG and TIFF scans with the record embedded
    #[arg(long, value_name = "COPYDIR")]
    pub embed: Option<PathBuf>,
    /// Let frames go whose clips were heard once and are gone
    #[arg(long)]
    pub drop_gone: bool,
    /// Go on: take in what is new as it arrives, until Ctrl-C
    #[arg(long, conflicts_with = "check")]
    pub watch: bool,
    /// Say what would be done and what is unusable; hear nothing, write nothing
    #[arg(long, requires = "trips")]
    pub check: bool,
    /// Print a report for other programs on standard output, an object a trip
    #[arg(long)]
    pub json: bool,
    /// Stretches of speech heard at the same time [default: as many as the machine does well]
    #[arg(short, long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
}

impl IngestArgs {
    /// Those of an `ingest` of one trip with nothing asked for.
    pub fn of_trip(trip: &Path, out: Option<PathBuf>) -> Self {
        Self {
            check: false,
            watch: false,
            trips: vec![trip.to_owned()],
            out,
            kit: None,
            model: None,
            plain_ear: false,
            unsure_below: None,
            grammar: None,
            archive: None,
            embed: None,
            drop_gone: false,
            json: false,
            jobs: None,
        }
    }
}

/// Arguments of `init`.
#[derive(Debug, Args)]
pub struct InitArgs {
    /// The trip's folder
    pub trip: PathBuf,
    /// Ask nothing: take what the notes speak of
    #[arg(long)]
    pub from_notes: bool,
    /// Where the results are, if the trip was taken in already [default: TRIP/spooltalk]
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// What to do about the kit.
#[derive(Debug, Subcommand)]
pub enum KitCommand {
    /// Write what was heard and is not in the kit into it; comments and order stay as they are
    Add(KitAddArgs),
    /// Tell what is odd in a kit, what is there twice, and what cannot be called by voice
    Check(KitCheckArgs),
}

/// Arguments of `kit add`.
#[derive(Debug, Args)]
pub struct KitAddArgs {
    /// The trip's folder, taken in with `ingest`
    pub trip: PathBuf,
    /// Only these, by their names as `ingest` told them [default: all]
    #[arg(value_name = "NAME")]
    pub names: Vec<String>,
    /// Kit file to write to [default: the trip's, else the user's own, else a new one in the trip]
    #[arg(short, long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Where the results are [default: TRIP/spooltalk]
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// Arguments of `kit check`.
#[derive(Debug, Args)]
pub struct KitCheckArgs {
    /// A kit file, or a trip's folder [default: kit.toml here, else the user's own]
    #[arg(value_name = "KIT|TRIP")]
    pub kit: Option<PathBuf>,
}

/// Arguments of `review`.
#[derive(Debug, Args)]
pub struct ReviewArgs {
    /// The trip's folder, taken in with `ingest`
    pub trip: PathBuf,
    /// Where the results are [default: TRIP/spooltalk]
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Kit file to use instead of the trip's or the user's own
    #[arg(short, long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Archive to write to alone [default: archive.db beside the other results, and the one of all trips]
    #[arg(long, value_name = "PATH")]
    pub archive: Option<PathBuf>,
    /// Only print the address; open no browser
    #[arg(long)]
    pub no_browser: bool,
    /// End when nothing was asked for so many minutes
    #[arg(long, value_name = "MINUTES", default_value_t = 60, value_parser = clap::value_parser!(u16).range(1..))]
    pub idle: u16,
}

/// Arguments of `parse`.
#[derive(Debug, Args)]
pub struct ParseArgs {
    /// Text, one note a line; - for standard input
    #[arg(default_value = "-")]
    pub file: PathBuf,
    /// Kit file to use instead of the user's own
    #[arg(short, long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Folder of a grammar to read instead of the built-in one, to try phrases or a reader out
    #[arg(long, value_name = "DIR")]
    pub grammar: Option<PathBuf>,
    /// Show for a person how each note was read, instead of JSON
    #[arg(long)]
    pub explain: bool,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// The trip's folder
    pub trip: PathBuf,
    /// The roll, such as 7 or A3
    pub roll: String,
    /// The frame, such as 12 or 12A
    pub frame: String,
    /// Where the results are [default: TRIP/spooltalk]
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// What terms can be, from the archive's own list.
fn find_help() -> String {
    let examples: Vec<&str> = Field::examples().collect();
    format!(
        "Terms are words that were said, and conditions; all must hold, and -TERM must not \
         (quote the whole, or put -- before the terms: find -- boats -harbour).\n\nConditions: {}",
        examples.join(", ")
    )
}

/// Arguments of `find`.
#[derive(Debug, Args)]
pub struct FindArgs {
    /// Words and conditions; all must hold. @NAME stands for the terms of a saved search
    #[arg(required_unless_present_any = ["saved", "unsave"], value_name = "TERM")]
    pub terms: Vec<String>,
    /// The archive, or a trip's folder [default: spooltalk/archive.db or archive.db here, else that of all trips]
    #[arg(short, long, value_name = "PATH")]
    pub archive: Option<PathBuf>,
    /// How to print them
    #[arg(short, long, value_enum, default_value = "table")]
    pub format: FindFormat,
    /// Print at most so many
    #[arg(short = 'n', long, value_name = "N", default_value_t = 100)]
    pub limit: usize,
    /// Sort by taken, trip, roll, camera, lens, film, filter, light, subject, place, shutter, aperture, ev, rule or
    /// rating; -KEY turns it round [default: newest first]
    #[arg(short, long, value_name = "KEY", allow_hyphen_values = true)]
    pub sort: Option<Sort>,
    /// Show the page with thumbnails in the browser
    #[arg(long)]
    pub open: bool,
    /// Keep these terms under a name, for @NAME
    #[arg(long, value_name = "NAME")]
    pub save: Option<String>,
    /// List the saved searches
    #[arg(long, conflicts_with_all = ["save", "unsave", "open"])]
    pub saved: bool,
    /// Let a saved search go
    #[arg(long, value_name = "NAME", conflicts_with_all = ["save", "open"])]
    pub unsave: Option<String>,
}

/// How found frames are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FindFormat {
    /// For people
    Table,
    /// Every column, for a spreadsheet
    Csv,
    /// One object a line, with the readings that did not win
    Json,
    /// A page with thumbnails; `> found.html` keeps it
    Html,
}

/// Arguments of `habits`.
#[derive(Debug, Args)]
pub struct HabitsArgs {
    /// Words and conditions that frames must meet, as for find; all frames without
    #[arg(value_name = "TERM")]
    pub terms: Vec<String>,
    /// The archive, or a trip's folder [default: spooltalk/archive.db or archive.db here, else that of all trips]
    #[arg(short, long, value_name = "PATH")]
    pub archive: Option<PathBuf>,
    /// Print a picture (SVG) instead of tables; `> habits.svg` keeps it
    #[arg(long)]
    pub svg: bool,
}

/// Arguments of `edits`.
#[derive(Debug, Args)]
pub struct EditsArgs {
    /// The trip's folder
    pub trip: PathBuf,
    /// Where the results are [default: TRIP/spooltalk]
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// What to do about the archive.
#[derive(Debug, Subcommand)]
pub enum ArchiveCommand {
    /// Show the trips, with their rolls, frames, days and folders
    List(ArchiveListArgs),
    /// Take a trip out of the archive; its folder is left as it is
    Forget(ForgetArgs),
    /// Move the archive to another place; or, with --trips, say that a folder of trips was moved
    Move(MoveArgs),
    /// Say whether the archive is whole, and which trips are not where they were
    Check(ArchiveFile),
    /// Print all of it
    Export(ExportArgs),
    /// Print a page over the years: rolls on a time line, films, places; `> years.html` keeps it
    Overview(OverviewArgs),
}

impl ArchiveCommand {
    /// The archive that was asked for.
    pub fn archive(&self) -> Option<&Path> {
        let file = match self {
            Self::List(args) => &args.file,
            Self::Forget(args) => &args.file,
            Self::Move(args) => &args.file,
            Self::Check(file) => file,
            Self::Export(args) => &args.file,
            Self::Overview(args) => &args.file,
        };
        file.archive.as_deref()
    }
}

/// Which archive.
#[derive(Debug, Args)]
pub struct ArchiveFile {
    /// The archive, or a trip's folder [default: the archive of all trips]
    #[arg(short, long, value_name = "PATH")]
    pub archive: Option<PathBuf>,
}

/// Arguments of `archive list`.
#[derive(Debug, Args)]
pub struct ArchiveListArgs {
    /// A line a roll instead of a line a trip
    #[arg(long)]
    pub rolls: bool,
    /// Words and conditions that a roll's frames must meet, as for find; all rolls without
    #[arg(value_name = "TERM", requires = "rolls")]
    pub terms: Vec<String>,
    /// Which archive
    #[command(flatten)]
    pub file: ArchiveFile,
}

/// Arguments of `archive forget`.
#[derive(Debug, Args)]
pub struct ForgetArgs {
    /// The trip: its folder, or its name
    pub trip: String,
    /// Which archive
    #[command(flatten)]
    pub file: ArchiveFile,
}

/// Arguments of `archive move`.
#[derive(Debug, Args)]
pub struct MoveArgs {
    /// Where the archive goes; with --trips, where the trips were and where they are now
    #[arg(required = true, num_args = 1..=2, value_name = "PLACE")]
    pub places: Vec<PathBuf>,
    /// Trips were moved, not the archive
    #[arg(long)]
    pub trips: bool,
    /// Which archive
    #[command(flatten)]
    pub file: ArchiveFile,
}

/// Arguments of `archive export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// How to print it
    #[arg(short, long, value_enum, default_value = "csv")]
    pub format: ExportFormat,
    /// Which archive
    #[command(flatten)]
    pub file: ArchiveFile,
}

/// Arguments of `archive overview`.
#[derive(Debug, Args)]
pub struct OverviewArgs {
    /// Show it in the browser
    #[arg(long)]
    pub open: bool,
    /// Which archive
    #[command(flatten)]
    pub file: ArchiveFile,
}

/// How an archive is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ExportFormat {
    /// A row a frame, for a spreadsheet
    Csv,
    /// JSON Lines: an object a trip, a roll and a frame, with everything that is kept
    Json,
}

/// What to do about models.
#[derive(Debug, Subcommand)]
pub enum ModelCommand {
    /// Take in a ggml Whisper file, or the folder, wheel or wheel parts of a CTranslate2 Whisper model
    Import(ImportArgs),
    /// Show the models that are there, and whether each is sound
    List,
}

/// Arguments of `model import`.
#[derive(Debug, Args)]
pub struct ImportArgs {
    /// The file, or all parts of the model at once
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Store the weights smaller; hears nearly the same and faster
    #[arg(long, value_enum, value_name = "KIND")]
    pub quantize: Option<Quantize>,
}

/// How weights can be stored smaller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Quantize {
    /// Eight bits a weight, in blocks of 32
    #[value(name = "q8_0")]
    Q8_0,
}

/// What to do about the film edge.
#[derive(Debug, Subcommand)]
pub enum RebateCommand {
    /// Print what stands on the film edge, typed off or in pictures
    Read(RebateReadArgs),
}

/// Arguments of `rebate read`.
#[derive(Debug, Args)]
pub struct RebateReadArgs {
    /// Pictures of the edge, or tables and lines typed off
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Kit file to use instead of the user's own
    #[arg(short, long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// The camera that the roll was in, by its kit name
    #[arg(short, long, value_name = "NAME")]
    pub camera: Option<String>,
}

/// Arguments of `man`.
#[derive(Debug, Args)]
pub struct ManArgs {
    /// The page of one command, such as `ingest` or `model import`; without it the program's own
    pub command: Vec<String>,
}

fn share(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(p) if (0.0..=1.0).contains(&p) => Ok(p),
        _ => Err("expected a number from 0 to 1, such as 0.8".to_owned()),
    }
}

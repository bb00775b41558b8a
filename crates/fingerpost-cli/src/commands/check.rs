//! `fingerpost check`: the findings on many boards.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use clap::{ArgMatches, Args, Command, ValueEnum};
use fingerpost::Severity;
use fingerpost_json::{
    BoardRead, CheckAnswer, CheckedBoard, ComplaintAnswer, ErrorAnswer, ErrorBody, ErrorKind,
    Mended, ScoreAsked, Source, Voice,
};

use super::{Entry, ScoreArgs, VoiceArgs, parsed};
use crate::Streams;
use crate::forms::{Form, Kept, Part, Seen};
use crate::input::{Input, Unread, is_line, reason};
use crate::outcome::{Failure, Outcome, refuse, refuse_with};
use crate::text::counted;
use crate::{mend, report};

pub(super) const ENTRY: Entry = Entry {
    name: "check",
    about: "Say what is wrong with boards: errors, warnings, advice",
    after: "\
Examples:
  fingerpost check examples/boards
  fingerpost check over-the-stile.json ferry.json
  fingerpost check --level warning --as github examples/boards
  fingerpost check --fix over-the-stile.json
  fingerpost check --fix - < over-the-stile.json > mended.json
  fingerpost check '|: 1 | 2 :| 3 D.C. al Fine |]'
  fingerpost check --learner '|: 1 | 2 :| 3 D.C. al Fine |]'

Of a folder every *.json, *.musicxml, *.mxl, *.mnx and *.abc file is checked, those in folders
below it included; what a file is is told by its content. Of a book of tunes each tune is checked.
Below a finding stand its fixes, the best first; each has been tried. A safe one changes nothing
that is played, or restores the only meaning that the signs can have; at the end of a board stands
what the safe ones would change. --fix makes them, again and again until none is left; of a very
large board it may leave some for another run, and says so. A sign that may still wait for its
partner is never taken away unasked. --fix writes files, and leaves everything else in them as
it is; a board line that is an argument is printed with the fixes made. Of standard input the board
stands alone on standard output, mended or as it was, and what was found on standard error. A score
is never written: its fixes are told in words, to be made in the program that wrote it.
A board that cannot be read does not stop the others; they are counted at the end, and the exit
status is 2.",
    args: <CheckArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct CheckArgs {
    /// Board files, scores, folders of them, board lines, or - for standard input
    #[arg(value_name = "FILES", required = true)]
    boards: Vec<String>,
    /// The form in which to say what was found
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = Form::Text)]
    form: Form,
    /// The same as --as json
    #[arg(long, conflicts_with_all = ["form", "learner"])]
    json: bool,
    #[command(flatten)]
    voice: VoiceArgs,
    /// The level from which findings make the exit status 1
    #[arg(long, value_enum, default_value_t = Level::Error)]
    level: Level,
    /// Make the safe fixes, and say what is left
    #[arg(long)]
    fix: bool,
    #[command(flatten)]
    score: ScoreArgs,
}

/// The level of findings that the exit status is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
enum Level {
    /// Errors alone
    Error,
    /// Errors and warnings
    Warning,
    /// Everything
    Advice,
}

impl Level {
    fn counts(self, severity: Severity) -> bool {
        let least = match self {
            Level::Error => Severity::Error,
            Level::Warning => Severity::Warning,
            Level::Advice => Severity::Advice,
        };
        severity <= least
    }
}

/// A board to check: not opened yet, read already (a line, standard input), or known to be none.
enum Job {
    File(PathBuf),
    Input(Input),
    Unread(Box<Unread>),
}

/// How the boards are checked.
struct How {
    form: Form,
    fix: bool,
    asked: ScoreAsked,
    voice: Voice,
}

/// A checked board and what is printed of it.
struct Checked {
    board: CheckedBoard,
    part: Part,
    complaint: String,
    /// Why its file could not be written.
    unwritten: Option<String>,
    /// The board of standard input, mended or as it was: it is passed on.
    passed_on: Option<Vec<u8>>,
}

/// How the names of the files end that are checked of a folder.
const EXTENSIONS: [&str; 5] = ["json", "musicxml", "mxl", "mnx", "abc"];

/// After this time without an end, progress is shown.
const PATIENCE: Duration = Duration::from_secs(1);

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: CheckArgs = parsed(matches)?;
    let form = if args.json { Form::Json } else { args.form };
    // The other forms are for programs, which know the teacher's words.
    let unfit = [
        ("--learner", args.voice.learner && form != Form::Text),
        (
            "--bars",
            args.voice.measures.bars && !matches!(form, Form::Text | Form::Json),
        ),
    ];
    if let Some((flag, _)) = unfit.iter().find(|(_, unfit)| *unfit) {
        let message = format!("{flag} is for what people read: leave it out, or leave out --as");
        return Err(refuse(streams, &message));
    }
    let mut passed_on = Vec::new();
    if !(args.fix && form == Form::Text && args.boards.iter().any(|it| it == "-")) {
        return check(&args, form, streams, &mut passed_on);
    }
    // The board of standard input goes to standard output alone, everything else to standard error.
    let (mut found, mut complaints) = (Vec::new(), Vec::new());
    let inner = &mut Streams {
        stdin: &mut *streams.stdin,
        stdout: &mut found,
        stderr: &mut complaints,
        width: streams.width,
        progress: false,
    };
    let outcome = check(&args, form, inner, &mut passed_on);
    streams.stdout.write_all(&passed_on)?;
    streams.stdout.flush()?;
    streams.stderr.write_all(&found)?;
    streams.stderr.write_all(&complaints)?;
    outcome
}

fn check(
    args: &CheckArgs,
    form: Form,
    streams: &mut Streams<'_>,
    passed_on: &mut Vec<u8>,
) -> Result<Outcome, Failure> {
    let mut jobs = Vec::new();
    for board in &args.boards {
        gather(board, &mut jobs, streams);
    }
    number_lines(&mut jobs);
    let many = jobs.len() != 1;
    let mut checked = Vec::with_capacity(jobs.len());
    let how = How {
        form,
        fix: args.fix,
        asked: args.score.asked(),
        voice: args.voice.voice(),
    };
    check_all(&jobs, &how, streams, &mut checked)?;
    let complaints: String = checked.iter().map(|one| one.complaint.as_str()).collect();
    passed_on.extend(
        checked
            .iter()
            .flat_map(|one| one.passed_on.iter().flatten()),
    );
    let unwritten: Vec<ComplaintAnswer> = checked.iter().filter_map(unwritten).collect();
    let (boards, kept): (Vec<CheckedBoard>, Vec<Kept>) = checked
        .into_iter()
        .map(|one| (one.board, one.part.kept))
        .unzip();
    let answer: CheckAnswer = boards.into_iter().collect();
    if form == Form::Json && answer.unread == answer.boards.len() as u64 {
        // Nothing was checked, so there is nothing to answer with.
        return Err(nothing_read(streams, answer));
    }
    form.end(streams, &answer, kept)?;
    streams.stdout.flush()?;
    if answer.unread > 0 {
        let files = counted(answer.unread, "board", "boards");
        let files = format!("{files} could not be read");
        if form == Form::Json {
            // The complaints are in the answer, each with its board.
            let error = ErrorAnswer::new(ErrorKind::NoBoard, files);
            return Err(refuse_with(streams, &error, true));
        }
        streams.stderr.write_all(complaints.as_bytes())?;
        if many {
            return Err(refuse(streams, &files));
        }
        return Err(Failure::Refused);
    }
    if !unwritten.is_empty() {
        let files = counted(unwritten.len() as u64, "file", "files");
        let files = format!("{files} could not be written");
        if form == Form::Json {
            let error = ErrorAnswer::new(ErrorKind::NotWritten, files);
            let error = error.with_complaints(unwritten);
            return Err(refuse_with(streams, &error, true));
        }
        streams.stderr.write_all(complaints.as_bytes())?;
        return Err(refuse(streams, &files));
    }
    let mut findings = answer.boards.iter().flat_map(|board| &board.findings);
    if findings.any(|finding| args.level.counts(finding.severity)) {
        Ok(Outcome::Found)
    } else {
        Ok(Outcome::Clean)
    }
}

/// The complaint when no board can be read: that of the board, or those of all of them, each begun with its board's name.
fn nothing_read(streams: &mut Streams<'_>, answer: CheckAnswer) -> Failure {
    let count = answer.unread;
    let unread = answer.boards.into_iter();
    let mut unread =
        unread.filter_map(|board| Some((board.file.unwrap_or_default(), board.error?)));
    let (first, second) = (unread.next(), unread.next());
    let error = match (first, second) {
        (Some((_, error)), None) => ErrorAnswer {
            version: fingerpost_json::VERSION,
            error,
        },
        (first, second) => {
            let mut complaints = Vec::new();
            for (file, error) in first.into_iter().chain(second).chain(unread) {
                complaints.extend(named(&file, error));
            }
            let files = counted(count, "board", "boards");
            let message = format!("{files} could not be read");
            ErrorAnswer::new(ErrorKind::NoBoard, message).with_complaints(complaints)
        }
    };
    refuse_with(streams, &error, true)
}

/// That a file could not be written, and why.
fn unwritten(checked: &Checked) -> Option<ComplaintAnswer> {
    let reason = checked.unwritten.as_ref()?;
    let name = checked.board.file.as_deref().unwrap_or_default();
    Some(complaint(format!("{name}: {reason}")))
}

fn complaint(message: String) -> ComplaintAnswer {
    ComplaintAnswer {
        message,
        accepted: None,
        pointer: None,
        line: None,
        column: None,
    }
}

/// What is complained of a board, begun with its name.
fn named(file: &str, error: ErrorBody) -> Vec<ComplaintAnswer> {
    let mut complaints = error.complaints;
    if complaints.is_empty() {
        complaints.push(complaint(error.message));
    }
    for complaint in &mut complaints {
        complaint.message = format!("{file}: {}", complaint.message);
    }
    complaints
}

/// The boards that an argument stands for.
fn gather(argument: &str, jobs: &mut Vec<Job>, streams: &mut Streams<'_>) {
    let path = Path::new(argument);
    if argument == "-" || is_line(argument) {
        jobs.push(match Input::open(argument, streams) {
            Ok(input) => Job::Input(input),
            Err(unread) => Job::Unread(unread),
        });
    } else if path.is_dir() {
        let mut files = Vec::new();
        let fault = match files_below(path, &mut files) {
            Err(error) => Some(format!("the folder cannot be read: {}", reason(&error))),
            Ok(()) if files.is_empty() => {
                Some("there is no board file (*.json) and no score (*.musicxml, *.mxl, *.mnx, *.abc) in this folder".to_owned())
            }
            Ok(()) => None,
        };
        jobs.extend(files.into_iter().map(Job::File));
        jobs.extend(fault.map(|fault| Job::Unread(Unread::new(argument, fault))));
    } else {
        jobs.push(Job::File(path.to_owned()));
    }
}

/// Numbers the board lines when there are several, so that it can be told which one is meant.
fn number_lines(jobs: &mut [Job]) {
    let is_line = |input: &Input| input.path.is_none() && input.name == "line";
    let mut lines: Vec<&mut Input> = jobs
        .iter_mut()
        .filter_map(|job| match job {
            Job::Input(input) if is_line(input) => Some(input),
            _ => None,
        })
        .collect();
    if lines.len() > 1 {
        for (index, input) in lines.iter_mut().enumerate() {
            input.name = format!("line {}", index + 1);
        }
    }
}

/// The board files and scores of a folder and the folders below it, in order of their names. Links to folders are not followed, so that the search
/// ends; names that begin with a dot are passed over.
fn files_below(folder: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    let mut entries = std::fs::read_dir(folder)?.collect::<Result<Vec<_>, _>>()?;
    entries.sort_by_key(std::fs::DirEntry::file_name);
    for entry in entries {
        let path = entry.path();
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        if entry.file_type()?.is_dir() {
            files_below(&path, files)?;
        } else if path
            .extension()
            .is_some_and(|extension| EXTENSIONS.iter().any(|it| extension == *it))
        {
            files.push(path);
        }
    }
    Ok(())
}

/// Checks every board, on all cores, and prints the findings of each in the order of the jobs as soon as its turn has come.
fn check_all(
    jobs: &[Job],
    how: &How,
    streams: &mut Streams<'_>,
    checked: &mut Vec<Checked>,
) -> Result<(), Failure> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let workers = cores.min(jobs.len());
    let next = AtomicUsize::new(0);
    let (sender, receiver) = mpsc::channel();
    let started = Instant::now();
    thread::scope(|scope| {
        for _ in 0..workers {
            let (sender, next) = (sender.clone(), &next);
            scope.spawn(move || {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(job) = jobs.get(index) else { return };
                    if sender.send((index, check_one(job, how))).is_err() {
                        // Nobody listens any more: printing has failed.
                        return;
                    }
                }
            });
        }
        drop(sender);
        let mut waiting = BTreeMap::new();
        let (mut shown, mut done) = (started, 0);
        for (index, boards) in receiver {
            waiting.insert(index, boards);
            while let Some(boards) = waiting.remove(&done) {
                done += 1;
                for one in boards {
                    streams.stdout.write_all(one.part.now.as_bytes())?;
                    checked.push(one);
                }
            }
            let now = Instant::now();
            if streams.progress && now - started > PATIENCE && now - shown > PATIENCE / 5 {
                shown = now;
                write!(streams.stderr, "\rchecked {done} of {}", jobs.len())?;
                streams.stderr.flush()?;
            }
        }
        if streams.progress && shown > started {
            // The line of the progress is wiped before anything else is written there.
            write!(streams.stderr, "\r{:40}\r", "")?;
        }
        Ok(())
    })
}

/// Checks what is in a file: a board, or each tune of a book.
fn check_one(job: &Job, how: &How) -> Vec<Checked> {
    let form = how.form;
    let opened;
    let input = match job {
        Job::Input(input) => input,
        Job::Unread(unread) => return vec![none(unread, form)],
        Job::File(path) => match Input::open_file(path) {
            Ok(input) => {
                opened = input;
                &opened
            }
            Err(unread) => return vec![none(&unread, form)],
        },
    };
    let boards = match input.read_all(&how.asked) {
        Ok(boards) => boards,
        Err(unread) => return vec![none(&unread, form)],
    };
    let boards = boards.into_iter().map(|read| read.spoken(how.voice));
    let boards: Vec<BoardRead<'_>> = boards.collect();
    let check = |read: &BoardRead<'_>| match how.fix.then(|| read.mended()).flatten() {
        Some(mended) => check_mended(input, how, read, mended),
        None => seen(input, form, read, answered(input, read)),
    };
    let mut checked: Vec<Checked> = boards.iter().map(check).collect();
    if let Some(first) = checked.first_mut().filter(|_| input.is_standard()) {
        // What could not be mended is passed on as it came, a book of tunes as one.
        first
            .passed_on
            .get_or_insert_with(|| input.given().to_owned());
    }
    checked
}

/// Checks a board with its safe fixes made, and writes them into its file.
fn check_mended(input: &Input, how: &How, read: &BoardRead<'_>, mended: Mended) -> Checked {
    let form = how.form;
    let path = input.path.as_ref().filter(|_| !mended.titles.is_empty());
    let written = path.map_or(Ok(()), |path| {
        let text = mend::text_of_file(read, mended.text.clone())?;
        mend::write(path, &text).map_err(|error| mend::reason(&error))
    });
    if let Err(reason) = written {
        let reason = format!("the fixes cannot be written into the file: {reason}");
        let name = report::shown_name(&input.name);
        return Checked {
            complaint: format!("{name}: {reason}\n"),
            unwritten: Some(reason),
            ..seen(input, form, read, answered(input, read))
        };
    }
    let has_fixes = !mended.titles.is_empty();
    match Source::text(mended.text.as_str()).read() {
        Ok(left) => {
            let left = left.spoken(how.voice);
            let board = CheckedBoard {
                made: mended.titles,
                unfinished: mended.unfinished,
                text: (input.path.is_none() && has_fixes).then(|| mended.text.clone()),
                ..answered(input, &left)
            };
            let checked = seen(input, form, &left, board);
            if !input.is_standard() {
                return checked;
            }
            if !has_fixes {
                return checked;
            }
            let text = mend::text_of_file(read, mended.text.clone());
            Checked {
                passed_on: Some(text.unwrap_or(mended.text.clone() + "\n").into_bytes()),
                ..checked
            }
        }
        // cannot fail: an edited board is a board.
        Err(_) => seen(input, form, read, answered(input, read)),
    }
}

fn answered(input: &Input, read: &BoardRead<'_>) -> CheckedBoard {
    CheckedBoard::of(Some(input.name.clone()), read)
}

fn seen(input: &Input, form: Form, read: &BoardRead<'_>, board: CheckedBoard) -> Checked {
    let part = form.part(&Seen {
        name: &input.name,
        path: input.path.as_deref(),
        read: Some(read),
        board: &board,
    });
    Checked {
        board,
        part,
        complaint: String::new(),
        unwritten: None,
        passed_on: None,
    }
}

fn none(unread: &Unread, form: Form) -> Checked {
    let board = CheckedBoard::unread(Some(unread.name.clone()), unread.answer.clone());
    let part = form.part(&Seen {
        name: &unread.name,
        path: unread.path.as_deref(),
        read: None,
        board: &board,
    });
    Checked {
        board,
        part,
        complaint: report::unread(unread),
        unwritten: None,
        passed_on: None,
    }
}

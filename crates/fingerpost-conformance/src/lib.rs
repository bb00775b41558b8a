//! The conformance cases of the rulebook: their format, two loaders (the rulebook's Markdown and the exported JSON), an exporter, and a
//! runner that puts the cases to anything that implements [`Subject`]: the
//! library itself ([`Library`]), or any other program over its standard input and output ([`Program`]). The command of the same name
//! does the latter.
//!
//! ```no_run
//! use fingerpost_conformance::{Form, Library, Suite, run};
//! let suite = Suite::read_json("spec/conformance".as_ref())?;
//! for case in suite.cases() {
//!     for disagreement in run(case, &mut Library, Form::Json) {
//!         println!("{}: {disagreement}", case.id);
//!     }
//! }
//! # Ok::<(), fingerpost_conformance::LoadError>(())
//! ```
#![forbid(unsafe_code)]
#![deny(missing_docs)]

mod carried;
mod case;
mod command;
mod json;
mod levels;
mod library;
mod load;
mod markdown;
mod program;
mod reply;
mod report;
mod run;
mod sources;
mod steps;
mod subject;

pub use case::{
    Case, Chapter, Citation, Clause, Expected, Layout, Outcome, ReadingAsked, RouteCase, Status,
    TermsAsked,
};
pub use command::run_command;
pub use json::{FORMAT, chapter_file, schema};
pub use levels::Level;
pub use library::Library;
pub use load::{LoadError, Suite};
pub use markdown::chapter_from_markdown;
pub use program::{Program, split_command};
pub use reply::{Reply, answer_lines, reply_schema, request_schema};
pub use report::{
    CaseReport, ClauseTotals, Found, LevelTotals, Report, Totals, examine, report_schema,
};
pub use run::{Disagreement, run};
pub use sources::{NO_SOURCE, RULING, SourceList};
pub use steps::{Cause, Hands, OctaveShift, StepColumns};
pub use subject::{Answer, Ask, BoardText, Comparison, Form, RouteAnswer, Subject, SubjectError};

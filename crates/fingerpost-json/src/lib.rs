//! The one JSON door to fingerpost: a request as text in, an answer as text out.
//!
//! Every program that is not written in Rust comes through [`answer`]; the command's `--json` gives the same answers. A request is a JSON
//! object with a `verb`; what else it holds is in `spec/request.schema.json`. A board is given as `board` (the JSON of a board file), as
//! `line` (a board line), as `score` (the text of a score in MusicXML, MNX or ABC) or as `text` (any of them, told apart by content).
//!
//! ```
//! let answer = fingerpost_json::answer(r#"{ "verb": "unroll", "line": "|: 1 | 2 :| 3 |]" }"#);
//! assert!(answer.contains(r#""order":[1,2,1,2,3]"#));
//! ```
//!
//! Answers are functions of their request alone, with their keys in a fixed order. Whatever the request, there is an answer: one that
//! cannot be carried out has the key `error`. The shapes are in `spec/*.schema.json`; numbers are whole numbers, and those that count steps
//! may be larger than 2^53, which some JSON readers round.
#![forbid(unsafe_code)]
#![deny(missing_docs)]

mod about;
mod board;
mod check;
mod compare;
mod content;
mod deal;
mod error;
mod explain;
mod findings;
mod fixes;
mod game;
mod how_long;
mod judge;
mod misread;
mod missing;
mod notices;
mod places;
mod positions;
mod reports;
mod request;
#[cfg(feature = "schema")]
mod schema;
mod score;
mod signs;
mod source;
mod terms;
mod told;
mod unroll;
mod verbs;
mod write_out;

pub use board::{BoardAnswer, MusicxmlAnswer, both_forms, musicxml};
pub use check::{CheckAnswer, CheckedBoard, check};
pub use compare::{
    AnswerWords, CompareAnswer, LeftOutAnswer, QuestionAnswer, RouteAnswer, SettlingAnswer, compare,
};
pub use content::{Content, told_apart};
pub use deal::{
    DealAnswer, DealAsked, DealtAnswer, DifficultyAnswer, GradedAnswer, HandAnswer,
    HandBoardAnswer, deal, hand, wish,
};
pub use error::{ComplaintAnswer, ErrorAnswer, ErrorBody, ErrorKind};
pub use explain::{Example, ExplainAnswer, ExplainKind, NamedAnswer, RulePage, explain, names};
pub use findings::{FindingAnswer, PlaceAnswer};
pub use fingerpost_notation::SignsFrom;
pub use fixes::{FixAnswer, Mended, PatchAnswer};
pub use game::{
    GameAnswer, PieceAnswer, ThrowAnswer, ThrowEndName, WalkedAnswer, restored,
    shown as game_shown, start as game_start,
};
pub use how_long::{HowLongAnswer, HowLongAsked, SpreadAnswer, TimeAnswer, how_long};
pub use judge::{
    AnswerAsked, BackingName, CountedIdea, Credit, DifferenceAnswer, DifferenceName,
    ExplanationAnswer, FitName, FullStep, GivenAnswer, HandsAsked, JudgeAnswer, JudgedAnswer,
    MisunderstandingName, NamedAsked, NearAnswer, StepAsked, Summary, VerdictOfAnswer, judge,
    judge_one,
};
pub use misread::MisreadPage;
pub use missing::{CountedName, MissingAnswer, MissingSetAnswer, missing};
pub use places::{
    PartnerAnswer, PlaceVerdictAnswer, RoadAnswer, SignPlacesAnswer, VerdictName, WhereAnswer,
    asked, places,
};
pub use reports::{
    QualityIssue, QualityLines, QualityPlace, QualitySeverity, SarifArtifact, SarifBoard,
    SarifConfiguration, SarifDescriptor, SarifDriver, SarifInvocation, SarifLevel, SarifLocation,
    SarifLog, SarifLogical, SarifMessage, SarifNotification, SarifPhysical, SarifReference,
    SarifRegion, SarifResult, SarifRun, SarifText, SarifTool, azure_lines, github_lines,
    quality_issues, quality_report, sarif_board, sarif_log,
};
#[cfg(feature = "schema")]
pub use schema::{SCHEMAS, SchemaAnswer, schema};
pub use score::{FormatName, ScoreAnswer, ScoreAsked, TuneAnswer, TuneAsked};
pub use source::{BoardRead, Form, NoBoard, Source};
pub use terms::{ReadingAnswer, ReadingAsked, TermsAsked};
pub use told::{
    AgainAnswer, BoardExplained, ExplainedAnswer, FindingTold, MeasureName, RegisterName,
    RouteTold, ToldAnswer, Voice, explain_board, route_told,
};
pub use unroll::{StepAnswer, Truncated, UnrollAnswer, Window, unroll};
pub use verbs::{VERBS, answer};
pub use write_out::{WriteOutForm, WrittenOutAnswer, midi, write_out};

/// The version of the answers. Keys may be added within a version; none is taken away or given another meaning.
pub const VERSION: u32 = 1;

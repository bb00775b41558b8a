//! SARIF 2.1.0, the OASIS standard for the results of a check: as much of it as findings on boards need. Section numbers are those of the
//! standard.

mod model;

use std::fmt::Write;
use std::ops::Range;

use fingerpost::{Severity, edit_json, rules};
use fingerpost_notation::Rule;
use serde_json::json;

use super::{fingerprints, name, pages};
use crate::check::CheckedBoard;
use crate::error::{ComplaintAnswer, ErrorKind};
use crate::explain::{self, RulePage};
use crate::findings::{FindingAnswer, PlaceAnswer};
use crate::fixes::FixAnswer;
use crate::notices::{self, NoticePage};
use crate::positions::Positions;
use crate::source::{BoardRead, Form};

pub use model::*;

/// The kinds of fault for which a board cannot be read.
const UNREADABLE: [(ErrorKind, &str); 5] = [
    (ErrorKind::NoBoard, "The text is no board."),
    (
        ErrorKind::FormatNotRead,
        "The text is of a format that is not read.",
    ),
    (
        ErrorKind::SeveralTunes,
        "The score is a book of several tunes, and one is wanted.",
    ),
    (
        ErrorKind::UnknownName,
        "The tune or the part that is asked for is not in the score.",
    ),
    (
        ErrorKind::Request,
        "A tune or a part is asked for of a board that has none.",
    ),
];

/// What a log says of one board: its findings as results, or why it cannot be read as notifications. `read` is the board itself, when
/// it could be read: without it a result has the line and the column where its marking begins, but not where it ends.
///
/// `path` is the path of the board's file from the root of the repository, with `/` between its parts; `None` for a board that is no
/// file.
pub fn sarif_board(
    path: Option<&str>,
    board: &CheckedBoard,
    read: Option<&BoardRead<'_>>,
) -> SarifBoard {
    let names = fingerprints(path, board);
    let regions = read.filter(|_| !board.findings.is_empty()).map(regions);
    let regions = regions.unwrap_or_default();
    let at = |region| physical(path, region);
    let board_name = name(path, board);
    let findings = board.findings.iter().zip(names);
    let fixes = read.filter(|read| read.form == Form::Json).zip(path);
    let fixes = fixes.map(|(read, path)| Fixes::new(path, read));
    let results = findings.map(|(finding, name)| {
        let region = match finding.marking.and_then(|index| regions.get(index)) {
            Some(&region) => Some(region),
            None => start(finding.line, finding.column),
        };
        let related = finding.related.iter();
        let related = related.filter_map(|&index| at(Some(*regions.get(index)?)));
        SarifResult {
            rule_id: finding.rule.clone(),
            rule_index: rule_index(&finding.rule),
            level: level(finding.severity),
            message: message(finding),
            locations: location(at(region), finding.place.as_ref(), &board_name),
            related_locations: related.enumerate().map(related_location).collect(),
            fixes: match &fixes {
                Some(fixes) => finding.fixes.iter().filter_map(|fix| fixes.of(fix)).collect(),
                None => Vec::new(),
            },
            partial_fingerprints: json!({ "ruleAndPlace/v1": name }),
            properties: json!({ "help": finding.help, "clause": finding.clause, "place": finding.place }),
        }
    });
    let results = results.collect();
    let error = board.error.as_ref();
    let notifications = error.map(|error| {
        let said = |message: &str, region| SarifNotification {
            descriptor: SarifReference {
                id: error.kind.name().to_owned(),
            },
            level: SarifLevel::Error,
            message: SarifMessage {
                text: sentence(&format!("{board_name}{message}")),
            },
            locations: location(physical(path, region), None, &board_name),
        };
        if error.complaints.is_empty() {
            return vec![said(&error.message, None)];
        }
        let complaints = error.complaints.iter();
        let complaint = |complaint: &ComplaintAnswer| {
            said(&complaint.message, start(complaint.line, complaint.column))
        };
        complaints.map(complaint).collect()
    });
    SarifBoard {
        results,
        notifications: notifications.unwrap_or_default(),
    }
}

/// The log of a check of these boards: one run, with every rule of the catalogue.
pub fn sarif_log(boards: impl IntoIterator<Item = SarifBoard>) -> SarifLog {
    let (mut results, mut notifications) = (Vec::new(), Vec::new());
    for board in boards {
        results.extend(board.results);
        notifications.extend(board.notifications);
    }
    let unreadable = UNREADABLE.iter().map(|(kind, about)| SarifDescriptor {
        id: kind.name().to_owned(),
        short_description: text(about),
        full_description: None,
        help: None,
        default_configuration: SarifConfiguration {
            level: SarifLevel::Error,
        },
        properties: None,
    });
    SarifLog {
        schema: "https://json.schemastore.org/sarif-2.1.0.json",
        version: "2.1.0",
        runs: [SarifRun {
            tool: SarifTool {
                driver: SarifDriver {
                    name: "fingerpost",
                    version: env!("CARGO_PKG_VERSION"),
                    semantic_version: env!("CARGO_PKG_VERSION"),
                    short_description: text(
                        "Reads the road signs of a score and says in which order its measures are played.",
                    ),
                    language: "en",
                    rules: explain::pages()
                        .map(|(rule, page)| descriptor(&rule, &page))
                        .chain(notices::pages().map(|(rule, page)| noticed(rule, &page)))
                        .collect(),
                    notifications: unreadable.collect(),
                },
            },
            invocations: [SarifInvocation {
                execution_successful: notifications.is_empty(),
                tool_execution_notifications: notifications,
            }],
            column_kind: "unicodeCodePoints",
            results,
        }],
    }
}

fn descriptor(rule: &fingerpost::RuleInfo, page: &RulePage) -> SarifDescriptor {
    SarifDescriptor {
        id: rule.name.to_owned(),
        short_description: text(rule.summary),
        full_description: Some(text(&page.what)),
        help: Some(SarifText {
            text: pages::plain(page),
            markdown: Some(pages::markdown(page)),
        }),
        default_configuration: SarifConfiguration {
            level: level(rule.severity),
        },
        properties: Some(json!({
            "category": rule.category,
            "tags": [rule.category],
            "clause": rule.clause,
            "since": rule.since,
        })),
    }
}

/// The rules of the catalogue come first, then those of reading and writing scores.
fn rule_index(name: &str) -> Option<usize> {
    let mut notices = Rule::ALL.iter();
    let notice = notices.position(|rule| rule.name() == name);
    rules()
        .position(|rule| rule.name == name)
        .or_else(|| Some(rules().count() + notice?))
}

fn noticed(rule: Rule, page: &NoticePage) -> SarifDescriptor {
    SarifDescriptor {
        id: rule.name().to_owned(),
        short_description: text(&page.title),
        full_description: Some(text(&page.what)),
        help: Some(SarifText {
            text: pages::plain_notice(page),
            markdown: Some(pages::markdown_notice(page)),
        }),
        default_configuration: SarifConfiguration {
            level: level(rule.severity()),
        },
        properties: Some(json!({ "tags": ["score"] })),
    }
}

fn text(text: &str) -> SarifText {
    SarifText {
        text: text.to_owned(),
        markdown: None,
    }
}

/// 3.27.10: a note is a minor matter.
fn level(severity: Severity) -> SarifLevel {
    match severity {
        Severity::Error => SarifLevel::Error,
        Severity::Warning => SarifLevel::Warning,
        Severity::Advice => SarifLevel::Note,
    }
}

/// 3.11.6: a message is one sentence or more, the first of which can stand alone.
fn message(finding: &FindingAnswer) -> SarifMessage {
    let (message, help) = (sentence(&finding.message), sentence(&finding.help));
    SarifMessage {
        text: format!("{message} What to do: {help}"),
    }
}

/// A message as a sentence. 3.11.5 and 3.11.6 give a meaning to braces and to square brackets, which a message means as they are.
fn sentence(message: &str) -> String {
    let mut text = String::with_capacity(message.len() + 1);
    for character in message.chars() {
        match character {
            '{' => text.push_str("{{"),
            '}' => text.push_str("}}"),
            '[' | ']' | '\\' => text.extend(['\\', character]),
            _ => text.push(character),
        }
    }
    if !text.ends_with('.') {
        text.push('.');
    }
    text
}

fn related_location((index, physical): (usize, SarifPhysical)) -> SarifLocation {
    SarifLocation {
        id: Some(index + 1),
        physical_location: Some(physical),
        logical_locations: Vec::new(),
    }
}

/// A place as its result's list of places: in the file, and on the board.
fn location(
    physical: Option<SarifPhysical>,
    place: Option<&PlaceAnswer>,
    board_name: &str,
) -> Vec<SarifLocation> {
    let logical: Vec<SarifLogical> = place
        .map(|place| logical(place, board_name))
        .into_iter()
        .collect();
    if physical.is_none() && logical.is_empty() {
        return Vec::new();
    }
    vec![SarifLocation {
        id: None,
        physical_location: physical,
        logical_locations: logical,
    }]
}

fn logical(place: &PlaceAnswer, board_name: &str) -> SarifLogical {
    let (from, to) = (place.from, place.to);
    let name = if from == to {
        format!("measure {from}")
    } else {
        format!("measures {from} to {to}")
    };
    SarifLogical {
        fully_qualified_name: format!("{board_name}{}", place.words),
        name,
        kind: "measure",
    }
}

fn physical(path: Option<&str>, region: Option<SarifRegion>) -> Option<SarifPhysical> {
    Some(SarifPhysical {
        artifact_location: artifact(path?),
        region,
    })
}

/// 3.4.3: a relative reference is taken from the root of the sources. A path from the root of the machine has a URI of its own.
fn artifact(path: &str) -> SarifArtifact {
    let drive = path.get(1..3) == Some(":/");
    let absolute = path.starts_with('/') || drive;
    let before = match (absolute, drive) {
        (false, _) => "",
        (true, false) => "file://",
        (true, true) => "file:///",
    };
    SarifArtifact {
        uri: format!("{before}{}", percent_encoded(path)),
        uri_base_id: (!absolute).then_some("%SRCROOT%"),
    }
}

/// A path as a URI has it: what is neither plain nor a separator is written byte by byte (RFC 3986, 2.1 and 2.3).
fn percent_encoded(path: &str) -> String {
    let mut uri = String::with_capacity(path.len());
    for byte in path.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
                uri.push(char::from(byte));
            }
            _ => {
                // cannot fail: writing to memory does not fail.
                let _ = write!(uri, "%{byte:02X}");
            }
        }
    }
    uri
}

/// A board file whose fixes are told as changes of its characters.
struct Fixes<'a> {
    path: &'a str,
    text: &'a str,
    base: usize,
    positions: Positions<'a>,
}

impl<'a> Fixes<'a> {
    fn new(path: &'a str, read: &'a BoardRead<'_>) -> Fixes<'a> {
        let (whole, base) = read.within();
        Fixes {
            path,
            text: read.text(),
            base,
            positions: Positions::new(whole),
        }
    }

    /// A fix of a board file; `None` for one of a board line, whose layout it would not keep.
    fn of(&self, fix: &FixAnswer) -> Option<SarifFix> {
        let edited = edit_json(self.text, &fix.fix.edits).ok()?;
        let (gone, come) = difference(self.text, &edited);
        let inserted = edited.get(come).unwrap_or_default();
        let start = self.positions.of(self.base + gone.start);
        let end = self.positions.of(self.base + gone.end);
        let replacement = SarifReplacement {
            deleted_region: SarifRegion {
                start_line: start.line,
                start_column: Some(start.column),
                end_line: Some(end.line),
                end_column: Some(end.column),
            },
            inserted_content: (!inserted.is_empty()).then(|| SarifContent {
                text: inserted.to_owned(),
            }),
        };
        Some(SarifFix {
            description: SarifMessage {
                text: sentence(&fix.title),
            },
            artifact_changes: [SarifChange {
                artifact_location: artifact(self.path),
                replacements: [replacement],
            }],
        })
    }
}

/// The one stretch in which two texts differ: its bytes in each of them.
fn difference(old: &str, new: &str) -> (Range<usize>, Range<usize>) {
    let same = |pair: &(u8, u8)| pair.0 == pair.1;
    let mut start = old.bytes().zip(new.bytes()).take_while(same).count();
    while !old.is_char_boundary(start) || !new.is_char_boundary(start) {
        start -= 1;
    }
    let rest = (old.len() - start).min(new.len() - start);
    let (backward, other) = (old.bytes().rev(), new.bytes().rev());
    let mut end = backward.zip(other).take(rest).take_while(same).count();
    while !old.is_char_boundary(old.len() - end) || !new.is_char_boundary(new.len() - end) {
        end -= 1;
    }
    (start..old.len() - end, start..new.len() - end)
}

/// The regions of all markings in the board's text, by index.
fn regions(read: &BoardRead<'_>) -> Vec<SarifRegion> {
    let (whole, base) = read.within();
    let positions = Positions::new(whole);
    let region = |bytes: Range<usize>| {
        let start = positions.of(base + bytes.start);
        let end = positions.of(base + bytes.end);
        SarifRegion {
            start_line: start.line,
            start_column: Some(start.column),
            // 3.30.8: the column after the last character.
            end_line: Some(end.line),
            end_column: Some(end.column),
        }
    };
    read.places().into_iter().map(region).collect()
}

fn start(line: Option<u32>, column: Option<u32>) -> Option<SarifRegion> {
    Some(SarifRegion {
        start_line: line?,
        start_column: column,
        end_line: None,
        end_column: None,
    })
}

//! The objects of SARIF 2.1.0 that a log of findings on boards has. Names and meanings are those of the standard; what is left out there
//! as the default is left out here.

/// A log file (3.13).
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
pub struct SarifLog {
    /// Where the schema of the format is.
    #[serde(rename = "$schema")]
    pub schema: &'static str,
    /// The version of the format.
    pub version: &'static str,
    /// The check.
    pub runs: [SarifRun; 1],
}

/// One check (3.14).
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifRun {
    /// What checked.
    pub tool: SarifTool,
    /// How it went.
    pub invocations: [SarifInvocation; 1],
    /// In what columns are counted: characters.
    pub column_kind: &'static str,
    /// The findings.
    pub results: Vec<SarifResult>,
}

/// What checked (3.18).
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
pub struct SarifTool {
    /// fingerpost itself; it has no extensions.
    pub driver: SarifDriver,
}

/// fingerpost and its rules (3.19).
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifDriver {
    /// Its name.
    pub name: &'static str,
    /// Its version.
    pub version: &'static str,
    /// The same, as semantic versioning has it.
    pub semantic_version: &'static str,
    /// What it does.
    pub short_description: SarifText,
    /// The language of its messages.
    pub language: &'static str,
    /// Every rule of the catalogue.
    pub rules: Vec<SarifDescriptor>,
    /// The kinds of fault for which a board cannot be read.
    pub notifications: Vec<SarifDescriptor>,
}

/// A rule, or a kind of fault (3.49).
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifDescriptor {
    /// Its name, for ever.
    pub id: String,
    /// What it says, in one sentence.
    pub short_description: SarifText,
    /// What it finds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub full_description: Option<SarifText>,
    /// Its page.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub help: Option<SarifText>,
    /// How grave it is.
    pub default_configuration: SarifConfiguration,
    /// Its category, its clause and the version in which it came.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub properties: Option<serde_json::Value>,
}

/// How a rule is set (3.50).
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
pub struct SarifConfiguration {
    /// How grave its findings are.
    pub level: SarifLevel,
}

/// How grave something is (3.27.10).
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum SarifLevel {
    /// An error.
    Error,
    /// A warning.
    Warning,
    /// A piece of advice.
    Note,
}

/// A text in one form or in two (3.12).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct SarifText {
    /// Plain.
    pub text: String,
    /// As Markdown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub markdown: Option<String>,
}

/// What is said of a result or of a fault (3.11).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct SarifMessage {
    /// Sentences, with braces doubled and with a backslash before square brackets and backslashes, as the standard asks for.
    pub text: String,
}

/// A finding (3.27).
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifResult {
    /// The rule's name.
    pub rule_id: String,
    /// The place of the rule among those of the driver.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule_index: Option<usize>,
    /// How grave it is.
    pub level: SarifLevel,
    /// What is wrong and what to do about it.
    pub message: SarifMessage,
    /// Where it is: in the file and on the board.
    pub locations: Vec<SarifLocation>,
    /// Where the other markings are that take part.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub related_locations: Vec<SarifLocation>,
    /// What would cure it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fixes: Vec<SarifFix>,
    /// A name that stays the same from one check to the next.
    pub partial_fingerprints: serde_json::Value,
    /// What to do about it, the clause of the rulebook, and the place on the board.
    pub properties: serde_json::Value,
}

/// A fix (3.55).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifFix {
    /// What it does.
    pub description: SarifMessage,
    /// The change of the one file.
    pub artifact_changes: [SarifChange; 1],
}

/// What a fix changes in a file (3.56).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifChange {
    /// The file.
    pub artifact_location: SarifArtifact,
    /// The one stretch of it that is replaced.
    pub replacements: [SarifReplacement; 1],
}

/// What stands in place of a stretch of a file (3.57).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifReplacement {
    /// The characters that go; none where something is put between two characters.
    pub deleted_region: SarifRegion,
    /// The characters that come; absent where none do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inserted_content: Option<SarifContent>,
}

/// Characters (3.3).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct SarifContent {
    /// The characters.
    pub text: String,
}

/// A place (3.28).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifLocation {
    /// Its number among the related places.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<usize>,
    /// The place in a file; absent for a board that is no file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub physical_location: Option<SarifPhysical>,
    /// The place on the board.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub logical_locations: Vec<SarifLogical>,
}

/// A place in a file (3.29).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifPhysical {
    /// The file.
    pub artifact_location: SarifArtifact,
    /// The characters; absent for the whole file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region: Option<SarifRegion>,
}

/// A file (3.4).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifArtifact {
    /// Its path, percent-encoded.
    pub uri: String,
    /// From where a relative path leads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uri_base_id: Option<&'static str>,
}

/// Characters of a file (3.30). Lines and columns are counted from 1.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifRegion {
    /// The line of the first character.
    pub start_line: u32,
    /// Its column; absent where the whole line is meant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start_column: Option<u32>,
    /// The line of the last character.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_line: Option<u32>,
    /// The column after it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_column: Option<u32>,
}

/// A place on the board (3.33).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifLogical {
    /// The measure or the measures.
    pub name: String,
    /// The same with the side: `at the end of measure 4`.
    pub fully_qualified_name: String,
    /// What it is: a measure.
    pub kind: &'static str,
}

/// How a check went (3.20).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifInvocation {
    /// Whether every board could be read.
    pub execution_successful: bool,
    /// Why boards could not be read.
    pub tool_execution_notifications: Vec<SarifNotification>,
}

/// Why a board could not be read (3.58).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct SarifNotification {
    /// The kind of fault.
    pub descriptor: SarifReference,
    /// How grave it is.
    pub level: SarifLevel,
    /// What is wrong.
    pub message: SarifMessage,
    /// Where.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub locations: Vec<SarifLocation>,
}

/// A name of a kind of fault (3.52).
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct SarifReference {
    /// The name.
    pub id: String,
}

/// What a log says of one board.
#[derive(Clone, PartialEq, Debug)]
pub struct SarifBoard {
    /// Its findings.
    pub results: Vec<SarifResult>,
    /// Why it could not be read.
    pub notifications: Vec<SarifNotification>,
}

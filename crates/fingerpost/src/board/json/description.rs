//! The typed description of a board file: what each mark and each key is. It is the one list of marks and keys: files are
//! written from it, keys are known from it, and the JSON Schema is derived from it.

use serde::Serialize;

use super::lists::{List, PassList, WhenValue};
use super::numbers::{Level, Measure, PlaysValue, Row, ShiftValue, SystemLength, Version};
use super::values::{Address, Cut, Flag, Label, MeterValue, Object, Pickup, Title, Word, given};
#[cfg(feature = "schema")]
use crate::board::MOST_MARKINGS;
use crate::board::{Al, Hands, MOST_MEASURES, Repeats, Then};
use crate::reading::{Answers, ArmedInRepeat, Arming, JumpInRepeat, LoneEndRepeat, Nested};

/// The most values of a list with one value for each measure or system.
pub(super) const MOST_VALUES: usize = MOST_MEASURES as usize;
/// The most levels.
pub(super) const MOST_LEVELS: usize = 99;

/// A board: measures in written order and the signs laid on them, as one JSON object.
#[derive(Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[cfg_attr(feature = "schema", schemars(rename = "Board", extend("dependentSchemas" = super::schema::board_rules())))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[serde(bound(deserialize = "Markings: serde::Deserialize<'de>, Cards: serde::Deserialize<'de>"))]
pub(super) struct BoardFile<Markings, Cards> {
    /// The address of the schema, for editors. It means nothing to the reader.
    #[serde(rename = "$schema")]
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Address"))]
    pub(super) schema: Option<Address>,
    /// The version of the format.
    pub(super) board: Version,
    /// The title.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Title"))]
    pub(super) title: Option<Title>,
    /// The composer.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Title"))]
    pub(super) composer: Option<Title>,
    /// Where the board comes from.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Title"))]
    pub(super) source: Option<Title>,
    /// The teaching levels the board is meant for, each once.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "List<Level, MOST_LEVELS>", extend("uniqueItems" = true)))]
    pub(super) levels: Option<List<Level, MOST_LEVELS>>,
    /// The meter at the beginning.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "MeterValue"))]
    pub(super) meter: Option<MeterValue>,
    /// The changes of meter, in the order of their measures; `meter` is then needed.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(
        feature = "schema",
        schemars(with = "List<Object<MeterChangeFile>, MOST_VALUES>")
    )]
    pub(super) meters: Option<List<Object<MeterChangeFile>, MOST_VALUES>>,
    /// The length of an incomplete first measure, as a fraction of a whole note.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Pickup"))]
    pub(super) pickup: Option<Pickup>,
    /// How many measures each system (row) has, top to bottom. Their sum, at most 65535, is the number of measures of the board.
    #[cfg_attr(feature = "schema", schemars(extend("minItems" = 1)))]
    pub(super) systems: List<SystemLength, MOST_VALUES>,
    /// The printed number or name of each measure, when they are not 1, 2, 3 …
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "List<Label, MOST_VALUES>", extend("minItems" = 1)))]
    pub(super) measure_numbers: Option<List<Label, MOST_VALUES>>,
    /// The signs on the board; their order means nothing.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Markings", extend("maxItems" = MOST_MARKINGS)))]
    pub(super) markings: Option<Markings>,
    /// Signs in the hand, not yet on the board.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Cards", extend("maxItems" = MOST_MARKINGS)))]
    pub(super) unplaced: Option<Cards>,
    /// The board's own answers to the questions that signs leave open. They outrank the reading asked for.
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Object<ReadingFile>"))]
    pub(super) reading: Option<Object<ReadingFile>>,
}

/// A change of meter at the start of a measure.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[cfg_attr(feature = "schema", schemars(rename = "MeterChange"))]
#[serde(deny_unknown_fields)]
pub(super) struct MeterChangeFile {
    /// The measure from which the meter holds.
    pub(super) measure: Measure,
    /// The meter.
    pub(super) meter: MeterValue,
}

/// Answers to some or all of the six questions that signs leave open.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[cfg_attr(feature = "schema", schemars(rename = "Reading"))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(super) struct ReadingFile {
    /// Are repeats made again after a D.C. or D.S.?
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Word<Repeats>"))]
    pub(super) repeats_on_return: Option<Word<Repeats>>,
    /// Where does a jump inside a repeated section act?
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Word<JumpInRepeat>"))]
    pub(super) jump_in_repeat: Option<Word<JumpInRepeat>>,
    /// Where does an armed Fine or To Coda inside a repeated section act?
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Word<ArmedInRepeat>"))]
    pub(super) armed_in_repeat: Option<Word<ArmedInRepeat>>,
    /// What does a jump without "al …" arm, and when is a To Coda obeyed?
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Word<Arming>"))]
    pub(super) arming: Option<Word<Arming>>,
    /// Where does an end repeat with no start repeat go back to?
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Word<LoneEndRepeat>"))]
    pub(super) lone_end_repeat: Option<Word<LoneEndRepeat>>,
    /// What does a start repeat inside an open section mean?
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(feature = "schema", schemars(with = "Word<Nested>"))]
    pub(super) nested: Option<Word<Nested>>,
}

impl From<ReadingFile> for Answers {
    fn from(file: ReadingFile) -> Answers {
        Answers {
            repeats_on_return: file.repeats_on_return.map(|Word(answer)| answer),
            jump_in_repeat: file.jump_in_repeat.map(|Word(answer)| answer),
            armed_in_repeat: file.armed_in_repeat.map(|Word(answer)| answer),
            arming: file.arming.map(|Word(answer)| answer),
            lone_end_repeat: file.lone_end_repeat.map(|Word(answer)| answer),
            nested: file.nested.map(|Word(answer)| answer),
        }
    }
}

impl From<&Answers> for ReadingFile {
    fn from(answers: &Answers) -> ReadingFile {
        ReadingFile {
            repeats_on_return: answers.repeats_on_return.map(Word),
            jump_in_repeat: answers.jump_in_repeat.map(Word),
            armed_in_repeat: answers.armed_in_repeat.map(Word),
            arming: answers.arming.map(Word),
            lone_end_repeat: answers.lone_end_repeat.map(Word),
            nested: answers.nested.map(Word),
        }
    }
}

/// How a double barline is drawn.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub(super) enum BarStyle {
    /// Two thin lines.
    #[default]
    Double,
    /// Thin and thick, as at the end of a piece.
    Final,
}

/// A key that a mark may have.
#[derive(Clone, Copy, Debug)]
pub(super) struct KeyOf {
    /// Its name.
    pub(super) name: &'static str,
    /// Whether the mark must have it.
    pub(super) required: bool,
    /// Whether it says where the mark stands; a sign in the hand has no such key.
    pub(super) place: bool,
}

/// Writes down the marks: for each its name, the keys for its place in brackets, its own keys in braces. A key that may be
/// absent is an `Option` and names the type of its value once more, for the schema.
macro_rules! marks {
    ($(
        $(#[$meta:meta])*
        $name:literal $variant:ident
        [$($(#[$pmeta:meta])* $pkey:literal $pfield:ident: $ptype:ty $(= $pwith:literal)?;)*]
        {$($(#[$kmeta:meta])* $key:literal $field:ident: $type:ty $(= $with:literal)?;)*}
    )+) => {
        /// A sign on the board, as a file has it.
        #[derive(Clone, PartialEq, Debug, Serialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[cfg_attr(feature = "schema", schemars(rename = "Marking"))]
        #[serde(tag = "mark", deny_unknown_fields)]
        pub(super) enum Mark {$(
            $(#[$meta])*
            #[serde(rename = $name)]
            $variant {
                $(
                    $(#[$pmeta])*
                    #[serde(rename = $pkey)]
                    $(
                        #[serde(default, skip_serializing_if = "Option::is_none")]
                        #[cfg_attr(feature = "schema", schemars(with = $pwith))]
                    )?
                    $pfield: $ptype,
                )*
                $(
                    $(#[$kmeta])*
                    #[serde(rename = $key)]
                    $(
                        #[serde(default, skip_serializing_if = "Option::is_none")]
                        #[cfg_attr(feature = "schema", schemars(with = $with))]
                    )?
                    $field: $type,
                )*
                /// A name of the sign that stays when the board changes; findings and steps carry it.
                #[serde(default, skip_serializing_if = "Option::is_none")]
                #[cfg_attr(feature = "schema", schemars(with = "Label"))]
                id: Option<Label>,
            },
        )+}

        /// A sign in the hand, as a file has it: as on the board, without its place.
        #[derive(Clone, PartialEq, Debug, Serialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[cfg_attr(feature = "schema", schemars(rename = "Unplaced"))]
        #[serde(tag = "mark", deny_unknown_fields)]
        pub(super) enum Card {$(
            $(#[$meta])*
            #[serde(rename = $name)]
            $variant {
                $(
                    $(#[$kmeta])*
                    #[serde(rename = $key)]
                    $(
                        #[serde(default, skip_serializing_if = "Option::is_none")]
                        #[cfg_attr(feature = "schema", schemars(with = $with))]
                    )?
                    $field: $type,
                )*
                /// A name of the sign that stays when the board changes.
                #[serde(default, skip_serializing_if = "Option::is_none")]
                #[cfg_attr(feature = "schema", schemars(with = "Label"))]
                id: Option<Label>,
            },
        )+}

        impl Mark {
            /// The same sign without its place.
            pub(super) fn into_card(self) -> Card {
                match self {$(
                    Mark::$variant { $($field,)* id, .. } => Card::$variant { $($field,)* id },
                )+}
            }
        }

        /// The kind of a mark.
        #[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Deserialize)]
        pub(super) enum Kind {$(
            #[serde(rename = $name)]
            $variant,
        )+}

        impl Kind {
            /// Its name in a file.
            pub(super) fn name(self) -> &'static str {
                match self {$(
                    Kind::$variant => $name,
                )+}
            }

            /// Its keys, `mark` apart, in the order in which they are written.
            pub(super) fn keys(self) -> &'static [KeyOf] {
                match self {$(
                    Kind::$variant => &[
                        $(KeyOf { name: $pkey, required: marks!(@required $($pwith)?), place: true },)*
                        $(KeyOf { name: $key, required: marks!(@required $($with)?), place: false },)*
                        KeyOf { name: "id", required: false, place: false },
                    ],
                )+}
            }
        }
    };
    (@required) => { true };
    (@required $with:literal) => { false };
}

marks! {
    /// A start repeat barline. The road lands at the start of its measure.
    "start-repeat" StartRepeat [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {}

    /// An end repeat barline. The road leaves at the end of its measure.
    "end-repeat" EndRepeat [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {
        /// How many times the section is played in all, or `open` for a vamp; absent: 2.
        "plays" plays: Option<PlaysValue> = "PlaysValue";
        /// Whether this section is repeated again after a D.C. or D.S.; absent: the jump or the reading says it.
        "on-return" on_return: Option<Word<Repeats>> = "Word<Repeats>";
    }

    /// An ending bracket over one or more measures.
    "ending" Ending [
        "measures" measures: Row;
    ] {
        /// The passes of its section on which it is played, each once.
        "passes" passes: PassList;
        /// Drawn without its closing hook; appearance only. Absent: false.
        "open" open: Option<Flag> = "Flag";
    }

    /// A segno, where a D.S. goes to. The road lands at the start of its measure.
    "segno" Segno [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {
        /// Pairs it with the jumps that have the same label.
        "label" label: Option<Label> = "Label";
    }

    /// A coda sign at the start of the coda. The road lands at the start of its measure.
    "coda" Coda [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {
        /// Pairs it with the To Coda that has the same label.
        "label" label: Option<Label> = "Label";
    }

    /// The words To Coda. The road leaves at the end of its measure.
    "to-coda" ToCoda [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {
        /// The label of the coda it goes to.
        "label" label: Option<Label> = "Label";
        /// The arrivals, counted over the whole route, at which it is obeyed, armed or not. Absent: when it is armed.
        "arrivals" arrivals: Option<PassList> = "PassList";
    }

    /// The word Fine. The road ends at the end of its measure.
    "fine" Fine [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {
        /// The arrivals, counted over the whole route, at which it is obeyed, armed or not. Absent: when it is armed.
        "arrivals" arrivals: Option<PassList> = "PassList";
    }

    /// Da capo. The road goes from the end of its measure back to the beginning.
    #[cfg_attr(feature = "schema", schemars(extend("dependentSchemas" = super::schema::da_capo_rules())))]
    "da-capo" DaCapo [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {
        /// What the words after "al" say; absent for a bare D.C.
        "al" al: Option<Word<Al>> = "Word<Al>";
        /// Where the road goes on from the place that `al` names, with `fine` and `segno` only. Absent: it stops there.
        "then" then: Option<Word<Then>> = "Word<Then>";
        /// With `al` coda the label of the To Coda that is meant; with `then` coda the label of the coda.
        "coda" coda: Option<Label> = "Label";
        /// With `al` segno the label of the segno where the road stops.
        "label" label: Option<Label> = "Label";
        /// Whether repeats are made again on this return; absent: the reading says it.
        "repeats" repeats: Option<Word<Repeats>> = "Word<Repeats>";
        /// The arrivals, counted over the whole route, at which it is obeyed.
        "arrivals" arrivals: Option<PassList> = "PassList";
        /// The passes of its section on which it is obeyed, in place of the last one.
        "passes" passes: Option<PassList> = "PassList";
    }

    /// Dal segno. The road goes from the end of its measure back to the segno.
    #[cfg_attr(feature = "schema", schemars(extend("dependentSchemas" = super::schema::dal_segno_rules())))]
    "dal-segno" DalSegno [
        "measure" measure: Measure;
        "cut" cut: Option<Cut> = "Cut";
    ] {
        /// What the words after "al" say; absent for a bare D.S.
        "al" al: Option<Word<Al>> = "super::schema::AlOfDalSegno";
        /// Where the road goes on from Fine, with `al` fine only. Absent: it stops there.
        "then" then: Option<Word<Then>> = "Word<Then>";
        /// With `al` coda the label of the To Coda that is meant; with `then` coda the label of the coda.
        "coda" coda: Option<Label> = "Label";
        /// The label of the segno it goes to.
        "label" label: Option<Label> = "Label";
        /// Whether repeats are made again on this return; absent: the reading says it.
        "repeats" repeats: Option<Word<Repeats>> = "Word<Repeats>";
        /// The arrivals, counted over the whole route, at which it is obeyed.
        "arrivals" arrivals: Option<PassList> = "PassList";
        /// The passes of its section on which it is obeyed, in place of the last one.
        "passes" passes: Option<PassList> = "PassList";
    }

    /// A double barline at the end of its measure.
    "double-bar" DoubleBar [
        "measure" measure: Measure;
    ] {
        /// How it is drawn; absent: double.
        "style" style: Option<Word<BarStyle>> = "Word<BarStyle>";
    }

    /// An octave sign over one or more measures.
    "octave" Octave [
        "measures" measures: Row;
    ] {
        /// The hands it is for; absent: both.
        "hands" hands: Option<Word<Hands>> = "Word<Hands>";
        /// The shift in octaves: 8va 1, 15ma 2, 8vb -1, 15mb -2.
        "shift" shift: ShiftValue;
        /// The times at which it holds; absent: every pass.
        "when" when: Option<WhenValue> = "WhenValue";
    }

    /// A fermata.
    "fermata" Fermata [
        "measure" measure: Measure;
    ] {
        /// The hands that hold; absent: both.
        "hands" hands: Option<Word<Hands>> = "Word<Hands>";
        /// The times at which it holds; absent: every pass.
        "when" when: Option<WhenValue> = "WhenValue";
    }

    /// Hands that play at some times only, over one or more measures.
    "only" Only [
        "measures" measures: Row;
    ] {
        /// The hands meant; absent: both.
        "hands" hands: Option<Word<Hands>> = "Word<Hands>";
        /// The times at which they play; absent: every pass.
        "when" when: Option<WhenValue> = "WhenValue";
    }
}

//! The reading: what the signs leave open, as six questions, each with its published answers. Rulebook, chapter 6.

use std::fmt;
use std::str::FromStr;

use crate::board::Repeats;
use crate::board::complaint::nearest;

macro_rules! answers {
    ($(#[$meta:meta])* $name:ident { $($(#[$vmeta:meta])* $variant:ident = $text:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug, serde::Serialize, serde::Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(rename_all = "kebab-case")]
        pub enum $name { $($(#[$vmeta])* $variant),+ }

        impl $name {
            /// Every answer, the default first.
            pub const ALL: &[$name] = &[$($name::$variant),+];

            /// The answer's name, as board files write it.
            pub fn name(self) -> &'static str {
                match self { $($name::$variant => $text),+ }
            }
        }
    };
}

answers! {
    /// Where does a jump inside a repeated section act?
    JumpInRepeat {
        /// On the section's last pass (practice).
        #[default]
        LastPass = "last-pass",
        /// The first time it is reached (`MusicXML` 4.0, `sound`: the first time through).
        FirstArrival = "first-arrival",
    }
}

answers! {
    /// Where does an armed Fine or To Coda inside a repeated section act?
    ArmedInRepeat {
        /// On the section's last pass (ruling of the rulebook).
        #[default]
        LastPass = "last-pass",
        /// As soon as it is met.
        FirstArrival = "first-arrival",
    }
}

answers! {
    /// What does a jump without "al …" arm, and what has a To Coda obeyed?
    Arming {
        /// A bare D.C. or D.S. arms Fine and To Coda as "al …" does (practice; `MusicXML` cannot tell the two apart).
        #[default]
        AlOrBare = "al-or-bare",
        /// A bare D.C. or D.S. arms nothing (MNX draft).
        AlOnly = "al-only",
        /// A To Coda is obeyed the second time it is met, whatever has happened (`MusicXML` 4.0, `sound`); Fine as `al-or-bare`.
        SecondArrival = "second-arrival",
    }
}

answers! {
    /// Where does an end repeat with no start repeat go back to?
    LoneEndRepeat {
        /// To the measure after the section before it, else to the beginning (ABC 2.1, section 4.8).
        #[default]
        AfterPreviousSection = "after-previous-section",
        /// To the beginning (old prints).
        Beginning = "beginning",
        /// To the measure after the latest double bar or section (ABC 2.1, section 4.8).
        AfterDoubleBar = "after-double-bar",
    }
}

answers! {
    /// What does a start repeat inside an open section mean?
    Nested {
        /// A section within a section, repeated anew on each pass of the outer one (ruling of the rulebook).
        #[default]
        Restart = "restart",
        /// It replaces the earlier start repeat (ABC 2.1, section 4.8).
        Flat = "flat",
    }
}

impl Repeats {
    /// Every answer, the default first.
    pub const ALL: &[Repeats] = &[Repeats::Skip, Repeats::Play];

    /// The answer's name, as board files write it.
    pub fn name(self) -> &'static str {
        match self {
            Repeats::Play => "play",
            Repeats::Skip => "skip",
        }
    }
}

/// One of the six questions.
#[derive(
    Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    /// Are repeats made again after a D.C. or D.S.?
    RepeatsOnReturn,
    /// See [`JumpInRepeat`].
    JumpInRepeat,
    /// See [`ArmedInRepeat`].
    ArmedInRepeat,
    /// See [`Arming`].
    Arming,
    /// See [`LoneEndRepeat`].
    LoneEndRepeat,
    /// See [`Nested`].
    Nested,
}

impl Question {
    /// All six, in the rulebook's order.
    pub const ALL: [Question; 6] = [
        Question::RepeatsOnReturn,
        Question::JumpInRepeat,
        Question::ArmedInRepeat,
        Question::Arming,
        Question::LoneEndRepeat,
        Question::Nested,
    ];

    /// The question's name, as board files write it.
    pub fn name(self) -> &'static str {
        match self {
            Question::RepeatsOnReturn => "repeats-on-return",
            Question::JumpInRepeat => "jump-in-repeat",
            Question::ArmedInRepeat => "armed-in-repeat",
            Question::Arming => "arming",
            Question::LoneEndRepeat => "lone-end-repeat",
            Question::Nested => "nested",
        }
    }

    /// Who answers so; `None` for a name that is none of its answers. Rulebook, chapter 6.
    ///
    /// ```
    /// use fingerpost::{Backing, Question};
    /// assert_eq!(Question::RepeatsOnReturn.backing("play"), Some(Backing::Published));
    /// assert_eq!(Question::ArmedInRepeat.backing("first-arrival"), Some(Backing::Nobody));
    /// ```
    pub fn backing(self, answer: &str) -> Option<Backing> {
        if !self.answers().contains(&answer) {
            return None;
        }
        Some(match (self, answer) {
            (Question::ArmedInRepeat, "first-arrival") => Backing::Nobody,
            (Question::JumpInRepeat, "first-arrival")
            | (Question::Arming, "al-only" | "second-arrival")
            | (Question::LoneEndRepeat, "after-double-bar")
            | (Question::Nested, "flat") => Backing::Files,
            _ => Backing::Published,
        })
    }

    /// The names of its answers, the default first.
    pub fn answers(self) -> Vec<&'static str> {
        match self {
            Question::RepeatsOnReturn => Repeats::ALL.iter().map(|a| a.name()).collect(),
            Question::JumpInRepeat => JumpInRepeat::ALL.iter().map(|a| a.name()).collect(),
            Question::ArmedInRepeat => ArmedInRepeat::ALL.iter().map(|a| a.name()).collect(),
            Question::Arming => Arming::ALL.iter().map(|a| a.name()).collect(),
            Question::LoneEndRepeat => LoneEndRepeat::ALL.iter().map(|a| a.name()).collect(),
            Question::Nested => Nested::ALL.iter().map(|a| a.name()).collect(),
        }
    }
}

/// Who has published an answer to a question.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[non_exhaustive]
pub enum Backing {
    /// Writers on music, lessons or practice; or, for a default that nobody else has published, this rulebook.
    Published,
    /// The standard of a file format alone.
    Files,
    /// Nobody: it is what some players do.
    Nobody,
}

/// A full set of answers: a reading. `Reading::default()` is the handbook reading.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Reading {
    /// Are repeats made again after a D.C. or D.S.?
    pub repeats_on_return: Repeats,
    /// Where a jump inside a section acts.
    pub jump_in_repeat: JumpInRepeat,
    /// Where an armed Fine or To Coda inside a section acts.
    pub armed_in_repeat: ArmedInRepeat,
    /// What arms a Fine and a To Coda.
    pub arming: Arming,
    /// Where a lone end repeat goes back to.
    pub lone_end_repeat: LoneEndRepeat,
    /// What a start repeat inside an open section means.
    pub nested: Nested,
}

impl Default for Reading {
    fn default() -> Reading {
        Reading {
            repeats_on_return: Repeats::Skip,
            jump_in_repeat: JumpInRepeat::LastPass,
            armed_in_repeat: ArmedInRepeat::LastPass,
            arming: Arming::AlOrBare,
            lone_end_repeat: LoneEndRepeat::AfterPreviousSection,
            nested: Nested::Restart,
        }
    }
}

impl Reading {
    /// All 144 readings, the handbook's first.
    pub fn all() -> impl Iterator<Item = Reading> {
        Reading::default().varied(&Question::ALL).into_iter()
    }

    /// This reading with every combination of answers to the questions given; the reading itself need not be among the first.
    pub fn varied(self, questions: &[Question]) -> Vec<Reading> {
        let mut readings = vec![self];
        for question in questions {
            readings = readings
                .into_iter()
                .flat_map(|reading| reading.each_answer(*question))
                .collect();
        }
        readings
    }

    /// This reading with each answer to one question, the default answer first.
    pub fn each_answer(self, question: Question) -> Vec<Reading> {
        match question {
            Question::RepeatsOnReturn => Repeats::ALL
                .iter()
                .map(|&repeats_on_return| Reading {
                    repeats_on_return,
                    ..self
                })
                .collect(),
            Question::JumpInRepeat => JumpInRepeat::ALL
                .iter()
                .map(|&jump_in_repeat| Reading {
                    jump_in_repeat,
                    ..self
                })
                .collect(),
            Question::ArmedInRepeat => ArmedInRepeat::ALL
                .iter()
                .map(|&armed_in_repeat| Reading {
                    armed_in_repeat,
                    ..self
                })
                .collect(),
            Question::Arming => Arming::ALL
                .iter()
                .map(|&arming| Reading { arming, ..self })
                .collect(),
            Question::LoneEndRepeat => LoneEndRepeat::ALL
                .iter()
                .map(|&lone_end_repeat| Reading {
                    lone_end_repeat,
                    ..self
                })
                .collect(),
            Question::Nested => Nested::ALL
                .iter()
                .map(|&nested| Reading { nested, ..self })
                .collect(),
        }
    }

    /// Who has published what this reading has and another has not: the weakest of those answers says it. Of several answers of which one is
    /// that of a file format alone nobody has, unless one standard has them all.
    pub fn backing_beside(&self, other: &Reading) -> Backing {
        let differing = Question::ALL
            .into_iter()
            .filter(|&question| self.answer(question) != other.answer(question));
        let backing = |&question: &Question| question.backing(self.answer(question));
        let differing: Vec<Question> = differing.collect();
        let weakest = differing.iter().filter_map(backing).max();
        // Answers that a standard has are its own together only.
        let has_all = |standard: &NamedReading| {
            let standard = standard.reading();
            let has = |&question: &Question| standard.answer(question) == self.answer(question);
            differing.iter().all(has)
        };
        match weakest {
            Some(Backing::Files)
                if differing.len() > 1 && !NamedReading::ALL.iter().any(has_all) =>
            {
                Backing::Nobody
            }
            weakest => weakest.unwrap_or(Backing::Published),
        }
    }

    /// The name of this reading's answer to a question.
    pub fn answer(&self, question: Question) -> &'static str {
        match question {
            Question::RepeatsOnReturn => self.repeats_on_return.name(),
            Question::JumpInRepeat => self.jump_in_repeat.name(),
            Question::ArmedInRepeat => self.armed_in_repeat.name(),
            Question::Arming => self.arming.name(),
            Question::LoneEndRepeat => self.lone_end_repeat.name(),
            Question::Nested => self.nested.name(),
        }
    }
}

/// Answers to some of the questions: what a board settles for itself.
#[derive(
    Clone, Copy, Default, PartialEq, Eq, Hash, Debug, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Answers {
    /// Are repeats made again after a D.C. or D.S.?
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeats_on_return: Option<Repeats>,
    /// Where a jump inside a section acts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jump_in_repeat: Option<JumpInRepeat>,
    /// Where an armed Fine or To Coda inside a section acts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub armed_in_repeat: Option<ArmedInRepeat>,
    /// What arms a Fine and a To Coda.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arming: Option<Arming>,
    /// Where a lone end repeat goes back to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lone_end_repeat: Option<LoneEndRepeat>,
    /// What a start repeat inside an open section means.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nested: Option<Nested>,
}

impl Answers {
    /// The reading that has these answers and, where there is none, those of `asked`. A board's own answers outrank those asked for.
    pub fn over(&self, asked: Reading) -> Reading {
        Reading {
            repeats_on_return: self.repeats_on_return.unwrap_or(asked.repeats_on_return),
            jump_in_repeat: self.jump_in_repeat.unwrap_or(asked.jump_in_repeat),
            armed_in_repeat: self.armed_in_repeat.unwrap_or(asked.armed_in_repeat),
            arming: self.arming.unwrap_or(asked.arming),
            lone_end_repeat: self.lone_end_repeat.unwrap_or(asked.lone_end_repeat),
            nested: self.nested.unwrap_or(asked.nested),
        }
    }

    /// Whether it answers a question.
    pub fn answers(&self, question: Question) -> bool {
        self.answer(question).is_some()
    }

    /// The name of the answer to a question.
    pub fn answer(&self, question: Question) -> Option<&'static str> {
        match question {
            Question::RepeatsOnReturn => self.repeats_on_return.map(Repeats::name),
            Question::JumpInRepeat => self.jump_in_repeat.map(JumpInRepeat::name),
            Question::ArmedInRepeat => self.armed_in_repeat.map(ArmedInRepeat::name),
            Question::Arming => self.arming.map(Arming::name),
            Question::LoneEndRepeat => self.lone_end_repeat.map(LoneEndRepeat::name),
            Question::Nested => self.nested.map(Nested::name),
        }
    }

    /// Whether it answers none.
    pub fn is_empty(&self) -> bool {
        *self == Answers::default()
    }
}

impl From<Reading> for Answers {
    fn from(reading: Reading) -> Answers {
        Answers {
            repeats_on_return: Some(reading.repeats_on_return),
            jump_in_repeat: Some(reading.jump_in_repeat),
            armed_in_repeat: Some(reading.armed_in_repeat),
            arming: Some(reading.arming),
            lone_end_repeat: Some(reading.lone_end_repeat),
            nested: Some(reading.nested),
        }
    }
}

/// A reading with a name.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Debug)]
pub enum NamedReading {
    /// All defaults: today's custom as handbooks and lessons teach it.
    #[default]
    Handbook,
    /// `MusicXML` 4.0 taken literally: jumps the first time through, To Coda the second time.
    MusicXml,
    /// The MNX draft: only "al Fine" and "al Coda" arm.
    Mnx,
    /// ABC 2.1: a double bar is a place to go back to.
    Abc,
    /// Repeats are made again after a D.C. or D.S.
    AllRepeats,
    /// The handbook reading with every repeat left out, as two examination boards ask of candidates. The omission is a performer's choice
    /// ([`Terms::omit_repeats`](crate::Terms)), no answer to a question.
    Examination,
}

impl NamedReading {
    /// All of them, the default first.
    pub const ALL: [NamedReading; 6] = [
        NamedReading::Handbook,
        NamedReading::MusicXml,
        NamedReading::Mnx,
        NamedReading::Abc,
        NamedReading::AllRepeats,
        NamedReading::Examination,
    ];

    /// Its name on the command line and in JSON.
    pub fn name(self) -> &'static str {
        match self {
            NamedReading::Handbook => "handbook",
            NamedReading::MusicXml => "musicxml",
            NamedReading::Mnx => "mnx",
            NamedReading::Abc => "abc",
            NamedReading::AllRepeats => "all-repeats",
            NamedReading::Examination => "examination",
        }
    }

    /// Its answers.
    pub fn reading(self) -> Reading {
        let handbook = Reading::default();
        match self {
            NamedReading::Handbook | NamedReading::Examination => handbook,
            NamedReading::MusicXml => Reading {
                jump_in_repeat: JumpInRepeat::FirstArrival,
                arming: Arming::SecondArrival,
                ..handbook
            },
            NamedReading::Mnx => Reading {
                arming: Arming::AlOnly,
                ..handbook
            },
            NamedReading::Abc => Reading {
                lone_end_repeat: LoneEndRepeat::AfterDoubleBar,
                ..handbook
            },
            NamedReading::AllRepeats => Reading {
                repeats_on_return: Repeats::Play,
                ..handbook
            },
        }
    }

    /// Whether it leaves out every repeat.
    pub fn omits_repeats(self) -> bool {
        self == NamedReading::Examination
    }
}

impl fmt::Display for NamedReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A name that no reading has.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{message}")]
pub struct UnknownReading {
    message: String,
}

impl FromStr for NamedReading {
    type Err = UnknownReading;

    fn from_str(text: &str) -> Result<NamedReading, UnknownReading> {
        NamedReading::ALL
            .into_iter()
            .find(|named| named.name() == text)
            .ok_or_else(|| {
                let names = NamedReading::ALL.map(NamedReading::name);
                let message = match nearest(text, names) {
                    Some(near) => format!("`{text}` is not a reading; did you mean `{near}`?"),
                    None => format!(
                        "`{text}` is not a reading; the readings are {}",
                        names.join(", ")
                    ),
                };
                UnknownReading { message }
            })
    }
}

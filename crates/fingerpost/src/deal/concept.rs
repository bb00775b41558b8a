//! What a board can teach, and how that is recognised.

use std::fmt;
use std::str::FromStr;

use crate::board::{Al, Board, Jump, Octave, Plays, Repeats, Sign, When};
use crate::roadmap::{Ground, Terms};

macro_rules! concepts {
    ($($(#[$doc:meta])+ $variant:ident = $name:literal, $words:literal;)+) => {
        /// Something of the road signs that is learned as one thing. Source of the order: spec/levels.md.
        #[derive(
            Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
        )]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[non_exhaustive]
        pub enum Concept {
            $($(#[$doc])+ #[serde(rename = $name)] $variant),+
        }

        impl Concept {
            /// All of them, in the usual order of teaching.
            pub const ALL: &[Concept] = &[$(Concept::$variant),+];

            /// Its name in files, on the command line and in JSON.
            pub fn name(self) -> &'static str {
                match self { $(Concept::$variant => $name),+ }
            }

            /// What a musician calls it.
            pub fn words(self) -> &'static str {
                match self { $(Concept::$variant => $words),+ }
            }
        }
    };
}

concepts! {
    /// An end repeat with no start repeat before it: back to the beginning.
    RepeatFromBeginning = "repeat-from-the-beginning", "repeat from the beginning";
    /// A start repeat and an end repeat.
    StartAndEndRepeat = "start-and-end-repeat", "start and end repeat";
    /// A repeat that begins where another ends.
    TwoRepeats = "two-repeats-in-a-row", "two repeats in a row";
    /// A fermata.
    Fermata = "fermata", "fermata";
    /// An octave sign that holds every time.
    OctaveSign = "octave-sign", "octave sign";
    /// A first and a second ending.
    TwoEndings = "first-and-second-ending", "first and second ending";
    /// A repeat that is played more than twice, by a number at its end.
    PlaysTimes = "plays-n-times", "repeat played several times";
    /// An octave sign that holds on the repeat only.
    OctaveOnRepeat = "octave-on-the-repeat", "octave on the repeat";
    /// A D.C. to the written end.
    DaCapo = "da-capo", "D.C.";
    /// D.C. al Fine.
    DaCapoAlFine = "da-capo-al-fine", "D.C. al Fine";
    /// A D.S. to the written end.
    DalSegno = "dal-segno", "D.S.";
    /// D.S. al Fine.
    DalSegnoAlFine = "dal-segno-al-fine", "D.S. al Fine";
    /// D.C. al Coda.
    DaCapoAlCoda = "da-capo-al-coda", "D.C. al Coda";
    /// D.S. al Coda.
    DalSegnoAlCoda = "dal-segno-al-coda", "D.S. al Coda";
    /// Endings for three passes or more.
    MoreEndings = "more-endings", "three endings or more passes";
    /// A return on which the repeats are left out, by a word.
    RepeatsLeftOut = "repeats-left-out-on-the-return", "D.C. or D.S. senza rep.";
    /// A return on which the repeats are made again, by a word.
    RepeatsAgain = "repeats-again-on-the-return", "D.C. or D.S. con rep.";
    /// An octave sign that holds after a D.C. or D.S. only.
    OctaveOnReturn = "octave-on-the-return", "octave on the return";
    /// Hands that play at some times only.
    OneTimeOnly = "one-time-only", "hands that play one time only";
}

impl Concept {
    /// Whether it is a D.C. or a D.S.
    pub(crate) fn is_return(self) -> bool {
        matches!(
            self,
            Concept::DaCapo
                | Concept::DaCapoAlFine
                | Concept::DalSegno
                | Concept::DalSegnoAlFine
                | Concept::DaCapoAlCoda
                | Concept::DalSegnoAlCoda
        )
    }

    /// Whether it cannot be shown without a repeat.
    pub(crate) fn needs_repeat(self) -> bool {
        matches!(
            self,
            Concept::RepeatFromBeginning
                | Concept::StartAndEndRepeat
                | Concept::TwoRepeats
                | Concept::TwoEndings
                | Concept::PlaysTimes
                | Concept::OctaveOnRepeat
                | Concept::MoreEndings
                | Concept::RepeatsLeftOut
                | Concept::RepeatsAgain
                | Concept::OneTimeOnly
        )
    }

    /// Whether it cannot be shown without a D.C. or D.S.
    pub(crate) fn needs_return(self) -> bool {
        matches!(
            self,
            Concept::RepeatsLeftOut | Concept::RepeatsAgain | Concept::OctaveOnReturn
        )
    }
}

impl fmt::Display for Concept {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A name that no concept has.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{message}")]
pub struct UnknownConcept {
    message: String,
}

impl FromStr for Concept {
    type Err = UnknownConcept;

    fn from_str(text: &str) -> Result<Concept, UnknownConcept> {
        let known = Concept::ALL.iter().copied();
        if let Some(concept) = known.clone().find(|concept| concept.name() == text) {
            return Ok(concept);
        }
        let names: Vec<&str> = known.map(Concept::name).collect();
        let shown: String = text.chars().take(60).collect();
        let message = match crate::board::complaint::nearest(text, names.iter().copied()) {
            Some(near) => format!("`{shown}` is not a concept; did you mean `{near}`?"),
            None => format!(
                "`{shown}` is not a concept; the concepts are {}",
                names.join(", ")
            ),
        };
        Err(UnknownConcept { message })
    }
}

/// The concepts that a board shows, in the order of teaching, each once. They are recognised by the signs and by what the repeats
/// enclose under the board's default reading; whether the board is in order is not asked.
///
/// ```
/// use fingerpost::{Board, Concept, concepts};
/// let board: Board = "1 | 2 :| 3 Fine | 4 D.C. al Fine |]".parse()?;
/// assert_eq!(concepts(&board), [Concept::RepeatFromBeginning, Concept::DaCapoAlFine]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn concepts(board: &Board) -> Vec<Concept> {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    concepts_on(board, &Ground::new(board, &terms))
}

/// The same on ground that is known.
pub(super) fn concepts_on(board: &Board, ground: &Ground) -> Vec<Concept> {
    let mut found: Vec<Concept> = Vec::with_capacity(8);
    let sections = &ground.sections.list;
    for section in sections {
        if section.ends.is_empty() {
            continue;
        }
        found.push(if section.opened_by.is_some() {
            Concept::StartAndEndRepeat
        } else {
            Concept::RepeatFromBeginning
        });
        let next = section.end.saturating_add(1);
        if sections
            .iter()
            .any(|other| other.start == next && !other.ends.is_empty())
        {
            found.push(Concept::TwoRepeats);
        }
        if section.endings.len() > 1 {
            found.push(if section.passes > 2 {
                Concept::MoreEndings
            } else {
                Concept::TwoEndings
            });
        }
    }
    for marking in board.markings() {
        match marking.sign() {
            Sign::EndRepeat(end) if matches!(end.plays, Some(Plays::Times(3..) | Plays::Open)) => {
                found.push(Concept::PlaysTimes);
            }
            Sign::Octave(octave) => found.push(of_octave(octave)),
            Sign::Fermata(_) => found.push(Concept::Fermata),
            Sign::Only(_) => found.push(Concept::OneTimeOnly),
            Sign::DaCapo(jump) => {
                found.extend(of_jump(
                    jump,
                    [
                        Concept::DaCapo,
                        Concept::DaCapoAlFine,
                        Concept::DaCapoAlCoda,
                    ],
                ));
            }
            Sign::DalSegno(jump) => {
                found.extend(of_jump(
                    jump,
                    [
                        Concept::DalSegno,
                        Concept::DalSegnoAlFine,
                        Concept::DalSegnoAlCoda,
                    ],
                ));
            }
            _ => {}
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

fn of_octave(octave: &Octave) -> Concept {
    match &octave.when {
        When::EveryPass => Concept::OctaveSign,
        When::OnReturn => Concept::OctaveOnReturn,
        When::OnRepeat | When::LastPass | When::Passes(_) => Concept::OctaveOnRepeat,
    }
}

/// The concepts of a jump, of which those for a bare one, al Fine and al Coda are given.
fn of_jump(jump: &Jump, [bare, fine, coda]: [Concept; 3]) -> impl Iterator<Item = Concept> {
    let way = match jump.al {
        None | Some(Al::End) => Some(bare),
        Some(Al::Fine) => Some(fine),
        Some(Al::Coda) => Some(coda),
        Some(Al::Segno) => None,
    };
    let words = jump.repeats.map(|repeats| match repeats {
        Repeats::Skip => Concept::RepeatsLeftOut,
        Repeats::Play => Concept::RepeatsAgain,
    });
    way.into_iter().chain(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(line: &str) -> Vec<&'static str> {
        let board: Board = line.parse().unwrap();
        concepts(&board).into_iter().map(Concept::name).collect()
    }

    #[test]
    fn each_concept_is_recognised_on_a_board() {
        for (line, expected) in [
            ("1 | 2 |", vec![]),
            ("1 | 2 :| 3 |", vec!["repeat-from-the-beginning"]),
            ("1 |: 2 :| 3 |", vec!["start-and-end-repeat"]),
            (
                "1 :|: 2 :|",
                vec![
                    "repeat-from-the-beginning",
                    "start-and-end-repeat",
                    "two-repeats-in-a-row",
                ],
            ),
            (
                "1 |: 2 | [1. 3 :| [2. 4 ]",
                vec!["start-and-end-repeat", "first-and-second-ending"],
            ),
            (
                "1 |: 2 | [1. 3 :| [2. 4 :| [3. 5 ]",
                vec!["start-and-end-repeat", "more-endings"],
            ),
            ("1 |: 2 :|x4", vec!["start-and-end-repeat", "plays-n-times"]),
            (
                "1 fermata | 2 D.C. senza rep. |",
                vec!["fermata", "da-capo", "repeats-left-out-on-the-return"],
            ),
            (
                "1 | segno 2 Fine | 3 D.S. al Fine |",
                vec!["dal-segno-al-fine"],
            ),
        ] {
            assert_eq!(names(line), expected, "{line}");
        }
    }

    #[test]
    fn names_lead_back_to_their_concepts() {
        for &concept in Concept::ALL {
            assert_eq!(concept.name().parse(), Ok(concept));
            let json = serde_json::to_string(&concept).unwrap();
            assert_eq!(json, format!("\"{concept}\""));
        }
        let error = "fermatta".parse::<Concept>().unwrap_err();
        assert_eq!(
            error.to_string(),
            "`fermatta` is not a concept; did you mean `fermata`?"
        );
    }
}

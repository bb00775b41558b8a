//! A set of changed rules.

use crate::answer::Misunderstanding;
use crate::roadmap::sections::Section;

/// The rules that a learner has changed; none for one who reads rightly.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(crate) struct Changes {
    bits: u32,
}

/// The bit of the variant of [`Misunderstanding::LandingOneOff`] that lands one measure early; its own bit alone lands late.
const EARLY: u32 = 1 << 31;

impl Changes {
    /// The rules as they are.
    pub(crate) const NONE: Changes = Changes { bits: 0 };

    /// Every single change: one for each misunderstanding, two for landings that are one off. Those of octaves come last.
    pub(crate) fn singles() -> impl Iterator<Item = (Misunderstanding, Changes)> {
        Misunderstanding::ALL.into_iter().flat_map(|idea| {
            let late = Changes::of(idea);
            let early = Changes {
                bits: late.bits | EARLY,
            };
            let early = (idea == Misunderstanding::LandingOneOff).then_some((idea, early));
            [(idea, late)].into_iter().chain(early)
        })
    }

    pub(crate) const fn of(idea: Misunderstanding) -> Changes {
        Changes {
            bits: 1 << idea as u32,
        }
    }

    pub(crate) const fn and(self, other: Changes) -> Changes {
        Changes {
            bits: self.bits | other.bits,
        }
    }

    pub(crate) const fn has(self, idea: Misunderstanding) -> bool {
        self.bits & (1 << idea as u32) != 0
    }

    /// Whether a section is made once too often: one that an end repeat closes.
    pub(crate) fn repeats_once_more(self, section: &Section) -> bool {
        self.has(Misunderstanding::RepeatOnceTooOften) && !section.ends.is_empty()
    }

    /// Whether a rule of octaves is among them.
    pub(crate) const fn is_of_octaves(self) -> bool {
        self.has(Misunderstanding::OctaveAtTheWrongTime)
            || self.has(Misunderstanding::OctaveNeverUndone)
            || self.has(Misunderstanding::OctaveInTheWrongHand)
    }

    pub(crate) const fn lands_early(self) -> bool {
        self.bits & EARLY != 0
    }

    pub(crate) const fn is_none(self) -> bool {
        self.bits == 0
    }
}

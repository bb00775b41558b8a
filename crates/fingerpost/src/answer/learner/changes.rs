//! A set of changed rules.

use crate::answer::Misunderstanding;
use crate::roadmap::notes::TimesRead;
use crate::roadmap::sections::Section;

/// The rules that a learner has changed; none for one who reads rightly.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(crate) struct Changes {
    bits: u32,
}

/// The bit of the variant of [`Misunderstanding::LandingOneOff`] that lands one measure early; its own bit alone lands late.
const EARLY: u32 = 1 << 31;

/// The bit of the variant of [`Misunderstanding::OctaveAtTheWrongTime`] that plays the sign every time; its own bit alone plays it at the
/// other times.
const EVERY_TIME: u32 = 1 << 30;

/// The bit of the variant of [`Misunderstanding::TooFewTimes`] that plays a section once less than written; its own bit alone plays it twice.
const ONCE_LESS: u32 = 1 << 29;

/// The bit of the variant of [`Misunderstanding::FineOnTheFirstLeg`] that asks the end repeat at the barline first; its own bit alone stops
/// at once.
const FINE_AFTER_REPEAT: u32 = 1 << 28;

/// The same of [`Misunderstanding::ToCodaOnTheFirstLeg`].
const TO_CODA_AFTER_REPEAT: u32 = 1 << 27;

impl Changes {
    /// The rules as they are.
    pub(crate) const NONE: Changes = Changes { bits: 0 };

    /// Every single change: one for each misunderstanding, two for those that have a variant. Those of octaves come last.
    pub(crate) fn singles() -> impl Iterator<Item = (Misunderstanding, Changes)> {
        Misunderstanding::ALL.into_iter().flat_map(|idea| {
            let plain = Changes::of(idea);
            let variant = match idea {
                Misunderstanding::TooFewTimes => Some(ONCE_LESS),
                Misunderstanding::FineOnTheFirstLeg => Some(FINE_AFTER_REPEAT),
                Misunderstanding::ToCodaOnTheFirstLeg => Some(TO_CODA_AFTER_REPEAT),
                Misunderstanding::LandingOneOff => Some(EARLY),
                Misunderstanding::OctaveAtTheWrongTime => Some(EVERY_TIME),
                _ => None,
            };
            let variant = variant.map(|bit| Changes {
                bits: plain.bits | bit,
            });
            let all = [plain].into_iter().chain(variant);
            all.map(move |changes| (idea, changes))
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

    /// Whether a section is made too few times: one of three passes or more that end repeats alone close.
    pub(crate) fn makes_too_few(self, section: &Section) -> bool {
        let is_meant = !section.ends.is_empty() && !section.jump_closed && section.passes > 2;
        self.has(Misunderstanding::TooFewTimes) && is_meant
    }

    /// Whether a section is made once too often: one that an end repeat closes. Nobody makes the same one too few times as well.
    pub(crate) fn repeats_once_more(self, section: &Section) -> bool {
        let is_meant = !section.ends.is_empty() && !self.makes_too_few(section);
        self.has(Misunderstanding::RepeatOnceTooOften) && is_meant
    }

    /// How many passes a section is given.
    pub(crate) fn passes_of(self, section: &Section) -> u32 {
        if !self.makes_too_few(section) {
            let more = self.repeats_once_more(section);
            return section.passes.saturating_add(u32::from(more));
        }
        if self.bits & ONCE_LESS != 0 {
            section.passes - 1
        } else {
            2
        }
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

    /// Whether a Fine that is obeyed too soon waits for the end repeat at its barline.
    pub(crate) const fn makes_repeat_before_fine(self) -> bool {
        self.bits & FINE_AFTER_REPEAT != 0
    }

    /// Whether a To Coda that is obeyed too soon does.
    pub(crate) const fn makes_repeat_before_to_coda(self) -> bool {
        self.bits & TO_CODA_AFTER_REPEAT != 0
    }

    /// How the times of octave signs are read.
    pub(crate) const fn octave_times(self) -> TimesRead {
        if !self.has(Misunderstanding::OctaveAtTheWrongTime) {
            TimesRead::AsMeant
        } else if self.bits & EVERY_TIME != 0 {
            TimesRead::EveryTime
        } else {
            TimesRead::OtherTimes
        }
    }

    pub(crate) const fn is_none(self) -> bool {
        self.bits == 0
    }
}

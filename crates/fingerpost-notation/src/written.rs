//! What a score writes, whatever its format: measures, and marks in them with the line of the file where each stands.

use std::rc::Rc;

use fingerpost::{Fraction, Hands, Meter, Passes};

/// The signs of one score as its file writes them, before anything is made of them.
#[derive(Clone, Default, Debug)]
pub(crate) struct Written {
    pub(crate) title: Option<String>,
    pub(crate) composer: Option<String>,
    /// Its number in its book, where the format has one.
    pub(crate) number: Option<u32>,
    pub(crate) measures: Vec<Measure>,
    /// In the order of the measures, and within one in the order of the file.
    pub(crate) marks: Vec<Mark>,
}

/// One written measure.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub(crate) struct Measure {
    /// The number or name that is printed; the same text for all parts that have it.
    pub(crate) name: Option<Rc<str>>,
    /// Whether a new system begins with it.
    pub(crate) new_system: bool,
    /// A meter that is written at its start.
    pub(crate) meter: Option<Meter>,
    /// How long its music is, in whole notes, where that is known.
    pub(crate) length: Option<Fraction>,
    /// Whether its part leaves it out, as a part of a timewise score may.
    pub(crate) is_absent: bool,
}

/// One mark and where it stands.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(crate) struct Mark {
    /// Its measure, from 0.
    pub(crate) measure: u32,
    pub(crate) at: At,
    /// The line of the file, from 1; 0 in a file that has no lines to speak of.
    pub(crate) line: u32,
    pub(crate) what: What,
}

/// Where in its measure a mark stands.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum At {
    Start,
    /// So far into it, in whole notes: above 0 and below the measure's length.
    Inside(Fraction),
    End,
}

/// What a mark is.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(crate) enum What {
    StartRepeat,
    EndRepeat(EndRepeat),
    /// An ending bracket begins; no numbers: the file has a bracket and does not say for which passes.
    EndingStart(Option<Passes>),
    /// An ending bracket ends; `open`: without its hook.
    EndingStop {
        open: bool,
    },
    /// The drawn sign 𝄋.
    SegnoSign,
    /// The drawn sign 𝄌.
    CodaSign,
    DoubleBar {
        is_final: bool,
    },
    /// What the file says for playing, beside or behind what is drawn.
    Sound(Sound),
    /// Printed words.
    Words(String),
    Fermata(Hands),
    OctaveStart(OctaveStart),
    OctaveStop {
        number: u8,
    },
}

/// An end repeat with what is written at it.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub(crate) struct EndRepeat {
    pub(crate) times: Option<u32>,
    pub(crate) after_jump: Option<bool>,
}

/// An octave line begins.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(crate) struct OctaveStart {
    /// Which of several lines it is.
    pub(crate) number: u8,
    /// In octaves up.
    pub(crate) shift: i8,
    pub(crate) hands: Hands,
}

/// An instruction for playing, as MusicXML's `sound` has it.
#[derive(Clone, Default, PartialEq, Eq, Hash, Debug)]
pub(crate) struct Sound {
    pub(crate) da_capo: bool,
    pub(crate) dal_segno: Option<String>,
    pub(crate) segno: Option<String>,
    pub(crate) to_coda: Option<String>,
    pub(crate) coda: Option<String>,
    pub(crate) fine: bool,
    pub(crate) forward_repeat: bool,
    pub(crate) time_only: Option<Passes>,
}

impl Sound {
    /// Whether it says nothing about the order.
    pub(crate) fn is_empty(&self) -> bool {
        *self
            == Sound {
                time_only: self.time_only.clone(),
                ..Sound::default()
            }
    }
}

/// The hands that a staff is for, in a part of so many staves: the upper of two is the right hand's.
pub(crate) fn hands_of(staves: u8, staff: Option<u8>) -> Hands {
    match (staves, staff) {
        (2, Some(1)) => Hands::Right,
        (2, Some(2)) => Hands::Left,
        _ => Hands::Both,
    }
}

impl What {
    /// Whether it shapes the sections: the same in every part of a score.
    pub(crate) fn is_barline(&self) -> bool {
        matches!(
            self,
            What::StartRepeat
                | What::EndRepeat(_)
                | What::EndingStart(_)
                | What::EndingStop { .. }
                | What::DoubleBar { .. }
        )
    }
}

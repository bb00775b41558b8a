//! A sign while it is being read: its kind, and the keys found so far.

use std::ops::Range;

use crate::board::{
    Al, DoubleBar, EndRepeat, Ending, Fermata, Fine, Fraction, Hands, Jump, Landing, Octave, Only,
    Passes, Plays, Repeats, Shift, Sign, Then, ToCoda, When,
};

/// The kinds of sign, as the line tells them apart.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    StartRepeat,
    EndRepeat,
    Ending,
    Segno,
    Coda,
    ToCoda,
    Fine,
    DaCapo,
    DalSegno,
    DoubleBar,
    FinalBar,
    Octave(Shift),
    Fermata,
    Only,
}

/// What a sign may be given, each once.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Slot {
    Plays,
    OnReturn,
    Open,
    Label,
    Al,
    Then,
    Coda,
    Repeats,
    Arrivals,
    Passes,
    Hands,
    When,
    Cut,
    Last,
    Id,
}

impl Kind {
    /// The words that name signs inside a measure, as they are proposed for a word that is none.
    pub(super) const WORDS: [&'static str; 12] = [
        "segno", "coda", "To Coda", "Fine", "D.C.", "D.S.", "fermata", "8va", "8vb", "15ma",
        "15mb", "only",
    ];

    /// The sign as the line writes it, without its keys.
    pub(super) fn written(self) -> &'static str {
        match self {
            Kind::StartRepeat => "|:",
            Kind::EndRepeat => ":|",
            Kind::Ending => "[",
            Kind::Segno => "segno",
            Kind::Coda => "coda",
            Kind::ToCoda => "To Coda",
            Kind::Fine => "Fine",
            Kind::DaCapo => "D.C.",
            Kind::DalSegno => "D.S.",
            Kind::DoubleBar => "||",
            Kind::FinalBar => "|]",
            Kind::Octave(Shift::Up1) => "8va",
            Kind::Octave(Shift::Up2) => "15ma",
            Kind::Octave(Shift::Down1) => "8vb",
            Kind::Octave(Shift::Down2) => "15mb",
            Kind::Fermata => "fermata",
            Kind::Only => "only",
        }
    }

    /// What it may be given, in the order in which it is written.
    pub(super) fn slots(self) -> &'static [Slot] {
        match self {
            Kind::StartRepeat => &[Slot::Cut, Slot::Id],
            Kind::EndRepeat => &[Slot::Plays, Slot::OnReturn, Slot::Cut, Slot::Id],
            Kind::Ending => &[Slot::Open, Slot::Last, Slot::Id],
            Kind::Segno | Kind::Coda => &[Slot::Label, Slot::Cut, Slot::Id],
            Kind::ToCoda => &[Slot::Label, Slot::Arrivals, Slot::Cut, Slot::Id],
            Kind::Fine => &[Slot::Arrivals, Slot::Cut, Slot::Id],
            Kind::DaCapo | Kind::DalSegno => &[
                Slot::Al,
                Slot::Then,
                Slot::Label,
                Slot::Coda,
                Slot::Repeats,
                Slot::Arrivals,
                Slot::Passes,
                Slot::Cut,
                Slot::Id,
            ],
            Kind::DoubleBar | Kind::FinalBar => &[Slot::Id],
            Kind::Octave(_) | Kind::Only => &[Slot::Hands, Slot::When, Slot::Last, Slot::Id],
            Kind::Fermata => &[Slot::Hands, Slot::When, Slot::Id],
        }
    }

    /// Whether `( … )` may hold the measures it stands over.
    pub(super) fn holds_measures(self) -> bool {
        matches!(self, Kind::Octave(_) | Kind::Only)
    }

    /// Whether it may leave or land inside a measure: then the beat written after it is the last to sound, or the first.
    pub(super) fn lands(self) -> bool {
        matches!(self, Kind::StartRepeat | Kind::Segno | Kind::Coda)
    }
}

impl Slot {
    /// The keys that fill it, as they are proposed.
    pub(super) fn keys(self) -> &'static [&'static str] {
        match self {
            Slot::Plays => &["plays"],
            Slot::OnReturn => &["on-return"],
            Slot::Open => &["open"],
            Slot::Label => &["label"],
            Slot::Al => &["al"],
            Slot::Then => &["then"],
            Slot::Coda => &["coda"],
            Slot::Repeats => &["repeats"],
            Slot::Arrivals => &["arrivals"],
            Slot::Passes => &["passes"],
            Slot::Hands => &["R.H.", "L.H.", "both"],
            Slot::When => &[
                "on repeat",
                "last pass",
                "on return",
                "passes",
                "every pass",
            ],
            Slot::Cut => &["cut"],
            Slot::Last => &["last"],
            Slot::Id => &["id"],
        }
    }
}

/// A sign with what has been read of it.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    pub(super) kind: Kind,
    /// Its own bytes, its keys included.
    pub(super) bytes: Range<usize>,
    /// Whether it stands on the board; a sign in the hand has no cut and no last measure.
    pub(super) placed: bool,
    /// Whether something about it has drawn a complaint.
    pub(super) broken: bool,
    given: Vec<Slot>,
    /// The passes written on an ending.
    pub(super) numbers: Option<Passes>,
    pub(super) plays: Option<Plays>,
    pub(super) on_return: Option<Repeats>,
    pub(super) open: bool,
    pub(super) label: Option<String>,
    pub(super) al: Option<Al>,
    pub(super) then: Option<Then>,
    pub(super) coda: Option<String>,
    pub(super) repeats: Option<Repeats>,
    pub(super) arrivals: Option<Passes>,
    pub(super) passes: Option<Passes>,
    pub(super) hands: Hands,
    pub(super) when: When,
    pub(super) cut: Option<Fraction>,
    pub(super) last: Option<u16>,
    pub(super) id: Option<String>,
}

impl Draft {
    pub(super) fn new(kind: Kind, bytes: Range<usize>, placed: bool) -> Draft {
        Draft {
            kind,
            bytes,
            placed,
            broken: false,
            given: Vec::new(),
            numbers: None,
            plays: None,
            on_return: None,
            open: false,
            label: None,
            al: None,
            then: None,
            coda: None,
            repeats: None,
            arrivals: None,
            passes: None,
            hands: Hands::Both,
            when: When::EveryPass,
            cut: None,
            last: None,
            id: None,
        }
    }

    /// Whether it may be given this at all, where it stands.
    pub(super) fn takes(&self, slot: Slot) -> bool {
        let of_a_place = matches!(slot, Slot::Cut | Slot::Last);
        self.kind.slots().contains(&slot) && (self.placed || !of_a_place)
    }

    /// Notes that it is given this; `false` when it had been before.
    pub(super) fn give(&mut self, slot: Slot) -> bool {
        let first = !self.given.contains(&slot);
        if first {
            self.given.push(slot);
        }
        first
    }

    /// The keys it may be given.
    pub(super) fn keys(&self) -> impl Iterator<Item = &'static str> + '_ {
        let slots = self.kind.slots().iter();
        slots
            .filter(|&&slot| self.takes(slot))
            .flat_map(|slot| slot.keys().iter().copied())
    }

    /// The sign; `None` when it has drawn a complaint.
    pub(super) fn sign(&self) -> Option<Sign> {
        if self.broken {
            return None;
        }
        let label = || self.label.clone();
        let jump = || Jump {
            al: self.al,
            then: self.then,
            coda: self.coda.clone(),
            label: label(),
            repeats: self.repeats,
            arrivals: self.arrivals.clone(),
            passes: self.passes.clone(),
        };
        let (hands, when) = (self.hands, self.when.clone());
        Some(match self.kind {
            Kind::StartRepeat => Sign::StartRepeat,
            Kind::EndRepeat => Sign::EndRepeat(EndRepeat {
                plays: self.plays,
                on_return: self.on_return,
            }),
            Kind::Ending => Sign::Ending(Ending {
                passes: self.numbers.clone()?,
                open: self.open,
            }),
            Kind::Segno => Sign::Segno(Landing { label: label() }),
            Kind::Coda => Sign::Coda(Landing { label: label() }),
            Kind::ToCoda => Sign::ToCoda(ToCoda {
                label: label(),
                arrivals: self.arrivals.clone(),
            }),
            Kind::Fine => Sign::Fine(Fine {
                arrivals: self.arrivals.clone(),
            }),
            Kind::DaCapo => Sign::DaCapo(jump()),
            Kind::DalSegno => Sign::DalSegno(jump()),
            Kind::DoubleBar => Sign::DoubleBar(DoubleBar { is_final: false }),
            Kind::FinalBar => Sign::DoubleBar(DoubleBar { is_final: true }),
            Kind::Octave(shift) => Sign::Octave(Octave { hands, shift, when }),
            Kind::Fermata => Sign::Fermata(Fermata { hands, when }),
            Kind::Only => Sign::Only(Only { hands, when }),
        })
    }
}

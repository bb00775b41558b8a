//! A marking between its file and the board: every key it may have, read but not yet put together, and back again.

use serde::Deserialize;

use super::description::{BarStyle, Kind, Mark};
use super::lists::{PassList, WhenValue};
use super::numbers::{Measure, PlaysValue, Row, ShiftValue};
use super::values::Cut;
use super::values::{Flag, Label, Word, given};
use crate::board::{
    Al, DoubleBar, EndRepeat, Ending, Fermata, Fine, Hands, Jump, Landing, Marking, Octave, Only,
    Place, Repeats, Sign, Then, ToCoda, When,
};

/// Every key a marking may have; which of them go together is asked when the sign is made of them.
#[derive(Clone, PartialEq, Debug, Default, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(super) struct Keys {
    #[serde(default, deserialize_with = "given")]
    pub(super) mark: Option<Word<Kind>>,
    #[serde(default, deserialize_with = "given")]
    pub(super) measure: Option<Measure>,
    #[serde(default, deserialize_with = "given")]
    pub(super) measures: Option<Row>,
    #[serde(default, deserialize_with = "given")]
    pub(super) cut: Option<Cut>,
    #[serde(default, deserialize_with = "given")]
    pub(super) plays: Option<PlaysValue>,
    #[serde(default, deserialize_with = "given")]
    pub(super) on_return: Option<Word<Repeats>>,
    #[serde(default, deserialize_with = "given")]
    pub(super) passes: Option<PassList>,
    #[serde(default, deserialize_with = "given")]
    pub(super) open: Option<Flag>,
    #[serde(default, deserialize_with = "given")]
    pub(super) label: Option<Label>,
    #[serde(default, deserialize_with = "given")]
    pub(super) arrivals: Option<PassList>,
    #[serde(default, deserialize_with = "given")]
    pub(super) al: Option<Word<Al>>,
    #[serde(default, deserialize_with = "given")]
    pub(super) then: Option<Word<Then>>,
    #[serde(default, deserialize_with = "given")]
    pub(super) coda: Option<Label>,
    #[serde(default, deserialize_with = "given")]
    pub(super) repeats: Option<Word<Repeats>>,
    #[serde(default, deserialize_with = "given")]
    pub(super) style: Option<Word<BarStyle>>,
    #[serde(default, deserialize_with = "given")]
    pub(super) hands: Option<Word<Hands>>,
    #[serde(default, deserialize_with = "given")]
    pub(super) shift: Option<ShiftValue>,
    #[serde(default, deserialize_with = "given")]
    pub(super) when: Option<WhenValue>,
    #[serde(default, deserialize_with = "given")]
    pub(super) id: Option<Label>,
}

impl Keys {
    /// The marking, when the keys are those of its mark and none is missing or left over.
    pub(super) fn into_marking(mut self) -> Option<Marking> {
        let sign = self.take_sign()?;
        let place = self.take_place(&sign)?;
        let id = self.id.take();
        (self == Keys::default()).then(|| put_together(sign, place, id))
    }

    /// The sign in the hand, when the keys are those of its mark and none is missing or left over.
    pub(super) fn into_card(mut self) -> Option<crate::board::Unplaced> {
        let sign = self.take_sign()?;
        let id = self.id.take().map(|Label(id)| id);
        (self == Keys::default()).then_some(crate::board::Unplaced { sign, id })
    }

    /// The place that a sign of this kind has.
    pub(super) fn take_place(&mut self, sign: &Sign) -> Option<Place> {
        if sign.spans() {
            let Row(Measure(first), Measure(last)) = self.measures.take()?;
            return Some(Place::over(first, last));
        }
        let Measure(measure) = self.measure.take()?;
        if !sign.may_cut() {
            return Some(Place::at(measure));
        }
        Some(match self.cut.take() {
            Some(Cut(cut)) => Place::cutting(measure, cut),
            None => Place::at(measure),
        })
    }

    /// The sign, without its place, when no key that its mark needs is missing.
    pub(super) fn take_sign(&mut self) -> Option<Sign> {
        let Word(kind) = self.mark.take()?;
        Some(match kind {
            Kind::StartRepeat => Sign::StartRepeat,
            Kind::EndRepeat => Sign::EndRepeat(EndRepeat {
                plays: self.plays.take().map(|PlaysValue(plays)| plays),
                on_return: self.on_return.take().map(|Word(repeats)| repeats),
            }),
            Kind::Ending => Sign::Ending(Ending {
                passes: self.passes.take()?.0,
                open: self.open.take().is_some_and(|Flag(open)| open),
            }),
            Kind::Segno => Sign::Segno(self.take_landing()),
            Kind::Coda => Sign::Coda(self.take_landing()),
            Kind::ToCoda => Sign::ToCoda(ToCoda {
                label: self.label.take().map(|Label(label)| label),
                arrivals: self.arrivals.take().map(|PassList(list)| list),
            }),
            Kind::Fine => Sign::Fine(Fine {
                arrivals: self.arrivals.take().map(|PassList(list)| list),
            }),
            Kind::DaCapo => Sign::DaCapo(self.take_jump()),
            Kind::DalSegno => Sign::DalSegno(self.take_jump()),
            Kind::DoubleBar => Sign::DoubleBar(DoubleBar {
                is_final: self.style.take() == Some(Word(BarStyle::Final)),
            }),
            Kind::Octave => Sign::Octave(Octave {
                hands: self.take_hands(),
                shift: self.shift.take()?.0,
                when: self.take_when(),
            }),
            Kind::Fermata => Sign::Fermata(Fermata {
                hands: self.take_hands(),
                when: self.take_when(),
            }),
            Kind::Only => Sign::Only(Only {
                hands: self.take_hands(),
                when: self.take_when(),
            }),
        })
    }

    fn take_landing(&mut self) -> Landing {
        Landing {
            label: self.label.take().map(|Label(label)| label),
        }
    }

    fn take_jump(&mut self) -> Jump {
        Jump {
            al: self.al.take().map(|Word(al)| al),
            then: self.then.take().map(|Word(then)| then),
            coda: self.coda.take().map(|Label(label)| label),
            label: self.label.take().map(|Label(label)| label),
            repeats: self.repeats.take().map(|Word(repeats)| repeats),
            arrivals: self.arrivals.take().map(|PassList(list)| list),
            passes: self.passes.take().map(|PassList(list)| list),
        }
    }

    fn take_hands(&mut self) -> Hands {
        self.hands.take().map_or(Hands::Both, |Word(hands)| hands)
    }

    fn take_when(&mut self) -> When {
        self.when
            .take()
            .map_or(When::EveryPass, |WhenValue(when)| when)
    }
}

/// A marking of a sign, its place and its id.
pub(super) fn put_together(sign: Sign, place: Place, id: Option<Label>) -> Marking {
    let marking = Marking::new(sign, place);
    match id {
        Some(Label(id)) => marking.with_id(id),
        None => marking,
    }
}

impl Mark {
    /// A sign as a file has it; for a sign in the hand any place will do.
    pub(super) fn new(sign: &Sign, place: Place, id: Option<&str>) -> Mark {
        let measure = Measure(place.first());
        let measures = Row(measure, Measure(place.last()));
        let cut = place.cut().map(Cut);
        let text = |text: Option<&str>| text.map(|text| Label(text.to_owned()));
        let list = |list: &Option<crate::board::Passes>| list.clone().map(PassList);
        let hands = |hands: Hands| (hands != Hands::Both).then_some(Word(hands));
        let when = |when: &When| (*when != When::EveryPass).then(|| WhenValue(when.clone()));
        let id = text(id);
        match sign {
            Sign::StartRepeat => Mark::StartRepeat { measure, cut, id },
            Sign::EndRepeat(end) => Mark::EndRepeat {
                measure,
                cut,
                plays: end.plays.map(PlaysValue),
                on_return: end.on_return.map(Word),
                id,
            },
            Sign::Ending(ending) => Mark::Ending {
                measures,
                passes: PassList(ending.passes.clone()),
                open: ending.open.then_some(Flag(true)),
                id,
            },
            Sign::Segno(landing) => Mark::Segno {
                measure,
                cut,
                label: text(landing.label.as_deref()),
                id,
            },
            Sign::Coda(landing) => Mark::Coda {
                measure,
                cut,
                label: text(landing.label.as_deref()),
                id,
            },
            Sign::ToCoda(to_coda) => Mark::ToCoda {
                measure,
                cut,
                label: text(to_coda.label.as_deref()),
                arrivals: list(&to_coda.arrivals),
                id,
            },
            Sign::Fine(fine) => Mark::Fine {
                measure,
                cut,
                arrivals: list(&fine.arrivals),
                id,
            },
            Sign::DaCapo(jump) => Mark::DaCapo {
                measure,
                cut,
                al: jump.al.map(Word),
                then: jump.then.map(Word),
                coda: text(jump.coda.as_deref()),
                label: text(jump.label.as_deref()),
                repeats: jump.repeats.map(Word),
                arrivals: list(&jump.arrivals),
                passes: list(&jump.passes),
                id,
            },
            Sign::DalSegno(jump) => Mark::DalSegno {
                measure,
                cut,
                al: jump.al.map(Word),
                then: jump.then.map(Word),
                coda: text(jump.coda.as_deref()),
                label: text(jump.label.as_deref()),
                repeats: jump.repeats.map(Word),
                arrivals: list(&jump.arrivals),
                passes: list(&jump.passes),
                id,
            },
            Sign::DoubleBar(bar) => Mark::DoubleBar {
                measure,
                style: bar.is_final.then_some(Word(BarStyle::Final)),
                id,
            },
            Sign::Octave(octave) => Mark::Octave {
                measures,
                hands: hands(octave.hands),
                shift: ShiftValue(octave.shift),
                when: when(&octave.when),
                id,
            },
            Sign::Fermata(fermata) => Mark::Fermata {
                measure,
                hands: hands(fermata.hands),
                when: when(&fermata.when),
                id,
            },
            Sign::Only(only) => Mark::Only {
                measures,
                hands: hands(only.hands),
                when: when(&only.when),
                id,
            },
        }
    }
}

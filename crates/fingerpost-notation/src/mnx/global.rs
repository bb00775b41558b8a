//! A global measure: what stands on the road, for all parts.

use fingerpost::{Fraction, HIGHEST_PASS, Hands, Meter, Passes};
use serde::Deserialize;
use serde_json::value::RawValue;

use super::{Name, Position, Reading};
use crate::error::NotationError;
use crate::notices::Rule;
use crate::passes::shortened;
use crate::written::{At, EndRepeat, Measure, Sound, What};

#[derive(Deserialize)]
#[serde(rename_all = "camelCase", expecting = "an object for a measure")]
struct GlobalMeasure<'a> {
    id: Option<String>,
    index: Option<i64>,
    number: Option<i64>,
    time: Option<Time>,
    #[serde(borrow)]
    repeat_start: Option<&'a RawValue>,
    #[serde(borrow)]
    repeat_end: Option<&'a RawValue>,
    #[serde(borrow)]
    ending: Option<&'a RawValue>,
    #[serde(borrow)]
    jump: Option<&'a RawValue>,
    #[serde(borrow)]
    segno: Option<&'a RawValue>,
    #[serde(borrow)]
    coda: Option<&'a RawValue>,
    #[serde(borrow)]
    fine: Option<&'a RawValue>,
    #[serde(borrow)]
    barline: Option<&'a RawValue>,
    #[serde(borrow)]
    fermata: Option<&'a RawValue>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `count` and `unit`")]
struct Time {
    count: i64,
    unit: i64,
}

impl Time {
    fn meter(&self) -> Option<Meter> {
        Meter::new(self.count.try_into().ok()?, self.unit.try_into().ok()?)
    }
}

#[derive(Deserialize)]
#[serde(expecting = "an object, with `times` or empty")]
struct RepeatEnd {
    times: Option<i64>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `duration` and `numbers`")]
struct Ending {
    duration: i64,
    numbers: Option<Vec<i64>>,
    #[serde(default)]
    open: bool,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `type` and `location`")]
struct Jump {
    #[serde(rename = "type")]
    kind: String,
    location: Position,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `location`")]
struct Located {
    location: Position,
}

#[derive(Deserialize)]
#[serde(expecting = "an object with `type`")]
struct Barline {
    #[serde(rename = "type")]
    kind: String,
}

impl<'a> Reading<'a> {
    pub(super) fn global_measure(&mut self, raw: &'a RawValue) -> Result<(), NotationError> {
        let measure: GlobalMeasure<'_> = self.object(raw)?;
        let at = self.measures();
        self.begin(&measure, at);
        if let Some(raw) = measure.repeat_start {
            self.mark(at, At::Start, raw, What::StartRepeat);
        }
        for (raw, landing) in [
            (measure.segno, Landing::Segno),
            (measure.coda, Landing::Coda),
        ] {
            if let Some(raw) = raw {
                self.landing(at, raw, landing)?;
            }
        }
        if let Some(raw) = measure.ending {
            self.ending(at, raw)?;
        }
        if let Some(raw) = measure.fine {
            let fine: Located = self.object(raw)?;
            let place = fine.location.at(self.length(at));
            self.mark(at, place, raw, What::Words("Fine".to_owned()));
            let fine = Sound {
                fine: true,
                ..Sound::default()
            };
            self.mark(at, place, raw, What::Sound(fine));
        }
        if let Some(raw) = measure.jump {
            self.jump(at, raw)?;
        }
        if let Some(raw) = measure.repeat_end {
            self.repeat_end(at, raw)?;
        }
        if let Some(raw) = measure.barline {
            let barline: Barline = self.object(raw)?;
            let is_final = barline.kind == "final";
            if is_final || barline.kind == "double" {
                self.mark(at, At::End, raw, What::DoubleBar { is_final });
            }
        }
        if let Some(raw) = measure.fermata {
            self.mark(at, At::End, raw, What::Fermata(Hands::Both));
        }
        Ok(())
    }

    fn begin(&mut self, measure: &GlobalMeasure<'_>, at: u32) {
        let meter = measure.time.as_ref().and_then(Time::meter);
        let before = self.lengths.last().copied();
        let length = meter.map(Meter::length).or(before);
        // cannot fail: 1/1 is a fraction.
        let whole = || Fraction::new(1, 1).unwrap_or(Fraction::ZERO);
        self.lengths.push(length.unwrap_or_else(whole));
        // The numbers of the measures go on by one from the last that is given; so do their indexes.
        let before = self.last;
        let next = |count: fn(Name) -> i64| before.map_or(1, |name| count(name).saturating_add(1));
        let index = measure.index.unwrap_or_else(|| next(|name| name.index));
        let number = measure.number.unwrap_or_else(|| next(|name| name.number));
        self.last = Some(Name { index, number });
        self.by_index.entry(index).or_insert(at);
        if let Some(id) = &measure.id {
            self.by_id.entry(id.clone()).or_insert(at);
        }
        let is_plain = number == i64::from(at) + 1;
        self.written.measures.push(Measure {
            name: (!is_plain).then(|| number.to_string().into()),
            new_system: false,
            meter,
            length: None,
            is_absent: false,
        });
    }

    fn landing(
        &mut self,
        at: u32,
        raw: &'a RawValue,
        landing: Landing,
    ) -> Result<(), NotationError> {
        let located: Located = self.object(raw)?;
        let place = located.location.at(self.length(at));
        let mut sound = Sound::default();
        let sign = match landing {
            Landing::Segno => {
                sound.segno = Some("segno".to_owned());
                What::SegnoSign
            }
            Landing::Coda => {
                sound.coda = Some("coda".to_owned());
                What::CodaSign
            }
        };
        self.mark(at, place, raw, sign);
        self.mark(at, place, raw, What::Sound(sound));
        Ok(())
    }

    /// An ending over so many measures from this one.
    fn ending(&mut self, at: u32, raw: &'a RawValue) -> Result<(), NotationError> {
        let ending: Ending = self.object(raw)?;
        let passes = ending.numbers.as_deref().and_then(passes);
        if passes.is_none() {
            let message = "this ending does not say on which passes it is played".to_owned();
            let help =
                "it was numbered by its place among the endings; write its passes in `numbers`";
            self.notice(Rule::EndingWithoutNumber, at, raw, message, help);
        }
        let left = self.total.saturating_sub(at);
        let over = u32::try_from(ending.duration)
            .unwrap_or(0)
            .clamp(1, left.max(1));
        if i64::from(over) != ending.duration {
            let message = format!(
                "an ending over {} measures was read over {over}",
                ending.duration
            );
            let help = "write a `duration` of 1 or more, up to the last measure";
            self.notice(Rule::EndingWithoutEnd, at, raw, message, help);
        }
        self.mark(at, At::Start, raw, What::EndingStart(passes));
        let last = at.saturating_add(over - 1);
        self.mark(last, At::End, raw, What::EndingStop { open: ending.open });
        Ok(())
    }

    /// What is printed for a jump says what it does; `sound` says it once more for playing.
    fn jump(&mut self, at: u32, raw: &'a RawValue) -> Result<(), NotationError> {
        let jump: Jump = self.object(raw)?;
        let mut sound = Sound::default();
        let printed = match jump.kind.as_str() {
            "dc" => "D.C.",
            "dcalfine" => "D.C. al Fine",
            "dcalcoda" => "D.C. al Coda",
            "segno" => "D.S.",
            "dsalfine" => "D.S. al Fine",
            "dsalcoda" => "D.S. al Coda",
            "tocoda" => "To Coda",
            other => {
                let message = format!("a jump of the kind `{}` was left out", shortened(other));
                let help = "accepted: dc, dcalfine, dcalcoda, segno, dsalfine, dsalcoda, tocoda";
                self.notice(Rule::LeftOut, at, raw, message, help);
                return Ok(());
            }
        };
        match jump.kind.as_bytes() {
            [b't', ..] => sound.to_coda = Some("coda".to_owned()),
            [b'd', b'c', ..] => sound.da_capo = true,
            _ => sound.dal_segno = Some("segno".to_owned()),
        }
        let place = jump.location.at(self.length(at));
        self.mark(at, place, raw, What::Words(printed.to_owned()));
        self.mark(at, place, raw, What::Sound(sound));
        Ok(())
    }

    fn repeat_end(&mut self, at: u32, raw: &'a RawValue) -> Result<(), NotationError> {
        let repeat: RepeatEnd = self.object(raw)?;
        let times = repeat.times.and_then(|written| {
            let times = u32::try_from(written).ok();
            let times = times.filter(|times| (1..=HIGHEST_PASS).contains(times));
            if times.is_none() {
                let message = format!("`{written}` is no number of plays");
                let help = "it was read as 2; write a number of plays from 2 to 1000000";
                self.notice(Rule::PlaysOutOfRange, at, raw, message, help);
            }
            times
        });
        let repeat = EndRepeat {
            times,
            after_jump: None,
        };
        self.mark(at, At::End, raw, What::EndRepeat(repeat));
        Ok(())
    }
}

#[derive(Clone, Copy)]
enum Landing {
    Segno,
    Coda,
}

fn passes(numbers: &[i64]) -> Option<Passes> {
    let numbers = numbers.iter().map(|number| u32::try_from(*number).ok());
    Passes::of(numbers.collect::<Option<Vec<u32>>>()?).ok()
}

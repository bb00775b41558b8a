//! Barlines: repeats, endings, double bars, and the signs that stand on them.
//!
//! Source: MusicXML 4.0, elements `barline`, `repeat`, `ending`, types `ending-number` and `time-only`.

use fingerpost::Hands;

use super::direction::{sound, yes_no};
use super::measure::{Edge, Part};
use super::source::Source;
use super::xml::{Name, Next, Xml};
use crate::error::{NotationError, NotationErrorKind};
use crate::notices::{Notice, Rule};
use crate::passes::{passes, shortened};
use crate::written::{EndRepeat, What};

/// So many signs stand on one barline at most.
const MOST: usize = 1_000;

impl Part {
    pub(super) fn barline<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        let line = xml.line();
        let edge = match xml.attribute("location").as_deref() {
            Some("left") => Edge::Left,
            Some("middle") => self.here(),
            // The default.
            _ => Edge::Right,
        };
        let sounds = sound(xml);
        let mut style = None;
        let mut repeats = false;
        let mut found = Vec::new();
        loop {
            if found.len() > MOST {
                return Err(xml.error(
                    NotationErrorKind::TooLarge,
                    "one barline holds more signs than are read".to_owned(),
                ));
            }
            match xml.next()? {
                Next::Start(name @ Name::BarStyle) => style = Some(xml.text(name)?.to_owned()),
                Next::Start(name @ Name::Segno) => {
                    found.push(What::SegnoSign);
                    xml.pass_over(name)?;
                }
                Next::Start(name @ Name::Coda) => {
                    found.push(What::CodaSign);
                    xml.pass_over(name)?;
                }
                Next::Start(name @ Name::Fermata) => {
                    found.push(What::Fermata(Hands::Both));
                    xml.pass_over(name)?;
                }
                Next::Start(Name::Ending) => found.extend(self.ending(xml)?),
                Next::Start(name @ Name::Repeat) => {
                    repeats = true;
                    found.extend(self.repeat(xml));
                    xml.pass_over(name)?;
                }
                Next::Start(name) => xml.pass_over(name)?,
                Next::End(_) => break,
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Barline)),
            }
        }
        match style.as_deref().map(str::trim) {
            Some("light-light") if !repeats => {
                found.push(What::DoubleBar { is_final: false });
            }
            Some("light-heavy") if !repeats => found.push(What::DoubleBar { is_final: true }),
            _ => {}
        }
        if !sounds.is_empty() {
            found.push(What::Sound(sounds));
        }
        for what in found {
            self.mark(edge, line, what);
        }
        Ok(())
    }

    fn repeat<S: Source>(&mut self, xml: &Xml<S>) -> Option<What> {
        match xml.attribute("direction").as_deref() {
            Some("forward") => Some(What::StartRepeat),
            Some("backward") => {
                let times = xml.attribute("times").and_then(|text| {
                    let times: Option<u32> = text.trim().parse().ok();
                    let times = times.filter(|times| (1..=1_000_000).contains(times));
                    if times.is_none() {
                        self.notices.push(Notice::new(
                            Rule::PlaysOutOfRange,
                            xml.line(),
                            Some(self.measure()),
                            format!("`{}` is no number of plays", shortened(&text)),
                            "it was read as 2; write a number of plays from 1 to 1000000",
                        ));
                    }
                    times
                });
                Some(What::EndRepeat(EndRepeat {
                    times,
                    after_jump: yes_no(xml, "after-jump"),
                }))
            }
            _ => None,
        }
    }

    fn ending<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<Option<What>, NotationError> {
        let line = xml.line();
        let kind = xml.attribute("type").unwrap_or_default();
        let number = xml.attribute("number").unwrap_or_default();
        let printed = xml.text(Name::Ending)?;
        Ok(match kind.as_str() {
            "start" => {
                let passes = passes(&number).or_else(|| passes(printed));
                if passes.is_none() {
                    self.notices.push(Notice::new(
                        Rule::EndingWithoutNumber,
                        line,
                        Some(self.measure()),
                        if number.trim().is_empty() {
                            "this ending has no number".to_owned()
                        } else {
                            format!("`{}` does not say on which passes the ending is played", shortened(&number))
                        },
                        "it was numbered by its place among the endings; write its passes, such as 1 or 1,2",
                    ));
                }
                Some(What::EndingStart(passes))
            }
            "stop" => Some(What::EndingStop { open: false }),
            "discontinue" => Some(What::EndingStop { open: true }),
            _ => None,
        })
    }
}

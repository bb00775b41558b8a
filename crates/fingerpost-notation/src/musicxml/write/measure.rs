//! One measure: barlines at its edges and inside, rests between them, signs where they stand.

use fingerpost::{EndRepeat, Fraction, Hands, Marking, Meter, Plays, Repeats, Sign, When};

use super::{Page, Written};

/// A whole measure without a meter.
const WHOLE: (u64, u64) = (1, 1);

/// What stands on a barline.
#[derive(Default)]
struct Barline {
    style: Option<&'static str>,
    ending: Option<(String, &'static str)>,
    forward: bool,
    backward: Option<EndRepeat>,
}

impl Page<'_> {
    pub(super) fn measure(&mut self, measure: u16, new_system: bool) -> Written {
        let name = self.board.measure_name(measure);
        let is_pickup = measure == 1 && self.board.pickup().is_some();
        let mut attributes = vec![("number", name.as_str())];
        if is_pickup {
            attributes.push(("implicit", "yes"));
        }
        self.open("measure", &attributes)?;
        if new_system {
            self.empty("print", &[("new-system", "yes")])?;
        }
        let starting = self.starts.get(&measure).cloned().unwrap_or_default();
        let ending = self.ends.get(&measure).cloned().unwrap_or_default();
        self.left_barline(&starting, measure)?;
        self.attributes(measure)?;
        for marking in starting.iter().filter(|marking| inside(marking).is_none()) {
            self.landing(marking)?;
        }
        self.rests(measure, &starting)?;
        for marking in &ending {
            self.line_end(marking)?;
        }
        for marking in starting.iter().filter(|marking| inside(marking).is_none()) {
            self.leaving(marking)?;
        }
        self.right_barline(&starting, &ending)?;
        self.close("measure")
    }

    fn left_barline(&mut self, starting: &[&Marking], measure: u16) -> Written {
        let mut barline = Barline::default();
        for marking in starting {
            match marking.sign() {
                Sign::StartRepeat if inside(marking).is_none() => barline.forward = true,
                Sign::Ending(ending) => {
                    let Some(number) = self.numbers(&ending.passes, measure) else {
                        continue;
                    };
                    if barline.ending.is_some() {
                        self.cannot_say(
                            Some(measure),
                            "of two endings that begin here one is written",
                        );
                        continue;
                    }
                    barline.ending = Some((number, "start"));
                }
                _ => {}
            }
        }
        self.barline("left", &barline)
    }

    fn right_barline(&mut self, starting: &[&Marking], ending: &[&Marking]) -> Written {
        let mut barline = Barline::default();
        for marking in ending {
            if let (Sign::Ending(_), Some(_)) = (marking.sign(), &barline.ending) {
                self.cannot_say(
                    Some(marking.measure()),
                    "of two endings that end at one barline one is written",
                );
            }
            if let (Sign::Ending(ending), None) = (marking.sign(), &barline.ending) {
                if let Some(number) = number_of(&ending.passes) {
                    let kind = if ending.open { "discontinue" } else { "stop" };
                    barline.ending = Some((number, kind));
                }
            }
        }
        for marking in starting {
            match marking.sign() {
                Sign::EndRepeat(repeat) if inside(marking).is_none() => {
                    let same = barline
                        .backward
                        .as_ref()
                        .is_none_or(|known| known == repeat);
                    if !same {
                        self.cannot_say(
                            Some(marking.measure()),
                            "of two end repeats at one barline one is written",
                        );
                    }
                    barline.backward.get_or_insert_with(|| repeat.clone());
                }
                Sign::DoubleBar(bar) => {
                    barline.style = Some(if bar.is_final {
                        "light-heavy"
                    } else {
                        "light-light"
                    });
                }
                _ => {}
            }
        }
        if let Some(EndRepeat {
            plays: Some(Plays::Open),
            ..
        }) = barline.backward
        {
            let measure = starting.first().map(|marking| marking.measure());
            self.cannot_say(
                measure,
                "an open repeat is written without a number of plays",
            );
        }
        if barline.backward.is_some() && barline.style.is_some() {
            let measure = starting.first().map(|marking| marking.measure());
            self.cannot_say(measure, "a double barline under an end repeat is not drawn");
        }
        self.barline("right", &barline)
    }

    fn barline(&mut self, location: &str, barline: &Barline) -> Written {
        let Barline {
            style,
            ending,
            forward,
            backward,
        } = barline;
        let style = match (style, forward, backward) {
            (_, true, _) => Some("heavy-light"),
            (_, _, Some(_)) => Some("light-heavy"),
            (style, ..) => *style,
        };
        if style.is_none() && ending.is_none() {
            return Ok(());
        }
        self.open("barline", &[("location", location)])?;
        if let Some(style) = style {
            self.element("bar-style", style)?;
        }
        if let Some((number, kind)) = ending {
            self.empty("ending", &[("number", number), ("type", kind)])?;
        }
        if *forward {
            self.empty("repeat", &[("direction", "forward")])?;
        }
        if let Some(repeat) = backward {
            let times = match repeat.plays {
                Some(Plays::Times(times)) => Some(times.to_string()),
                _ => None,
            };
            let mut attributes = vec![("direction", "backward")];
            attributes.extend(times.as_deref().map(|times| ("times", times)));
            let implied = self.play_repeats.then_some(Repeats::Play);
            attributes.extend(repeat.on_return.or(implied).map(|repeats| {
                let value = if repeats == Repeats::Play {
                    "yes"
                } else {
                    "no"
                };
                ("after-jump", value)
            }));
            self.empty("repeat", &attributes)?;
        }
        self.close("barline")
    }

    fn attributes(&mut self, measure: u16) -> Written {
        let board = self.board;
        let meter: Option<Meter> = if measure == 1 {
            board.meter()
        } else {
            let changes = board.meters().iter();
            let change = changes.clone().find(|change| change.measure == measure);
            change.map(|change| change.meter)
        };
        if measure > 1 && meter.is_none() {
            return Ok(());
        }
        self.open("attributes", &[])?;
        if measure == 1 {
            self.element("divisions", &self.divisions.to_string())?;
        }
        if let Some(meter) = meter {
            self.open("time", &[])?;
            self.element("beats", &meter.beats().to_string())?;
            self.element("beat-type", &meter.unit().to_string())?;
            self.close("time")?;
        }
        if measure == 1 && self.staves > 1 {
            self.element("staves", "2")?;
        }
        self.close("attributes")
    }

    /// The rests of a measure on each staff; a sign that cuts it stands between two of them.
    fn rests(&mut self, measure: u16, starting: &[&Marking]) -> Written {
        let length = self.duration(self.board.measure_length(measure));
        let mut cuts: Vec<(u64, &Marking)> = starting
            .iter()
            .filter_map(|marking| {
                let cut = self.duration(Some(inside(marking)?));
                Some((cut.min(length), *marking))
            })
            .collect();
        cuts.sort_by_key(|(cut, _)| *cut);
        self.lost_cuts(measure, starting);
        let held = self.held(starting);
        let mut done = 0;
        for (cut, marking) in &cuts {
            if *cut > done {
                self.rest(*cut - done, 1, None, false)?;
                done = *cut;
            }
            self.cutting(marking)?;
        }
        let whole = done == 0;
        if length > done {
            self.rest(length - done, 1, held.filter(|hands| hands.right()), whole)?;
        }
        if self.staves > 1 {
            self.open("backup", &[])?;
            self.element("duration", &length.to_string())?;
            self.close("backup")?;
            self.rest(length, 2, held.filter(|hands| hands.left()), true)?;
        }
        Ok(())
    }

    /// The cuts of a measure that the format has no place for.
    fn lost_cuts(&mut self, measure: u16, starting: &[&Marking]) {
        let whole = self.board.measure_length(measure);
        for marking in starting {
            let Some(cut) = marking.place().cut() else {
                continue;
            };
            let lands = matches!(
                marking.sign(),
                Sign::StartRepeat | Sign::Segno(_) | Sign::Coda(_)
            );
            let parts = |of: Fraction| u64::from(of.numerator()) * 4 * u64::from(self.divisions);
            let is_outside = whole.is_none_or(|whole| {
                let (cut, whole) = (
                    u64::from(cut.numerator()) * u64::from(whole.denominator()),
                    u64::from(whole.numerator()) * u64::from(cut.denominator()),
                );
                if lands {
                    cut >= whole
                } else {
                    cut == 0 || cut > whole
                }
            });
            if is_outside {
                self.cannot_say(
                    Some(measure),
                    "a cut that is not inside its measure is written as if it were at its edge",
                );
            } else if parts(cut) % u64::from(cut.denominator()) > 0 {
                self.cannot_say(Some(measure), "a cut this fine is written rounded");
            }
        }
    }

    fn rest(&mut self, duration: u64, staff: u8, held: Option<Hands>, whole: bool) -> Written {
        self.open("note", &[])?;
        let attributes: &[(&str, &str)] = if whole { &[("measure", "yes")] } else { &[] };
        self.empty("rest", attributes)?;
        self.element("duration", &duration.to_string())?;
        self.element("voice", &staff.to_string())?;
        if self.staves > 1 {
            self.element("staff", &staff.to_string())?;
        }
        if held.is_some() {
            self.open("notations", &[])?;
            self.empty("fermata", &[])?;
            self.close("notations")?;
        }
        self.close("note")
    }

    /// The hands that a fermata holds in this measure.
    fn held(&mut self, starting: &[&Marking]) -> Option<Hands> {
        let mut held = None;
        for marking in starting {
            let Sign::Fermata(fermata) = marking.sign() else {
                continue;
            };
            if fermata.when != When::EveryPass {
                self.cannot_say(
                    Some(marking.measure()),
                    "a fermata for some times only is written as one for every time",
                );
            }
            held = Some(match held {
                Some(other) if other != fermata.hands => Hands::Both,
                _ => fermata.hands,
            });
        }
        held
    }

    /// A length in divisions; a board without a meter has measures of a whole note.
    fn duration(&self, length: Option<Fraction>) -> u64 {
        let (numerator, denominator) = length.map_or(WHOLE, |length| {
            (
                u64::from(length.numerator()),
                u64::from(length.denominator()),
            )
        });
        (numerator * 4 * u64::from(self.divisions) / denominator.max(1)).max(1)
    }

    /// A barline or a sign inside a measure.
    fn cutting(&mut self, marking: &Marking) -> Written {
        match marking.sign() {
            Sign::StartRepeat => {
                let barline = Barline {
                    forward: true,
                    ..Barline::default()
                };
                self.barline("middle", &barline)
            }
            Sign::EndRepeat(repeat) => {
                let barline = Barline {
                    backward: Some(repeat.clone()),
                    ..Barline::default()
                };
                self.barline("middle", &barline)
            }
            _ => {
                self.cannot_say(
                    Some(marking.measure()),
                    "a sign inside a measure is written there; programs read it at the measure's edge",
                );
                self.landing(marking)?;
                self.leaving(marking)
            }
        }
    }

    /// A list of passes as a list of numbers: the format has no ranges.
    fn numbers(&mut self, passes: &fingerpost::Passes, measure: u16) -> Option<String> {
        let numbers = number_of(passes);
        if numbers.is_none() {
            self.cannot_say(
                Some(measure),
                "an ending of more than 200 passes is not written: the format has no ranges",
            );
        }
        numbers
    }
}

/// The passes one by one, if they are not too many to be written so.
pub(super) fn number_of(passes: &fingerpost::Passes) -> Option<String> {
    const MOST: u64 = 200;
    let ranges = passes.ranges();
    let count: u64 = ranges
        .iter()
        .map(|(from, to)| u64::from(to - from) + 1)
        .sum();
    (count <= MOST).then(|| {
        let numbers: Vec<String> = ranges
            .iter()
            .flat_map(|&(from, to)| from..=to)
            .map(|number| number.to_string())
            .collect();
        numbers.join(",")
    })
}

/// Where a sign cuts its measure; at the very start of it nothing is cut.
fn inside(marking: &Marking) -> Option<Fraction> {
    let cut = marking.place().cut();
    cut.filter(|cut| cut.numerator() > 0)
}

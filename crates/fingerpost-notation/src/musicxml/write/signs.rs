//! Signs over the staff: what is drawn, the words, and the instruction for playing beside them.

use fingerpost::{Al, Hands, Jump, Marking, Octave, Passes, Repeats, Sign, Then, When};

use super::measure::number_of;
use super::{Page, Written};

impl Page<'_> {
    /// A sign at the start of its measure.
    pub(super) fn landing(&mut self, marking: &Marking) -> Written {
        match marking.sign() {
            Sign::Segno(landing) => self.drawn(
                "segno",
                "segno",
                landing.label.as_deref().unwrap_or("segno"),
            ),
            Sign::Coda(landing) => {
                self.drawn("coda", "coda", landing.label.as_deref().unwrap_or("coda"))
            }
            Sign::Octave(octave) => self.line_start(octave, marking.measure()),
            Sign::Only(_) => {
                self.cannot_say(
                    Some(marking.measure()),
                    "hands that play at some times only are not written: no sign says it",
                );
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// A sign at the end of its measure.
    pub(super) fn leaving(&mut self, marking: &Marking) -> Written {
        let measure = marking.measure();
        match marking.sign() {
            Sign::ToCoda(to_coda) => {
                let label = to_coda.label.as_deref().unwrap_or("coda");
                let times = self.times(to_coda.arrivals.as_ref(), measure);
                self.worded("To Coda", &[("tocoda", label)], times.as_deref())
            }
            Sign::Fine(fine) => {
                let times = self.times(fine.arrivals.as_ref(), measure);
                self.worded("Fine", &[("fine", "yes")], times.as_deref())
            }
            Sign::DaCapo(jump) => {
                let times = self.jump_times(jump, measure);
                self.worded(&words("D.C.", jump), &[("dacapo", "yes")], times.as_deref())
            }
            Sign::DalSegno(jump) => {
                let label = jump.label.as_deref().unwrap_or("segno");
                let times = self.jump_times(jump, measure);
                self.worded(
                    &words("D.S.", jump),
                    &[("dalsegno", label)],
                    times.as_deref(),
                )
            }
            _ => Ok(()),
        }
    }

    fn jump_times(&mut self, jump: &Jump, measure: u16) -> Option<String> {
        if jump.arrivals.is_some() {
            self.cannot_say(
                Some(measure),
                "a jump at some arrivals only is written as one at every first time",
            );
        }
        if jump.coda.is_some() || (jump.al == Some(Al::Segno) && jump.label.is_some()) {
            self.cannot_say(
                Some(measure),
                "the label in the words of a jump is not written",
            );
        }
        if jump.al == Some(Al::End) {
            self.cannot_say(
                Some(measure),
                "a jump to the written end is written as a bare one",
            );
        }
        self.times(jump.passes.as_ref(), measure)
    }

    fn times(&mut self, passes: Option<&Passes>, measure: u16) -> Option<String> {
        let passes = passes?;
        let times = number_of(passes);
        if times.is_none() {
            self.cannot_say(
                Some(measure),
                "a list of more than 200 times is not written",
            );
        }
        times
    }

    /// The words of a sign and its instruction.
    fn worded(&mut self, words: &str, sound: &[(&str, &str)], times: Option<&str>) -> Written {
        self.open("direction", &[("placement", "above")])?;
        self.open("direction-type", &[])?;
        self.element("words", words)?;
        self.close("direction-type")?;
        let mut attributes = sound.to_vec();
        attributes.extend(times.map(|times| ("time-only", times)));
        self.empty("sound", &attributes)?;
        self.close("direction")
    }

    /// A drawn sign and its instruction.
    fn drawn(&mut self, sign: &str, attribute: &str, label: &str) -> Written {
        self.open("direction", &[("placement", "above")])?;
        self.open("direction-type", &[])?;
        self.empty(sign, &[])?;
        self.close("direction-type")?;
        self.empty("sound", &[(attribute, label)])?;
        self.close("direction")
    }

    fn line_start(&mut self, octave: &Octave, measure: u16) -> Written {
        if octave.when != When::EveryPass {
            self.cannot_say(
                Some(measure),
                "an octave line for some times only is not written: the format cannot say it",
            );
            return Ok(());
        }
        // The line over the staff: its notes are written lower than they sound.
        let kind = if octave.shift.octaves() > 0 {
            "down"
        } else {
            "up"
        };
        self.line(octave, kind)
    }

    /// The end of a line over the staff.
    pub(super) fn line_end(&mut self, marking: &Marking) -> Written {
        match marking.sign() {
            Sign::Octave(octave) if octave.when == When::EveryPass => self.line(octave, "stop"),
            _ => Ok(()),
        }
    }

    fn line(&mut self, octave: &Octave, kind: &str) -> Written {
        let size = if octave.shift.octaves().abs() == 2 {
            "15"
        } else {
            "8"
        };
        // Lines of different hands and sizes are told apart by their numbers.
        let number = match (octave.hands, octave.shift.octaves()) {
            (Hands::Both, shift) => 1 + u8::from(shift < 0) + 2 * u8::from(shift.abs() == 2),
            (Hands::Right, shift) => 5 + u8::from(shift < 0) + 2 * u8::from(shift.abs() == 2),
            (Hands::Left, shift) => 9 + u8::from(shift < 0) + 2 * u8::from(shift.abs() == 2),
        };
        self.open("direction", &[("placement", "above")])?;
        self.open("direction-type", &[])?;
        let number = number.to_string();
        self.empty(
            "octave-shift",
            &[("type", kind), ("size", size), ("number", &number)],
        )?;
        self.close("direction-type")?;
        match octave.hands {
            Hands::Both => {}
            Hands::Right => self.element("staff", "1")?,
            Hands::Left => self.element("staff", "2")?,
        }
        self.close("direction")
    }
}

/// The words of a return.
fn words(start: &str, jump: &Jump) -> String {
    let mut words = start.to_owned();
    match jump.al {
        Some(Al::Fine) => words.push_str(" al Fine"),
        Some(Al::Coda) => words.push_str(" al Coda"),
        Some(Al::Segno) => words.push_str(" al Segno"),
        Some(Al::End) | None => {}
    }
    if jump.then == Some(Then::Coda) {
        words.push_str(" poi la Coda");
    }
    match jump.repeats {
        Some(Repeats::Skip) => words.push_str(" senza rep."),
        Some(Repeats::Play) => words.push_str(" con rep."),
        None => {}
    }
    words
}

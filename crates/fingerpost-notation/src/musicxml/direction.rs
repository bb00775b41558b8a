//! Directions: words, signs over the staff, octave lines; and the instructions for playing beside them.
//!
//! Source: MusicXML 4.0, elements `direction`, `words`, `segno`, `coda`, `octave-shift`, `sound`, `offset`.

use super::measure::Part;
use super::source::Source;
use super::xml::{Name, Next, Xml};
use crate::error::{NotationError, NotationErrorKind};
use crate::notices::{Notice, Rule};
use crate::passes::passes;
use crate::words::{CODA, LONGEST, SEGNO, lead_to_coda};
use crate::written::{OctaveStart, Sound, What};

/// So many bytes of words and so many signs stand in one direction.
const LARGEST: usize = 100_000;

impl Part {
    pub(super) fn direction<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        let line = xml.line();
        // The line of the first words or sign: what a reader of the file looks for.
        let mut said = None;
        let mut words = String::new();
        let mut octaves = Vec::new();
        let mut sounds = Vec::new();
        let mut offset = 0;
        let mut offset_sounds = false;
        let mut staff = None;
        let mut inside = 1_u32;
        while inside > 0 {
            if words.len() + octaves.len() + sounds.len() > LARGEST {
                return Err(xml.error(
                    NotationErrorKind::TooLarge,
                    "one direction holds more words and signs than are read".to_owned(),
                ));
            }
            match xml.next()? {
                Next::Start(name @ (Name::Words | Name::Rehearsal)) => {
                    said = said.or(Some(xml.line()));
                    add(&mut words, xml.text(name)?);
                }
                Next::Start(name @ Name::Symbol) => {
                    said = said.or(Some(xml.line()));
                    if let Some(sign) = symbol(xml.text(name)?.trim()) {
                        add(&mut words, sign.encode_utf8(&mut [0; 4]));
                    }
                }
                Next::Start(name @ Name::Segno) => {
                    said = said.or(Some(xml.line()));
                    xml.pass_over(name)?;
                    add(&mut words, SEGNO.encode_utf8(&mut [0; 4]));
                }
                Next::Start(name @ Name::Coda) => {
                    said = said.or(Some(xml.line()));
                    xml.pass_over(name)?;
                    add(&mut words, CODA.encode_utf8(&mut [0; 4]));
                }
                Next::Start(name @ Name::OctaveShift) => {
                    said = said.or(Some(xml.line()));
                    octaves.extend(octave(xml));
                    xml.pass_over(name)?;
                }
                Next::Start(name @ Name::Offset) => {
                    offset_sounds = xml.is_yes("sound");
                    offset = divisions(xml.text(name)?).unwrap_or(0);
                }
                Next::Start(name @ Name::Staff) => staff = xml.text(name)?.trim().parse().ok(),
                Next::Start(Name::Sound) => sounds.push(full_sound(xml)?),
                Next::Start(_) => inside += 1,
                Next::End(_) => inside -= 1,
                Next::Text => {}
                Next::Eof => return Err(xml.cut_short(Name::Direction)),
            }
        }
        let line = said.unwrap_or(line);
        self.tell_of_words(line, &words, !sounds.is_empty());
        let drawn = self.moved(offset);
        let only_signs = words.chars().all(|c| c == SEGNO || c == CODA || c == ' ');
        let before = std::mem::take(&mut self.leads_to_coda);
        if let Some(before) = before.filter(|_| words.trim() == CODA.encode_utf8(&mut [0; 4])) {
            self.mark(drawn, line, What::Words(format!("{before} {CODA}")));
        } else if only_signs {
            for sign in words.chars() {
                match sign {
                    SEGNO => self.mark(drawn, line, What::SegnoSign),
                    CODA => self.mark(drawn, line, What::CodaSign),
                    _ => {}
                }
            }
        } else if lead_to_coda(&words) {
            self.leads_to_coda = Some(words);
        } else if !crate::words::phrases(&words).is_empty() {
            // Other words, of which scores are full, are not kept.
            self.mark(drawn, line, What::Words(words));
        }
        for what in octaves {
            let what = match what {
                What::OctaveStart(start) => What::OctaveStart(OctaveStart {
                    hands: self.hands(staff),
                    ..start
                }),
                other => other,
            };
            self.mark(drawn, line, what);
        }
        for (sound, own_offset) in sounds {
            let heard = own_offset.unwrap_or(if offset_sounds { offset } else { 0 });
            if !sound.is_empty() {
                self.mark(self.moved(heard), line, What::Sound(sound));
            }
        }
        Ok(())
    }

    /// Says what is not read of words: what is too long, and what looks like a sign of the road. Beside an instruction for playing that says what
    /// is meant.
    fn tell_of_words(&mut self, line: u32, words: &str, is_instructed: bool) {
        if words.chars().nth(LONGEST).is_some() {
            self.notices.push(Notice::new(
                Rule::LeftOut,
                line,
                Some(self.measure()),
                format!("these words are long; what follows {LONGEST} characters was left out"),
                "signs are looked for at their beginning; give a sign words of its own",
            ));
        }
        if !is_instructed && crate::words::are_left(words) {
            let (message, help) = crate::words::of_left(words);
            self.notices.push(Notice::new(
                Rule::WordsNotRead,
                line,
                Some(self.measure()),
                message,
                help,
            ));
        }
    }

    /// An instruction for playing that nothing is printed for.
    pub(super) fn sound_alone<S: Source>(&mut self, xml: &mut Xml<S>) -> Result<(), NotationError> {
        let line = xml.line();
        let (sound, offset) = full_sound(xml)?;
        if !sound.is_empty() {
            self.mark(self.moved(offset.unwrap_or(0)), line, What::Sound(sound));
        }
        Ok(())
    }
}

/// A `sound` with its own offset.
fn full_sound<S: Source>(xml: &mut Xml<S>) -> Result<(Sound, Option<i64>), NotationError> {
    let found = sound(xml);
    let mut offset = None;
    loop {
        match xml.next()? {
            Next::Start(name @ Name::Offset) => offset = divisions(xml.text(name)?),
            Next::Start(name) => xml.pass_over(name)?,
            Next::End(_) => return Ok((found, offset)),
            Next::Text => {}
            Next::Eof => return Err(xml.cut_short(Name::Sound)),
        }
    }
}

/// A number of divisions, forwards or backwards; a decimal one is cut.
fn divisions(text: &str) -> Option<i64> {
    let text = text.trim();
    let whole = text.split_once('.').map_or(text, |(whole, _)| whole);
    whole.parse().ok()
}

/// The attributes of the last start tag that say where the music goes on. A barline has those of the signs only.
pub(super) fn sound<S: Source>(xml: &Xml<S>) -> Sound {
    let named = |key| xml.attribute(key).filter(|name| !name.trim().is_empty());
    Sound {
        da_capo: yes_no(xml, "dacapo") == Some(true),
        dal_segno: named("dalsegno"),
        segno: named("segno"),
        to_coda: named("tocoda"),
        coda: named("coda"),
        // "yes", or the length of the last note.
        fine: named("fine").is_some_and(|value| value != "no"),
        forward_repeat: yes_no(xml, "forward-repeat") == Some(true),
        time_only: xml.attribute("time-only").and_then(|text| passes(&text)),
    }
}

pub(super) fn yes_no<S: Source>(xml: &Xml<S>, key: &str) -> Option<bool> {
    match xml.attribute(key)?.as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

/// The beginning or the end of an octave line. The line over the staff has the type `down`: its notes are written lower than they
/// sound.
fn octave<S: Source>(xml: &Xml<S>) -> Option<What> {
    let number = xml.attribute("number").and_then(|text| text.parse().ok());
    let number = number.unwrap_or(1);
    let octaves = match xml.attribute("size").as_deref() {
        None | Some("8") => 1,
        Some("15") => 2,
        _ => return None,
    };
    let shift = match xml.attribute("type")?.as_str() {
        "down" => octaves,
        "up" => -octaves,
        "stop" => return Some(What::OctaveStop { number }),
        _ => return None,
    };
    Some(What::OctaveStart(OctaveStart {
        number,
        shift,
        hands: fingerpost::Hands::Both,
    }))
}

/// The sign that a glyph's name stands for (SMuFL 1.4, range "repeats").
fn symbol(name: &str) -> Option<char> {
    Some(match name {
        "segno" | "segnoSerpent1" | "segnoSerpent2" | "segnoJapanese" => SEGNO,
        "coda" | "codaSquare" | "codaJapanese" => CODA,
        "dalSegno" => '\u{1d109}',
        "daCapo" => '\u{1d10a}',
        _ => return None,
    })
}

/// Adds words to words, with a blank between.
fn add(words: &mut String, more: &str) {
    if !words.is_empty() {
        words.push(' ');
    }
    words.push_str(more);
}

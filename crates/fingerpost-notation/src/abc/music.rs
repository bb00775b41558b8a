//! A line of music: notes only so far as to know that a measure has begun; barlines, endings, decorations, annotations.

use fingerpost::Hands;

use super::bars::{Bar, bar};
use super::tune::{LETTER_S, Tune};
use crate::error::NotationError;
use crate::written::{At, EndRepeat, Sound, What};

impl Tune {
    pub(super) fn music(&mut self, line: &str, number: u32) -> Result<(), NotationError> {
        let mut rest = line;
        // Where no bracket closes any more, none is looked for: a long line of open ones is read in one pass.
        let last_bracket = line.rfind(']');
        while let Some(character) = rest.chars().next() {
            let step = character.len_utf8();
            let after = rest.get(step..).unwrap_or_default();
            let may_close = last_bracket.is_some_and(|last| line.len() - rest.len() < last);
            let field = may_close.then(|| inline_field(rest)).flatten();
            if let Some((field, value, length)) = field {
                self.field(field, value, number);
                rest = rest.get(length..).unwrap_or_default();
                continue;
            }
            if !self.is_heard() {
                // Another voice's music, up to the next change of voice.
                rest = after;
                continue;
            }
            if let Some((bar, length)) = bar(rest) {
                self.bar(&bar, number);
                self.is_in_bounds(number)?;
                rest = rest.get(length..).unwrap_or_default();
                continue;
            }
            rest = match character {
                '"' => {
                    let (text, after) = after.split_once('"').unwrap_or((after, ""));
                    if let Some(words) = annotation(text) {
                        self.waiting.push((What::Words(words), number));
                    }
                    after
                }
                '!' => self.decoration(after, '!', number),
                '+' => self.decoration(after, '+', number),
                'H' => self.wait(What::Fermata(Hands::Both), number, after),
                'S' => self.wait(What::SegnoSign, number, after),
                'O' => self.wait(What::CodaSign, number, after),
                // Grace notes have no place of their own.
                '{' => after.split_once('}').map_or("", |(_, after)| after),
                'Z' | 'X' => self.rests(after, number)?,
                'A'..='G' | 'a'..='g' | 'z' | 'x' => {
                    self.sounds(number)?;
                    after
                }
                _ => after,
            };
        }
        self.is_in_bounds(number)
    }

    fn wait<'t>(&mut self, what: What, line: u32, after: &'t str) -> &'t str {
        self.waiting.push((what, line));
        after
    }

    /// `Z4`: four measures of rest (4.5).
    fn rests<'t>(&mut self, after: &'t str, line: u32) -> Result<&'t str, NotationError> {
        let digits = after
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(after.len());
        let (count, after) = after.split_at(digits);
        self.sounds(line)?;
        for _ in 1..count.parse().unwrap_or(1_u32) {
            self.in_measure = false;
            self.begin_measure(line)?;
        }
        Ok(after)
    }

    /// What stands between two marks, as in `!fine!`.
    fn decoration<'t>(&mut self, text: &'t str, mark: char, line: u32) -> &'t str {
        let Some((name, after)) = text.split_once(mark) else {
            return text;
        };
        if name.contains([' ', '|']) {
            // The mark was the older sign for a line break.
            return text;
        }
        self.waiting
            .extend(decorations(name).into_iter().map(|what| (what, line)));
        after
    }

    fn bar(&mut self, bar: &Bar, line: u32) {
        let closes = self.in_measure;
        self.in_measure = false;
        let landings: Vec<_> = std::mem::take(&mut self.waiting);
        let has_measure = !self.measures.is_empty();
        for (what, line) in landings {
            let is_letter = matches!(&what, What::Words(text) if text == LETTER_S);
            let lands = is_letter || matches!(what, What::SegnoSign | What::CodaSign);
            // Whether the road is left or goes on at a coda sign on a barline is known when the tune has been read.
            let may_leave = closes && what == What::CodaSign;
            if may_leave {
                self.mark(At::End, line, what);
            } else if lands || !has_measure {
                self.mark_next(line, what);
            } else {
                self.mark(At::End, line, what);
            }
        }
        let ends_ending = bar.ends > 0 || bar.starts > 0 || bar.is_double || bar.ending.is_some();
        if has_measure {
            if self.in_ending && ends_ending {
                let open = bar.ends == 0 && !bar.is_double;
                self.mark(At::End, line, What::EndingStop { open });
                self.in_ending = false;
            }
            if bar.ends > 0 {
                let times = (bar.ends > 1).then_some(bar.ends + 1);
                let repeat = EndRepeat {
                    times,
                    after_jump: None,
                };
                self.mark(At::End, line, What::EndRepeat(repeat));
            }
            if bar.is_double && bar.ends == 0 && closes {
                let is_final = bar.is_final;
                self.mark(At::End, line, What::DoubleBar { is_final });
            }
        }
        if bar.starts > 0 {
            self.mark_next(line, What::StartRepeat);
        }
        if let Some(passes) = &bar.ending {
            self.mark_next(line, What::EndingStart(Some(passes.clone())));
            self.in_ending = true;
        }
    }
}

/// `[M:3/4]`: the letter, the value, and how many bytes it has.
fn inline_field(text: &str) -> Option<(char, &str, usize)> {
    let inside = text.strip_prefix('[')?;
    let mut characters = inside.chars();
    let letter = characters.next().filter(char::is_ascii_alphabetic)?;
    let value = characters.as_str().strip_prefix(':')?;
    if value.starts_with(['|', ':']) {
        return None;
    }
    let (value, _) = value.split_once(']')?;
    Some((letter, value, value.len() + 4))
}

/// The words of a text in quotes: an annotation has its place before it (4.19), a chord symbol has none.
fn annotation(text: &str) -> Option<String> {
    let words = text.trim_start_matches(['^', '_', '<', '>', '@']);
    let is_placed = words.len() < text.len();
    // Older books write "D.C.", "Fine" and "S" where chord symbols stand.
    let is_sign = words == LETTER_S || !crate::words::phrases(words).is_empty();
    (is_placed || is_sign).then(|| words.to_owned())
}

/// The signs of 4.14, and the returns in words that books write between the same marks.
fn decorations(name: &str) -> Vec<What> {
    let sound = |sound: Sound| vec![What::Sound(sound)];
    let segno = || Some("segno".to_owned());
    match name {
        "segno" => vec![What::SegnoSign],
        "coda" => vec![What::CodaSign],
        "fermata" | "invertedfermata" => vec![What::Fermata(Hands::Both)],
        "fine" => sound(Sound {
            fine: true,
            ..Sound::default()
        }),
        "D.C." | "dacapo" => sound(Sound {
            da_capo: true,
            ..Sound::default()
        }),
        "D.S." => sound(Sound {
            dal_segno: segno(),
            ..Sound::default()
        }),
        "dacoda" => sound(Sound {
            to_coda: Some("coda".to_owned()),
            ..Sound::default()
        }),
        // "D.C.alfine", "D.S.alcoda": not of 2.1, and plain enough.
        _ => match name.split_once("al") {
            Some((jump @ ("D.C." | "D.S."), to @ ("fine" | "coda"))) => {
                let sounds = Sound {
                    da_capo: jump == "D.C.",
                    dal_segno: if jump == "D.S." { segno() } else { None },
                    ..Sound::default()
                };
                let words = format!("{jump} al {to}");
                vec![What::Words(words), What::Sound(sounds)]
            }
            _ => Vec::new(),
        },
    }
}

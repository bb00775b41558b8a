//! D.C., D.S., Fine, To Coda, coda and segno: from the instructions for playing where there are any, from the words and signs
//! otherwise, and from both together where words say what no instruction can ("al Fine").

use std::collections::{BTreeSet, HashMap, HashSet, VecDeque};

use fingerpost::{Al, Fine, Jump, LONGEST_LABEL, Landing, Passes, Place, Sign, Then, ToCoda};

use super::{Laying, clean, number};
use crate::notices::Rule;
use crate::words::{self, Phrase, Return};
use crate::written::{At, Mark, What};

/// What one measure says, sorted by kind.
#[derive(Default)]
struct Said<'a> {
    sounds: Vec<(&'a Mark, &'a crate::written::Sound)>,
    /// For each of them, which of the words of returns stand with it.
    own: Vec<Option<usize>>,
    /// The last of those.
    last_own: Option<usize>,
    jumps: Vec<(&'a Mark, words::Jump)>,
    more: Vec<(&'a Mark, Return)>,
    fines: Vec<(&'a Mark, Option<Passes>)>,
    to_codas: Vec<(&'a Mark, Option<u16>, Option<Passes>)>,
    codas: Vec<(&'a Mark, Option<u16>)>,
    coda_signs: Vec<&'a Mark>,
    segno_signs: Vec<&'a Mark>,
    trio: bool,
    piece: bool,
}

/// The signs of the score that lead somewhere, before their labels are settled.
#[derive(Default)]
pub(super) struct Found<'a> {
    pub(super) jumps: Vec<FoundJump<'a>>,
    segnos: Vec<(&'a Mark, Option<String>)>,
    pub(super) codas: Vec<(&'a Mark, Option<String>)>,
    pub(super) to_codas: Vec<(&'a Mark, Option<String>, Option<Passes>)>,
    pub(super) fines: Vec<(&'a Mark, Option<Passes>)>,
    /// Coda signs that nothing tells apart.
    coda_signs: Vec<&'a Mark>,
    /// The measure, from 1, in which a middle piece begins.
    pub(super) trio: Option<u16>,
    /// The measures in which words name a piece that a return may name.
    pub(super) pieces: Vec<u16>,
}

/// A return that an instruction for playing asks for, with the words that are its own.
struct Heard<'a> {
    mark: &'a Mark,
    da_capo: bool,
    segno: Option<String>,
    passes: Option<Passes>,
    words: Option<words::Jump>,
}

pub(super) struct FoundJump<'a> {
    pub(super) mark: &'a Mark,
    /// The measure, from 1, at whose end it is made.
    pub(super) measure: u16,
    pub(super) da_capo: bool,
    pub(super) segno: Option<String>,
    pub(super) back: Return,
    /// The name of the coda whose number the words have.
    pub(super) coda: Option<String>,
    passes: Option<Passes>,
    pub(super) names_piece: bool,
}

impl<'a> Laying<'a> {
    pub(super) fn jumps(&mut self) {
        let written = self.written;
        let mut found = Found::default();
        for marks in written.marks.chunk_by(|a, b| a.measure == b.measure) {
            let said = Said::of(marks);
            if said.trio && found.trio.is_none() {
                found.trio = marks.first().map(number);
            }
            if said.piece {
                found.pieces.extend(marks.first().map(number));
            }
            self.measure(&said, &mut found);
        }
        self.tell_coda_signs(&mut found);
        self.numbered_codas(&mut found);
        self.second_segnos(&mut found);
        self.name_the_piece(&mut found);
        self.put_jumps(found);
    }

    /// What the words and the instructions of one measure say together.
    fn measure(&mut self, said: &Said<'a>, found: &mut Found<'a>) {
        self.returns(said, found);
        self.fines(said, found);
        self.leave_for_codas(said, found);
        self.landings(said, found);
    }

    fn returns(&mut self, said: &Said<'a>, found: &mut Found<'a>) {
        let (heard, mut alone) = said.returns();
        for heard in heard {
            let da_capo = heard.da_capo;
            if heard.words.is_none() && !alone.is_empty() {
                let (at, _) = alone.remove(0);
                let (heard, read) = if da_capo {
                    ("D.C.", "D.S.")
                } else {
                    ("D.S.", "D.C.")
                };
                self.notice(
                    Rule::WordsAgainstSound,
                    at,
                    format!("the words say {read}, the instruction for playing says {heard}"),
                    format!("it was read as {heard}; let both say the same"),
                );
            }
            let words = heard.words.unwrap_or_default();
            found.jumps.push(FoundJump {
                mark: heard.mark,
                measure: number(heard.mark),
                da_capo,
                segno: heard.segno,
                back: words.back,
                coda: None,
                passes: heard.passes.or(words.times),
                names_piece: words.names_piece,
            });
        }
        for (mark, jump) in alone {
            let name = if jump.da_capo { "D.C." } else { "D.S." };
            self.words_read(mark, name);
            found.jumps.push(FoundJump {
                mark,
                measure: self.end_of_words(mark),
                da_capo: jump.da_capo,
                segno: None,
                back: jump.back,
                coda: None,
                passes: jump.times,
                names_piece: jump.names_piece,
            });
        }
        // "al Fine" below "D.C.", in a direction of its own: for the last return before it, or the last in its measure.
        for (mark, more) in &said.more {
            let here = |jump: &FoundJump<'_>| jump.mark.measure == mark.measure;
            let before = |jump: &FoundJump<'_>| here(jump) && jump.mark.line <= mark.line;
            let at = found.jumps.iter().rposition(before);
            let at = at.or_else(|| found.jumps.iter().rposition(here));
            if let Some(jump) = at.and_then(|at| found.jumps.get_mut(at)) {
                jump.back.fill_from(more);
            }
        }
    }

    fn fines(&mut self, said: &Said<'a>, found: &mut Found<'a>) {
        let heard = said.sounds.iter().find(|(_, sound)| sound.fine);
        let worded = said.fines.first();
        match (heard, worded) {
            (Some((mark, sound)), worded) => {
                let times = worded.and_then(|(_, times)| times.clone());
                found.fines.push((mark, sound.time_only.clone().or(times)));
            }
            (None, Some((mark, times))) => {
                self.words_read(mark, "Fine");
                found.fines.push((mark, times.clone()));
            }
            (None, None) => {}
        }
    }

    fn leave_for_codas(&mut self, said: &Said<'a>, found: &mut Found<'a>) {
        let worded = said.to_codas.first();
        let mut heard = false;
        for (mark, sound) in &said.sounds {
            if let Some(name) = &sound.to_coda {
                heard = true;
                let own = said.to_codas.iter().find(|(own, ..)| own.line == mark.line);
                let times = own.or(worded).and_then(|(.., times)| times.clone());
                let times = sound.time_only.clone().or(times);
                found.to_codas.push((mark, Some(name.clone()), times));
            }
        }
        if heard {
            return;
        }
        let mut known = BTreeSet::new();
        for (mark, number, times) in &said.to_codas {
            if !known.insert(number) {
                continue;
            }
            let name = number.map(|number| number.to_string());
            if name.is_none() {
                self.words_read(mark, "To Coda");
            }
            found.to_codas.push((mark, name, times.clone()));
        }
    }

    fn landings(&mut self, said: &Said<'a>, found: &mut Found<'a>) {
        let heard = |name: fn(&crate::written::Sound) -> Option<&String>| {
            let named = said.sounds.iter().filter_map(move |(mark, sound)| {
                name(sound).map(|name| (*mark, Some(name.clone())))
            });
            named.collect::<Vec<_>>()
        };
        let segnos = heard(|sound| sound.segno.as_ref());
        if segnos.is_empty() {
            found
                .segnos
                .extend(said.segno_signs.first().map(|mark| (*mark, None)));
        }
        found.segnos.extend(segnos);
        let codas = heard(|sound| sound.coda.as_ref());
        let goes = said.sounds.iter().any(|(_, sound)| sound.to_coda.is_some())
            || !said.to_codas.is_empty();
        if !codas.is_empty() {
            found.codas.extend(codas);
        } else if let Some((mark, number)) = said.codas.first() {
            self.words_read(mark, "Coda");
            let name = number.map(|number| number.to_string());
            found.codas.push((mark, name));
        } else if !goes {
            found.coda_signs.extend(said.coda_signs.first());
        }
        for (mark, sound) in &said.sounds {
            if sound.forward_repeat {
                self.notice(
                    Rule::NotPrinted,
                    mark,
                    "a start repeat is meant here and not printed",
                    "it was read as a start repeat; print it if the players need it",
                );
                let measure = landing(mark);
                if measure <= self.last {
                    self.put(Sign::StartRepeat, Place::at(measure), mark);
                }
            }
        }
    }

    pub(super) fn words_read(&mut self, mark: &Mark, name: &str) {
        self.notice(
            Rule::WordsRead,
            mark,
            format!("{name} stands here in words only"),
            "it was read from the words; the file says nothing for playing here",
        );
    }

    /// Coda signs without words: the first of two is where the road is left, the last where it goes on (handbooks: the coda mark appears
    /// twice, where you leave and where you land).
    fn tell_coda_signs(&mut self, found: &mut Found<'a>) {
        let mut signs = std::mem::take(&mut found.coda_signs);
        if signs.is_empty() {
            return;
        }
        let landed = !found.codas.is_empty();
        let mut landing = None;
        if !landed {
            let leaves = !found.to_codas.is_empty();
            if leaves || signs.len() > 1 || signs.iter().all(|mark| mark.at == At::Start) {
                landing = signs.pop();
            }
        }
        if let Some(mark) = landing {
            found.codas.push((mark, None));
            self.guessed(mark, "where the coda begins");
        }
        if found.to_codas.is_empty() {
            for mark in signs {
                found.to_codas.push((mark, None, None));
                self.guessed(mark, "a To Coda");
            }
        } else {
            // A second drawing of a sign that is known already.
            for mark in signs {
                self.left_out(mark, "a further coda sign");
            }
        }
    }

    fn guessed(&mut self, mark: &Mark, what: &str) {
        self.notice(
            Rule::CodaSignGuessed,
            mark,
            "this coda sign stands without words",
            format!("it was read as {what}; write To Coda where the road is left"),
        );
    }

    /// The segno may be drawn twice: where a return goes to, and where it is made (handbooks: the mark of the place and the mark of the
    /// return). Those that nothing tells apart get labels of their own.
    fn second_segnos(&mut self, found: &mut Found<'a>) {
        let mut nameless = 0_u32;
        let mut kept = Vec::new();
        let segno_jumps = found.jumps.iter().filter(|jump| !jump.da_capo);
        let returns: HashSet<u16> = segno_jumps.map(|jump| number(jump.mark)).collect();
        for (mark, name) in std::mem::take(&mut found.segnos) {
            if name.is_none() && returns.contains(&number(mark)) {
                self.left_out(mark, "the segno that is drawn at the D.S. itself");
                continue;
            }
            let label = name.or_else(|| {
                nameless += 1;
                let plain = || "segno".to_owned();
                Some(if nameless > 1 {
                    nameless.to_string()
                } else {
                    plain()
                })
            });
            kept.push((mark, label));
        }
        found.segnos = kept;
    }

    fn put_jumps(&mut self, found: Found<'a>) {
        let from = found.jumps.iter().map(|jump| jump.segno.as_deref());
        let to = found.segnos.iter().map(|(_, name)| name.as_deref());
        let segnos = Labels::of("segno", from.chain(to));
        let from = found.to_codas.iter().map(|(_, name, _)| name.as_deref());
        let to = found.codas.iter().map(|(_, name)| name.as_deref());
        let codas = Labels::of("coda", from.chain(to));
        let has_to_coda = !found.to_codas.is_empty();
        for (mark, name) in &found.segnos {
            self.land(
                mark,
                Sign::Segno(Landing {
                    label: segnos.label(name.as_deref()),
                }),
            );
        }
        for (mark, name) in &found.codas {
            self.land(
                mark,
                Sign::Coda(Landing {
                    label: codas.label(name.as_deref()),
                }),
            );
        }
        for (mark, name, arrivals) in &found.to_codas {
            self.leave(
                mark,
                Sign::ToCoda(ToCoda {
                    label: codas.label(name.as_deref()),
                    arrivals: arrivals.clone(),
                }),
            );
        }
        for (mark, arrivals) in &found.fines {
            self.leave(
                mark,
                Sign::Fine(Fine {
                    arrivals: arrivals.clone(),
                }),
            );
        }
        for jump in found.jumps {
            let mut al = jump.back.al;
            if al == Some(Al::Segno) && !jump.da_capo {
                // "D.S. al Segno" names the sign twice: from it is what counts.
                al = None;
            }
            let mut then = None;
            if jump.back.then_coda {
                match al {
                    Some(Al::Fine | Al::Segno) => then = Some(Then::Coda),
                    // "poi la Coda" alone: by way of To Coda.
                    None if has_to_coda => al = Some(Al::Coda),
                    _ => {}
                }
            }
            let needs_label = !jump.da_capo || al == Some(Al::Segno);
            let named = if jump.names_piece {
                jump.segno.clone()
            } else {
                None
            };
            let sign = Jump {
                al,
                then,
                coda: jump
                    .coda
                    .filter(|_| al == Some(Al::Coda) || then.is_some())
                    .and_then(|name| codas.label(Some(&name))),
                label: if needs_label {
                    named.or_else(|| segnos.label(jump.segno.as_deref()))
                } else {
                    None
                },
                repeats: jump.back.repeats,
                arrivals: None,
                passes: jump.passes,
            };
            let sign = if jump.da_capo {
                Sign::DaCapo(sign)
            } else {
                Sign::DalSegno(sign)
            };
            self.inside(jump.mark, "end");
            self.put(sign, Place::at(jump.measure), jump.mark);
        }
    }

    /// Where a return is made that stands in words only: at the end of the measure of its words; at the next end repeat, when the words stand
    /// before the last measure of the score and that measure has it. Long words are set so that they end at their barline.
    fn end_of_words(&self, mark: &Mark) -> u16 {
        let measure = number(mark);
        let ends_there = measure.saturating_add(1) == self.last && self.ends.contains(&self.last);
        if ends_there { self.last } else { measure }
    }

    fn land(&mut self, mark: &Mark, sign: Sign) {
        let measure = self.landing_of(mark);
        if measure > self.last {
            self.left_out(mark, "a sign after the last measure");
            return;
        }
        self.inside(mark, "start");
        self.put(sign, Place::at(measure), mark);
    }

    /// Where the road lands at a sign. A word at the end of a measure is for the next one; for its own when that begins behind a double bar
    /// and does not end at one: a piece begins there, and the word was only set late.
    fn landing_of(&self, mark: &Mark) -> u16 {
        let measure = number(mark);
        let barred = |at: u16| self.double_bars.contains(&at);
        let is_word = matches!((mark.at, &mark.what), (At::End, What::Words(_)));
        if is_word && barred(measure.saturating_sub(1)) && !barred(measure) {
            return measure;
        }
        landing(mark)
    }

    fn leave(&mut self, mark: &Mark, sign: Sign) {
        self.inside(mark, "end");
        self.put(sign, Place::at(number(mark)), mark);
    }

    fn inside(&mut self, mark: &Mark, edge: &str) {
        if matches!((mark.at, &mark.what), (At::Inside(_), What::Sound(_))) {
            self.notice(
                Rule::InsideMeasure,
                mark,
                "this sign stands inside its measure",
                format!("it was read at the {edge} of the measure; split the measure there if it is meant inside"),
            );
        }
    }
}

impl<'a> Said<'a> {
    fn of(marks: &'a [Mark]) -> Said<'a> {
        let mut said = Said::default();
        for mark in marks {
            match &mark.what {
                What::Sound(sound) => {
                    said.sounds.push((mark, sound));
                    let own = said.words_of(mark, sound);
                    said.last_own = own.or(said.last_own);
                    said.own.push(own);
                }
                What::SegnoSign => said.segno_signs.push(mark),
                What::CodaSign => said.coda_signs.push(mark),
                What::Words(text) => {
                    for phrase in words::phrases(text) {
                        match phrase {
                            Phrase::Jump(jump) => said.jumps.push((mark, jump)),
                            Phrase::More(more) => said.more.push((mark, more)),
                            Phrase::ToCoda(number, times) => {
                                said.to_codas.push((mark, number, times));
                            }
                            Phrase::Coda(number) => said.codas.push((mark, number)),
                            Phrase::Fine(times) => said.fines.push((mark, times)),
                            Phrase::CodaSign => said.coda_signs.push(mark),
                            Phrase::SegnoSign => said.segno_signs.push(mark),
                            Phrase::Trio => said.trio = true,
                            Phrase::Piece => said.piece = true,
                        }
                    }
                }
                _ => {}
            }
        }
        said
    }

    /// The words of a return that stand with an instruction for playing: in the same direction, thus the latest on the same line.
    fn words_of(&self, mark: &Mark, sound: &crate::written::Sound) -> Option<usize> {
        let (at, (words, jump)) = self.jumps.iter().enumerate().next_back()?;
        let same_kind = if jump.da_capo {
            sound.da_capo
        } else {
            sound.dal_segno.is_some()
        };
        let is_taken = self.last_own == Some(at);
        (words.line == mark.line && same_kind && !is_taken).then_some(at)
    }

    /// The returns that are heard with their words, and those that stand in words alone. Words of one kind in several parts, or in several
    /// places of one measure, say a thing once where one return is heard or none.
    fn returns(&self) -> (Vec<Heard<'a>>, Vec<(&'a Mark, words::Jump)>) {
        let mut heard: Vec<Heard<'a>> = Vec::new();
        // By the words that are their own; those without any, and all, of each kind.
        let mut owners = HashMap::new();
        let mut free: HashMap<bool, VecDeque<usize>> = HashMap::new();
        let mut all = HashMap::new();
        for (&(mark, sound), &own) in self.sounds.iter().zip(&self.own) {
            let da_capo = sound.da_capo.then_some((true, None));
            let dal_segno = sound.dal_segno.clone().map(|name| (false, Some(name)));
            for (da_capo, segno) in [da_capo, dal_segno].into_iter().flatten() {
                let at = heard.len();
                all.entry(da_capo).or_insert(at);
                match own {
                    Some(own) => drop(owners.insert((own, da_capo), at)),
                    None => free.entry(da_capo).or_default().push_back(at),
                }
                heard.push(Heard {
                    mark,
                    da_capo,
                    segno,
                    passes: sound.time_only.clone(),
                    words: None,
                });
            }
        }
        let mut alone: Vec<(&'a Mark, words::Jump)> = Vec::new();
        for (index, (mark, jump)) in self.jumps.iter().enumerate() {
            let kind = jump.da_capo;
            let own = owners.get(&(index, kind)).copied();
            let free = || free.get_mut(&kind).and_then(VecDeque::pop_front);
            let at = own.or_else(free).or_else(|| all.get(&kind).copied());
            if let Some(heard) = at.and_then(|at| heard.get_mut(at)) {
                match &mut heard.words {
                    Some(known) => known.fill_from(jump),
                    none => *none = Some(jump.clone()),
                }
            } else if let Some((_, known)) = alone
                .iter_mut()
                .find(|(_, known)| known.da_capo == jump.da_capo)
            {
                known.fill_from(jump);
            } else {
                alone.push((mark, jump.clone()));
            }
        }
        (heard, alone)
    }
}

/// The measure at whose start a sign stands.
pub(super) fn landing(mark: &Mark) -> u16 {
    match mark.at {
        At::End => number(mark).saturating_add(1),
        _ => number(mark),
    }
}

/// The names that pair places with their jumps, and whether labels are needed: where one name is used they are not, whatever it is. The
/// plain name of the sign is no label.
struct Labels {
    plain: &'static str,
    several: bool,
}

impl Labels {
    fn of<'n>(plain: &'static str, names: impl Iterator<Item = Option<&'n str>>) -> Labels {
        let names: BTreeSet<&str> = names.flatten().collect();
        Labels {
            plain,
            several: names.len() > 1,
        }
    }

    fn label(&self, name: Option<&str>) -> Option<String> {
        let name = name.filter(|name| self.several && *name != self.plain)?;
        let name = clean(name, LONGEST_LABEL);
        (!name.is_empty()).then_some(name)
    }
}

//! A plan laid on a board: lengths that make phrases, and the signs in their places.

use super::concept::Concept;
use super::plan::{Manner, Plan, Strain};
use crate::board::{
    Al, Board, EndRepeat, Ending, Fermata, Fine, Hands, Jump, Landing, Marking, Octave, Only,
    Passes, Place, Plays, Repeats, Shift, Sign, ToCoda, When,
};
use crate::chance::Chance;

/// The measures in a system.
const SYSTEM: u16 = 4;

/// Where a strain lies: its body without the endings, and its last measure.
#[derive(Clone, Copy, Debug)]
struct Lie {
    first: u16,
    body: u16,
    last: u16,
}

/// Lays a plan on so many measures; `None` when they are too few, or when chance gave a place that no teacher would choose.
pub(super) fn lay(
    plan: &Plan,
    measures: u16,
    level: Option<u8>,
    chance: &mut Chance,
) -> Option<Board> {
    let lengths = lengths(&plan.strains, measures, chance)?;
    let mut markings: Vec<Marking> = Vec::with_capacity(16);
    let mut lies: Vec<Lie> = Vec::with_capacity(lengths.len());
    let mut first = 1;
    for (strain, &(phrase, bracket)) in plan.strains.iter().zip(&lengths) {
        let lie = lay_strain(strain, plan, (first, phrase, bracket), &mut markings)?;
        first = lie.last + 1;
        lies.push(lie);
    }
    let mut taken: Vec<(usize, Hands)> = Vec::new();
    for &note in &plan.notes {
        let marking = lay_note(note, plan, &lies, &mut taken, chance)?;
        markings.push(marking);
    }
    markings.sort_by_key(|marking| (marking.measure(), rank(marking.sign())));
    let rows = measures / SYSTEM;
    let rest = measures % SYSTEM;
    let systems = std::iter::repeat_n(SYSTEM, usize::from(rows)).chain((rest > 0).then_some(rest));
    let builder = Board::builder(systems).markings(markings).levels(level);
    builder.build().ok()
}

/// Signs of one measure in the order in which they are met.
fn rank(sign: &Sign) -> u8 {
    match sign {
        Sign::Segno(_) | Sign::Coda(_) => 0,
        Sign::StartRepeat => 1,
        Sign::Ending(_) => 2,
        Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_) => 3,
        Sign::EndRepeat(_) => 4,
        _ => 5,
    }
}

/// For each strain the length of what is played on its first pass, and of each of its brackets. All of it makes the number of measures.
fn lengths(strains: &[Strain], measures: u16, chance: &mut Chance) -> Option<Vec<(u16, u16)>> {
    // The first ending is of the phrase; the others lie beyond it.
    let beyond = |strain: &Strain, bracket: u16| strain.brackets().saturating_sub(1) * bracket;
    let least = |strain: &Strain| 1 + u16::from(strain.brackets() > 0);
    let mut lengths: Vec<(u16, u16)> = strains.iter().map(|it| (least(it), 1)).collect();
    let used: u16 = strains.iter().map(|it| least(it) + beyond(it, 1)).sum();
    let mut left = measures.checked_sub(used)?;
    // Whole phrases first, wherever chance begins; then halves of phrases.
    let mut order: Vec<usize> = (0..strains.len()).collect();
    chance.shuffle(&mut order);
    for unit in [2, 4] {
        for &at in &order {
            // Now and then half a phrase stays one, so that boards of one plan differ.
            if unit == 4 && chance.happens(1, 5) {
                continue;
            }
            if let Some((phrase, _)) = lengths.get_mut(at) {
                let more = phrase.next_multiple_of(unit) - *phrase;
                if more <= left {
                    *phrase += more;
                    left -= more;
                }
            }
        }
    }
    while left >= 2 {
        let longest = lengths.iter().map(|it| it.0).max().unwrap_or(0);
        let at = chance.index(lengths.len());
        let (phrase, _) = lengths.get_mut(at)?;
        // Strains of a board are of much the same length: eight measures at the most while others have four.
        if *phrase < 8 || longest >= 8 && *phrase <= measures / 2 || chance.happens(1, 8) {
            let more = if left >= 4 && *phrase % 4 == 0 { 4 } else { 2 };
            *phrase += more;
            left -= more;
        }
    }
    // What is left goes to a plain strain, the last by preference: a coda may be of any length.
    let plain = |it: &&usize| strains.get(**it).is_some_and(|it| it.repeat.is_none());
    let backwards = (0..strains.len()).rev().collect::<Vec<_>>();
    let at = backwards
        .iter()
        .find(plain)
        .or(backwards.first())
        .copied()?;
    lengths.get_mut(at)?.0 += left;
    // Brackets of two measures, where the phrase is long and the measures beyond can be had from another strain's two.
    for (strain, (phrase, bracket)) in strains.iter().zip(&mut lengths) {
        let cost = beyond(strain, 1);
        if strain.brackets() > 0 && *phrase >= 6 + cost && chance.happens(1, 2) {
            // The phrase gives what the further brackets take, so that the sum stays.
            *phrase -= cost;
            *bracket = 2;
        }
    }
    Some(lengths)
}

fn lay_strain(
    strain: &Strain,
    plan: &Plan,
    (first, phrase, bracket): (u16, u16, u16),
    markings: &mut Vec<Marking>,
) -> Option<Lie> {
    let mut put = |sign, measure| markings.push(Marking::new(sign, Place::at(measure)));
    if strain.segno {
        put(Sign::Segno(Landing::default()), first);
    }
    if strain.coda {
        put(Sign::Coda(Landing::default()), first);
    }
    let end = |plays| {
        Sign::EndRepeat(EndRepeat {
            plays,
            on_return: None,
        })
    };
    let mut lie = Lie {
        first,
        body: first + phrase - 1,
        last: first + phrase - 1,
    };
    if let Some(repeat) = strain.repeat {
        if repeat.written {
            put(Sign::StartRepeat, first);
        }
        match repeat.manner {
            Manner::Twice => put(end(None), lie.last),
            Manner::Times(times) => put(end(Some(Plays::Times(times))), lie.last),
            Manner::Endings(endings) => {
                lie.body = (first + phrase - 1).checked_sub(bracket)?;
                let mut at = lie.body + 1;
                for (number, passes) in endings.iter().enumerate() {
                    let last = at + bracket - 1;
                    // A bracket over the end of a system is hard to read.
                    if (at - 1) / SYSTEM != (last - 1) / SYSTEM {
                        return None;
                    }
                    let ending = Ending {
                        passes: Passes::of(passes.iter().copied()).ok()?,
                        open: number + 1 == endings.len(),
                    };
                    markings.push(Marking::new(Sign::Ending(ending), Place::over(at, last)));
                    if number + 1 < endings.len() {
                        markings.push(Marking::new(end(None), Place::at(last)));
                    }
                    at = last + 1;
                }
                lie.last = at - 1;
            }
        }
    }
    let mut put = |sign, measure| markings.push(Marking::new(sign, Place::at(measure)));
    if strain.fine {
        put(Sign::Fine(Fine::default()), lie.last);
    }
    if strain.to_coda {
        put(Sign::ToCoda(ToCoda::default()), lie.last);
    }
    if let Some(back) = strain.jump {
        put(jump(back, plan.words), lie.last);
    }
    Some(lie)
}

/// A D.C. or D.S., with what is written at it about the repeats.
fn jump(back: Concept, words: Option<Concept>) -> Sign {
    let al = match back {
        Concept::DaCapoAlFine | Concept::DalSegnoAlFine => Some(Al::Fine),
        Concept::DaCapoAlCoda | Concept::DalSegnoAlCoda => Some(Al::Coda),
        _ => None,
    };
    let jump = Jump {
        al,
        repeats: words.map(|words| {
            if words == Concept::RepeatsAgain {
                Repeats::Play
            } else {
                Repeats::Skip
            }
        }),
        ..Jump::default()
    };
    let da_capo = matches!(
        back,
        Concept::DaCapo | Concept::DaCapoAlFine | Concept::DaCapoAlCoda
    );
    if da_capo {
        Sign::DaCapo(jump)
    } else {
        Sign::DalSegno(jump)
    }
}

/// A fermata at the end of a phrase; an octave sign or a rest of one hand over a phrase or half of one.
fn lay_note(
    note: Concept,
    plan: &Plan,
    lies: &[Lie],
    taken: &mut Vec<(usize, Hands)>,
    chance: &mut Chance,
) -> Option<Marking> {
    if note == Concept::Fermata {
        let lie = chance.one(lies)?;
        let at = if chance.happens(1, 4) {
            lie.body
        } else {
            lie.last
        };
        return Some(Marking::new(
            Sign::Fermata(Fermata::default()),
            Place::at(at),
        ));
    }
    let fits = |strain: &Strain| match note {
        Concept::OctaveOnRepeat | Concept::OneTimeOnly => strain.repeat.is_some(),
        Concept::OctaveOnReturn => strain.again,
        _ => true,
    };
    let strains = plan.strains.iter().enumerate();
    let strains: Vec<usize> = strains
        .filter(|(_, it)| fits(it))
        .map(|(at, _)| at)
        .collect();
    let at = chance.one(&strains)?;
    let hand = chance.one(&[Hands::Right, Hands::Left])?;
    // Two signs over one strain are for two hands.
    let mut here = taken.iter().filter(|(other, _)| *other == at);
    let hand = match (here.next(), here.next()) {
        (None, _) => hand,
        (Some((_, Hands::Right)), None) => Hands::Left,
        (Some(_), None) => Hands::Right,
        (Some(_), Some(_)) => return None,
    };
    taken.push((at, hand));
    let &Lie { first, body, .. } = lies.get(at)?;
    let phrase = body - first + 1;
    let length = match phrase {
        0..=3 => phrase,
        4..=7 => chance.one(&[2, 4])?,
        _ => chance.one(&[2, 4, 8])?,
    };
    let first = if chance.happens(1, 2) {
        first
    } else {
        body + 1 - length
    };
    let sign = if note == Concept::OneTimeOnly {
        let when = if chance.happens(1, 2) {
            When::OnRepeat
        } else {
            When::Passes(Passes::of([1]).ok()?)
        };
        Sign::Only(Only { hands: hand, when })
    } else {
        let when = match note {
            Concept::OctaveOnRepeat => When::OnRepeat,
            Concept::OctaveOnReturn => When::OnReturn,
            _ => When::EveryPass,
        };
        // High for the right hand and low for the left, as it is mostly written.
        let usual = chance.happens(3, 4);
        let shift = if (hand == Hands::Right) == usual {
            Shift::Up1
        } else {
            Shift::Down1
        };
        Sign::Octave(Octave {
            hands: hand,
            shift,
            when,
        })
    };
    Some(Marking::new(sign, Place::over(first, first + length - 1)))
}

//! The plan of a board: its strains in order, which of them are repeated and how, and what stands between them; as yet without lengths.

use super::concept::Concept;
use super::wish::two_returns;
use crate::chance::Chance;

/// A strain: a row of measures that is played through, perhaps repeated.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each says whether one sign stands there"
)]
pub(super) struct Strain {
    pub(super) repeat: Option<Repeat>,
    /// What the road may come to at its first measure.
    pub(super) segno: bool,
    pub(super) coda: bool,
    /// What the road may leave by at its last measure.
    pub(super) fine: bool,
    pub(super) to_coda: bool,
    /// The D.C. or D.S. there.
    pub(super) jump: Option<Concept>,
    /// Whether the return comes over it.
    pub(super) again: bool,
}

/// How a strain is repeated.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Repeat {
    /// Whether a start repeat is written.
    pub(super) written: bool,
    pub(super) manner: Manner,
}

/// What is written at the end of a repeated strain.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Manner {
    /// An end repeat.
    Twice,
    /// An end repeat with a number.
    Times(u32),
    /// Endings, each with its passes.
    Endings(&'static [&'static [u32]]),
}

const TWO_ENDINGS: &[&[u32]] = &[&[1], &[2]];
const MORE_ENDINGS: [&[&[u32]]; 4] = [
    &[&[1], &[2], &[3]],
    &[&[1, 2], &[3]],
    &[&[1], &[2], &[3], &[4]],
    &[&[1, 2, 3], &[4]],
];

/// The plan of a board.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Plan {
    pub(super) strains: Vec<Strain>,
    /// What is written at it about the repeats.
    pub(super) words: Option<Concept>,
    /// The signs over measures: octave signs, fermatas and hands that rest.
    pub(super) notes: Vec<Concept>,
}

impl Strain {
    const PLAIN: Strain = Strain {
        repeat: None,
        segno: false,
        coda: false,
        fine: false,
        to_coda: false,
        jump: None,
        again: false,
    };

    /// How many measures it has at least.
    pub(super) fn least(&self) -> u16 {
        1 + self.brackets()
    }

    /// How many endings it has.
    pub(super) fn brackets(&self) -> u16 {
        match self.repeat {
            Some(Repeat {
                manner: Manner::Endings(endings),
                ..
            }) => u16::try_from(endings.len()).unwrap_or(u16::MAX),
            _ => 0,
        }
    }
}

impl Plan {
    /// How many measures it needs at least.
    pub(super) fn least(&self) -> u16 {
        self.strains.iter().map(Strain::least).sum()
    }

    /// A plan that shows these concepts, and beside them at most those allowed. A tight one has nothing that they do not need. They do not
    /// exclude each other.
    pub(super) fn by_chance(
        concepts: &[Concept],
        allowed: &[Concept],
        tight: bool,
        chance: &mut Chance,
    ) -> Plan {
        let has = |concept: Concept| concepts.contains(&concept);
        let mut words = [Concept::RepeatsLeftOut, Concept::RepeatsAgain]
            .into_iter()
            .find(|&it| has(it));
        let mut back = concepts.iter().copied().find(|it| it.is_return());
        if back.is_none() && concepts.iter().any(|it| it.needs_return()) {
            back = chance.one(&partners(concepts, allowed, words.is_some()));
        }
        let repeats = repeats(concepts, allowed, chance);
        if repeats.is_empty() {
            words = None;
        }
        // Of a pair the D.S. comes first, and the D.C. goes over all of it again.
        let pair = two_returns(concepts);
        let zones = if pair { vec![true; 3] } else { zones(back) };
        let mut rooms: Vec<Room> = zones
            .iter()
            .map(|&again| Room {
                units: Vec::new(),
                open: !again || words.is_some(),
            })
            .collect();
        fill(
            &mut rooms,
            &zones,
            repeats,
            words.is_some(),
            has(Concept::TwoRepeats),
            chance,
        );
        let two_may = has(Concept::TwoRepeats) || allowed.contains(&Concept::TwoRepeats);
        let mut strains: Vec<Strain> = Vec::new();
        let last = rooms.len().saturating_sub(1);
        for (number, (room, &again)) in rooms.into_iter().zip(&zones).enumerate() {
            let first = strains.len();
            lay_room(room, &mut strains, (tight, two_may), number == last, chance);
            // What stands at the edges of a zone.
            let rest = strains.get_mut(first..).unwrap_or_default();
            for strain in rest.iter_mut() {
                strain.again = again;
            }
            let edge = if pair {
                Edge::of_pair(number)
            } else {
                Edge::of(back, number, zones.len())
            };
            if let Some(strain) = rest.first_mut() {
                (strain.segno, strain.coda) = (edge.segno, edge.coda);
            }
            if let Some(strain) = rest.last_mut() {
                (strain.fine, strain.to_coda, strain.jump) = (edge.fine, edge.to_coda, edge.jump);
            }
        }
        let is_note = |it: &Concept| {
            matches!(
                it,
                Concept::Fermata
                    | Concept::OctaveSign
                    | Concept::OctaveOnRepeat
                    | Concept::OctaveOnReturn
                    | Concept::OneTimeOnly
            )
        };
        Plan {
            strains,
            words,
            notes: concepts.iter().copied().filter(is_note).collect(),
        }
    }
}

/// The returns that may stand with concepts that need one.
fn partners(concepts: &[Concept], allowed: &[Concept], words: bool) -> Vec<Concept> {
    let returns = || Concept::ALL.iter().copied().filter(|it| it.is_return());
    let repeats = concepts.iter().any(|it| it.needs_repeat());
    let fits = |it: &Concept| {
        let from_the_start = matches!(it, Concept::DaCapoAlFine | Concept::DaCapoAlCoda);
        let comes_over = concepts.contains(&Concept::RepeatFromBeginning) && from_the_start;
        words || !(*it == Concept::DaCapo && repeats || comes_over)
    };
    let known: Vec<Concept> = returns()
        .filter(fits)
        .filter(|it| allowed.contains(it))
        .collect();
    if known.is_empty() {
        returns().filter(fits).collect()
    } else {
        known
    }
}

/// The repeats that the concepts ask for.
fn repeats(concepts: &[Concept], allowed: &[Concept], chance: &mut Chance) -> Vec<Repeat> {
    let has = |concept: Concept| concepts.contains(&concept);
    let may = |concept: Concept| has(concept) || allowed.contains(&concept);
    let mut manners = Vec::new();
    if has(Concept::TwoEndings) {
        manners.push(Manner::Endings(TWO_ENDINGS));
    }
    if has(Concept::MoreEndings) {
        let endings = chance.one(&MORE_ENDINGS).unwrap_or(TWO_ENDINGS);
        manners.push(Manner::Endings(endings));
    }
    if has(Concept::PlaysTimes) {
        let times = chance.one(&[3, 3, 3, 4]).unwrap_or(3);
        manners.push(Manner::Times(times));
    }
    let starts = usize::from(has(Concept::RepeatFromBeginning))
        + usize::from(has(Concept::StartAndEndRepeat));
    let needed = usize::from(concepts.iter().any(|it| it.needs_repeat()));
    let pair = if has(Concept::TwoRepeats) { 2 } else { 0 };
    let count = manners.len().max(starts).max(needed).max(pair);
    manners.resize(count, Manner::Twice);
    chance.shuffle(&mut manners);
    // Whether the first repeat is one from the beginning: asked for, or as chance has it where only one of the ways is asked for or known.
    let from_start = has(Concept::RepeatFromBeginning)
        || count > 0
            && may(Concept::RepeatFromBeginning)
            && !(has(Concept::StartAndEndRepeat) && count == 1)
            && chance.happens(1, 2)
        || count > 0
            && !may(Concept::RepeatFromBeginning)
            && !may(Concept::StartAndEndRepeat)
            && chance.happens(1, 2);
    let repeats = manners
        .into_iter()
        .enumerate()
        .map(|(number, manner)| Repeat {
            written: !(from_start && number == 0),
            manner,
        });
    repeats.collect()
}

/// The zones that a D.C. or D.S. makes of a board, in order: whether the return comes over each.
fn zones(back: Option<Concept>) -> Vec<bool> {
    match back {
        Some(Concept::DaCapo) => vec![true],
        Some(Concept::DaCapoAlFine) => vec![true, false],
        Some(Concept::DalSegno) => vec![false, true],
        Some(Concept::DalSegnoAlFine) => vec![false, true, false],
        Some(Concept::DaCapoAlCoda) => vec![true, false, false],
        Some(Concept::DalSegnoAlCoda) => vec![false, true, false, false],
        _ => vec![false],
    }
}

/// What stands at the edges of a zone.
#[derive(Default)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each says whether one sign stands there"
)]
struct Edge {
    segno: bool,
    coda: bool,
    fine: bool,
    to_coda: bool,
    jump: Option<Concept>,
}

impl Edge {
    /// With a D.S. and behind it a D.C.: what is before the segno, what the D.S. goes over again, and what comes before the D.C.
    fn of_pair(zone: usize) -> Edge {
        Edge {
            segno: zone == 1,
            jump: match zone {
                1 => Some(Concept::DalSegno),
                2 => Some(Concept::DaCapo),
                _ => None,
            },
            ..Edge::default()
        }
    }

    fn of(back: Option<Concept>, zone: usize, zones: usize) -> Edge {
        let Some(back) = back else {
            return Edge::default();
        };
        let dal_segno = matches!(
            back,
            Concept::DalSegno | Concept::DalSegnoAlFine | Concept::DalSegnoAlCoda
        );
        let again = usize::from(dal_segno);
        let coda = matches!(back, Concept::DaCapoAlCoda | Concept::DalSegnoAlCoda);
        let fine = matches!(back, Concept::DaCapoAlFine | Concept::DalSegnoAlFine);
        Edge {
            segno: dal_segno && zone == again,
            coda: coda && zone + 1 == zones,
            fine: fine && zone == again,
            to_coda: coda && zone == again,
            jump: (zone + 1 + usize::from(coda) == zones).then_some(back),
        }
    }
}

/// The repeats of a zone: each unit is one repeat, or two in a row.
struct Room {
    units: Vec<Vec<Repeat>>,
    /// Whether repeats may stand in it.
    open: bool,
}

/// Puts the repeats into the zones.
fn fill(
    rooms: &mut [Room],
    zones: &[bool],
    repeats: Vec<Repeat>,
    words: bool,
    two: bool,
    chance: &mut Chance,
) {
    let mut units: Vec<Vec<Repeat>> = repeats.into_iter().map(|repeat| vec![repeat]).collect();
    if two && units.len() > 1 {
        // The first two are one unit, so that a repeat from the beginning may be of them.
        let second = units.remove(1);
        if let Some(first) = units.first_mut() {
            first.extend(second);
        }
    }
    let again = zones.iter().position(|&again| again);
    let from_start = |unit: &[Repeat]| unit.first().is_some_and(|repeat| !repeat.written);
    let open: Vec<usize> = (0..rooms.len())
        .filter(|&at| rooms.get(at).is_some_and(|it| it.open))
        .collect();
    // With words about the repeats, the return must come over one of them.
    let mut owed = words;
    for mut unit in units {
        let first_open = open.first() == Some(&0);
        let mut room = chance.one(&open).unwrap_or(0);
        if from_start(&unit) {
            if first_open {
                room = 0;
            } else if let Some(repeat) = unit.first_mut() {
                repeat.written = true;
            }
        }
        if owed && !from_start(&unit) {
            room = again.unwrap_or(room);
        }
        owed = owed && Some(room) != again;
        if let Some(room) = rooms.get_mut(room) {
            room.units.push(unit);
        }
    }
    if owed && again.is_some_and(|again| again > 0) {
        // Its only repeat is the one from the beginning, and the return goes to the segno: it needs one more.
        let more = Repeat {
            written: true,
            manner: Manner::Twice,
        };
        if let Some(room) = again.and_then(|again| rooms.get_mut(again)) {
            room.units.push(vec![more]);
        }
    }
}

/// Lays the strains of a zone.
fn lay_room(
    room: Room,
    strains: &mut Vec<Strain>,
    (tight, two_may): (bool, bool),
    is_last: bool,
    chance: &mut Chance,
) {
    let roomy = |chance: &mut Chance| !tight && chance.happens(1, 2);
    if room.units.is_empty() {
        strains.push(Strain::PLAIN);
        return;
    }
    for unit in room.units {
        let touches = strains.last().is_some_and(|it| it.repeat.is_some());
        let from_start = unit.first().is_some_and(|repeat| !repeat.written);
        let apart = match strains.last() {
            // A start repeat at the first measure is not needed.
            None => !from_start,
            Some(_) if touches => !two_may || roomy(chance),
            Some(_) => roomy(chance),
        };
        if apart {
            strains.push(Strain::PLAIN);
        }
        let laid = unit.into_iter().map(|repeat| Strain {
            repeat: Some(repeat),
            ..Strain::PLAIN
        });
        strains.extend(laid);
    }
    // What leads away stands behind the repeat, not in it; the last zone may end with it.
    if !is_last || roomy(chance) {
        strains.push(Strain::PLAIN);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_has_the_strains_that_its_concepts_need() {
        let least = |concepts: &[Concept]| {
            let mut chance = Chance::new(0, 0);
            let plans = (0..200).map(|_| Plan::by_chance(concepts, &[], true, &mut chance).least());
            plans.min().unwrap()
        };
        assert_eq!(least(&[Concept::RepeatFromBeginning]), 1);
        assert_eq!(least(&[Concept::StartAndEndRepeat]), 2);
        assert_eq!(least(&[Concept::TwoEndings]), 3);
        assert_eq!(least(&[Concept::DaCapoAlFine]), 2);
        assert_eq!(least(&[Concept::DalSegnoAlCoda]), 4);
        assert_eq!(least(&[Concept::DaCapo, Concept::DalSegno]), 3);
    }
}

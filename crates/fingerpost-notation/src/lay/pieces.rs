//! Returns whose words name the piece that is played again.

use std::collections::{HashMap, HashSet};

use fingerpost::{Al, Fine, Landing, Marking, Place, Sign};

use super::jumps::{Found, landing};
use super::{Laying, number};
use crate::notices::Rule;
use crate::written::What;

impl Laying<'_> {
    /// "Menuetto da capo" goes to the beginning of the Menuetto and ends where it ends: before the trio, or at the first final barline
    /// after its beginning.
    pub(super) fn name_the_piece(&mut self, found: &mut Found<'_>) {
        let Some(jump) = found.jumps.iter_mut().find(|jump| jump.names_piece) else {
            return;
        };
        let mark = jump.mark;
        let jump_at = jump.measure;
        let begins = found
            .pieces
            .iter()
            .rfind(|piece| **piece < jump_at)
            .copied();
        let begins = begins.unwrap_or(1);
        if begins > 1 {
            // A score of several movements: its beginning is not that of the piece.
            let label = "the piece".to_owned();
            jump.da_capo = false;
            jump.segno = Some(label.clone());
            let landing = Landing { label: Some(label) };
            self.laid.push((
                Marking::new(Sign::Segno(landing), Place::at(begins)),
                mark.line,
            ));
            self.notice(
                Rule::PieceImplied,
                mark,
                "the words name the piece that is played again",
                format!("it begins in measure {begins}, where its name stands; the D.C. was read as a D.S. to there"),
            );
        }
        if !found.fines.is_empty() || jump.back.al.is_some() {
            return;
        }
        let final_bar = self.written.marks.iter().find(|mark| {
            let is_final = matches!(mark.what, What::DoubleBar { is_final: true });
            is_final && number(mark) < jump_at && number(mark) >= begins
        });
        let end = found
            .trio
            .filter(|trio| *trio > begins && *trio <= jump_at)
            .map(|trio| trio - 1)
            .or(final_bar.and_then(super::leaving))
            .or_else(|| self.second_of_four(begins, jump_at));
        let message = "the words name the piece that is played again; no Fine says where it ends";
        let Some(end) = end else {
            self.notice(
                Rule::FineImplied,
                mark,
                message,
                "it was read to the end of the score; write Fine where the piece ends",
            );
            return;
        };
        jump.back.al = Some(Al::Fine);
        let has_coda = found.codas.iter().any(|(mark, _)| landing(mark) > jump_at);
        jump.back.then_coda |= has_coda && found.to_codas.is_empty();
        let fine = Marking::new(Sign::Fine(Fine::default()), Place::at(end));
        self.laid.push((fine, mark.line));
        self.notice(
            Rule::FineImplied,
            mark,
            message,
            format!("a Fine was laid at the end of measure {end}; write it there if that is meant"),
        );
    }

    /// The end of the second of the repeated strains between two measures, when there are four: a piece and its middle piece have two each.
    fn second_of_four(&self, first: u16, last: u16) -> Option<u16> {
        let ends_of = Endings::of(self.laid.iter().map(|(marking, _)| marking));
        let ends = self.ends.range(first..=last);
        let mut ends: Vec<u16> = ends.map(|end| ends_of.from(*end)).collect();
        ends.dedup();
        match ends.as_slice() {
            [_, second, _, _] => Some(*second),
            _ => None,
        }
    }
}

/// Endings one behind the other.
struct Endings {
    /// Where each ends.
    last: HashSet<u16>,
    /// Where the last of those ends that begin one behind the other at a measure.
    chained: HashMap<u16, u16>,
}

impl Endings {
    fn of<'m>(markings: impl Iterator<Item = &'m Marking>) -> Endings {
        let endings = markings.filter(|marking| matches!(marking.sign(), Sign::Ending(_)));
        let mut places: Vec<Place> = endings.map(Marking::place).collect();
        // From the right, so that what follows an ending is known; of several at one place the first counts.
        places.sort_by_key(|place| place.first());
        places.dedup_by_key(|place| place.first());
        let mut chained = HashMap::new();
        for place in places.iter().rev() {
            let after = place.last().saturating_add(1);
            let end = chained.get(&after).copied().unwrap_or(place.last());
            chained.insert(place.first(), end);
        }
        let last = places.iter().map(|place| place.last()).collect();
        Endings { last, chained }
    }

    /// Where the last of the endings ends that follow the one at whose end an end repeat stands.
    fn from(&self, end: u16) -> u16 {
        let next = self.chained.get(&end.saturating_add(1));
        let next = next.filter(|_| self.last.contains(&end));
        next.copied().unwrap_or(end)
    }
}

//! Where a road comes to its end, and whether nothing is left out there.

use super::last::Came;
use super::numbered::{Signs, numbers};
use super::order::Make;
use super::road::Roads;
use super::search::Ended;
use super::stand::{Stand, between};

impl Roads<'_, '_> {
    /// Whether the road comes to its end where a sign is obeyed: at a Fine, or at a segno at which it is left, when it does not go on to a coda.
    pub(super) fn ends(&self, stand: &Stand, number: u8) -> bool {
        let bit: Signs = 1 << number;
        (self.hand.jumps | self.hand.to_codas) & bit == 0
            && self.coda_after(stand, number).is_none()
    }

    /// The coda to which the road goes on from a Fine, or from a segno at which it is left; none where that is the end. A Fine that names its
    /// arrivals is the end.
    pub(super) fn coda_after(&self, stand: &Stand, number: u8) -> Option<u8> {
        let [counted, ..] = self.hand.turns(0).counted;
        stand.goes_on_to.filter(|_| counted & 1 << number == 0)
    }

    /// Whether all signs are laid, but for these, and all returns and end repeats have been obeyed.
    pub(super) fn leaves_nothing_but(&self, stand: &Stand, these: Signs) -> bool {
        self.hand.loose & !stand.laid & !these == 0
            && self.hand.jumps & !stand.obeyed == 0
            && stand.made == self.shape.ends
    }

    /// Whether the road comes to its end where a sign is laid, with others in the hand or not obeyed.
    pub(super) fn ends_too_early(&self, stand: &Stand, number: u8) -> bool {
        !self.leaves_nothing_but(stand, 1 << number) && self.ends(stand, number)
    }

    /// The road has come to its end: tells of the order when nothing is left out.
    pub(super) fn end(&mut self, stand: &Stand) -> Ended {
        if self.is_trial {
            self.came = Some(Came {
                played: stand.played,
                made: stand.made,
                obeyed: stand.obeyed,
            });
            Ended::All
        } else if self.is_whole(stand) {
            self.tell_of(stand)
        } else {
            Ended::All
        }
    }

    /// Whether nothing is left out.
    fn is_whole(&self, stand: &Stand) -> bool {
        self.is_played(stand) && self.is_allowed(stand)
    }

    /// Whether all signs are laid and have been obeyed, and all measures played.
    pub(super) fn is_played(&self, stand: &Stand) -> bool {
        self.leaves_nothing_but(stand, 0) && stand.played == between(0, stand.length)
    }

    /// Tells of the order in which all signs are laid.
    pub(super) fn tell_of(&mut self, stand: &Stand) -> Ended {
        let (loose, shaped) = (self.hand.loose | self.shape.returns, self.order);
        self.tell(&|| stand.order(shaped, loose), stand.length)
    }

    /// Tells of the order in which one more sign is laid, at the end of a part or inside it.
    pub(super) fn tell_with(
        &mut self,
        stand: &Stand,
        number: u8,
        part: u8,
        is_inside: bool,
    ) -> Ended {
        let (loose, shaped) = (self.hand.loose | self.shape.returns, self.order);
        let make = || {
            let mut with = *stand;
            if is_inside {
                with.part_at(part);
            }
            with.lay(number, part + 1);
            with.order(shaped, loose)
        };
        self.tell(&make, stand.length + u8::from(is_inside))
    }

    /// Tells of an order on so many measures.
    pub(super) fn tell(&mut self, make: Make<'_>, measures: u8) -> Ended {
        self.work.share(|| {
            if (self.found)(make, measures) {
                Ended::All
            } else {
                Ended::Enough
            }
        })
    }

    /// Whether the signs may stand where they do, whatever the road has come to.
    pub(super) fn is_allowed(&self, stand: &Stand) -> bool {
        self.is_come_back_to(stand) && self.goes_on_to_codas(stand)
    }

    /// Whether each coda to which a return goes on from a Fine or a segno stands behind that (rulebook 10.13).
    fn goes_on_to_codas(&self, stand: &Stand) -> bool {
        numbers(self.hand.jumps).all(|jump| {
            let Some(coda) = self.hand.goes_on_to(jump) else {
                return true;
            };
            let coda = stand.at.get(coda);
            match self.hand.until(jump) {
                Some(segno) => stand.at.get(segno) < coda,
                None => self.first_fine(stand, jump).is_none_or(|it| it <= coda),
            }
        })
    }

    /// The barline of the first Fine that a return can come to and that does not name its arrivals. A repeat into which a D.S. leads may go back
    /// to its start first.
    fn first_fine(&self, stand: &Stand, jump: u8) -> Option<u8> {
        let lands = self.hand.leads_to(jump).map_or(0, |it| stand.at.get(it));
        let block = self.block(stand.parts.get(lands));
        let section = numbers(block.map_or(0, |it| it.around)).last();
        let section = section.and_then(|it| self.shape.sections.get(usize::from(it)));
        let from = section.map_or(lands, |own| stand.first.get(own.start));
        let [fines, ..] = self.hand.turns(0).others;
        let fines = numbers(fines).map(|fine| stand.at.get(fine));
        fines.filter(|&fine| fine > from).min()
    }

    /// Whether a return leads over each section that has nothing else to play it on another pass.
    fn is_come_back_to(&self, stand: &Stand) -> bool {
        let block = |part: u8| stand.parts.get(part).block;
        // cannot fail: all jumps are laid when this is asked, and none stands at the beginning.
        let mut alone = self.shape.sections.iter().filter(|own| own.is_alone);
        alone.all(|own| {
            numbers(self.hand.jumps).any(|jump| {
                let to = self.hand.leads_to(jump).map_or(0, |it| stand.at.get(it));
                own.start <= block(stand.at.get(jump) - 1) && block(to) <= own.end
            })
        })
    }
}

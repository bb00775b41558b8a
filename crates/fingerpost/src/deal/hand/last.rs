//! The last sign of a hand, where it is a return that leads back once: what the road comes to behind it hangs on how far the sections have come,
//! and how often the signs have been come to that name their arrivals, and not on where in between it stands. So that is asked once for
//! many places.

use super::numbered::{Signs, later, numbers};
use super::road::{Next, Roads};
use super::search::Ended;
use super::stand::{Reached, Stand, between};

/// What has been played, made and obeyed when the road has come to its end.
#[derive(Clone, Copy)]
pub(super) struct Came {
    pub(super) played: u32,
    pub(super) made: u32,
    pub(super) obeyed: Signs,
}

/// What the road comes to behind the last sign.
#[derive(Clone, Copy)]
pub(super) struct Rest {
    /// The passes reached before it, and how often the signs that name their times have been come to, all together: in one leg none of these
    /// numbers falls, so that they are the same when their sum is.
    reached: Reached,
    arrived: u32,
    /// Nothing when it comes to no end that is allowed.
    came: Option<Came>,
}

impl Roads<'_, '_> {
    /// Lays the last sign at the end of a part or inside it, when it is a return that leads back no more than once; nothing when it is not.
    pub(super) fn lay_last(
        &mut self,
        stand: &mut Stand,
        number: u8,
        part: u8,
        is_inside: bool,
    ) -> Option<Ended> {
        let bit: Signs = 1 << number;
        let is_last = self.hand.loose & !stand.laid == bit && self.hand.jumps & bit != 0;
        if !is_last || !self.leads_back_once(stand, number, part, is_inside) {
            return None;
        }
        let landing = self.hand.leads_to(number).map(|it| stand.at.get(it));
        if landing.is_some_and(|landing| landing > part) {
            return Some(Ended::All);
        }
        let came = match self.rest_behind(stand, number, landing) {
            Ok(Some(came)) => came,
            Ok(None) => return Some(Ended::All),
            Err(ended) => return Some(ended),
        };
        let is_whole = (stand.played | came.played) == between(0, stand.length)
            && stand.made | came.made == self.shape.ends
            && self.hand.jumps & !(stand.obeyed | came.obeyed) == 0;
        // It is laid on a copy only, but whether it leads over a section is asked of where it stands.
        *stand.at.of(number) = part + 1;
        if !is_whole || !self.is_allowed(stand) {
            return Some(Ended::All);
        }
        if !self.work.spend() {
            return Some(Ended::TooMany);
        }
        Some(self.tell_with(stand, number, part, is_inside))
    }

    /// Whether a return that is obeyed now is obeyed no more.
    fn leads_back_once(&self, stand: &Stand, number: u8, part: u8, is_inside: bool) -> bool {
        let Some(named) = self.hand.times(number) else {
            return true;
        };
        let here = stand.parts.get(part);
        let around = self.block(here).map_or(0, |block| block.around);
        if self.hand.turns(around).any_counted & 1 << number == 0 {
            return named & !(1 << stand.counts.innermost(around)) == 0;
        }
        let arrival = here.arrived.saturating_add(u8::from(is_inside));
        later(named, arrival) == 0
    }

    /// What the road comes to behind the last sign.
    fn rest_behind(
        &mut self,
        stand: &Stand,
        number: u8,
        landing: Option<u8>,
    ) -> Result<Option<Came>, Ended> {
        let arrived = numbers(stand.laid & self.hand.with_times & !stand.spent).map(|number| {
            let before = stand.at.get(number).saturating_sub(1);
            u32::from(stand.parts.get(before).arrived)
        });
        let arrived = arrived.sum();
        let known = self.rest.as_ref();
        let known = known.filter(|it| it.reached == stand.counts.reached && it.arrived == arrived);
        if let Some(known) = known {
            return Ok(known.came);
        }
        let Some(jump) = self.hand.jump(number) else {
            return Ok(None);
        };
        let bit: Signs = 1 << number;
        let mut behind = *stand;
        behind.laid |= bit;
        behind.obeyed |= bit;
        behind.spent |= bit;
        self.begin_leg(&mut behind, number, jump);
        self.came = None;
        self.is_trial = true;
        let ended = if !self.lands && self.is_played(&behind) {
            self.end(&behind)
        } else {
            self.follow(&mut behind, landing.map_or(Next::Back(0), Next::Landing))
        };
        self.is_trial = false;
        if ended != Ended::All {
            return Err(ended);
        }
        let came = self.came.take();
        self.rest = Some(Rest {
            reached: stand.counts.reached,
            arrived,
            came,
        });
        Ok(came)
    }
}

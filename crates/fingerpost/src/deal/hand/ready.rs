//! What is made ready of a shape before roads are followed over it: the same for all returns at the ends of its endings.

use super::legs::{Legs, are_short};
use super::numbered::Numbered;
use super::quietly::OnPasses;
use super::shape::Shape;
use super::vain::Outermost;

/// What is made ready of the shape that was met last, for one hand.
#[derive(Default)]
pub(super) struct Ready {
    of: Shape,
    /// Its sections that lie in no other, and its endings in which no other lies.
    pub(super) outermost: Outermost,
    /// What each pass of its sections is like.
    pub(super) on_passes: OnPasses,
    /// The legs over it that are known, and whether roads are followed by them.
    pub(super) legs: Legs,
    pub(super) has_legs: bool,
}

impl Ready {
    /// Makes ready for a shape.
    pub(super) fn make(&mut self, hand: &Numbered<'_>, shape: &Shape) {
        // Without returns each shape is met once, and legs and what lies outermost are not asked for.
        if hand.jumps == 0 {
            if hand.loose != 0 {
                self.on_passes.make(shape);
            }
            return;
        }
        if self.of.is_walked_like(shape) {
            return;
        }
        self.of.become_like(shape);
        self.outermost = Outermost::of(shape);
        self.legs.forget(shape);
        self.has_legs = hand.has_few_returns_to_beginning() && are_short(shape);
        // With one sign to lay, or none, all is known by legs.
        if !self.has_legs || hand.loose.count_ones() > 1 {
            self.on_passes.make(shape);
        }
    }
}

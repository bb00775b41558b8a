//! What is made ready of a shape before roads are followed over it: the same for all returns at the ends of its endings.

use super::legs::{Legs, are_short};
use super::numbered::Numbered;
use super::quietly::OnPasses;
use super::shape::Shape;
use super::vain::Outermost;

/// What is made ready of the shape that was met last.
#[derive(Default)]
pub(super) struct Ready {
    of: Option<Shape>,
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
        if self.of.as_ref().is_some_and(|of| of.is_walked_like(shape)) {
            return;
        }
        match &mut self.of {
            Some(of) => of.clone_from(shape),
            None => self.of = Some(shape.clone()),
        }
        self.outermost = Outermost::of(shape);
        self.on_passes.make(shape);
        self.legs.forget(shape);
        self.has_legs = hand.has_few_returns_to_beginning() && are_short(shape);
    }
}

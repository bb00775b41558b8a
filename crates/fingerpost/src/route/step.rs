//! One step of a route and everything it carries. Rulebook, chapter 7.

use crate::board::{Fraction, Sign};

/// One measure, or one part of a cut measure, played once.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Step {
    /// The measure, counted from 1 in written order.
    pub measure: u16,
    /// The part of the measure, when a marking cuts it; absent for a whole measure.
    pub part: Option<Part>,
    /// Which time through the innermost section that holds it, from 1; 1 in no section.
    pub pass: u32,
    /// The passes of the sections around that one, outermost first.
    pub enclosing: Enclosing,
    /// Which trip: 1 from the start, one more after each obeyed D.C. or D.S.
    pub leg: u32,
    /// How many times this measure (this part of it) has sounded, this time included.
    pub visit: u64,
    /// The shift of each hand, in octaves.
    pub octave: Octaves,
    /// The hands that hold a fermata.
    pub hold: Held,
    /// The hands that play.
    pub hands: Held,
    /// How the route came here.
    pub cause: Cause,
    /// The marking that sent it here: its index in the board.
    pub marking: Option<u32>,
}

impl Step {
    /// A step of which nothing is known yet.
    pub(crate) const PLAIN: Step = Step {
        measure: 0,
        part: None,
        pass: 1,
        enclosing: Enclosing { passes: [0; 8] },
        leg: 1,
        visit: 0,
        octave: Octaves { right: 0, left: 0 },
        hold: Held::None,
        hands: Held::Both,
        cause: Cause::On,
        marking: None,
    };
}

/// The part of a cut measure that a step plays, in fractions of a whole note from the measure's start.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Part {
    /// Where it begins.
    pub from: Fraction,
    /// Where it ends.
    pub to: Fraction,
}

/// The passes of the sections around the innermost one, outermost first; at most seven, since sections nest at most eight deep.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
pub struct Enclosing {
    // INVARIANT: the passes stand first, then zeros; a pass is at least 1. Eight places, of which seven are used: a round size copies faster.
    passes: [u32; 8],
}

impl Enclosing {
    /// The passes, outermost first.
    pub fn as_slice(&self) -> &[u32] {
        let count = self.passes.iter().take_while(|&&pass| pass > 0).count();
        self.passes.get(..count).unwrap_or_default()
    }

    pub(crate) fn push(&mut self, pass: u32) {
        if let Some(slot) = self.passes.iter_mut().find(|slot| **slot == 0) {
            *slot = pass;
        }
    }
}

impl std::fmt::Debug for Enclosing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.as_slice().fmt(f)
    }
}

/// The octave shift of each hand, in octaves; higher is positive.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Octaves {
    /// The right hand.
    pub right: i8,
    /// The left hand.
    pub left: i8,
}

/// Which hands something concerns at a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Held {
    /// Both hands.
    Both,
    /// The right hand.
    Right,
    /// The left hand.
    Left,
    /// Neither.
    None,
}

impl Held {
    /// From one answer a hand.
    pub fn from_hands(right: bool, left: bool) -> Held {
        match (right, left) {
            (true, true) => Held::Both,
            (true, false) => Held::Right,
            (false, true) => Held::Left,
            (false, false) => Held::None,
        }
    }
}

/// How a route came to a step.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Cause {
    /// The route begins here.
    Start,
    /// On from the measure before.
    On,
    /// On past an ending that is not played on this pass; the marking is the first ending passed over.
    PastEnding,
    /// Back by an end repeat; the marking is that end repeat.
    Repeat,
    /// Back to the beginning by a D.C.; the marking is that D.C.
    DaCapo,
    /// Back to a segno by a D.S.; the marking is that D.S.
    DalSegno,
    /// On to a coda; the marking is the To Coda, or for "then coda" the Fine or segno from which the road goes on to it.
    ToCoda,
}

impl Cause {
    /// The clause of the rulebook by which a route comes to a step in this way, sent by this sign if by any: on to a coda a To Coda leads by
    /// another clause than a Fine or a segno with "then coda".
    ///
    /// ```
    /// use fingerpost::{Cause, Sign};
    /// assert_eq!(Cause::Repeat.clause(Some(&Sign::from_line(":|")?)), "3.2");
    /// assert_eq!(Cause::ToCoda.clause(Some(&Sign::from_line("Fine")?)), "4.7");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn clause(self, sign: Option<&Sign>) -> &'static str {
        match self {
            Cause::Start => "3.1",
            Cause::Repeat => "3.2",
            Cause::ToCoda if matches!(sign, Some(Sign::Fine(_) | Sign::Segno(_))) => "4.7",
            Cause::ToCoda => "3.4",
            Cause::DaCapo | Cause::DalSegno => "3.5",
            Cause::On | Cause::PastEnding => "3.6",
        }
    }

    /// Its name, as answers write it.
    pub fn name(self) -> &'static str {
        match self {
            Cause::Start => "start",
            Cause::On => "on",
            Cause::PastEnding => "past-ending",
            Cause::Repeat => "repeat",
            Cause::DaCapo => "da-capo",
            Cause::DalSegno => "dal-segno",
            Cause::ToCoda => "to-coda",
        }
    }
}

//! Lines that go from one measure to another (ties, slurs, octave lines …), followed in the order in which the measures are played.
//!
//! At a jump a line goes on where the file lets one of its kind come into the measure that is played next, as a tie into a second ending
//! does. Where it cannot go on, a line over the staff is closed, and begun anew where the road comes into the middle of one; a line
//! between notes is left out.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::ops::Range;

/// What kind of line it is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) enum Kind {
    /// What is heard of a tie, and what is drawn of it.
    Tie,
    Tied,
    Slur,
    Glissando,
    Slide,
    WavyLine,
    OctaveShift,
    Wedge,
    Pedal,
    Bracket,
    Dashes,
    MeasureRepeat,
    BeatRepeat,
    Slash,
    MultipleRest,
}

impl Kind {
    pub(super) fn of(name: &str) -> Option<Kind> {
        Some(match name {
            "tie" => Kind::Tie,
            "tied" => Kind::Tied,
            "slur" => Kind::Slur,
            "glissando" => Kind::Glissando,
            "slide" => Kind::Slide,
            "wavy-line" => Kind::WavyLine,
            "octave-shift" => Kind::OctaveShift,
            "wedge" => Kind::Wedge,
            "pedal" => Kind::Pedal,
            "bracket" => Kind::Bracket,
            "dashes" => Kind::Dashes,
            "measure-repeat" => Kind::MeasureRepeat,
            "beat-repeat" => Kind::BeatRepeat,
            "slash" => Kind::Slash,
            "multiple-rest" => Kind::MultipleRest,
            _ => return None,
        })
    }

    /// As the format names it.
    pub(super) fn element(self) -> &'static str {
        match self {
            Kind::Tie => "tie",
            Kind::Tied => "tied",
            Kind::Slur => "slur",
            Kind::Glissando => "glissando",
            Kind::Slide => "slide",
            Kind::WavyLine => "wavy-line",
            Kind::OctaveShift => "octave-shift",
            Kind::Wedge => "wedge",
            Kind::Pedal => "pedal",
            Kind::Bracket => "bracket",
            Kind::Dashes => "dashes",
            Kind::MeasureRepeat => "measure-repeat",
            Kind::BeatRepeat => "beat-repeat",
            Kind::Slash => "slash",
            Kind::MultipleRest => "multiple-rest",
        }
    }

    /// As a musician names it, with its article.
    pub(super) fn name(self) -> &'static str {
        match self {
            Kind::Tie | Kind::Tied => "a tie",
            Kind::Slur => "a slur",
            Kind::Glissando => "a glissando",
            Kind::Slide => "a slide",
            Kind::WavyLine => "a wavy line",
            Kind::OctaveShift => "an octave line",
            Kind::Wedge => "a hairpin",
            Kind::Pedal => "a pedal line",
            Kind::Bracket => "a bracket",
            Kind::Dashes => "a dashed line",
            Kind::MeasureRepeat => "a measure repeat sign",
            Kind::BeatRepeat => "a beat repeat sign",
            Kind::Slash => "slash notation",
            Kind::MultipleRest => "a rest of several measures",
        }
    }

    /// Drawn over the staff from place to place: it can be ended and begun anywhere.
    pub(super) fn is_over_staff(self) -> bool {
        matches!(
            self,
            Kind::OctaveShift | Kind::Wedge | Kind::Pedal | Kind::Bracket | Kind::Dashes
        )
    }

    /// A way of writing measures short, which reaches back to the measure before.
    pub(super) fn is_style(self) -> bool {
        matches!(self, Kind::MeasureRepeat | Kind::BeatRepeat | Kind::Slash)
    }

    fn is_tie(self) -> bool {
        matches!(self, Kind::Tie | Kind::Tied)
    }
}

/// What happens to a line at an event.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Role {
    Start,
    Continue,
    Stop,
    /// A rest written over so many measures.
    Rest(u32),
}

/// Something written about a line.
#[derive(Clone, Debug)]
pub(super) struct Event {
    pub(super) kind: Kind,
    /// Which of the lines of its kind, by number, voice, staff or pitch; and all those that may be meant by it.
    pub(super) key: u32,
    pub(super) alike: u32,
    pub(super) role: Role,
    pub(super) unit: u32,
    /// The element.
    pub(super) range: Range<usize>,
    /// Where the file says for which staff it is; empty where it does not.
    pub(super) staff: Range<usize>,
    /// The list of passes on which alone it is there.
    pub(super) only: Option<u32>,
}

/// One measure, or part of one, played.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Played {
    pub(super) unit: u32,
    pub(super) pass: u32,
    pub(super) again: bool,
}

/// What becomes of the lines in the order that is played; each list in that order.
#[derive(Default, Debug)]
pub(super) struct Followed {
    /// Events that are left out, by step.
    pub(super) broken: Vec<(u32, u32)>,
    /// Lines that are ended at the end of a step, by the event where they began.
    pub(super) closed: Vec<(u32, u32)>,
    /// Lines that are begun at the start of a step.
    pub(super) opened: Vec<(u32, u32)>,
}

/// The events of one part, in the order of the file.
pub(super) struct Lines<'e> {
    events: &'e [Event],
    /// For each unit its events.
    of_unit: Vec<Range<usize>>,
    /// For each line its events.
    of_key: HashMap<u32, Vec<u32>>,
    /// The lines that may be meant by one that is ended.
    of_alike: HashMap<u32, Vec<u32>>,
    /// The lines over the staff.
    over_staff: Vec<u32>,
    /// The beginnings of the lines that the file ends.
    ended: HashSet<u32>,
}

impl<'e> Lines<'e> {
    pub(super) fn new(events: &'e [Event], units: usize) -> Lines<'e> {
        let mut of_unit = vec![0..0; units];
        let mut of_key: HashMap<u32, Vec<u32>> = HashMap::new();
        let mut of_alike: HashMap<u32, Vec<u32>> = HashMap::new();
        let mut over_staff = Vec::new();
        for (index, event) in (0_u32..).zip(events) {
            if let Some(range) = of_unit.get_mut(event.unit as usize) {
                if range.start == range.end {
                    *range = index as usize..index as usize;
                }
                range.end = index as usize + 1;
            }
            let of_line = of_key.entry(event.key).or_default();
            if of_line.is_empty() {
                of_alike.entry(event.alike).or_default().push(event.key);
                if event.kind.is_over_staff() {
                    over_staff.push(event.key);
                }
            }
            of_line.push(index);
        }
        let mut ended = HashSet::new();
        for of_line in of_key.values() {
            let mut ends = false;
            for index in of_line.iter().rev() {
                match events.get(*index as usize).map(|event| event.role) {
                    Some(Role::Stop) => ends = true,
                    Some(Role::Start) if std::mem::take(&mut ends) => {
                        ended.insert(*index);
                    }
                    _ => {}
                }
            }
        }
        Lines {
            events,
            of_unit,
            of_key,
            of_alike,
            over_staff,
            ended,
        }
    }

    fn event(&self, index: u32) -> Option<&'e Event> {
        self.events.get(index as usize)
    }

    /// The next event of a line from the start of a unit on, and the one before it.
    fn around(&self, key: u32, unit: u32) -> (Option<u32>, Option<u32>) {
        let Some(of_line) = self.of_key.get(&key) else {
            return (None, None);
        };
        let at =
            of_line.partition_point(|event| self.event(*event).is_some_and(|it| it.unit < unit));
        let before = at.checked_sub(1).and_then(|before| of_line.get(before));
        (before.copied(), of_line.get(at).copied())
    }

    /// Whether a line of this kind comes into a unit from before, as the file is written.
    fn comes_into(&self, event: &Event, unit: u32) -> bool {
        if event.kind.is_tie() {
            let range = self.of_unit.get(unit as usize).cloned().unwrap_or(0..0);
            let here = self.events.get(range).unwrap_or_default();
            let own = here.iter().find(|it| it.key == event.key);
            let first = own.or_else(|| here.iter().find(|it| it.alike == event.alike));
            return first.is_some_and(|it| it.role == Role::Stop);
        }
        if event.kind.is_style() {
            return false;
        }
        let next = self
            .around(event.key, unit)
            .1
            .and_then(|next| self.event(next));
        next.is_some_and(|next| matches!(next.role, Role::Stop | Role::Continue))
    }

    /// Follows the lines through the order that is played. `is_played` says whether something is there on a pass.
    pub(super) fn follow(
        &self,
        order: &[Played],
        is_played: impl Fn(u32, u32) -> bool,
    ) -> Followed {
        let mut followed = Followed::default();
        let mut open = Open::new();
        let mut before: Option<Played> = None;
        let mut ties = BTreeSet::new();
        let ends = run_ends(order);
        for ((step, played), run_end) in (0_u32..).zip(order).zip(ends) {
            let lands = before.is_none_or(|before| before.unit.checked_add(1) != Some(played.unit));
            if lands {
                self.jump(step, played.unit, &mut open, &mut followed);
            }
            let range = self
                .of_unit
                .get(played.unit as usize)
                .cloned()
                .unwrap_or(0..0);
            for index in range {
                let index = u32::try_from(index).unwrap_or(u32::MAX);
                let Some(event) = self.event(index) else {
                    continue;
                };
                if event.only.is_some_and(|only| !is_played(only, played.pass)) {
                    continue;
                }
                let now = Now {
                    step,
                    lands,
                    run_end,
                };
                self.meet(now, index, &mut open, &mut followed);
            }
            // A tie is taken up in the next measure or never.
            for key in &ties {
                if let Some(lines) = open.get_mut(key) {
                    lines.retain(|line| line.step == step);
                }
            }
            ties.retain(|key| open.get(key).is_some_and(|lines| !lines.is_empty()));
            let begun = self
                .of_unit
                .get(played.unit as usize)
                .cloned()
                .unwrap_or(0..0);
            let begun = self.events.get(begun).unwrap_or_default().iter();
            ties.extend(
                begun
                    .filter(|event| event.kind.is_tie() && event.role == Role::Start)
                    .map(|event| event.key),
            );
            before = Some(*played);
        }
        let last = u32::try_from(order.len())
            .unwrap_or(u32::MAX)
            .saturating_sub(1);
        for line in open.into_values().flatten() {
            self.end(last, line, &mut followed);
        }
        followed.broken.sort_unstable();
        followed.broken.dedup();
        followed.closed.sort_unstable();
        followed
    }

    fn meet(
        &self,
        Now {
            step,
            lands,
            run_end,
        }: Now,
        index: u32,
        open: &mut Open,
        followed: &mut Followed,
    ) {
        let Some(event) = self.event(index) else {
            return;
        };
        let lines = open.entry(event.key).or_default();
        match event.role {
            Role::Start => {
                lines.push(Line {
                    step,
                    start: index,
                    more: Vec::new(),
                });
            }
            Role::Continue => match lines.last_mut() {
                Some(line) => line.more.push((step, index)),
                None => followed.broken.push((step, index)),
            },
            Role::Stop => {
                if lines.pop().is_some() {
                    return;
                }
                let others = self
                    .of_alike
                    .get(&event.alike)
                    .map_or(&[][..], Vec::as_slice);
                let other = others
                    .iter()
                    .find(|key| open.get(key).is_some_and(|lines| !lines.is_empty()));
                let ended = other.and_then(|key| open.get_mut(key)).and_then(Vec::pop);
                // One that the file itself does not begin is left as it is.
                if ended.is_none() && (lands || self.begins_in_file(event, index)) {
                    followed.broken.push((step, index));
                }
            }
            Role::Rest(measures) => {
                if run_end - step < measures.saturating_sub(1) {
                    followed.broken.push((step, index));
                }
            }
        }
    }

    /// The road goes on at another measure than the one that is written next.
    fn jump(&self, step: u32, unit: u32, open: &mut Open, followed: &mut Followed) {
        if step > 0 {
            let keys: Vec<u32> = open.keys().copied().collect();
            for key in keys {
                let Some(lines) = open.remove(&key) else {
                    continue;
                };
                let goes_on = lines.first().and_then(|line| self.event(line.start));
                if goes_on.is_some_and(|event| self.comes_into(event, unit)) {
                    open.insert(key, lines);
                } else {
                    for line in lines {
                        self.end(step - 1, line, followed);
                    }
                }
            }
        }
        for key in &self.over_staff {
            let (before, next) = self.around(*key, unit);
            let (Some(before), Some(next)) = (before, next) else {
                continue;
            };
            let role = |index| self.event(index).map(|event| event.role);
            let goes = matches!(role(before), Some(Role::Start | Role::Continue));
            let comes = matches!(role(next), Some(Role::Stop | Role::Continue));
            let known = open.get(key).is_some_and(|lines| !lines.is_empty());
            if goes && comes && !known {
                if let Some(start) = self.start_of(*key, before) {
                    followed.opened.push((step, start));
                    open.insert(
                        *key,
                        vec![Line {
                            step,
                            start,
                            more: Vec::new(),
                        }],
                    );
                }
            }
        }
    }

    /// Where the line that goes through an event began.
    fn start_of(&self, key: u32, event: u32) -> Option<u32> {
        let of_line = self.of_key.get(&key)?;
        let up_to = of_line.partition_point(|index| *index <= event);
        let started = of_line.get(..up_to)?.iter().rev();
        started
            .copied()
            .find(|index| self.event(*index).is_some_and(|it| it.role == Role::Start))
    }

    /// Whether the file itself begins the line that this ends; of a tie that is known by its place.
    fn begins_in_file(&self, event: &Event, index: u32) -> bool {
        let of_line = self.of_key.get(&event.key).map_or(&[][..], Vec::as_slice);
        let at = of_line.partition_point(|known| *known < index);
        let before = at.checked_sub(1).and_then(|before| of_line.get(before));
        let before = before.and_then(|before| self.event(*before));
        !event.kind.is_tie() && before.is_some_and(|before| before.role != Role::Stop)
    }

    /// Whether the file itself ends the line that this begins.
    fn ends_in_file(&self, event: &Event, index: u32) -> bool {
        event.kind.is_tie() || self.ended.contains(&index)
    }

    /// A line ends with a step, where nothing of the file ends it.
    fn end(&self, step: u32, line: Line, followed: &mut Followed) {
        let Some(event) = self.event(line.start) else {
            return;
        };
        if !self.ends_in_file(event, line.start) {
            return;
        }
        if event.kind.is_over_staff() || event.kind.is_style() {
            followed.closed.push((step, line.start));
        } else {
            followed.broken.push((line.step, line.start));
            followed.broken.extend(line.more);
        }
    }
}

/// For each step the last one up to which the measures follow each other as they are written.
fn run_ends(order: &[Played]) -> Vec<u32> {
    let mut ends = Vec::with_capacity(order.len());
    let mut end = 0;
    let mut after: Option<Played> = None;
    for (step, played) in (0_u32..).zip(order).collect::<Vec<_>>().into_iter().rev() {
        if after.is_none_or(|after| played.unit.checked_add(1) != Some(after.unit)) {
            end = step;
        }
        after = Some(*played);
        ends.push(end);
    }
    ends.reverse();
    ends
}

/// The lines that are open, by their keys.
type Open = BTreeMap<u32, Vec<Line>>;

/// A moment of the order: the step, whether the road lands there, and the last step up to which it goes straight on.
#[derive(Clone, Copy)]
struct Now {
    step: u32,
    lands: bool,
    run_end: u32,
}

/// A line that has begun.
struct Line {
    step: u32,
    start: u32,
    more: Vec<(u32, u32)>,
}

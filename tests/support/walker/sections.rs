//! The sections of a road under one pair of answers about lone end repeats and nested start repeats. From the chapter "sections".

use fingerpost::{LoneEndRepeat, Nested, Plays, Repeats, Sign};

use super::road::Road;

/// The sections of a road.
pub(super) struct Sections {
    pub(super) list: Vec<Section>,
    /// For each part, the sections that hold it, outermost first.
    pub(super) around: Vec<Vec<usize>>,
    /// For each part, the ending over it.
    pub(super) ending_over: Vec<Option<usize>>,
    /// For each mark that is an end repeat or an ending, its section.
    pub(super) section_of: Vec<Option<usize>>,
}

/// What one repeat encloses.
#[derive(Default)]
pub(super) struct Section {
    pub(super) first: usize,
    pub(super) last: usize,
    /// Its end repeats, with the part at whose end they stand.
    pub(super) ends: Vec<(usize, usize)>,
    /// Its endings, in the order of the road.
    pub(super) endings: Vec<usize>,
    /// The endings that close it.
    pub(super) closing: Vec<usize>,
    /// How many passes it has, but for a section that is open: that one has at least so many.
    pub(super) top: u32,
    /// Whether it is played until a signal.
    pub(super) open: bool,
    /// Whether an ending that is not the last is closed by a jump in place of an end repeat.
    pub(super) jump_closed: bool,
    /// What its end repeats say about the return.
    pub(super) on_return: Option<Repeats>,
    /// Whether its end repeats contradict each other about the return.
    pub(super) contradicts: bool,
}

impl Section {
    pub(super) fn holds(&self, part: usize) -> bool {
        self.first <= part && part <= self.last
    }

    /// Whether another section lies within it.
    pub(super) fn encloses(&self, other: &Section) -> bool {
        self.first <= other.first && other.last <= self.last
    }

    /// The number of passes when an open section is played so many times.
    pub(super) fn passes(&self, open_plays: u32) -> u32 {
        if self.open {
            self.top.max(open_plays)
        } else {
            self.top
        }
    }
}

impl Sections {
    /// Whether the route needs a number of plays.
    pub(super) fn some_open(&self) -> bool {
        self.list.iter().any(|section| section.open)
    }
}

/// Scans the road from left to right; at each part first what lands at its start, then what leaves at its end.
pub(super) fn scan(road: &Road, lone: LoneEndRepeat, nested: Nested) -> Sections {
    let mut scan = Scan {
        road,
        lone,
        found: Vec::new(),
        open: Vec::new(),
        closed_before: None,
        section_of: vec![None; road.marks.len()],
    };
    for part in 0..road.parts.len() {
        scan.land(part, nested);
        scan.leave(part);
    }
    // At the end of the board an open section with endings ends after its last ending; one without is no section at all.
    scan.finish()
}

struct Scan<'r, 'b> {
    road: &'r Road<'b>,
    lone: LoneEndRepeat,
    found: Vec<Section>,
    /// The open sections, innermost last.
    open: Vec<usize>,
    /// The section that an end repeat at the end of the part just before has closed.
    closed_before: Option<usize>,
    section_of: Vec<Option<usize>>,
}

impl Scan<'_, '_> {
    fn land(&mut self, part: usize, nested: Nested) {
        let closed_before = self.closed_before.take();
        let grouping = self.grouping(part);
        let here = &self.road.parts[part].lands;
        // Two start repeats at one place are one: the road keeps one of them only.
        let starts = |&id: &usize| matches!(self.road.marks[id].sign, Sign::StartRepeat);
        if here.iter().any(starts) {
            // In the flat reading a start repeat replaces those before it. A section that has endings is one all the same, and ends after them.
            if nested == Nested::Flat {
                self.open.clear();
            }
            self.open_at(part);
        }
        for &id in here {
            if self.road.marks[id].passes().is_none() {
                continue;
            }
            // An ending belongs to the section closed at the barline just before it or whose closing group goes up to there, even
            // where a section around it is still open; else to the innermost open one; else to a new one whose start is implied.
            let section = match (closed_before.or(grouping), self.open.last()) {
                (Some(closed), _) => closed,
                (None, Some(&innermost)) => innermost,
                (None, None) => {
                    let start = self.implied_start(part);
                    self.open_at(start)
                }
            };
            self.found[section].endings.push(id);
            self.section_of[id] = Some(section);
        }
    }

    fn leave(&mut self, part: usize) {
        let Some(first_end) = self.road.end_repeat(part) else {
            return;
        };
        let ending = self.road.endings().find(|(_, mark, _)| mark.covers(part));
        let section = if let Some((id, ..)) = ending {
            // An end repeat inside an ending belongs to the section of that ending, and closes it.
            let section = self.section_of[id].expect("its ending has been met");
            self.open.retain(|&open| open != section);
            section
        } else if let Some(innermost) = self.open.pop() {
            innermost
        } else {
            let start = self.implied_start(part);
            let section = self.open_at(start);
            self.open.pop();
            section
        };
        self.found[section].ends.push((first_end, part));
        for &id in &self.road.parts[part].leaves {
            if let Sign::EndRepeat(end) = self.road.marks[id].sign {
                self.section_of[id] = Some(section);
                let section = &mut self.found[section];
                // An end repeat that says nothing about the return contradicts nobody.
                section.contradicts |=
                    matches!((section.on_return, end.on_return), (Some(a), Some(b)) if a != b);
                section.on_return = section.on_return.or(end.on_return);
            }
        }
        self.closed_before = Some(section);
    }

    /// The section that has been closed and has an ending, of the group that closed it, which ended with the part before this one.
    fn grouping(&self, part: usize) -> Option<usize> {
        (0..self.found.len()).find(|&id| {
            let section = &self.found[id];
            let reach = section
                .endings
                .iter()
                .map(|&e| self.road.marks[e].last)
                .max();
            !section.ends.is_empty() && reach.is_some_and(|last| last + 1 == part)
        })
    }

    fn open_at(&mut self, first: usize) -> usize {
        self.found.push(Section {
            first,
            ..Section::default()
        });
        self.open.push(self.found.len() - 1);
        self.found.len() - 1
    }

    /// Where a section without a start repeat begins, when an end repeat at the end of this part closes it or an ending at its start opens it.
    fn implied_start(&self, part: usize) -> usize {
        // The part after the end of the section before it: no section is open here, so all that are sections have been closed.
        let after_previous = self
            .found
            .iter()
            .filter_map(|section| self.end_of(section))
            .max()
            .map_or(0, |end| end + 1);
        match self.lone {
            LoneEndRepeat::AfterPreviousSection => after_previous,
            LoneEndRepeat::Beginning => 0,
            LoneEndRepeat::AfterDoubleBar => {
                // Only a double bar before this part counts, not one at its own end.
                let bars = (0..part).filter(|&p| self.road.parts[p].double_bar);
                bars.max().map_or(0, |bar| bar + 1).max(after_previous)
            }
        }
    }

    /// The last part of a section: that of its end repeat, or of its last ending when that comes later. None for what is no section.
    fn end_of(&self, section: &Section) -> Option<usize> {
        let ends = section.ends.iter().map(|&(_, part)| part).max();
        let endings = section.endings.iter().map(|&id| self.road.marks[id].last);
        ends.max(endings.max())
    }

    fn finish(mut self) -> Sections {
        let mut list = Vec::new();
        let mut renamed = vec![None; self.found.len()];
        for (old, mut section) in std::mem::take(&mut self.found).into_iter().enumerate() {
            if let Some(last) = self.end_of(&section) {
                section.last = last;
                self.count_passes(&mut section);
                renamed[old] = Some(list.len());
                list.push(section);
            }
        }
        for section in &mut self.section_of {
            *section = section.and_then(|old| renamed[old]);
        }
        let parts = 0..self.road.parts.len();
        let around = parts
            .clone()
            .map(|part| {
                let holding = |&id: &usize| list[id].holds(part);
                let mut ids: Vec<usize> = (0..list.len()).filter(holding).collect();
                ids.sort_by_key(|&id| (list[id].first, std::cmp::Reverse(list[id].last)));
                ids
            })
            .collect();
        let ending_over = parts
            .map(|part| {
                let mut endings = self.road.endings();
                endings
                    .find(|(_, mark, _)| mark.covers(part))
                    .map(|(id, ..)| id)
            })
            .collect();
        Sections {
            list,
            around,
            ending_over,
            section_of: self.section_of,
        }
    }

    /// How many passes a section has.
    fn count_passes(&self, section: &mut Section) {
        let marks = &self.road.marks;
        let highest = |id: usize| marks[id].passes().map_or(1, fingerpost::Passes::highest);
        let highest_of_all = section.endings.iter().map(|&id| highest(id)).max();
        section.closing = self.closing_group(section);
        let closes_itself = |id: usize| {
            let last = marks[id].last;
            if section.ends.is_empty() {
                self.road.jump_at(last)
            } else {
                section.ends.iter().any(|&(_, part)| marks[id].covers(part))
            }
        };
        match section.closing[..] {
            // The end repeat stands outside endings: its `plays`, two when it has none, or the highest pass of an ending if that is more.
            [] => {
                let plays = section.ends.iter().flat_map(|&(_, part)| {
                    let leaves = self.road.parts[part].leaves.iter();
                    leaves.filter_map(|&id| match marks[id].sign {
                        Sign::EndRepeat(end) => Some(end.plays.unwrap_or(Plays::Times(2))),
                        _ => None,
                    })
                });
                let mut times = 0;
                for plays in plays {
                    match plays {
                        Plays::Times(n) => times = times.max(n),
                        Plays::Open => section.open = true,
                    }
                }
                // Open beats every number.
                if section.open {
                    times = 1;
                }
                section.top = times.max(highest_of_all.unwrap_or(1));
            }
            // The first ending whose second ending is the music that follows.
            [only] if closes_itself(only) => section.top = highest(only) + 1,
            // One last ending that nothing closes.
            [_] => section.top = highest_of_all.unwrap_or(1),
            // Two endings or more.
            ref group => section.top = group.iter().map(|&id| highest(id)).max().unwrap_or(1),
        }
        // Closed by a jump: an ending of the closing group that lists a pass below the last one and has a jump, and no end repeat, at its end.
        section.jump_closed = section.closing.iter().any(|&id| {
            let below = marks[id].passes().is_some_and(|p| p.lowest() < section.top);
            let last = marks[id].last;
            below && self.road.jump_at(last) && self.road.end_repeat(last).is_none()
        });
    }

    /// The group of endings in which an end repeat of the section stands; without any end repeat, the last group.
    /// Endings with no part between them are a group.
    fn closing_group(&self, section: &Section) -> Vec<usize> {
        let marks = &self.road.marks;
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let mut reach = 0;
        for &id in &section.endings {
            match groups.last_mut() {
                Some(group) if marks[id].first <= reach + 1 => group.push(id),
                _ => groups.push(vec![id]),
            }
            reach = reach.max(marks[id].last);
        }
        if section.ends.is_empty() {
            return groups.pop().unwrap_or_default();
        }
        let holds_end = |group: &Vec<usize>| {
            section
                .ends
                .iter()
                .any(|&(_, part)| group.iter().any(|&id| marks[id].covers(part)))
        };
        groups.into_iter().rev().find(holds_end).unwrap_or_default()
    }
}

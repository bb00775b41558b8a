//! Fixes in words: one short title for all that a fix changes.

use super::capitalised;
use super::phrases::{Desk, FixPhrases, fill};
use super::places::place_of;
use crate::board::{
    Board, Edit, Ending, Hands, Jump, Landing, Marking, Passes, Place, Plays, Repeats, Side, Sign,
    ToCoda, When,
};
use crate::legality::{Fix, sign_words};

/// The longest title, in characters.
pub const LONGEST_TITLE_OF_FIX: usize = 80;
/// How much of a label or of a list of passes a title shows, in characters.
const SHOWN: usize = 12;

pub(super) fn title(desk: &Desk, board: &Board, fix: &Fix) -> String {
    let words = |placed| Words {
        desk,
        board,
        placed,
    };
    // With every place, then with those places only that tell signs apart.
    let (full, brief) = (words(true), words(false));
    let fits = |title: &String| title.chars().count() <= LONGEST_TITLE_OF_FIX;
    let edits = &fix.edits;
    // One after the other as they are needed: telling signs apart looks at all of them.
    let title = (full.renumbered(edits).filter(fits))
        .or_else(|| full.all(edits).filter(fits))
        .or_else(|| brief.all(edits).filter(fits))
        .or_else(|| full.first_of(edits).filter(fits))
        .or_else(|| full.first_changed(edits).filter(fits))
        .unwrap_or_else(|| full.counted(edits.len()));
    capitalised(&title)
}

struct Words<'a> {
    desk: &'a Desk,
    board: &'a Board,
    /// Whether every sign of the board is named with its place.
    placed: bool,
}

impl Words<'_> {
    fn table(&self) -> &FixPhrases {
        &self.desk.fixes
    }

    // Several edits.

    /// Endings that are numbered otherwise, when it is nothing else.
    fn renumbered(&self, edits: &[Edit]) -> Option<String> {
        let endings = edits.iter().map(|edit| {
            let Edit::Replace(index, new) = edit else {
                return None;
            };
            let old = self.board.markings().get(*index)?;
            match (old.sign(), new.sign()) {
                (Sign::Ending(_), Sign::Ending(ending)) if old.place() == new.place() => {
                    Some((new.place(), shown(&ending.passes.to_string())))
                }
                _ => None,
            }
        });
        let mut endings: Vec<(Place, String)> = endings.collect::<Option<_>>()?;
        endings.sort_by_key(|(place, _)| place.first());
        let (first, last) = (endings.first()?.0, endings.last()?.0);
        if endings.len() < 2 {
            return None;
        }
        let measures = self.measures(Place::over(first.first(), last.last()));
        let lists: Vec<&str> = endings.iter().map(|(_, list)| list.as_str()).collect();
        let words = [
            ("measures", measures.as_str()),
            ("lists", &lists.join("; ")),
        ];
        Some(fill(self.table().number, &words))
    }

    /// Every edit; signs that are added, or taken away, one after the other in one phrase.
    fn all(&self, edits: &[Edit]) -> Option<String> {
        let table = self.table();
        let mut phrases = Vec::new();
        for alike in edits.chunk_by(|one, other| {
            matches!(
                (one, other),
                (Edit::Add(_), Edit::Add(_)) | (Edit::Remove(_), Edit::Remove(_))
            )
        }) {
            let signs: Option<Vec<String>> = alike.iter().map(|edit| self.sign_of(edit)).collect();
            phrases.push(match alike.first()? {
                Edit::Add(_) => fill(table.add, &[("signs", &self.listed(&signs?))]),
                Edit::Remove(index) if self.is_only(*index) => self.listed(
                    &alike
                        .iter()
                        .map(|edit| self.edit(edit))
                        .collect::<Option<Vec<_>>>()?,
                ),
                Edit::Remove(_) => fill(table.remove, &[("signs", &self.listed(&signs?))]),
                edit @ Edit::Replace(..) => self.edit(edit)?,
            });
        }
        Some(self.listed(&phrases))
    }

    /// The sign that an edit adds or takes away.
    fn sign_of(&self, edit: &Edit) -> Option<String> {
        match edit {
            Edit::Add(marking) => {
                let sign = sign_words(&shortened(marking.sign()));
                let words = [
                    ("article", (self.table().article)(&sign)),
                    ("sign", sign.as_str()),
                    ("place", &self.place(marking)),
                ];
                Some(fill(self.table().a_sign, &words))
            }
            Edit::Remove(index) | Edit::Replace(index, _) => {
                Some(self.named(self.board.markings().get(*index)?))
            }
        }
    }

    fn is_only(&self, index: usize) -> bool {
        let marking = self.board.markings().get(index);
        marking.is_some_and(|marking| matches!(marking.sign(), Sign::Only(_)))
    }

    /// Whether an equal sign stands at the place of a marking.
    fn is_twin(&self, marking: &Marking) -> bool {
        let equal = |it: &&Marking| (it.sign(), it.place()) == (marking.sign(), marking.place());
        self.board.markings().iter().filter(equal).count() > 1
    }

    /// The first edit, and how many more there are.
    fn first_of(&self, edits: &[Edit]) -> Option<String> {
        let first = self.edit(edits.first()?)?;
        self.and_more(first, edits.len())
    }

    /// As [`Words::first_of`], without saying what is changed.
    fn first_changed(&self, edits: &[Edit]) -> Option<String> {
        let (Edit::Replace(index, _) | Edit::Remove(index)) = edits.first()? else {
            return None;
        };
        let marking = self.board.markings().get(*index)?;
        let first = fill(self.table().change, &[("sign", &self.the(marking))]);
        self.and_more(first, edits.len())
    }

    fn and_more(&self, first: String, edits: usize) -> Option<String> {
        let more = edits.checked_sub(1)?;
        let template = match more {
            0 => return Some(first),
            1 => self.table().one_more,
            _ => self.table().more,
        };
        let count = more.to_string();
        Some(fill(template, &[("first", &first), ("count", &count)]))
    }

    fn counted(&self, edits: usize) -> String {
        fill(self.table().counted, &[("count", &edits.to_string())])
    }

    fn listed(&self, items: &[String]) -> String {
        match items {
            [] => String::new(),
            [one] => one.clone(),
            [before @ .., last] => {
                let before = before.join(", ");
                fill(
                    self.table().and,
                    &[("before", &before), ("last", last.as_str())],
                )
            }
        }
    }

    // One edit.

    fn edit(&self, edit: &Edit) -> Option<String> {
        let table = self.table();
        match edit {
            Edit::Add(_) => Some(fill(table.add, &[("signs", &self.sign_of(edit)?)])),
            Edit::Remove(index) => {
                let old = self.board.markings().get(*index)?;
                if let Sign::Only(only) = old.sign() {
                    if self.is_twin(old) {
                        // The other one still says when the hands play.
                        return Some(fill(table.one_of_two, &[("place", &self.place(old))]));
                    }
                    return Some(self.playing(old, only.hands, &When::EveryPass));
                }
                Some(fill(table.remove, &[("signs", &self.named(old))]))
            }
            Edit::Replace(index, new) => {
                let old = self.board.markings().get(*index)?;
                Some(self.replaced(old, new))
            }
        }
    }

    fn replaced(&self, old: &Marking, new: &Marking) -> String {
        let table = self.table();
        if old.sign() == new.sign() {
            let to = self.goal(new);
            let sign = self.told_apart(old);
            return fill(table.moved, &[("sign", &sign), ("to", &to)]);
        }
        if old.place() != new.place() {
            return fill(table.change, &[("sign", &self.named(old))]);
        }
        self.key_changed(old, new)
            .or_else(|| self.other_words(old, new))
            .unwrap_or_else(|| fill(table.change, &[("sign", &self.named(old))]))
    }

    /// Another sign, when it has other words.
    fn other_words(&self, old: &Marking, new: &Marking) -> Option<String> {
        let (was, is) = (shortened(old.sign()), shortened(new.sign()));
        let (was, is) = (sign_words(&was), sign_words(&is));
        let words = [("old", self.named(old)), ("new", is.clone())];
        let words = words.each_ref().map(|(name, word)| (*name, word.as_str()));
        (was != is).then(|| fill(self.table().write, &words))
    }

    /// One key of a sign that is written otherwise than in its words.
    fn key_changed(&self, old: &Marking, new: &Marking) -> Option<String> {
        let table = self.table();
        let sign = self.named(old);
        let said = |template: &str, name: &str, word: &str| {
            Some(fill(template, &[("sign", &sign), (name, word)]))
        };
        let named = |list: &Option<Passes>, some: &str, none: &str| match list {
            Some(list) => said(some, "list", &shown(&list.to_string())),
            None => said(none, "list", ""),
        };
        match (old.sign(), new.sign()) {
            (Sign::EndRepeat(was), Sign::EndRepeat(is)) if was.on_return == is.on_return => {
                match (was.plays, is.plays) {
                    (Some(Plays::Times(_)), None) => said(table.no_plays, "plays", ""),
                    (_, None) => said(table.plays, "plays", "2"),
                    (_, Some(Plays::Times(times))) => {
                        said(table.plays, "plays", &times.to_string())
                    }
                    (_, Some(Plays::Open)) => None,
                }
            }
            (Sign::EndRepeat(was), Sign::EndRepeat(is)) if was.plays == is.plays => {
                let template = match is.on_return {
                    Some(Repeats::Play) => table.made_on_return,
                    Some(Repeats::Skip) => table.left_out_on_return,
                    None => table.nothing_on_return,
                };
                said(template, "", "")
            }
            (Sign::Fine(_), Sign::Fine(is)) => {
                named(&is.arrivals, table.arrivals, table.no_arrivals)
            }
            (Sign::ToCoda(was), Sign::ToCoda(is)) if was.label == is.label => {
                named(&is.arrivals, table.arrivals, table.no_arrivals)
            }
            (Sign::DaCapo(was), Sign::DaCapo(is)) | (Sign::DalSegno(was), Sign::DalSegno(is)) => {
                let changed = changed_key(was, is)?;
                match changed {
                    JumpKey::Arrivals => named(&is.arrivals, table.arrivals, table.no_arrivals),
                    JumpKey::Passes => named(&is.passes, table.passes, table.no_passes),
                    JumpKey::Repeats => {
                        let template = match is.repeats? {
                            Repeats::Play => table.con,
                            Repeats::Skip => table.senza,
                        };
                        said(template, "", "")
                    }
                    JumpKey::Coda => match &is.coda {
                        Some(label) => said(table.coda, "label", &shown(label)),
                        None => said(table.no_coda, "label", ""),
                    },
                }
            }
            (Sign::Octave(was), Sign::Octave(is)) if was.shift == is.shift => {
                self.held(&sign, (was.hands, &was.when), (is.hands, &is.when))
            }
            (Sign::Fermata(was), Sign::Fermata(is)) => {
                self.held(&sign, (was.hands, &was.when), (is.hands, &is.when))
            }
            (Sign::Only(_), Sign::Only(is)) => Some(self.playing(old, is.hands, &is.when)),
            _ => None,
        }
    }

    /// Another time at which a sign holds, or other hands for which it does.
    fn held(&self, sign: &str, was: (Hands, &When), is: (Hands, &When)) -> Option<String> {
        let table = self.table();
        if was.0 == is.0 {
            let when = self.when(is.1);
            return Some(fill(table.hold, &[("sign", sign), ("when", &when)]));
        }
        let hands = self.hands(is.0);
        let words = [("sign", sign), ("hands", hands)];
        (was.1 == is.1).then(|| fill(table.for_hands, &words))
    }

    /// Hands that play at other times over the measures of a marking.
    fn playing(&self, old: &Marking, hands: Hands, when: &When) -> String {
        let words = [
            ("hands", self.hands(hands).to_owned()),
            ("when", self.when(when)),
            ("place", self.place(old)),
        ];
        let words = words.each_ref().map(|(name, word)| (*name, word.as_str()));
        match when {
            When::EveryPass => fill(self.table().play_always, &words),
            _ => fill(self.table().play, &words),
        }
    }

    fn when(&self, when: &When) -> String {
        let table = self.table();
        match when {
            When::EveryPass => table.every_time.to_owned(),
            When::OnRepeat => table.on_repeat.to_owned(),
            When::LastPass => table.on_last_pass.to_owned(),
            When::OnReturn => table.on_return.to_owned(),
            When::Passes(list) => fill(table.on_passes, &[("list", &shown(&list.to_string()))]),
        }
    }

    fn hands(&self, hands: Hands) -> &'static str {
        match hands {
            Hands::Right => self.table().right_hand,
            Hands::Left => self.table().left_hand,
            Hands::Both => self.table().both_hands,
        }
    }

    // Signs and places.

    /// A sign of the board as this title names it.
    fn named(&self, marking: &Marking) -> String {
        if self.placed {
            self.the(marking)
        } else {
            self.told_apart(marking)
        }
    }

    /// A sign of the board with its place.
    fn the(&self, marking: &Marking) -> String {
        let words = [
            ("sign", sign_words(&shortened(marking.sign()))),
            ("place", self.place(marking)),
        ];
        let words = words.each_ref().map(|(name, word)| (*name, word.as_str()));
        let template = match marking.sign() {
            Sign::Ending(_) => self.table().the_ending,
            _ => self.table().the_sign,
        };
        fill(template, &words)
    }

    /// A sign of the board, with its place only where another has the same words.
    fn told_apart(&self, marking: &Marking) -> String {
        let words = sign_words(marking.sign());
        let markings = self.board.markings().iter();
        let alike = markings.filter(|other| {
            other.sign().kind() == marking.sign().kind() && sign_words(other.sign()) == words
        });
        if alike.take(2).count() > 1 {
            return self.the(marking);
        }
        let words = sign_words(&shortened(marking.sign()));
        let template = match marking.sign() {
            Sign::Ending(_) => self.table().lone_ending,
            _ => self.table().lone_sign,
        };
        fill(template, &[("sign", &words)])
    }

    fn place(&self, marking: &Marking) -> String {
        let table = self.table();
        let place = marking.place();
        if place.cut().is_some() {
            return place_of(self.desk.words, self.board, marking);
        }
        let first = self.name(place.first());
        match marking.sign().side() {
            Side::Leaving => fill(table.after, &[("measure", &first)]),
            Side::Landing => fill(table.at, &[("measure", &first)]),
            Side::Over => fill(table.over, &[("measures", &self.measures(place))]),
        }
    }

    /// The place to which a sign is moved.
    fn goal(&self, marking: &Marking) -> String {
        let place = marking.place();
        if marking.sign().side() == Side::Leaving {
            let name = self.name(place.first());
            return fill(self.table().end_of, &[("measure", &name)]);
        }
        self.measures(place)
    }

    fn measures(&self, place: Place) -> String {
        let (first, last) = (self.name(place.first()), self.name(place.last()));
        let words = [("from", first.as_str()), ("to", &last)];
        if place.first() == place.last() {
            fill(self.table().measure, &words)
        } else {
            fill(self.table().measures, &words)
        }
    }

    fn name(&self, measure: u16) -> String {
        self.board.measure_words(measure)
    }
}

/// The key in which two jumps differ, when it is one that their words do not tell.
enum JumpKey {
    Arrivals,
    Passes,
    Repeats,
    Coda,
}

fn changed_key(was: &Jump, is: &Jump) -> Option<JumpKey> {
    let same = |change: &dyn Fn(&mut Jump)| {
        let (mut was, mut is) = (was.clone(), is.clone());
        change(&mut was);
        change(&mut is);
        was == is
    };
    if same(&|jump| jump.arrivals = None) || is.arrivals.is_some() && same(&plain) {
        Some(JumpKey::Arrivals)
    } else if same(&|jump| jump.passes = None) {
        Some(JumpKey::Passes)
    } else if same(&|jump| jump.repeats = None) {
        Some(JumpKey::Repeats)
    } else if same(&|jump| jump.coda = None) {
        Some(JumpKey::Coda)
    } else {
        None
    }
}

fn plain(jump: &mut Jump) {
    (jump.arrivals, jump.passes) = (None, None);
}

/// A sign whose label and whose list of passes are short enough to be shown.
fn shortened(sign: &Sign) -> Sign {
    let label = |label: &Option<String>| label.as_deref().map(shown);
    match sign {
        Sign::Segno(landing) => Sign::Segno(Landing {
            label: label(&landing.label),
        }),
        Sign::Coda(landing) => Sign::Coda(Landing {
            label: label(&landing.label),
        }),
        Sign::ToCoda(to_coda) => Sign::ToCoda(ToCoda {
            label: label(&to_coda.label),
            arrivals: None,
        }),
        Sign::DalSegno(jump) => Sign::DalSegno(Jump {
            label: label(&jump.label),
            ..jump.clone()
        }),
        Sign::Ending(ending) if ending.passes.to_string().len() > SHOWN => {
            let first = ending.passes.ranges().first().copied();
            let passes = Passes::of_ranges(first).unwrap_or_else(|_| ending.passes.clone());
            Sign::Ending(Ending {
                passes,
                open: ending.open,
            })
        }
        other => other.clone(),
    }
}

/// The beginning of a text.
fn shown(text: &str) -> String {
    if text.chars().count() <= SHOWN {
        text.to_owned()
    } else {
        text.chars().take(SHOWN - 1).chain(['…']).collect()
    }
}

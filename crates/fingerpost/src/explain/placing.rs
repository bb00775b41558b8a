//! Where a sign may go, and what is missing, in words.

use std::collections::HashMap;

use super::Phrasebook;
use super::phrases::{Desk, fill};
use crate::board::{Board, Place, Side, Sign};
use crate::compare::compare;
use crate::legality::{
    Counted, MOST_MISSING, Missing, MissingSet, Partner, Places, Verdict, rules, sign_words,
};
use crate::roadmap::{Roadmap, Terms};

/// The most stretches of a road that are told.
const MOST_STRETCHES: usize = 12;
/// On boards with more places than this, the findings of places at which a sign is idle are not asked one by one.
const MOST_ASKED: usize = 200;

/// Places with one verdict, in words.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct PlacesWords {
    /// The places, in board order.
    pub places: Vec<Place>,
    /// Where they are: `after measures 3 to 5`.
    pub at: String,
    /// What would become of the sign there: `legal; the road is then 1-3 1-2`.
    pub says: String,
}

impl Phrasebook {
    /// Where a sign may go, in words: places of one verdict together, in the order of their first place.
    pub fn places(&self, places: &Places<'_>) -> Vec<PlacesWords> {
        let told = Told {
            desk: self.desk(),
            places,
            few: places.verdicts().len() <= MOST_ASKED,
        };
        let mut groups: Vec<(String, Vec<Place>)> = Vec::new();
        let mut known: HashMap<String, usize> = HashMap::new();
        for it in places.verdicts() {
            let says = told.says(it.place, &it.verdict);
            let index = *known.entry(says).or_insert_with_key(|says| {
                groups.push((says.clone(), Vec::new()));
                groups.len() - 1
            });
            if let Some((_, places)) = groups.get_mut(index) {
                places.push(it.place);
            }
        }
        let words = |(says, these): (String, Vec<Place>)| PlacesWords {
            at: self.worded(places_words(
                self.desk(),
                places.board(),
                places.sign(),
                &these,
            )),
            places: these,
            says: self.worded(says),
        };
        groups.into_iter().map(words).collect()
    }

    /// What the answer about a sign rests on: the reading, and what was not looked at.
    pub fn places_rest_on(&self, places: &Places<'_>) -> String {
        let words = &self.desk().placing;
        self.worded(match places.longest_row() {
            None => words.rests_on.to_owned(),
            Some(longest) => {
                let rows = fill(words.rows_left_out, &[("longest", &longest.to_string())]);
                format!("{} {rows}", words.rests_on)
            }
        })
    }

    /// What a board lacks, in one sentence.
    pub fn missing(&self, missing: &Missing) -> String {
        let words = &self.desk().placing;
        let most = MOST_MISSING.to_string();
        let template = if missing.lacking.is_empty() {
            match missing.in_hand {
                0 => words.nothing_missing,
                1 => words.nothing_missing_one_in_hand,
                _ => words.nothing_missing_some_in_hand,
            }
        } else if missing.sets.is_empty() && !missing.complete {
            words.not_found_in_time
        } else if missing.sets.is_empty() {
            words.no_sign_helps
        } else if missing.sets.len() == 1 {
            words.missing_one
        } else {
            words.missing_several
        };
        let number = missing.in_hand.to_string();
        let sentence = fill(template, &[("most", &most), ("number", &number)]);
        self.worded(if missing.complete || missing.sets.is_empty() {
            sentence
        } else {
            format!("{sentence} {}", words.not_all_tried)
        })
    }

    /// A set of signs that is missing: which signs, in how many ways they can be laid, and where each may go.
    pub fn missing_set(&self, board: &Board, set: &MissingSet) -> Vec<String> {
        let words = &self.desk().placing;
        let mut signs: Vec<(String, usize)> = Vec::new();
        for it in &set.signs {
            let sign = with_hand(self.desk(), it);
            match signs.last_mut() {
                Some((known, number)) if *known == sign => *number += 1,
                _ => signs.push((sign, 1)),
            }
        }
        let signs = signs.into_iter().map(|(sign, number)| {
            let at = [("sign", sign.as_str()), ("number", &number.to_string())];
            match number {
                1 => sign,
                _ => fill(words.at_places, &at),
            }
        });
        let signs = listed(&signs.collect::<Vec<_>>(), words.and);
        let ways = set.arrangements.to_string();
        let template = match (set.signs.len(), set.arrangements) {
            (1, 1) => words.set_of_one_one_way,
            (1, _) => words.set_of_one,
            (_, 1) => words.set_of_several_one_way,
            _ => words.set_of_several,
        };
        let mut lines = vec![fill(template, &[("signs", &signs), ("ways", &ways)])];
        for it in &set.signs {
            let places = places_words(self.desk(), board, &it.card.sign, &it.places);
            lines.push(fill(
                words.set_places,
                &[("sign", &sign_words(&it.card.sign)), ("places", &places)],
            ));
        }
        let proposal = set.signs.iter().zip(&set.proposal).map(|(it, &place)| {
            let place = places_words(self.desk(), board, &it.card.sign, &[place]);
            format!("{} {place}", sign_words(&it.card.sign))
        });
        let proposal = listed(&proposal.collect::<Vec<_>>(), words.and);
        lines.push(fill(words.proposal, &[("signs", &proposal)]));
        if !set.warnings.is_empty() {
            let messages: Vec<&str> = set.warnings.iter().map(|it| it.message.as_str()).collect();
            let template = if set.always_warned {
                words.proposal_always_warned
            } else {
                words.proposal_warned
            };
            lines.push(fill(template, &[("messages", &messages.join("; "))]));
        }
        lines.into_iter().map(|line| self.worded(line)).collect()
    }

    /// What the sets that are missing rest on: which ways to lay them are counted, and under which reading the board is judged. `None` when
    /// there are no sets.
    pub fn missing_rests_on(&self, missing: &Missing) -> Option<String> {
        let words = &self.desk().placing;
        let counted = match missing.sets.first()?.counted {
            Counted::Whole => words.counted_whole,
            Counted::Working => words.counted_working,
            Counted::Any => words.counted_any,
        };
        Some(self.worded(format!("{counted} {}", words.rests_on)))
    }

    /// The road of a board that was only just completed, with what it hangs on.
    pub fn road(&self, board: &Board, roadmap: &Roadmap) -> String {
        self.worded(road(self.desk(), board, roadmap))
    }
}

/// What is told of the places of one sign.
struct Told<'a> {
    desk: &'static Desk,
    places: &'a Places<'a>,
    few: bool,
}

impl Told<'_> {
    fn says(&self, place: Place, verdict: &Verdict) -> String {
        let words = &self.desk.placing;
        match verdict {
            Verdict::Legal { route: true, .. } => self.legal(place),
            Verdict::Legal { missing, .. } if missing.is_empty() => words.legal_no_road.to_owned(),
            Verdict::Legal { missing, .. } => {
                let ways: Vec<String> = missing.iter().map(|way| self.way(way)).collect();
                fill(words.still_missing, &[("ways", &ways.join(words.or_else))])
            }
            Verdict::NeedsPartner(ways) => {
                let ways: Vec<String> = ways.iter().map(|way| self.way(way)).collect();
                fill(words.needs, &[("ways", &ways.join(words.or_else))])
            }
            Verdict::NotLegal { rules: broken } => {
                let told: Vec<String> = broken
                    .iter()
                    .map(|name| {
                        let rule = rules().find(|rule| rule.name == *name);
                        let summary = rule.map_or("", |rule| rule.summary);
                        format!("{summary} [{name}]")
                    })
                    .collect();
                let template = if broken.iter().all(|name| lacks_on_the_road(name)) {
                    words.no_place_left
                } else {
                    words.not_legal
                };
                fill(template, &[("rules", &told.join(" "))])
            }
            Verdict::Idle => {
                let found = if self.few {
                    self.places.findings(place)
                } else {
                    Vec::new()
                };
                match found.first() {
                    Some(finding) => fill(words.idle_why, &[("message", &finding.message)]),
                    None => words.idle.to_owned(),
                }
            }
        }
    }

    fn legal(&self, place: Place) -> String {
        let words = &self.desk.placing;
        let changes_order = !matches!(
            self.places.sign(),
            Sign::Octave(_) | Sign::Fermata(_) | Sign::Only(_)
        );
        if !changes_order {
            return words.legal_heard.to_owned();
        }
        let board = self.places.board_with(place);
        match (board, self.places.roadmap(place)) {
            (Some(board), Ok(roadmap)) => {
                let road = road(self.desk, &board, &roadmap);
                let legal = fill(words.legal, &[("road", &road)]);
                let warnings = self.places.findings(place);
                let messages: Vec<&str> = warnings.iter().map(|it| it.message.as_str()).collect();
                if messages.is_empty() {
                    return legal;
                }
                let messages = messages.join("; ");
                fill(
                    words.legal_but,
                    &[("legal", &legal), ("messages", &messages)],
                )
            }
            _ => words.legal_no_road.to_owned(),
        }
    }

    fn way(&self, way: &[Partner]) -> String {
        let words = &self.desk.placing;
        let partners: Vec<String> = way
            .iter()
            .map(|partner| {
                let places = places_words(
                    self.desk,
                    self.places.board(),
                    &partner.card.sign,
                    &partner.places,
                );
                let sign = with_hand(self.desk, partner);
                fill(words.partner, &[("sign", &sign), ("places", &places)])
            })
            .collect();
        listed(&partners, words.and)
    }
}

/// Whether a rule says that a sign lacks another to which it sends the road, or from which it is sent.
fn lacks_on_the_road(rule: &str) -> bool {
    ["segno", "coda", "to-coda", "fine"].iter().any(|sign| {
        let lack = rule.strip_prefix(sign);
        matches!(lack, Some("-missing" | "-unused"))
    })
}

fn with_hand(desk: &Desk, partner: &Partner) -> String {
    let words = &desk.placing;
    let sign = sign_words(&partner.card.sign);
    let template = match partner.card.in_hand {
        Some(_) => words.from_hand,
        None if sign.starts_with(['a', 'e', 'i', 'o', '8']) => words.from_box_vowel,
        None => words.from_box,
    };
    fill(template, &[("sign", &sign)])
}

/// A road as its stretches: `1-4 1-2`, and on which questions of the reading it hangs.
fn road(desk: &Desk, board: &Board, roadmap: &Roadmap) -> String {
    let words = &desk.placing;
    let mut runs = roadmap.runs();
    let mut stretches: Vec<String> = runs
        .by_ref()
        .take(MOST_STRETCHES)
        .map(|run| {
            if run.from == run.to {
                board.measure_words(run.from)
            } else {
                let (from, to) = (board.measure_words(run.from), board.measure_words(run.to));
                fill(words.stretch, &[("from", &from), ("to", &to)])
            }
        })
        .collect();
    if runs.next().is_some() {
        stretches.push(words.and_on.to_owned());
    }
    let road = stretches.join(" ");
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let questions = compare(board, &terms).map_or_else(|_| Vec::new(), |it| it.questions);
    if questions.is_empty() {
        return road;
    }
    let names: Vec<String> = questions.iter().map(|it| it.name().to_owned()).collect();
    fill(
        words.unsettled,
        &[("road", &road), ("questions", &listed(&names, words.and))],
    )
}

/// Places of one sign: `after measures 1 to 3 and 7`; rows by their first measures.
fn places_words(desk: &Desk, board: &Board, sign: &Sign, places: &[Place]) -> String {
    let words = &desk.placing;
    if sign.spans() {
        return rows_words(desk, board, places);
    }
    let measures: Vec<u16> = places.iter().map(|place| place.first()).collect();
    let ranges = ranges(&measures);
    let one = ranges.len() == 1 && ranges.first().is_some_and(|(from, to)| from == to);
    let ranges = ranges_words(desk, board, ranges);
    let template = match (sign.side(), one) {
        (Side::Leaving, true) => words.after_one,
        (Side::Leaving, false) => words.after_many,
        (Side::Landing, true) => words.at_one,
        (Side::Landing, false) => words.at_many,
        (Side::Over, _) if matches!(sign, Sign::DoubleBar(_)) => {
            if one {
                words.after_one
            } else {
                words.after_many
            }
        }
        (Side::Over, true) => words.over_one,
        (Side::Over, false) => words.over_many,
    };
    fill(template, &[("measures", &listed(&ranges, words.and))])
}

/// Rows of measures: those that begin together, and may end at the same measures, are told together.
fn rows_words(desk: &Desk, board: &Board, places: &[Place]) -> String {
    let words = &desk.placing;
    let mut by_first: Vec<(u16, Vec<u16>)> = Vec::new();
    for place in places {
        match by_first.last_mut() {
            Some((first, lasts)) if *first == place.first() => lasts.push(place.last()),
            _ => by_first.push((place.first(), vec![place.last()])),
        }
    }
    let rows: Vec<String> = by_first
        .into_iter()
        .map(|(first, lasts)| {
            let from = board.measure_words(first);
            if lasts == [first] {
                return fill(words.over_one, &[("measures", &from)]);
            }
            if let [last] = lasts.as_slice() {
                let to = board.measure_words(*last);
                return fill(words.over_row, &[("from", &from), ("to", &to)]);
            }
            let ranges = ranges(&lasts);
            let template = if ranges.iter().any(|(from, to)| to - from > 1) {
                words.over_any
            } else {
                words.over_rows
            };
            let lasts = ranges_words(desk, board, ranges);
            let to = listed(&lasts, words.or);
            fill(template, &[("from", &from), ("to", &to)])
        })
        .collect();
    rows.join("; ")
}

/// Ranges of measures, each in words; two measures that follow each other are named one by one.
fn ranges_words(desk: &Desk, board: &Board, ranges: Vec<(u16, u16)>) -> Vec<String> {
    let mut words = Vec::with_capacity(ranges.len());
    for (first, last) in ranges {
        let (from, to) = (board.measure_words(first), board.measure_words(last));
        if last - first > 1 {
            words.push(fill(desk.placing.range, &[("from", &from), ("to", &to)]));
        } else {
            words.push(from);
            words.extend((first < last).then_some(to));
        }
    }
    words
}

/// Rising measures as ranges.
fn ranges(measures: &[u16]) -> Vec<(u16, u16)> {
    let mut ranges: Vec<(u16, u16)> = Vec::new();
    for &measure in measures {
        match ranges.last_mut() {
            Some((_, to)) if measure == to.saturating_add(1) => *to = measure,
            _ => ranges.push((measure, measure)),
        }
    }
    ranges
}

/// Things in a row: `a`, `a and b`, `a, b and c`.
fn listed(things: &[String], and: &str) -> String {
    match things {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{}{and}{last}", first.join(", ")),
    }
}

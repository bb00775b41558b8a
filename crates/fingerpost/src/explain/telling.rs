//! A whole route in words, with moves that come again and again told once.

use std::ops::Range;

use super::Phrasebook;
use super::moves::Move;
use super::phrases::fill;
use super::sounding::sounding;
use crate::board::{Board, Sign, When};
use crate::roadmap::Roadmap;
use crate::route::Run;

/// The most runs of a route that are looked at.
const MOST_RUNS: usize = 50_000;
/// The longest row of moves that is known again.
const LONGEST_ROW: usize = 8;
/// How often a row has to come again to be told as coming again.
const FEWEST_TIMES: u64 = 3;
/// The most steps whose sound is compared.
const MOST_SOUNDS: u64 = 200_000;

/// A route in words.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct RouteWords {
    /// What is told, first to last.
    pub told: Vec<Told>,
    /// Why the route ends; `None` when it is not told to its end.
    pub ending: Option<String>,
    /// How many of the steps asked for are not told; 0 when all are.
    pub left: u64,
}

/// One thing that is told of a route.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Told {
    /// How the road comes to a run of measures, and what to play.
    Move(Move),
    /// The moves told last come again.
    Again {
        /// How many of them: the last one alone, or a row.
        moves: u32,
        /// How often they come again; never fewer than three times.
        times: u64,
        /// The same in words.
        says: String,
    },
}

impl Move {
    /// Everything that is said of it: how the road comes there, what to play, and what else is to be known.
    pub fn says(&self) -> String {
        let mut sentences = vec![self.why.as_str(), &self.play];
        sentences.extend(self.notes.iter().map(String::as_str));
        sentences.join(" ")
    }
}

impl Phrasebook {
    /// A whole route in words: at most `most` things are told. Moves that come again and again are told once, with how often they come
    /// again. `board` is the one the roadmap was made from.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook, Register, Roadmap, Terms, Told};
    /// let board: Board = "|: 1 | 2 :|(plays 100) 3 |]".parse()?;
    /// let roadmap = Roadmap::new(&board, &Terms::default())?;
    /// let book = Phrasebook::of("en", Register::Learner).ok_or("a book")?;
    /// let route = book.route(&board, &roadmap, 60);
    /// let Some(Told::Again { says, times: 97, .. }) = route.told.get(2) else { panic!("{route:?}") };
    /// assert_eq!(says, "Do the same again, 97 times more.");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn route(&self, board: &Board, roadmap: &Roadmap, most: usize) -> RouteWords {
        self.route_between(board, roadmap, 0..roadmap.length(), most)
    }

    /// The moves of a route that play some steps of it, counted from 0. Each is told whole: the first may begin before these steps, and the
    /// last may go on behind them. Of steps very far into a route nothing is told, and all of them are `left`.
    ///
    /// ```
    /// use fingerpost::{Board, Phrasebook, Roadmap, Terms, Told};
    /// let board: Board = "1 | 2 :| 3 | 4 Fine | 5 D.C. al Fine |]".parse()?;
    /// let roadmap = Roadmap::new(&board, &Terms::default())?;
    /// let part = Phrasebook::default().route_between(&board, &roadmap, 3..6, 60);
    /// let Some(Told::Move(first)) = part.told.first() else { panic!("{part:?}") };
    /// assert_eq!((first.run.index, first.play.as_str()), (2, "Play measures 1 to 5."));
    /// assert_eq!((part.told.len(), part.left, part.ending), (1, 0, None));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn route_between(
        &self,
        board: &Board,
        roadmap: &Roadmap,
        steps: Range<u64>,
        most: usize,
    ) -> RouteWords {
        let length = roadmap.length();
        let begun = roadmap
            .runs()
            .take(MOST_RUNS)
            .take_while(|run| run.index < steps.end);
        let runs: Vec<Run> = begun.collect();
        let rows = Rows::new(self, board, roadmap, &runs);
        let mut moves = self.moves(board, roadmap);
        let mut told = Vec::new();
        let mut at = runs.partition_point(|run| run.index + run.steps <= steps.start);
        if let Some(last) = at.checked_sub(1) {
            // They are made, so that what has been said before is not said anew.
            moves.nth(last);
        }
        while at < runs.len() && told.len() < most {
            let row = rows.at(at);
            let (length, times) = row.unwrap_or((1, 0));
            told.extend(moves.by_ref().take(length).map(Told::Move));
            at += length;
            if times > 0 {
                let passed = length.saturating_mul(usize::try_from(times).unwrap_or(usize::MAX));
                moves.pass_over(passed);
                at = at.saturating_add(passed);
                told.push(self.again(length, times));
            }
        }
        let told_to = match (runs.get(at), runs.last()) {
            (Some(run), _) => run.index,
            (None, Some(last)) => last.index + last.steps,
            (None, None) => 0,
        };
        let end = steps.end.min(length);
        let left = end.saturating_sub(told_to.max(steps.start));
        RouteWords {
            told,
            ending: (left == 0 && end == length).then(|| self.ending(board, roadmap)),
            left,
        }
    }

    fn again(&self, moves: usize, times: u64) -> Told {
        let words = &self.phrases.again;
        let template = if moves == 1 { words.one } else { words.many };
        let filled = fill(
            template,
            &[("moves", &moves.to_string()), ("times", &times.to_string())],
        );
        Told::Again {
            moves: u32::try_from(moves).unwrap_or(u32::MAX),
            times,
            says: self.worded(filled),
        }
    }
}

/// Where rows of runs come again.
struct Rows<'a> {
    book: &'a Phrasebook,
    board: &'a Board,
    roadmap: &'a Roadmap,
    runs: &'a [Run],
    /// Whether a measure may sound otherwise from one time to the next.
    sounds: bool,
}

impl<'a> Rows<'a> {
    fn new(
        book: &'a Phrasebook,
        board: &'a Board,
        roadmap: &'a Roadmap,
        runs: &'a [Run],
    ) -> Rows<'a> {
        let changes = |sign: &Sign| match sign {
            Sign::Octave(octave) => octave.when != When::EveryPass,
            Sign::Fermata(fermata) => fermata.when != When::EveryPass,
            Sign::Only(_) => true,
            _ => false,
        };
        let mut markings = board.markings().iter();
        Rows {
            book,
            board,
            roadmap,
            runs,
            sounds: markings.any(|marking| changes(marking.sign())),
        }
    }

    /// The shortest row that begins at a run and comes again: its length, and how often it comes again.
    fn at(&self, at: usize) -> Option<(usize, u64)> {
        let runs = self.runs.get(at..)?;
        (1..=LONGEST_ROW).find_map(|length| {
            let mut sounds = MOST_SOUNDS;
            let (row, after) = runs.split_at_checked(length)?;
            let mut times = 0;
            for other in after.chunks_exact(length) {
                let mut pairs = row.iter().zip(other);
                if !pairs.all(|(one, other)| self.alike(one, other, &mut sounds)) {
                    break;
                }
                times += 1;
            }
            (times >= FEWEST_TIMES).then_some((length, times))
        })
    }

    /// Whether two runs are come to alike, and sound alike.
    fn alike(&self, one: &Run, other: &Run, sounds: &mut u64) -> bool {
        let told = |run: &Run| {
            (
                (run.cause, run.marking, run.leg),
                (run.from, run.from_part, run.to, run.to_part),
            )
        };
        if told(one) != told(other) {
            return false;
        }
        if !self.sounds {
            return true;
        }
        let Some(left) = sounds.checked_sub(one.steps.saturating_mul(2)) else {
            return false;
        };
        *sounds = left;
        let notes = |run| sounding(self.book.phrases, self.board, self.roadmap, run);
        notes(one) == notes(other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::roadmap::Terms;

    fn told(line: &str) -> Vec<String> {
        let board: Board = line.parse().unwrap();
        let roadmap = Roadmap::new(&board, &Terms::default()).unwrap();
        let route = Phrasebook::default().route(&board, &roadmap, 60);
        let says = |told| match told {
            Told::Move(it) => it.play,
            Told::Again { says, .. } => says,
        };
        route.told.into_iter().map(says).collect()
    }

    #[test]
    fn a_row_of_moves_that_comes_again_is_told_once() {
        assert_eq!(
            told("|: 1 | 2 :|(plays 4) 3 |]").len(),
            4,
            "three times are told one by one"
        );
        let endings = told("|: 1 | [1-29. 2 :| [30. 3 ] | 4 |]");
        assert_eq!(endings[2], "The same again, 27 times more.");
        assert_eq!(endings.last().unwrap(), "Play measures 3 and 4.");
        let nested = told("|: 1 |: 2 :| 3 :|(plays 50) 4 |]");
        assert_eq!(
            nested[3], "The last 2 moves again, 48 times more.",
            "{nested:?}"
        );
    }

    #[test]
    fn a_part_of_a_route_is_told_by_the_moves_that_play_it() {
        let board: Board = "1 | 2 :| 3 | segno 4 | 5 :|: 6 :| 7 D.S. |]"
            .parse()
            .unwrap();
        let roadmap = Roadmap::new(&board, &Terms::default()).unwrap();
        let book = Phrasebook::default();
        let whole: Vec<Move> = book.moves(&board, &roadmap).collect();
        let length = roadmap.length();
        for from in 0..length {
            for to in from + 1..=length {
                let part = book.route_between(&board, &roadmap, from..to, 60);
                let plays = |it: &&Move| it.run.index < to && from < it.run.index + it.run.steps;
                let expected = whole.iter().filter(plays).cloned().map(Told::Move);
                assert_eq!(part.told, expected.collect::<Vec<_>>(), "{from} to {to}");
                assert_eq!((part.left, part.ending.is_some()), (0, to == length));
            }
        }
        let far: Board = "|: 1 | 2 :|(plays 1000000) 3 |]".parse().unwrap();
        let roadmap = Roadmap::new(&far, &Terms::default()).unwrap();
        let part = book.route_between(&far, &roadmap, 1_999_990..1_999_995, 60);
        assert_eq!((part.told.len(), part.left), (0, 5));
    }

    #[test]
    fn moves_that_sound_otherwise_are_told_one_by_one() {
        let plain = told("|: 1 | 2 :|(plays 6) 3 |]");
        assert_eq!(plain[2], "The same again, 3 times more.", "{plain:?}");
        assert_eq!(told("|: 1 8va(passes 2 4) | 2 :|(plays 6) 3 |]").len(), 6);
    }
}

use super::*;
use crate::board::{
    Al, Board, EndRepeat, Ending, Fine, Jump, Landing, Marking, Passes, Place, Plays, Repeats,
    Sign, Then, ToCoda,
};
use crate::reading::Reading;
use crate::roadmap::Roadmap;

/// Numbers by chance, the same on each run (a linear congruential generator with the multiplier of Knuth's MMIX).
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }

    fn measure(&mut self, measures: u16) -> u16 {
        1 + u16::try_from(self.below(u64::from(measures))).unwrap()
    }

    fn passes(&mut self) -> Passes {
        match self.below(5) {
            0 | 1 => Passes::of([1]).unwrap(),
            2 => Passes::of([2]).unwrap(),
            3 => Passes::of([1, 2]).unwrap(),
            _ => Passes::of([3]).unwrap(),
        }
    }

    fn label(&mut self) -> Option<String> {
        (self.below(5) == 0).then(|| "B".to_owned())
    }

    fn few(&mut self) -> Option<Passes> {
        (self.below(8) == 0).then(|| self.passes())
    }

    fn jump(&mut self) -> Jump {
        let al = [None, Some(Al::Fine), Some(Al::Coda), Some(Al::End)]
            [usize::try_from(self.below(4)).unwrap()];
        let repeats = [None, None, Some(Repeats::Play), Some(Repeats::Skip)]
            [usize::try_from(self.below(4)).unwrap()];
        let then = (al == Some(Al::Fine) && self.below(6) == 0).then_some(Then::Coda);
        Jump {
            al,
            then,
            label: self.label(),
            repeats,
            arrivals: self.few(),
            passes: self.few(),
            ..Jump::default()
        }
    }

    fn board(&mut self) -> Board {
        let measures = 2 + u16::try_from(self.below(9)).unwrap();
        let mut builder = Board::builder([measures]);
        for _ in 0..=self.below(8) {
            let measure = self.measure(measures);
            let sign = match self.below(12) {
                0 => Sign::StartRepeat,
                1 | 2 => Sign::EndRepeat(EndRepeat {
                    plays: (self.below(4) == 0).then_some(Plays::Times(3)),
                    on_return: (self.below(8) == 0).then_some(Repeats::Play),
                }),
                3 | 4 => {
                    let last = measures.min(measure + u16::try_from(self.below(2)).unwrap());
                    let ending = Ending {
                        passes: self.passes(),
                        open: false,
                    };
                    builder = builder.marking(Marking::new(
                        Sign::Ending(ending),
                        Place::over(measure, last),
                    ));
                    continue;
                }
                5 => Sign::Segno(Landing {
                    label: self.label(),
                }),
                6 => Sign::Coda(Landing {
                    label: self.label(),
                }),
                7 => Sign::ToCoda(ToCoda {
                    label: self.label(),
                    arrivals: self.few(),
                }),
                8 => Sign::Fine(Fine {
                    arrivals: self.few(),
                }),
                9 => Sign::DaCapo(Jump {
                    label: None,
                    ..self.jump()
                }),
                10 if self.below(4) == 0 => Sign::DaCapo(Jump {
                    al: Some(Al::Segno),
                    ..self.jump()
                }),
                _ => Sign::DalSegno(self.jump()),
            };
            builder = builder.mark(sign, measure);
        }
        builder.build().unwrap()
    }
}

/// The walk decides at each barline anew what the compiled route knows beforehand; both follow the rulebook.
#[test]
fn the_unchanged_walk_takes_the_steps_of_the_roadmap() {
    let mut chance = Chance(7);
    let mut compared = 0;
    for _ in 0..60_000 {
        let board = chance.board();
        let every = [Reading::default()].into_iter();
        let readings: Vec<Reading> = if chance.below(8) == 0 {
            Reading::all().collect()
        } else {
            every.collect()
        };
        for reading in readings {
            let terms = Terms {
                reading,
                omit_repeats: chance.below(10) == 0,
                ..Terms::default()
            };
            let Ok(roadmap) = Roadmap::new(&board, &terms) else {
                continue;
            };
            let course = Course::new(&board, &terms);
            let mut walk = Walk::new(&course);
            for step in roadmap.steps().take(2_000) {
                let stand = walk.next().map(|stand| {
                    let (measure, part) = course.row.part(stand.part);
                    (
                        measure,
                        part,
                        stand.pass,
                        stand.leg,
                        stand.cause,
                        stand.marking,
                    )
                });
                let step = (
                    step.measure,
                    step.part,
                    step.pass,
                    step.leg,
                    step.cause,
                    step.marking,
                );
                assert_eq!(stand, Some(step), "{} {terms:?}", board.to_line());
            }
            if roadmap.length() <= 2_000 {
                assert_eq!(walk.next(), None, "{} {terms:?}", board.to_line());
            }
            compared += 1;
        }
    }
    assert!(compared > 20_000, "only {compared} routes");
}

/// Two changed rules at once give an answer that is explained whole: by one of them or by two, unless one slip explains it as well, from the
/// right order or that of another published reading. So
/// what the search for two leaves out is nothing that it would find.
#[test]
fn what_two_changed_rules_give_is_explained_whole() {
    use crate::answer::{Answer, AnswerVerdict, Explanation, Fit, Judge};
    let mut chance = Chance(11);
    let singles: Vec<_> = Changes::singles()
        .filter(|(idea, _)| !idea.is_of_octaves())
        .collect();
    let pick = |chance: &mut Chance| {
        let at = chance.below(singles.len() as u64);
        singles[usize::try_from(at).unwrap()]
    };
    let (mut explained, mut by_two) = (0, 0);
    while explained < 4_000 {
        let board = chance.board();
        let Ok(judge) = Judge::new(&board, &Terms::default()) else {
            continue;
        };
        let course = Course::new(&board, &Terms::default());
        let ((one, changes), (other, more)) = (pick(&mut chance), pick(&mut chance));
        if one == other || one.contradicts(other) {
            continue;
        }
        let mut walk = Walk::new(&course);
        walk.restart(changes.and(more));
        let measures = walk
            .take(301)
            .map(|stand| u32::from(course.measure(stand.part)));
        let measures: Vec<u32> = measures.collect();
        if measures.len() > 300 {
            continue;
        }
        let judgement = judge.judge(&Answer::of(measures).unwrap());
        let mut near = judgement.near.iter();
        let near = near.any(|near| near.fit == Fit::ButForSlips(1));
        if judgement.verdict != AnswerVerdict::Wrong || judgement.slips == Some(1) || near {
            continue;
        }
        let first = judgement.explanations.first();
        // Of two an answer that is right as far as it goes shows one at most.
        if judgement.right_from_the_beginning == judgement.given {
            let mut all = judgement.explanations.iter();
            let is_one = |it: &Explanation| it.ideas.len() == 1;
            assert!(all.all(is_one), "{} {judgement:?}", board.to_line());
            continue;
        }
        let fit = first.map(|first| first.fit);
        let line = board.to_line();
        assert_eq!(fit, Some(Fit::Whole), "{one} {other}: {line} {judgement:?}");
        by_two += usize::from(first.is_some_and(|first| first.ideas.len() == 2));
        explained += 1;
    }
    assert!(by_two > 300, "{by_two} of {explained}");
}

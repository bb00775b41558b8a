//! Larger boards by chance, from a seed.

use std::collections::VecDeque;

use fingerpost::{
    Al, Answers, Board, DoubleBar, EndRepeat, Ending, Fermata, Fine, Fraction, Hands, Jump,
    Landing, Marking, Meter, Octave, Only, Passes, Place, Plays, Question, Reading, Repeats, Shift,
    Side, Sign, Then, ToCoda, When,
};

const MOST_MEASURES: u16 = 24;
const MOST_SIGNS: usize = 16;

/// A source of numbers: from a seed, for which it gives the same each time (`SplitMix64`), or given.
pub(crate) struct Dice {
    seed: u64,
    given: Option<VecDeque<u8>>,
}

impl Dice {
    pub(crate) fn new(seed: u64) -> Dice {
        Dice { seed, given: None }
    }

    /// These numbers, one after the other, and then zeros: whoever chooses the bytes chooses the board.
    #[allow(dead_code)]
    pub(crate) fn from_bytes(bytes: &[u8]) -> Dice {
        Dice {
            seed: 0,
            given: Some(bytes.iter().copied().collect()),
        }
    }

    fn next(&mut self) -> u64 {
        if let Some(given) = &mut self.given {
            return given.pop_front().map_or(0, u64::from);
        }
        self.seed = self.seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.seed;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 to `n` - 1.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n as u64).expect("below a usize")
    }

    /// True once in `n` times.
    pub(crate) fn once_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    pub(crate) fn between(&mut self, from: u16, to: u16) -> u16 {
        let span = usize::from(to.max(from) - from) + 1;
        from + u16::try_from(self.below(span)).expect("a span of measures")
    }

    pub(crate) fn pick<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())].clone()
    }

    /// One of the 144 readings.
    pub(crate) fn reading(&mut self) -> Reading {
        Question::ALL
            .iter()
            .fold(Reading::default(), |reading, &question| {
                self.pick(&reading.each_answer(question))
            })
    }
}

/// A board put together from sound pieces (sections with their endings, jumps with their partners), which is without errors more often
/// than not.
pub(crate) fn from_pieces(dice: &mut Dice) -> Board {
    let mut pieces = Pieces {
        dice,
        measures: 0,
        signs: Vec::new(),
    };
    let most = pieces.dice.between(2, MOST_MEASURES - 6);
    while pieces.measures < most {
        pieces.add_piece();
    }
    for _ in 0..pieces.dice.below(4) {
        pieces.add_jump();
    }
    for _ in 0..pieces.dice.below(3) {
        pieces.add_beside();
    }
    let (measures, signs) = (pieces.measures, pieces.signs);
    finish(dice, measures, signs)
}

/// A board with any signs at any places: wrong more often than not.
pub(crate) fn wild(dice: &mut Dice) -> Board {
    let measures = dice.between(1, MOST_MEASURES);
    let count = dice.below(MOST_SIGNS + 1);
    let signs = (0..count)
        .map(|_| {
            let sign = any_sign(dice);
            let first = dice.between(1, measures);
            let last = if sign.spans() {
                dice.between(first, measures.min(first + 3))
            } else {
                first
            };
            (sign, first, last)
        })
        .collect();
    finish(dice, measures, signs)
}

type Laid = (Sign, u16, u16);

struct Pieces<'d> {
    dice: &'d mut Dice,
    measures: u16,
    signs: Vec<Laid>,
}

impl Pieces<'_> {
    /// Goes on by so many measures and says which they are.
    fn go(&mut self, count: u16) -> (u16, u16) {
        let first = self.measures + 1;
        self.measures += count;
        (first, self.measures)
    }

    fn lay(&mut self, sign: Sign, measure: u16) {
        self.signs.push((sign, measure, measure));
    }

    fn add_piece(&mut self) {
        match self.dice.below(8) {
            0 | 1 => {
                let count = self.dice.between(1, 3);
                let (_, last) = self.go(count);
                if self.dice.once_in(3) {
                    self.lay(Sign::DoubleBar(DoubleBar::default()), last);
                }
            }
            2 | 3 => self.add_section(|pieces| {
                let end = end_repeat(pieces.dice);
                pieces.lay(end, pieces.measures);
            }),
            4 | 5 => self.add_section(Self::add_closing_group),
            6 => self.add_section(|pieces| {
                // Endings in the middle of the section.
                pieces.add_ending(&[1]);
                pieces.add_ending(&[2]);
                pieces.go(1);
                let end = end_repeat(pieces.dice);
                pieces.lay(end, pieces.measures);
            }),
            _ => self.add_section(|pieces| {
                // A section within the section.
                pieces.add_section(|inner| {
                    let end = end_repeat(inner.dice);
                    inner.lay(end, inner.measures);
                });
                let count = pieces.dice.between(1, 2);
                let (_, last) = pieces.go(count);
                let end = end_repeat(pieces.dice);
                pieces.lay(end, last);
            }),
        }
    }

    fn add_section(&mut self, rest: fn(&mut Self)) {
        let count = self.dice.between(1, 2);
        let (first, _) = self.go(count);
        if !self.dice.once_in(4) {
            self.lay(Sign::StartRepeat, first);
        }
        rest(self);
    }

    fn add_ending(&mut self, passes: &[u32]) -> (u16, u16) {
        let count = self.dice.between(1, 2);
        let (first, last) = self.go(count);
        let ending = Ending {
            passes: Passes::of(passes.iter().copied()).expect("a list of passes"),
            open: self.dice.once_in(4),
        };
        self.signs.push((Sign::Ending(ending), first, last));
        (first, last)
    }

    fn add_closing_group(&mut self) {
        let groups: [&[&[u32]]; 7] = [
            &[&[1]],
            &[&[1, 2]],
            &[&[1], &[2]],
            &[&[1], &[2]],
            &[&[1, 2], &[3]],
            &[&[1, 3], &[2, 4]],
            &[&[1], &[2], &[3]],
        ];
        let group = self.dice.pick(&groups);
        for (i, passes) in group.iter().enumerate() {
            let (_, last) = self.add_ending(passes);
            let is_last = i + 1 == group.len() && group.len() > 1;
            let ends_early = passes.len() > 1;
            if !is_last || ends_early || self.dice.once_in(6) {
                // An ending may be closed by a jump in place of an end repeat.
                let sign = if self.dice.once_in(6) {
                    Sign::DaCapo(Jump::default())
                } else {
                    end_repeat(self.dice)
                };
                self.lay(sign, last);
            }
        }
    }

    /// A jump, and with luck what it needs.
    fn add_jump(&mut self) {
        let here = self.dice.between(1.max(self.measures / 2), self.measures);
        let sign = any_jump(self.dice);
        let (Sign::DaCapo(jump) | Sign::DalSegno(jump)) = &sign else {
            return;
        };
        let jump = jump.clone();
        if matches!(sign, Sign::DalSegno(_)) || jump.al == Some(Al::Segno) {
            let segno = self.dice.between(1, here);
            self.lay_once(Sign::Segno(Landing { label: jump.label }), segno);
        }
        if jump.al == Some(Al::Fine) || jump.al.is_none() && self.dice.once_in(2) {
            let place = self.dice.between(1, self.measures);
            let fine = any_fine(self.dice);
            self.lay(fine, place);
        }
        if jump.al == Some(Al::Coda)
            || jump.then == Some(Then::Coda)
            || jump.al.is_none() && self.dice.once_in(2)
        {
            if jump.then.is_none() {
                let arrivals = self.dice.once_in(10).then(|| any_list(self.dice));
                let place = self.dice.between(1, here);
                let label = jump.coda.clone();
                self.lay(Sign::ToCoda(ToCoda { label, arrivals }), place);
            }
            // The coda mostly comes after everything else.
            let place = if self.dice.once_in(3) {
                self.dice.between(1, self.measures)
            } else {
                let count = self.dice.between(1, 2);
                self.go(count).0
            };
            self.lay_once(Sign::Coda(Landing { label: jump.coda }), place);
        }
        self.lay(sign, here);
    }

    /// A landing of which one is enough.
    fn lay_once(&mut self, sign: Sign, measure: u16) {
        if !self.signs.iter().any(|(other, ..)| *other == sign) {
            self.lay(sign, measure);
        }
    }

    /// A sign that changes no route.
    fn add_beside(&mut self) {
        let sign = any_beside(self.dice);
        let first = self.dice.between(1, self.measures);
        let last = if sign.spans() {
            self.dice.between(first, self.measures)
        } else {
            first
        };
        self.signs.push((sign, first, last));
    }
}

/// Cuts, meters, the board's own answers, the same sign twice; and the signs in any order.
fn finish(dice: &mut Dice, measures: u16, mut signs: Vec<Laid>) -> Board {
    signs.truncate(MOST_SIGNS);
    if !signs.is_empty() && dice.once_in(8) {
        let twice = dice.pick(&signs);
        signs.push(twice);
    }
    for i in (1..signs.len()).rev() {
        signs.swap(i, dice.below(i + 1));
    }
    let mut builder = Board::builder([measures]);
    let cut = dice.once_in(4);
    if cut && !dice.once_in(12) {
        let meters = [Meter::new(4, 4), Meter::new(3, 4), Meter::new(6, 8)];
        builder = builder.meter(dice.pick(&meters).expect("a meter"));
        if dice.once_in(4) {
            let pickup = dice.pick(&[Fraction::new(1, 4), Fraction::new(1, 2)]);
            builder = builder.pickup(pickup.expect("a fraction"));
        }
    }
    for (sign, first, last) in signs {
        let place = if cut && sign.side() != Side::Over && dice.once_in(3) {
            // Now and then at the measure's edge or outside it.
            let quarters = match dice.below(12) {
                0 => 0,
                1 => 4,
                n => u32::from(n % 2 == 0) + 1,
            };
            let cut = Fraction::new(quarters, 4).expect("a fraction");
            Place::cutting(first, cut)
        } else {
            Place::over(first, last)
        };
        builder = builder.marking(Marking::new(sign, place));
    }
    if dice.once_in(6) {
        let reading = Answers::from(dice.reading());
        let mut own = Answers::default();
        if dice.once_in(2) {
            own.repeats_on_return = reading.repeats_on_return;
        }
        if dice.once_in(2) {
            own.arming = reading.arming;
        }
        if dice.once_in(2) {
            own.lone_end_repeat = reading.lone_end_repeat;
            own.nested = reading.nested;
        }
        if dice.once_in(2) {
            own.jump_in_repeat = reading.jump_in_repeat;
            own.armed_in_repeat = reading.armed_in_repeat;
        }
        builder = builder.reading(own);
    }
    builder.build().expect("the signs stand on the board")
}

fn any_sign(dice: &mut Dice) -> Sign {
    match dice.below(16) {
        0 | 1 => Sign::StartRepeat,
        2..=4 => end_repeat(dice),
        5 | 6 => Sign::Ending(Ending {
            passes: any_list(dice),
            open: dice.once_in(4),
        }),
        7 => Sign::Segno(Landing {
            label: any_label(dice),
        }),
        8 => Sign::Coda(Landing {
            label: any_label(dice),
        }),
        9 => Sign::ToCoda(ToCoda {
            label: any_label(dice),
            arrivals: dice.once_in(4).then(|| any_list(dice)),
        }),
        10 => any_fine(dice),
        11 | 12 => any_jump(dice),
        13 => Sign::DoubleBar(DoubleBar {
            is_final: dice.once_in(2),
        }),
        _ => any_beside(dice),
    }
}

fn any_fine(dice: &mut Dice) -> Sign {
    Sign::Fine(Fine {
        arrivals: dice.once_in(6).then(|| any_list(dice)),
    })
}

fn end_repeat(dice: &mut Dice) -> Sign {
    let plays = match dice.below(24) {
        0 => Some(Plays::Open),
        1 => Some(Plays::Times(1)),
        2 => Some(Plays::Times(2)),
        3 | 4 => Some(Plays::Times(3)),
        5 => Some(Plays::Times(4)),
        _ => None,
    };
    Sign::EndRepeat(EndRepeat {
        plays,
        on_return: dice.once_in(6).then(|| any_repeats(dice)),
    })
}

fn any_jump(dice: &mut Dice) -> Sign {
    let da_capo = dice.once_in(2);
    let als = [None, None, Some(Al::Fine), Some(Al::Coda), Some(Al::End)];
    let al = if da_capo && dice.once_in(4) {
        Some(Al::Segno)
    } else {
        dice.pick(&als)
    };
    let then = match al {
        Some(Al::Fine | Al::Segno) => dice.pick(&[None, None, Some(Then::End), Some(Then::Coda)]),
        _ => None,
    };
    let names_coda = al == Some(Al::Coda) || then == Some(Then::Coda);
    let names_segno = !da_capo || al == Some(Al::Segno);
    let jump = Jump {
        al,
        then,
        coda: any_label(dice).filter(|_| names_coda),
        label: any_label(dice).filter(|_| names_segno),
        repeats: dice.once_in(6).then(|| any_repeats(dice)),
        arrivals: dice.once_in(10).then(|| any_list(dice)),
        passes: dice.once_in(10).then(|| any_list(dice)),
    };
    if da_capo {
        Sign::DaCapo(jump)
    } else {
        Sign::DalSegno(jump)
    }
}

/// An octave sign, a fermata or hands that play at some times only.
fn any_beside(dice: &mut Dice) -> Sign {
    let hands = dice.pick(&[Hands::Both, Hands::Left, Hands::Right]);
    let when = match dice.below(6) {
        0 => When::EveryPass,
        1 => When::OnReturn,
        2 => When::LastPass,
        3 => When::Passes(any_list(dice)),
        _ => When::OnRepeat,
    };
    match dice.below(3) {
        0 => Sign::Octave(Octave {
            hands,
            shift: dice.pick(&[Shift::Up1, Shift::Up2, Shift::Down1, Shift::Down2]),
            when,
        }),
        1 => Sign::Fermata(Fermata { hands, when }),
        _ => Sign::Only(Only { hands, when }),
    }
}

fn any_repeats(dice: &mut Dice) -> Repeats {
    dice.pick(&[Repeats::Play, Repeats::Skip])
}

/// Some of the numbers from 1 to 4, low ones more often.
fn any_list(dice: &mut Dice) -> Passes {
    let lists: [&[u32]; 10] = [
        &[1],
        &[1],
        &[2],
        &[2],
        &[3],
        &[1, 2],
        &[2, 3],
        &[1, 3],
        &[2, 4],
        &[1, 2, 3],
    ];
    Passes::of(dice.pick(&lists).iter().copied()).expect("a list of passes")
}

fn any_label(dice: &mut Dice) -> Option<String> {
    match dice.below(8) {
        0 => Some("A".to_owned()),
        1 => Some("B".to_owned()),
        _ => None,
    }
}

//! Boards by chance such as pupils get: strains with repeats and endings, a D.C. or D.S. with what belongs to it, octave signs that hold at
//! some times. Most have no error.

use fingerpost::{
    Al, Board, EndRepeat, Ending, Fine, Hands, Jump, Landing, Marking, Octave, Passes, Place,
    Plays, Repeats, Shift, Sign, ToCoda, When,
};

use super::chance::Dice;

const FEWEST_MEASURES: u16 = 8;
const MOST_MEASURES: u16 = 24;

/// A board of 8 to 24 measures.
pub(crate) fn board(dice: &mut Dice) -> Board {
    loop {
        let mut page = Page {
            dice,
            measures: 0,
            strains: Vec::new(),
            inner: Vec::new(),
            signs: Vec::new(),
        };
        page.lay();
        if (FEWEST_MEASURES..=MOST_MEASURES).contains(&page.measures) {
            let markings = page
                .signs
                .iter()
                .map(|(sign, first, last)| Marking::new(sign.clone(), Place::over(*first, *last)));
            let board = Board::builder([page.measures]).markings(markings).build();
            return board.expect("the signs stand on the board");
        }
    }
}

struct Page<'d> {
    dice: &'d mut Dice,
    measures: u16,
    /// The first and the last measure of each strain.
    strains: Vec<(u16, u16)>,
    /// Measures in endings that are not the last of their group.
    inner: Vec<u16>,
    signs: Vec<(Sign, u16, u16)>,
}

impl Page<'_> {
    fn lay(&mut self) {
        let wanted = self.dice.between(5, 18);
        while self.measures < wanted {
            self.add_strain();
        }
        if self.dice.once_in(5) {
            // A D.S. in the midst of the road, and more music.
            self.add_return(false);
            self.add_strain();
            self.add_return(true);
        } else if !self.dice.once_in(6) {
            let da_capo = self.dice.once_in(2);
            self.add_return(da_capo);
        }
        for _ in 0..self.dice.below(4) {
            self.add_octave();
        }
    }

    fn go(&mut self, most: u16) -> (u16, u16) {
        let first = self.measures + 1;
        self.measures += self.dice.between(1, most);
        (first, self.measures)
    }

    fn put(&mut self, sign: Sign, measure: u16) {
        self.signs.push((sign, measure, measure));
    }

    fn add_strain(&mut self) {
        let (first, _) = self.go(4);
        let repeated = self.dice.below(10);
        if repeated >= 4 {
            let implied = first == 1 && self.dice.once_in(2);
            if !implied {
                self.put(Sign::StartRepeat, first);
            }
            if repeated < 7 {
                let more = self.dice.once_in(8);
                let times = if self.measures % 3 == 0 { 4 } else { 3 };
                let plays = more.then_some(Plays::Times(times));
                self.put_end_repeat(plays);
            } else {
                self.add_endings();
            }
        }
        self.strains.push((first, self.measures));
    }

    fn put_end_repeat(&mut self, plays: Option<Plays>) {
        let end = EndRepeat {
            plays,
            on_return: None,
        };
        self.put(Sign::EndRepeat(end), self.measures);
    }

    fn add_endings(&mut self) {
        let groups: [&[&[u32]]; 6] = [
            &[&[1], &[2]],
            &[&[1], &[2]],
            &[&[1], &[2]],
            &[&[1], &[2], &[3]],
            &[&[1, 2], &[3]],
            &[&[1]],
        ];
        let group = self.dice.pick(&groups);
        for (index, passes) in group.iter().enumerate() {
            let (first, last) = self.go(2);
            let ending = Ending {
                passes: Passes::of(passes.iter().copied()).expect("a list of passes"),
                open: false,
            };
            self.signs.push((Sign::Ending(ending), first, last));
            if index == 0 || index + 1 < group.len() {
                self.put_end_repeat(None);
                self.inner.extend(first..=last);
            }
        }
    }

    /// A D.C. or D.S. after the last measure, with what it needs, and perhaps music behind it.
    fn add_return(&mut self, da_capo: bool) {
        let here = self.measures;
        let repeats = match self.dice.below(6) {
            0 | 1 => Some(Repeats::Skip),
            2 if self.dice.once_in(2) => Some(Repeats::Play),
            _ => None,
        };
        let mut jump = Jump {
            repeats,
            ..Jump::default()
        };
        let segno = self.dice.between(1, here.max(3) - 2);
        let landing = Sign::Segno(Landing::default());
        // Now and then a segno stands there to lead a D.C. astray.
        let wanted = !da_capo || self.dice.once_in(6);
        if wanted && !self.signs.iter().any(|(sign, ..)| *sign == landing) {
            self.put(landing, segno);
        }
        let leave = self.leaving_place(here);
        let kind = self.dice.below(8);
        match kind {
            0..=2 => {
                jump.al = (kind > 0).then_some(Al::Fine);
                self.put(Sign::Fine(Fine::default()), leave);
            }
            3..=5 => {
                jump.al = Some(Al::Coda);
                self.put(Sign::ToCoda(ToCoda::default()), leave);
            }
            6 => jump.al = Some(Al::End),
            _ => {}
        }
        let sign = if da_capo {
            Sign::DaCapo(jump)
        } else {
            Sign::DalSegno(jump)
        };
        self.put(sign, here);
        if (3..=5).contains(&kind) {
            // The coda follows at once or, now and then, after more music.
            if self.dice.once_in(4) {
                self.go(2);
            }
            let (first, _) = self.go(4);
            self.put(Sign::Coda(Landing::default()), first);
            if self.dice.once_in(4) {
                self.put(Sign::StartRepeat, first);
                self.put_end_repeat(None);
            }
        } else if kind > 5 || self.dice.once_in(3) {
            self.go(3);
        }
    }

    /// Where a Fine or a To Coda may stand: seldom in an ending that is not the last, now and then at the end of a strain.
    fn leaving_place(&mut self, before: u16) -> u16 {
        if self.dice.once_in(2) {
            let (_, last) = self.dice.pick(&self.strains);
            if last < before {
                return last;
            }
        }
        let place = self.dice.between(1, before.max(2) - 1);
        if self.inner.contains(&place) && !self.dice.once_in(8) {
            return self.dice.between(1, before.max(2) - 1);
        }
        place
    }

    fn add_octave(&mut self) {
        let when = match self.dice.below(8) {
            0 => When::EveryPass,
            1 => When::LastPass,
            2 | 3 => When::OnReturn,
            4 => When::Passes(Passes::of([self.dice.between(1, 2).into()]).expect("a pass")),
            _ => When::OnRepeat,
        };
        let hands = self.dice.pick(&[Hands::Right, Hands::Left, Hands::Both]);
        let shift = self.dice.pick(&[Shift::Up1, Shift::Up1, Shift::Down1]);
        // Mostly over a strain, where it is heard more than once.
        let (first, last) = self.dice.pick(&self.strains);
        let first = self.dice.between(first, last);
        let octave = Octave { hands, shift, when };
        self.signs.push((Sign::Octave(octave), first, last));
    }
}

//! The road: the parts of the measures in written order, and what stands at each of them. From the chapter "inside a measure".

use fingerpost::{Board, Fraction, Jump, Passes, Side, Sign};

/// The road of a board.
pub(super) struct Road<'b> {
    pub(super) parts: Vec<RoadPart>,
    /// The markings, each with the parts where it stands; of equal ones at one place only the first.
    pub(super) marks: Vec<Mark<'b>>,
    /// Whether some cut lies outside its measure.
    pub(super) cut_outside: bool,
}

/// One measure that no marking cuts, or one part of a cut measure.
#[derive(Default)]
pub(super) struct RoadPart {
    pub(super) measure: u16,
    /// From where to where, in whole notes, when the measure is cut.
    pub(super) cut: Option<(Fraction, Fraction)>,
    /// Marks at its start: start repeats, segnos, codas and the endings that begin here, in the order of the board.
    pub(super) lands: Vec<usize>,
    /// Marks at its end: end repeats, Fines, To Codas, D.C.s and D.S.s, in the order of the board.
    pub(super) leaves: Vec<usize>,
    /// Octave signs, fermatas and hands that play at some times only.
    pub(super) over: Vec<usize>,
    /// Whether a double bar stands at its end.
    pub(super) double_bar: bool,
}

/// A marking on the road.
pub(super) struct Mark<'b> {
    pub(super) index: u32,
    pub(super) sign: &'b Sign,
    pub(super) first: usize,
    pub(super) last: usize,
}

impl<'b> Road<'b> {
    pub(super) fn new(board: &'b Board) -> Road<'b> {
        let mut road = Road {
            parts: Vec::new(),
            marks: Vec::new(),
            cut_outside: false,
        };
        // The parts of measure m are those from `begins[m - 1]` up to `begins[m]`.
        let mut begins = vec![0];
        for measure in 1..=board.measures() {
            road.lay_measure(board, measure);
            begins.push(road.parts.len());
        }
        for (index, marking) in (0..).zip(board.markings()) {
            let place = marking.place();
            let (mut first, mut last) = (
                begins[usize::from(place.first()) - 1],
                begins[usize::from(place.last())] - 1,
            );
            // A leaving mark stands at the end of one part, a landing mark at the start of one; the others hold for whole measures.
            let cut = place
                .cut()
                .filter(|&cut| cuts(board, place.first(), marking.sign(), cut) == Cut::Inside);
            let parts = &road.parts;
            match marking.sign().side() {
                Side::Leaving => {
                    if let Some(cut) = cut {
                        last = (first..=last)
                            .find(|&p| parts[p].cut.is_some_and(|(_, to)| to == cut))
                            .expect("a cut ends a part");
                    }
                    first = last;
                }
                Side::Landing => {
                    if let Some(cut) = cut {
                        first = (first..=last)
                            .find(|&p| parts[p].cut.is_some_and(|(from, _)| from == cut))
                            .expect("a cut begins a part");
                    }
                    last = first;
                }
                Side::Over => {}
            }
            road.lay_mark(Mark {
                index,
                sign: marking.sign(),
                first,
                last,
            });
        }
        road
    }

    fn lay_measure(&mut self, board: &Board, measure: u16) {
        let mut points: Vec<Fraction> = Vec::new();
        for marking in board.markings() {
            if let Some(cut) = marking.place().cut() {
                if marking.measure() == measure {
                    match cuts(board, measure, marking.sign(), cut) {
                        Cut::Inside => points.push(cut),
                        Cut::Edge => {}
                        Cut::Outside => self.cut_outside = true,
                    }
                }
            }
        }
        let part = |cut| RoadPart {
            measure,
            cut,
            ..RoadPart::default()
        };
        let Some(length) = board.measure_length(measure).filter(|_| !points.is_empty()) else {
            return self.parts.push(part(None));
        };
        points.extend([Fraction::ZERO, length]);
        points.sort_unstable();
        points.dedup();
        for pair in points.windows(2) {
            self.parts.push(part(Some((pair[0], pair[1]))));
        }
    }

    fn lay_mark(&mut self, mark: Mark<'b>) {
        // Two equal markings at one place count once.
        let twice = |other: &Mark| {
            other.sign == mark.sign && other.first == mark.first && other.last == mark.last
        };
        if self.marks.iter().any(twice) {
            return;
        }
        let id = self.marks.len();
        match mark.sign.side() {
            Side::Leaving => self.parts[mark.last].leaves.push(id),
            Side::Landing => self.parts[mark.first].lands.push(id),
            Side::Over => match mark.sign {
                Sign::Ending(_) => self.parts[mark.first].lands.push(id),
                Sign::DoubleBar(_) => self.parts[mark.last].double_bar = true,
                _ => {
                    for part in &mut self.parts[mark.first..=mark.last] {
                        part.over.push(id);
                    }
                }
            },
        }
        self.marks.push(mark);
    }

    /// Whether a D.C. or a D.S. stands anywhere.
    pub(super) fn has_jump(&self) -> bool {
        self.marks.iter().any(|mark| mark.jump().is_some())
    }

    /// The endings, in the order of the board.
    pub(super) fn endings(&self) -> impl Iterator<Item = (usize, &Mark<'b>, &'b Passes)> {
        self.marks
            .iter()
            .enumerate()
            .filter_map(|(id, mark)| Some((id, mark, mark.passes()?)))
    }

    /// The part of the coda of a label; no label is a label of its own. Of several, which is an error in itself, the first on the road.
    pub(super) fn coda(&self, label: Option<&str>) -> Option<usize> {
        let codas = self
            .marks
            .iter()
            .filter(|mark| matches!(mark.sign, Sign::Coda(coda) if coda.label.as_deref() == label));
        codas.map(|mark| mark.first).min()
    }

    /// The part of the segno of a label, likewise.
    pub(super) fn segno(&self, label: Option<&str>) -> Option<usize> {
        let segnos = self.marks.iter().filter(
            |mark| matches!(mark.sign, Sign::Segno(segno) if segno.label.as_deref() == label),
        );
        segnos.map(|mark| mark.first).min()
    }

    /// The first end repeat at the end of a part. All that stand there are one sign.
    pub(super) fn end_repeat(&self, part: usize) -> Option<usize> {
        let leaves = &self.parts[part].leaves;
        let found = |id: &&usize| matches!(self.marks[**id].sign, Sign::EndRepeat(_));
        leaves.iter().find(found).copied()
    }

    /// Whether a D.C. or a D.S. stands at the end of a part.
    pub(super) fn jump_at(&self, part: usize) -> bool {
        let leaves = &self.parts[part].leaves;
        leaves.iter().any(|&id| self.marks[id].jump().is_some())
    }
}

impl<'b> Mark<'b> {
    /// What is written at it, when it is a D.C. or a D.S.
    pub(super) fn jump(&self) -> Option<&'b Jump> {
        match self.sign {
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump),
            _ => None,
        }
    }

    /// The passes on which it is played, when it is an ending.
    pub(super) fn passes(&self) -> Option<&'b Passes> {
        match self.sign {
            Sign::Ending(ending) => Some(&ending.passes),
            _ => None,
        }
    }

    /// Whether it stands over a part.
    pub(super) fn covers(&self, part: usize) -> bool {
        self.first <= part && part <= self.last
    }
}

#[derive(PartialEq)]
enum Cut {
    Inside,
    Edge,
    Outside,
}

/// Where a cut lies. A leaving mark at the measure's length and a landing mark at 0 stand at the measure's own edge.
/// A cut needs a meter; a leaving mark at 0 or beyond the length and a landing mark at the length or beyond it are outside.
fn cuts(board: &Board, measure: u16, sign: &Sign, cut: Fraction) -> Cut {
    let length = match board.measure_length(measure) {
        Some(length) if board.meter().is_some() => length,
        _ => return Cut::Outside,
    };
    let leaving = sign.side() == Side::Leaving;
    if (leaving && cut == length) || (!leaving && cut == Fraction::ZERO) {
        Cut::Edge
    } else if cut == Fraction::ZERO || cut >= length {
        Cut::Outside
    } else {
        Cut::Inside
    }
}

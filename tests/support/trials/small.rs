//! Every small board: the alphabet of placed signs and the boards of up to four of them.

use fingerpost::{
    Al, Board, DoubleBar, EndRepeat, Ending, Fermata, Fine, Hands, Jump, Landing, Octave, Only,
    Passes, Plays, Shift, Sign, Then, ToCoda, When,
};

/// The most signs on a small board.
pub(crate) const MOST_SIGNS: usize = 4;
/// The most measures of a small board.
pub(crate) const MOST_MEASURES: u16 = 4;

/// A sign and its measure.
pub(crate) type Placed = (Sign, u16);

/// The alphabet for boards of so many measures.
///
/// | sign | measures, on a board of four |
/// |---|---|
/// | start repeat | 1 2 3 4 |
/// | end repeat | 1 2 3 4 |
/// | end repeat, three plays | 2 4 |
/// | ending 1 | 1 2 3 |
/// | ending 2 | 2 3 4 |
/// | ending 1, 2 | 2 3 |
/// | ending 3 | 3 4 |
/// | segno | 1 2 3 4 |
/// | coda | 1 2 3 4 |
/// | To Coda | 1 2 3 4 |
/// | Fine | 1 2 3 4 |
/// | double bar | 1 2 3 4 |
/// | D.C. | 2 4 |
/// | D.C. al Fine | 1 4 |
/// | D.C. al Fine, then the coda | 3 |
/// | D.C. al Coda | 2 3 |
/// | D.C. al Segno | 4 |
/// | D.C. al Segno, then the coda | 3 |
/// | D.C. to the end | 3 |
/// | D.S. | 1 4 |
/// | D.S. al Fine | 3 |
/// | D.S. al Coda | 2 3 |
/// | D.S. to the end | 4 |
/// | segno A | 2 |
/// | D.S. to A | 4 |
/// | To Coda A | 2 |
/// | coda A | 4 |
/// | octave on the repeat | 2 |
/// | fermata on the last pass | 3 |
/// | right hand on pass 1 only | 2 |
///
/// A smaller board has the signs of the last measures of this table: on a board of three, those of measures 2 to 4 stand at 1 to 3.
pub(crate) fn alphabet(measures: u16) -> Vec<Placed> {
    let shift = MOST_MEASURES - measures;
    let mut letters = Vec::new();
    for (sign, places) in table() {
        for measure in places.iter().filter(|&&place| place > shift) {
            letters.push((sign.clone(), measure - shift));
        }
    }
    letters
}

/// The board of these letters.
pub(crate) fn board<'a>(measures: u16, letters: impl IntoIterator<Item = &'a Placed>) -> Board {
    letters
        .into_iter()
        .fold(Board::builder([measures]), |builder, (sign, measure)| {
            builder.mark(sign.clone(), *measure)
        })
        .build()
        .expect("the letters stand on the board")
}

fn table() -> Vec<(Sign, &'static [u16])> {
    let label = || Some("A".to_owned());
    let dc = |al, then| {
        Sign::DaCapo(Jump {
            al,
            then,
            ..Jump::default()
        })
    };
    let ds = |al, label| {
        Sign::DalSegno(Jump {
            al,
            label,
            ..Jump::default()
        })
    };
    let end = |plays| {
        Sign::EndRepeat(EndRepeat {
            plays,
            on_return: None,
        })
    };
    let ending = |passes: &[u32]| {
        Sign::Ending(Ending {
            passes: list(passes),
            open: false,
        })
    };
    let coda = |label| Sign::Coda(Landing { label });
    let segno = |label| Sign::Segno(Landing { label });
    let to_coda = |label| {
        Sign::ToCoda(ToCoda {
            label,
            arrivals: None,
        })
    };
    vec![
        (Sign::StartRepeat, &[1, 2, 3, 4]),
        (end(None), &[1, 2, 3, 4]),
        (end(Some(Plays::Times(3))), &[2, 4]),
        (ending(&[1]), &[1, 2, 3]),
        (ending(&[2]), &[2, 3, 4]),
        (ending(&[1, 2]), &[2, 3]),
        (ending(&[3]), &[3, 4]),
        (segno(None), &[1, 2, 3, 4]),
        (coda(None), &[1, 2, 3, 4]),
        (to_coda(None), &[1, 2, 3, 4]),
        (Sign::Fine(Fine::default()), &[1, 2, 3, 4]),
        (Sign::DoubleBar(DoubleBar::default()), &[1, 2, 3, 4]),
        (dc(None, None), &[2, 4]),
        (dc(Some(Al::Fine), None), &[1, 4]),
        (dc(Some(Al::Fine), Some(Then::Coda)), &[3]),
        (dc(Some(Al::Coda), None), &[2, 3]),
        (dc(Some(Al::Segno), None), &[4]),
        (dc(Some(Al::Segno), Some(Then::Coda)), &[3]),
        (dc(Some(Al::End), None), &[3]),
        (ds(None, None), &[1, 4]),
        (ds(Some(Al::Fine), None), &[3]),
        (ds(Some(Al::Coda), None), &[2, 3]),
        (ds(Some(Al::End), None), &[4]),
        (segno(label()), &[2]),
        (ds(None, label()), &[4]),
        (to_coda(label()), &[2]),
        (coda(label()), &[4]),
        (
            Sign::Octave(Octave {
                hands: Hands::Both,
                shift: Shift::Up1,
                when: When::OnRepeat,
            }),
            &[2],
        ),
        (
            Sign::Fermata(Fermata {
                hands: Hands::Left,
                when: When::LastPass,
            }),
            &[3],
        ),
        (
            Sign::Only(Only {
                hands: Hands::Right,
                when: When::Passes(list(&[1])),
            }),
            &[2],
        ),
    ]
}

fn list(passes: &[u32]) -> Passes {
    Passes::of(passes.iter().copied()).expect("a list of passes")
}

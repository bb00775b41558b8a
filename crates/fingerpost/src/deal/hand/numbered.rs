//! The signs of a hand by number, and what they have to do with each other.

use crate::board::{Jump, Repeats, Sign};

/// Signs of a hand by number, as bits.
pub(super) type Signs = u16;

/// The signs of a hand by number.
pub(super) struct Numbered<'s> {
    pub(super) signs: &'s [Sign],
    /// For each sign the others that are equal to it.
    equal: Vec<Signs>,
    pub(super) fines: Signs,
    pub(super) to_codas: Signs,
    pub(super) jumps: Signs,
    /// Whether one of them has repeats played after it.
    pub(super) repeats_on_return: bool,
    /// Those that are laid on the way.
    pub(super) loose: Signs,
    /// For each D.S. its segno, for each To Coda its coda.
    leads_to: Vec<Option<u8>>,
    /// For each jump the coda to which its Fine goes on.
    goes_on_to: Vec<Option<u8>>,
    /// For each jump the To Codas that it names.
    pub(super) names: Vec<Option<Signs>>,
}

/// The numbers of the bits that are set, rising.
pub(super) fn numbers(mut bits: u16) -> impl Iterator<Item = u8> {
    std::iter::from_fn(move || {
        let lowest = bits.trailing_zeros();
        bits &= bits.wrapping_sub(1);
        u8::try_from(lowest).ok().filter(|&lowest| lowest < 16)
    })
}

impl<'s> Numbered<'s> {
    /// The signs of a hand, the first so many of which are repeats and endings.
    pub(super) fn new(signs: &'s [Sign], shaping: usize) -> Numbered<'s> {
        let having = |wanted: &dyn Fn(&Sign) -> bool| {
            let found = signs.iter().enumerate().filter(|(_, sign)| wanted(sign));
            found.fold(0, |bits: Signs, (number, _)| bits | 1 << number)
        };
        let first = |wanted: &dyn Fn(&Sign) -> bool| {
            let found = signs.iter().position(wanted);
            found.and_then(|number| u8::try_from(number).ok())
        };
        let equal = signs
            .iter()
            .enumerate()
            .map(|(number, sign)| having(&|other| other == sign) & !(1 << number));
        let leads_to = signs.iter().map(|sign| match sign {
            Sign::DalSegno(jump) => {
                first(&|it| matches!(it, Sign::Segno(segno) if segno.label == jump.label))
            }
            Sign::ToCoda(to_coda) => {
                first(&|it| matches!(it, Sign::Coda(coda) if coda.label == to_coda.label))
            }
            _ => None,
        });
        let goes_on_to = signs.iter().map(|sign| match sign {
            Sign::DaCapo(jump) | Sign::DalSegno(jump) if sign.goes_on_from_fine() => {
                first(&|it| matches!(it, Sign::Coda(coda) if coda.label == jump.coda))
            }
            _ => None,
        });
        let names = signs.iter().map(|sign| {
            let (Sign::DaCapo(jump) | Sign::DalSegno(jump)) = sign else {
                return None;
            };
            let coda = jump.coda.as_ref()?;
            Some(having(
                &|it| matches!(it, Sign::ToCoda(to_coda) if to_coda.label.as_ref() == Some(coda)),
            ))
        });
        Numbered {
            signs,
            equal: equal.collect(),
            fines: having(&|it| matches!(it, Sign::Fine(_))),
            to_codas: having(&|it| matches!(it, Sign::ToCoda(_))),
            jumps: having(&|it| matches!(it, Sign::DaCapo(_) | Sign::DalSegno(_))),
            repeats_on_return: signs.iter().any(|sign| match sign {
                Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump.repeats == Some(Repeats::Play),
                _ => false,
            }),
            loose: having(&|_| true) & !((1 << shaping) - 1),
            leads_to: leads_to.collect(),
            goes_on_to: goes_on_to.collect(),
            names: names.collect(),
        }
    }

    pub(super) fn jump(&self, number: u8) -> Option<&'s Jump> {
        match self.signs.get(usize::from(number))? {
            Sign::DaCapo(jump) | Sign::DalSegno(jump) => Some(jump),
            _ => None,
        }
    }

    pub(super) fn equal(&self, number: u8) -> Signs {
        self.equal.get(usize::from(number)).copied().unwrap_or(0)
    }

    pub(super) fn leads_to(&self, number: u8) -> Option<u8> {
        self.leads_to.get(usize::from(number)).copied().flatten()
    }

    pub(super) fn goes_on_to(&self, number: u8) -> Option<u8> {
        self.goes_on_to.get(usize::from(number)).copied().flatten()
    }
}

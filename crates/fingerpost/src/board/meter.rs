//! Fractions of a whole note and meters.

use std::fmt;
use std::num::NonZeroU16;
use std::str::FromStr;

/// A length or a place inside a measure, as a fraction of a whole note, in lowest terms: `3/8`, `1/2`, `0`.
///
/// The denominator is at most 65 535.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Fraction {
    // Small, since every step of a route may carry two of them.
    numerator: u16,
    denominator: NonZeroU16,
}

/// Why a text is no fraction or no meter.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("`{text}` is not {wanted}")]
pub struct FractionError {
    text: String,
    wanted: &'static str,
}

impl Fraction {
    /// Nothing.
    pub const ZERO: Fraction = Fraction {
        numerator: 0,
        denominator: NonZeroU16::MIN,
    };

    /// `numerator` / `denominator`, brought to lowest terms; `None` when the denominator is 0 or either number is above 65 535.
    pub fn new(numerator: u32, denominator: u32) -> Option<Fraction> {
        let (numerator, denominator) = (
            u16::try_from(numerator).ok()?,
            u16::try_from(denominator).ok()?,
        );
        let divisor = greatest_common_divisor(numerator, denominator);
        Some(Fraction {
            numerator: numerator.checked_div(divisor)?,
            denominator: NonZeroU16::new(denominator / divisor)?,
        })
    }

    /// The upper number, in lowest terms.
    pub fn numerator(self) -> u32 {
        u32::from(self.numerator)
    }

    /// The lower number, in lowest terms.
    pub fn denominator(self) -> u32 {
        u32::from(self.denominator.get())
    }
}

fn greatest_common_divisor(a: u16, b: u16) -> u16 {
    if b == 0 {
        a
    } else {
        greatest_common_divisor(b, a % b)
    }
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Fraction) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Fraction) -> std::cmp::Ordering {
        let left = u64::from(self.numerator()) * u64::from(other.denominator());
        let right = u64::from(other.numerator()) * u64::from(self.denominator());
        left.cmp(&right)
    }
}

impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.numerator, self.denominator)
    }
}

fn two_numbers(text: &str) -> Option<(u32, u32)> {
    let (upper, lower) = text.split_once('/')?;
    let number = |s: &str| {
        let plain = !s.is_empty() && s.len() <= 5 && s.bytes().all(|b| b.is_ascii_digit());
        if plain { s.parse::<u32>().ok() } else { None }
    };
    Some((number(upper)?, number(lower)?))
}

impl FromStr for Fraction {
    type Err = FractionError;

    fn from_str(text: &str) -> Result<Fraction, FractionError> {
        two_numbers(text)
            .and_then(|(n, d)| Fraction::new(n, d))
            .ok_or_else(|| FractionError {
                text: text.to_owned(),
                wanted: "a fraction of a whole note such as `3/8`",
            })
    }
}

/// A meter (time signature): `4/4`, `6/8`. Both numbers from 1 to 255 as written, not reduced.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Meter {
    beats: u8,
    unit: u8,
}

impl Meter {
    /// `beats` notes of the length 1/`unit`; `None` when either is 0.
    pub fn new(beats: u8, unit: u8) -> Option<Meter> {
        if beats == 0 || unit == 0 {
            None
        } else {
            Some(Meter { beats, unit })
        }
    }

    /// The upper number: how many beats a measure has.
    pub fn beats(self) -> u8 {
        self.beats
    }

    /// The lower number: which part of a whole note a beat is.
    pub fn unit(self) -> u8 {
        self.unit
    }

    /// The length of a whole measure.
    pub fn length(self) -> Fraction {
        // cannot fail: both numbers are from 1 to 255.
        Fraction::new(u32::from(self.beats), u32::from(self.unit)).unwrap_or(Fraction::ZERO)
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.beats, self.unit)
    }
}

impl FromStr for Meter {
    type Err = FractionError;

    fn from_str(text: &str) -> Result<Meter, FractionError> {
        two_numbers(text)
            .and_then(|(beats, unit)| {
                Meter::new(u8::try_from(beats).ok()?, u8::try_from(unit).ok()?)
            })
            .ok_or_else(|| FractionError {
                text: text.to_owned(),
                wanted: "a meter such as `4/4` or `6/8`",
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fraction_is_two_plain_numbers_of_at_most_five_digits() {
        assert_eq!("3/8".parse::<Fraction>().ok(), Fraction::new(3, 8));
        assert_eq!("00003/00008".parse::<Fraction>().ok(), Fraction::new(3, 8));
        for text in [
            "+3/8", "3/+8", "000003/8", "3/000008", "/8", "3/", "3", " 3/8", "3/8/2", "-3/8",
        ] {
            assert!(text.parse::<Fraction>().is_err(), "{text}");
        }
    }
}

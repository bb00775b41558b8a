//! A list of passes or of arrivals, kept as ranges.

use std::fmt;

/// The highest number a list of passes, a list of arrivals or `plays` may hold.
pub const HIGHEST_PASS: u32 = 1_000_000;

/// A list of whole numbers from 1 to [`HIGHEST_PASS`], none twice, at least one: the passes on which an ending is
/// played, or the arrivals at which a jump is obeyed.
///
/// It is kept as ranges, so that `1-1000000` costs no more than `1`.
///
/// ```
/// use fingerpost::Passes;
/// let passes = Passes::of([3, 1, 2, 7])?;
/// assert_eq!(passes.to_string(), "1-3,7");
/// assert!(passes.contains(2) && !passes.contains(4));
/// # Ok::<(), fingerpost::PassesError>(())
/// ```
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Passes {
    /// Sorted, disjoint, with a gap between neighbours; never empty.
    ranges: Vec<(u32, u32)>,
}

/// Why a list of numbers is no list of passes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PassesError {
    /// The list is empty.
    #[error("a list of passes needs at least one number")]
    Empty,
    /// A number is 0 or above [`HIGHEST_PASS`].
    #[error("`{0}` is not a pass or an arrival: they are counted from 1 to 1000000")]
    OutOfRange(u64),
    /// A number stands twice in the list.
    #[error("`{0}` stands twice in the list")]
    Twice(u32),
    /// A range whose end comes before its start.
    #[error("`{0}-{1}` runs backwards")]
    Backwards(u32, u32),
}

impl Passes {
    /// A list of the numbers given, in any order.
    ///
    /// # Errors
    /// An empty list, a number below 1 or above [`HIGHEST_PASS`], a number given twice.
    pub fn of(numbers: impl IntoIterator<Item = u32>) -> Result<Passes, PassesError> {
        Passes::of_ranges(numbers.into_iter().map(|n| (n, n)))
    }

    /// A list of ranges, both ends included, in any order.
    ///
    /// # Errors
    /// As [`Passes::of`], and a range whose end comes before its start.
    pub fn of_ranges(ranges: impl IntoIterator<Item = (u32, u32)>) -> Result<Passes, PassesError> {
        let mut sorted: Vec<(u32, u32)> = Vec::new();
        for (from, to) in ranges {
            for n in [from, to] {
                if n == 0 || n > HIGHEST_PASS {
                    return Err(PassesError::OutOfRange(u64::from(n)));
                }
            }
            if to < from {
                return Err(PassesError::Backwards(from, to));
            }
            sorted.push((from, to));
        }
        sorted.sort_unstable();
        let mut joined: Vec<(u32, u32)> = Vec::with_capacity(sorted.len());
        for (from, to) in sorted {
            match joined.last_mut() {
                Some(last) if from <= last.1 => return Err(PassesError::Twice(from)),
                Some(last) if from == last.1 + 1 => last.1 = to,
                _ => joined.push((from, to)),
            }
        }
        if joined.is_empty() {
            return Err(PassesError::Empty);
        }
        Ok(Passes { ranges: joined })
    }

    /// Whether `pass` is in the list.
    pub fn contains(&self, pass: u32) -> bool {
        let after = self.ranges.partition_point(|&(from, _)| from <= pass);
        after > 0
            && self
                .ranges
                .get(after - 1)
                .is_some_and(|&(_, to)| pass <= to)
    }

    /// The lowest number.
    pub fn lowest(&self) -> u32 {
        self.ranges.first().map_or(1, |&(from, _)| from)
    }

    /// The highest number.
    pub fn highest(&self) -> u32 {
        self.ranges.last().map_or(1, |&(_, to)| to)
    }

    /// The highest number that is not above `limit`.
    pub fn highest_up_to(&self, limit: u32) -> Option<u32> {
        let after = self.ranges.partition_point(|&(from, _)| from <= limit);
        self.ranges
            .get(after.checked_sub(1)?)
            .map(|&(_, to)| to.min(limit))
    }

    /// The lowest number that is not below `pass`.
    pub fn next_from(&self, pass: u32) -> Option<u32> {
        let at = self.ranges.partition_point(|&(_, to)| to < pass);
        self.ranges.get(at).map(|&(from, _)| from.max(pass))
    }

    /// The ranges, rising, both ends included.
    pub fn ranges(&self) -> &[(u32, u32)] {
        &self.ranges
    }

    /// Every number, rising.
    pub fn iter(&self) -> impl Iterator<Item = u32> + '_ {
        self.ranges.iter().flat_map(|&(from, to)| from..=to)
    }

    /// Whether the two lists have a number in common.
    pub fn meets(&self, other: &Passes) -> bool {
        let (mut mine, mut theirs) = (
            self.ranges.iter().peekable(),
            other.ranges.iter().peekable(),
        );
        while let (Some(&&(a, b)), Some(&&(c, d))) = (mine.peek(), theirs.peek()) {
            if a <= d && c <= b {
                return true;
            }
            if b < d {
                mine.next();
            } else {
                theirs.next();
            }
        }
        false
    }
}

impl fmt::Display for Passes {
    /// As written under an ending bracket, ranges of three and more with a dash: `1-3,7`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, &(from, to)) in self.ranges.iter().enumerate() {
            if i > 0 {
                f.write_str(",")?;
            }
            match to - from {
                0 => write!(f, "{from}")?,
                1 => write!(f, "{from},{to}")?,
                _ => write!(f, "{from}-{to}")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_are_joined_to_ranges() {
        let passes = Passes::of([1, 2, 4]).unwrap();
        assert_eq!(passes.ranges(), [(1, 2), (4, 4)]);
        assert_eq!(passes.highest_up_to(3), Some(2));
        assert_eq!(passes.next_from(3), Some(4));
        assert_eq!(passes.next_from(5), None);
        assert!(passes.meets(&Passes::of([4]).unwrap()));
        assert!(!passes.meets(&Passes::of([3, 5]).unwrap()));
    }

    #[test]
    fn faults_are_named() {
        assert_eq!(Passes::of([]), Err(PassesError::Empty));
        assert_eq!(Passes::of([0]), Err(PassesError::OutOfRange(0)));
        assert_eq!(
            Passes::of([HIGHEST_PASS + 1]),
            Err(PassesError::OutOfRange(u64::from(HIGHEST_PASS) + 1))
        );
        assert!(Passes::of([HIGHEST_PASS]).is_ok());
        assert_eq!(
            Passes::of_ranges([(3, 2)]),
            Err(PassesError::Backwards(3, 2))
        );
        assert_eq!(Passes::of([2, 2]), Err(PassesError::Twice(2)));
        assert_eq!(
            Passes::of_ranges([(1, 3), (3, 4)]),
            Err(PassesError::Twice(3))
        );
    }
}

//! Chance from a seed: the same seed gives the same choices on every platform.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// Choices by chance. How bits become choices is written here and rests on no library, so that it stays as it is.
#[derive(Clone, Debug)]
pub(crate) struct Chance {
    bits: ChaCha8Rng,
}

impl Chance {
    /// The choices of a seed for one purpose; two purposes of one seed have nothing to do with each other.
    pub(crate) fn new(seed: u64, purpose: u64) -> Chance {
        let mut key = [0; 32];
        let words = seed.to_le_bytes().into_iter().chain(purpose.to_le_bytes());
        for (slot, byte) in key.iter_mut().zip(words) {
            *slot = byte;
        }
        Chance {
            bits: ChaCha8Rng::from_seed(key),
        }
    }

    /// A number from 0 to `n` - 1, each as likely as the others; 0 for `n` = 0.
    pub(crate) fn below(&mut self, n: u64) -> u64 {
        if n <= 1 {
            return 0;
        }
        // The numbers that are left over when 2^64 is divided into equal shares are drawn again.
        let left_over = (u64::MAX % n + 1) % n;
        loop {
            let bits = self.bits.next_u64();
            if bits <= u64::MAX - left_over {
                return bits % n;
            }
        }
    }

    /// The same for an index.
    pub(crate) fn index(&mut self, n: usize) -> usize {
        usize::try_from(self.below(n as u64)).unwrap_or(0)
    }

    /// True `times` times in `of`.
    pub(crate) fn happens(&mut self, times: u64, of: u64) -> bool {
        self.below(of) < times
    }

    /// One of a list; `None` for an empty one.
    pub(crate) fn one<T: Copy>(&mut self, list: &[T]) -> Option<T> {
        let at = self.index(list.len());
        list.get(at).copied()
    }

    /// A list in another order.
    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for at in (1..list.len()).rev() {
            let other = self.index(at + 1);
            list.swap(at, other);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_gives_the_same_choices_for_ever() {
        let mut chance = Chance::new(7, 1);
        let drawn: Vec<u64> = (0..8).map(|_| chance.below(100)).collect();
        assert_eq!(drawn, PINNED);
        let mut other = Chance::new(7, 2);
        let other: Vec<u64> = (0..8).map(|_| other.below(100)).collect();
        assert_ne!(other, PINNED);
    }

    const PINNED: [u64; 8] = [5, 13, 70, 27, 47, 18, 39, 93];

    #[test]
    fn every_number_is_about_as_likely_as_the_others() {
        let mut chance = Chance::new(1, 1);
        let mut counts = [0_i32; 7];
        for _ in 0..70_000 {
            counts[usize::try_from(chance.below(7)).unwrap()] += 1;
        }
        // The standard deviation of each count is about 93.
        assert!(
            counts.iter().all(|count| (count - 10_000).abs() < 500),
            "{counts:?}"
        );
    }
}

//! Sets of numbers from 0, one bit each.

/// A set of numbers below a bound.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Bits(Vec<u64>);

impl Bits {
    /// The empty set of numbers below `n`.
    pub(super) fn none(n: usize) -> Self {
        Self(vec![0; n.div_ceil(64)])
    }

    /// All numbers below `n`.
    pub(super) fn all(n: usize) -> Self {
        let mut out = Self(vec![u64::MAX; n.div_ceil(64)]);
        if !n.is_multiple_of(64)
            && let Some(last) = out.0.last_mut()
        {
            *last = (1 << (n % 64)) - 1;
        }
        out
    }

    /// Becomes another set, in the room that it has.
    pub(super) fn set_to(&mut self, other: &Self) {
        self.0.clone_from(&other.0);
    }

    pub(super) fn insert(&mut self, k: usize) {
        self.0[k / 64] |= 1 << (k % 64);
    }

    pub(super) fn remove(&mut self, k: usize) {
        self.0[k / 64] &= !(1 << (k % 64));
    }

    /// Whether a number is in the set.
    pub(super) fn has(&self, k: usize) -> bool {
        self.0[k / 64] >> (k % 64) & 1 == 1
    }

    /// Takes the numbers of another set away.
    pub(super) fn take_away(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a &= !b;
        }
    }

    /// Adds the numbers of another set.
    pub(super) fn add(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a |= b;
        }
    }

    /// How many numbers there are.
    pub(super) fn len(&self) -> usize {
        self.0.iter().map(|w| w.count_ones() as usize).sum()
    }

    /// How many numbers it has in common with another set.
    pub(super) fn common(&self, other: &Self) -> usize {
        let both = self.0.iter().zip(&other.0);
        both.map(|(a, b)| (a & b).count_ones() as usize).sum()
    }

    /// The numbers, ascending, that are in another set too.
    pub(super) fn both<'a>(&'a self, other: &'a Self) -> impl Iterator<Item = usize> + 'a {
        let words = self.0.iter().zip(&other.0).enumerate();
        words.flat_map(|(k, (a, b))| {
            let mut word = a & b;
            std::iter::from_fn(move || {
                (word != 0).then(|| {
                    let bit = word.trailing_zeros() as usize;
                    word &= word - 1;
                    64 * k + bit
                })
            })
        })
    }

    /// Adds the numbers, ascending, that are in another set too to a list.
    pub(super) fn gather(&self, other: &Self, out: &mut Vec<usize>) {
        for (k, (a, b)) in self.0.iter().zip(&other.0).enumerate() {
            let mut word = a & b;
            while word != 0 {
                out.push(64 * k + word.trailing_zeros() as usize);
                word &= word - 1;
            }
        }
    }

    /// Holds, from `low` up to `high` at the least, what three other sets have in common; how many words that takes.
    pub(super) fn meet(&mut self, of: [&Self; 3], low: usize, high: usize) -> usize {
        let words = low / 64..high.div_ceil(64).clamp(low / 64, self.0.len());
        let [a, b, c] = of.map(|s| &s.0[words.clone()]);
        let own = &mut self.0[words.clone()];
        for (((own, a), b), c) in own.iter_mut().zip(a).zip(b).zip(c) {
            *own = a & b & c;
        }
        words.len()
    }

    /// The numbers, ascending.
    pub(super) fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.both(self)
    }

    /// The numbers from `low` up to, and without, `high`.
    pub(super) fn within(&self, low: usize, high: usize) -> impl Iterator<Item = usize> + '_ {
        let mut from = low;
        std::iter::from_fn(move || {
            let number = self.next(from, high)?;
            from = number + 1;
            Some(number)
        })
    }

    /// The least of them.
    pub(super) fn next(&self, low: usize, high: usize) -> Option<usize> {
        let end = high.div_ceil(64).min(self.0.len());
        let mut k = low / 64;
        let mut word = *self.0[..end].get(k)? & u64::MAX << (low % 64);
        while word == 0 {
            k += 1;
            word = *self.0[..end].get(k)?;
        }
        let number = 64 * k + word.trailing_zeros() as usize;
        (number < high).then_some(number)
    }

    /// Words that an operation goes through.
    pub(super) fn words(&self) -> usize {
        self.0.len()
    }
}

#[cfg(test)]
mod tests {
    use super::Bits;

    #[test]
    fn sets_hold_what_was_put_in_and_not_taken_away() {
        let mut odd = Bits::none(130);
        (0..130).filter(|k| k % 2 == 1).for_each(|k| odd.insert(k));
        let mut thirds = Bits::all(130);
        (0..130)
            .filter(|k| k % 3 != 0)
            .for_each(|k| thirds.remove(k));
        assert_eq!((odd.len(), thirds.len()), (65, 44));
        let both: Vec<usize> = odd.both(&thirds).collect();
        assert_eq!(both, (0..130).filter(|k| k % 6 == 3).collect::<Vec<_>>());
        assert_eq!(odd.common(&thirds), both.len());
        let mut gathered = vec![7];
        odd.gather(&thirds, &mut gathered);
        assert_eq!((gathered[0], &gathered[1..]), (7, &both[..]));
        assert_eq!(odd.within(63, 68).collect::<Vec<_>>(), [63, 65, 67]);
        assert_eq!(odd.within(64, 65).count() + odd.within(9, 9).count(), 0);
        let mut shared = Bits::all(130);
        assert_eq!(shared.meet([&odd, &thirds, &Bits::all(130)], 64, 128), 1);
        assert_eq!(
            shared.within(60, 70).collect::<Vec<_>>(),
            [60, 61, 62, 63, 69]
        );
        assert!(odd.has(129) && !odd.has(128));
        odd.take_away(&thirds);
        assert_eq!(odd.iter().count(), 65 - both.len());
        assert!(odd.iter().all(|k| k % 2 == 1 && k % 3 != 0));
    }
}

//! Draws that stay the same for ever: a generator with a fixed definition, and own ways to make ranges of it.

use rand::Rng;
use rand_pcg::Pcg64Mcg;

/// A source of draws; equal keys give equal draws on every computer.
#[derive(Clone, Debug)]
pub struct Draws(Pcg64Mcg);

impl Draws {
    /// Draws for a key: the job's seed, a lane and a round, say.
    pub fn new(key: [u64; 3]) -> Self {
        // Each word is stirred before the next is added (the finaliser of splitmix64), so that near keys share nothing.
        let stirred = key.iter().fold(0x9e37_79b9_7f4a_7c15_u64, |state, &word| {
            let mut z = state.wrapping_add(word).wrapping_add(0x9e37_79b9_7f4a_7c15);
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            z ^ (z >> 31)
        });
        Self(Pcg64Mcg::new(
            (u128::from(stirred) << 64) | u128::from(stirred.rotate_left(29)) | 1,
        ))
    }

    /// A whole number below `n`; 0 where `n` is 0.
    pub fn below(&mut self, n: usize) -> usize {
        // The high half of a product: the bias for n below 2³² is under 2⁻³².
        ((u128::from(self.0.next_u64()) * n as u128) >> 64) as usize
    }

    /// Puts a list into a drawn order.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for k in (1..list.len()).rev() {
            list.swap(k, self.below(k + 1));
        }
    }

    /// A number in [0, 1).
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }

    /// Whether an event of this chance happens.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }
}

//! What shares of a whole may be counted as, so that shares that add up to 1 or less still do.
//!
//! - *Threshold* t ≤ ½: a share below t counts nothing, one above 1 − t counts 1, any other as it is. Beside a share above
//!   1 − t all others lie below t.
//! - *Steps* of k ≥ 1: the whole (k + 1)ths in a share, each as 1 ÷ k. Shares are taken a little less than they are, so all
//!   together are less than k + 1 of them: at most k whole ones.
//!
//! Both are dual feasible functions after Fekete & Schepers 2004 (formulas from memory, the proofs are above).

use crate::format::number;

/// A way to count shares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Counted {
    /// By a threshold.
    Threshold(f64),
    /// By steps.
    Steps(u32),
}

/// Most steps that are tried.
const MOST_STEPS: f64 = 24.0;

impl Counted {
    /// What a share counts.
    pub(super) fn of(self, share: f64) -> f64 {
        match self {
            Self::Threshold(t) if share > 1.0 - t => 1.0,
            Self::Threshold(t) if share < t => 0.0,
            Self::Threshold(_) => share,
            Self::Steps(k) => ((share * f64::from(k + 1)).floor() / f64::from(k)).min(1.0),
        }
    }

    /// In words: what a share counts.
    pub(super) fn told(self) -> String {
        match self {
            Self::Threshold(t) if t <= 0.0 => "as it is".to_owned(),
            Self::Threshold(t) => format!(
                "1 above {} and 0 below {}",
                number::number(1.0 - t, 4),
                number::number(t, 4)
            ),
            Self::Steps(1) => "1 from 1/2 on, else 0".to_owned(),
            Self::Steps(k) => format!("1/{k} for each whole 1/{} in it", k + 1),
        }
    }
}

/// Ways to count that are worth trying for some shares, at most `most` of either family: thresholds at each share, and just
/// so that each large one counts whole; steps just below each share.
pub(super) fn worth_trying(mut shares: Vec<f64>, most: usize) -> Vec<Counted> {
    let mut out: Vec<Counted> = [0.0, 0.3333, 0.5].map(Counted::Threshold).to_vec();
    shares.retain(|s| *s > 0.0);
    shares.sort_by(f64::total_cmp);
    shares.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let step = shares.len().div_ceil(most.max(1)).max(1);
    let picked = shares.iter().rev().step_by(step).take(most);
    // Told to four decimals, and taken as they are told.
    let thresholds = picked.map(|&x| {
        if x <= 0.5 {
            (1e4 * x).floor() / 1e4
        } else {
            (1e4 * (1.0 - x + 1e-6)).ceil() / 1e4
        }
    });
    out.extend(thresholds.filter(|t| *t <= 0.5).map(Counted::Threshold));
    let mut steps: Vec<u32> = shares
        .iter()
        .map(|x| (1.0 / x).floor().clamp(1.0, MOST_STEPS) as u32)
        .collect();
    steps.extend([1, 2, 3]);
    steps.sort_unstable();
    steps.dedup();
    out.extend(steps.into_iter().take(most.max(3)).map(Counted::Steps));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_that_add_up_to_one_count_no_more() {
        // Random shares of sum 1 (a broken stick), from a congruential generator.
        let mut state = 11_u64;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / f64::from(1_u32 << 31)
        };
        for round in 0..4000_u32 {
            let mut cuts: Vec<f64> = (0..1 + round % 6).map(|_| next()).collect();
            cuts.extend([0.0, 1.0]);
            cuts.sort_by(f64::total_cmp);
            for how in [
                Counted::Threshold(0.5 * next()),
                Counted::Steps(1 + round % 7),
            ] {
                let sum: f64 = cuts
                    .windows(2)
                    .map(|p| how.of((p[1] - p[0] - 1e-9).max(0.0)))
                    .sum();
                assert!(sum <= 1.0 + 1e-12, "{cuts:?} by {how:?}: {sum}");
            }
        }
        assert_eq!(
            Counted::Threshold(0.5).of(0.51),
            1.0,
            "more than half counts whole"
        );
        assert_eq!(
            Counted::Steps(2).of(0.4),
            0.5,
            "two beside one another at most"
        );
    }
}

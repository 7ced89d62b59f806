//! What a plan is worth, smaller is better, compared field by field.

/// What a plan is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Score {
    /// Cost of the sheets, rounded to 1e-6; costs within 1e-6 count as equal.
    pub(crate) cost: f64,
    /// Fill parts that found no place.
    pub(crate) fill_missing: usize,
    /// Area of leftovers worth keeping, in steps of 1 % of the stock area used, negated.
    pub(crate) waste_steps: i64,
    /// Pieces of layers.
    pub(crate) pieces: usize,
    /// Seam length in steps of 10 mm.
    pub(crate) seam_steps: i64,
    /// Bending stiffness at the weakest section of all copies, bonded, as a share of the stack without seams, in steps of 1 %, negated.
    pub(crate) stiffness_steps: i64,
}

impl Score {
    /// Whether this one is better than another.
    pub(crate) fn is_better(&self, other: &Self) -> bool {
        if (self.cost - other.cost).abs() > 1e-6 {
            return self.cost < other.cost;
        }
        let rest = |s: &Self| {
            (
                s.fill_missing,
                s.waste_steps,
                s.pieces,
                s.seam_steps,
                s.stiffness_steps,
            )
        };
        rest(self) < rest(other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stiffness_decides_last() {
        let score = |seam_steps, stiffness_steps| Score {
            cost: 10.0,
            fill_missing: 0,
            waste_steps: -20,
            pieces: 4,
            seam_steps,
            stiffness_steps,
        };
        // Of two plans alike in all else the stack of 72 % is better than that of 37 %.
        assert!(score(30, -72).is_better(&score(30, -37)));
        assert!(!score(30, -37).is_better(&score(30, -72)));
        assert!(!score(30, -72).is_better(&score(30, -72)));
        // 10 mm of seam less weigh more.
        assert!(score(29, -37).is_better(&score(30, -72)));
    }

    #[test]
    fn each_aim_counts_before_all_that_come_after_it() {
        // Worse in all else, better in one: cost by more than 1e-6, fill parts, leftovers, pieces, seam length, stiffness.
        let low = Score {
            cost: 10.0,
            fill_missing: 0,
            waste_steps: -20,
            pieces: 4,
            seam_steps: 30,
            stiffness_steps: -72,
        };
        let mut worse = [low; 6];
        worse[0].cost += 2e-6;
        worse[1].fill_missing += 1;
        worse[2].waste_steps += 1;
        worse[3].pieces += 1;
        worse[4].seam_steps += 1;
        worse[5].stiffness_steps += 1;
        for (k, one) in worse.iter().enumerate() {
            assert!(low.is_better(one) && !one.is_better(&low), "aim {k}");
            for (later, other) in worse.iter().enumerate().skip(k + 1) {
                assert!(other.is_better(one), "aim {k} before aim {later}");
            }
        }
        // Costs within 1e-6 are equal: what comes after them decides, whichever costs less.
        let mut dearer = low;
        dearer.cost += 5e-7;
        assert!(!dearer.is_better(&low) && !low.is_better(&dearer));
        dearer.stiffness_steps -= 1;
        assert!(dearer.is_better(&low));
    }
}

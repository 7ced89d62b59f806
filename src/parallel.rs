//! The only place that starts threads.

use rayon::prelude::*;

/// Applies a function to every item, side by side, and gives the results in the order of the items. What the function
/// does must depend on its item alone; then neither the number of threads nor their pace can be seen in the result.
pub fn map_in_order<T, R, F>(items: Vec<T>, work: F) -> Vec<R>
where
    T: Send,
    R: Send,
    F: Fn(T) -> R + Sync + Send,
{
    // Items differ much in what they take: none waits behind another one while a thread is idle.
    items.into_par_iter().with_max_len(1).map(work).collect()
}

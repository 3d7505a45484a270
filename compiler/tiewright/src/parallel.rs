//! The same work for many things, spread over the cores. Results come in the order of the things,
//! whatever the order the work was done in.

use std::sync::atomic::{AtomicUsize, Ordering};

/// `work` done for each of `items`; the results in their order. One item is done in place.
pub fn map<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    if items.len() <= 1 {
        return items.iter().map(work).collect();
    }
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    let run = || {
        let mut done = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(index) else {
                return done;
            };
            done.push((index, work(item)));
        }
    };
    let mut done: Vec<(usize, R)> = std::thread::scope(|scope| {
        let others: Vec<_> = (1..cores.min(items.len()))
            .map(|_| scope.spawn(run))
            .collect();
        let mut done = run();
        for other in others {
            match other.join() {
                Ok(theirs) => done.extend(theirs),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_unstable_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_order() {
        let items: Vec<u64> = (0..1000).collect();
        // The first take longest, so that they finish last.
        let slow = |&n: &u64| (0..(1000 - n) * 50).fold(n, |a, _| std::hint::black_box(a));
        assert_eq!(map(&items, slow), items);
        assert_eq!(map(&[], slow), Vec::<u64>::new());
    }
}

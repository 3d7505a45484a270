//! Which of as many things goes to which of as many takers, at the least sum of costs.
//!
//! In: the cost of every pair. Out: the thing of every taker. Never: what they stand for.
//!
//! The Hungarian method by shortest augmenting paths (Kuhn 1955; Jonker & Volgenant 1987), with a
//! time that grows as the cube of the number.

/// For each taker, a row of `cost`, the number of its thing, a column; all rows are as long as
/// there are rows.
pub(crate) fn least(cost: &[Vec<f64>]) -> Vec<usize> {
    let count = cost.len();
    // Rows and columns are counted from 1; column 0 stands for the row that looks for a place.
    let mut row_price = vec![0.0; count + 1];
    let mut column_price = vec![0.0; count + 1];
    let mut row_of = vec![0; count + 1];
    let mut way = vec![0; count + 1];
    for row in 1..=count {
        row_of[0] = row;
        let mut at = 0;
        let mut slack = vec![f64::INFINITY; count + 1];
        let mut seen = vec![false; count + 1];
        while row_of[at] != 0 {
            seen[at] = true;
            let from = row_of[at];
            let (mut step, mut next) = (f64::INFINITY, 0);
            for column in (1..=count).filter(|&c| !seen[c]) {
                let reduced = cost[from - 1][column - 1] - row_price[from] - column_price[column];
                if reduced < slack[column] {
                    slack[column] = reduced;
                    way[column] = at;
                }
                if slack[column] < step {
                    step = slack[column];
                    next = column;
                }
            }
            for column in 0..=count {
                if seen[column] {
                    row_price[row_of[column]] += step;
                    column_price[column] -= step;
                } else {
                    slack[column] -= step;
                }
            }
            at = next;
        }
        while at != 0 {
            row_of[at] = row_of[way[at]];
            at = way[at];
        }
    }
    let mut column_of = vec![0; count];
    for column in 1..=count {
        column_of[row_of[column] - 1] = column - 1;
    }
    column_of
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn orders(count: usize) -> Vec<Vec<usize>> {
        if count == 0 {
            return vec![Vec::new()];
        }
        let longer = |order: Vec<usize>| {
            (0..count).map(move |at| {
                let mut next = order.clone();
                next.insert(at, count - 1);
                next
            })
        };
        orders(count - 1).into_iter().flat_map(longer).collect()
    }

    proptest! {
        #[test]
        fn no_other_order_costs_less(
            cost in (0..6_usize).prop_flat_map(|n| {
                prop::collection::vec(prop::collection::vec(0.0..100.0_f64, n), n)
            }),
        ) {
            let sum = |order: &Vec<usize>| -> f64 {
                order.iter().enumerate().map(|(row, &column)| cost[row][column]).sum()
            };
            let found = sum(&least(&cost));
            for order in orders(cost.len()) {
                prop_assert!(found <= sum(&order) + 1e-9);
            }
        }
    }
}

//! How good an order of answers is, by grades a person gave them. Leaves out where answers and grades come from.

/// Normalised discounted cumulative gain of the first `k` answers: 1 is the best order there is, 0 finds nothing.
///
/// Gain of grade g is `2^g - 1`, discounted by `log2(i + 1)` at place i from 1; divided by the same sum over the best order of
/// `all_grades`. `None` where nothing is worth finding: such a question has no order to judge.
///
/// # Units and shape
/// `grades_in_order`: grade of each answer, best answer first, 0 for one nobody graded. `all_grades`: grades of everything
/// that was graded, in any order, answered or not. Returns 0 to 1.
///
/// # Source
/// Järvelin and Kekäläinen, Cumulated gain-based evaluation of IR techniques, ACM TOIS 20(4), 2002; the gain `2^g - 1` is
/// the form usual since.
pub fn ndcg_at(k: usize, grades_in_order: &[u8], all_grades: &[u8]) -> Option<f64> {
    let mut best = all_grades.to_vec();
    best.sort_unstable_by(|one, other| other.cmp(one));
    let ideal = cumulated(k, &best);
    (ideal > 0.0).then(|| cumulated(k, grades_in_order) / ideal)
}

fn cumulated(k: usize, grades: &[u8]) -> f64 {
    let gains = grades.iter().take(k).enumerate();
    // From 0, as the sum of no numbers is -0.
    gains.fold(0.0, |sum, (index, grade)| {
        sum + (2f64.powi(i32::from(*grade)) - 1.0) / (index as f64 + 2.0).log2()
    })
}

/// One over the place of the first answer whose grade is at least `enough`; 0 where there is none.
///
/// # Source
/// Voorhees, The TREC-8 question answering track report, 1999: the mean of it over questions is the mean reciprocal rank.
pub fn reciprocal_rank(enough: u8, grades_in_order: &[u8]) -> f64 {
    let place = grades_in_order.iter().position(|grade| *grade >= enough);
    place.map_or(0.0, |index| 1.0 / (index as f64 + 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_scikit_learn() {
        // sklearn.metrics.ndcg_score 1.9.1 over numpy 2.4.6; it takes gains as they are, so it was given 2^g - 1. The last row
        // has three graded records that were never answered: there they stood behind seven ungraded ones.
        let rows: &[(&[u8], &[u8], usize, f64)] = &[
            (&[3, 2, 3, 0, 1, 2], &[3, 2, 3, 0, 1, 2], 3, 0.959_453_514_592_679_5),
            (&[3, 2, 3, 0, 1, 2], &[3, 2, 3, 0, 1, 2], 5, 0.875_594_376_416_199_6),
            (&[3, 2, 3, 0, 1, 2], &[3, 2, 3, 0, 1, 2], 10, 0.948_810_748_567_898_3),
            (&[0, 0, 0, 3], &[3, 0], 3, 0.0),
            (&[0, 0, 0, 3], &[3, 0], 10, 0.430_676_558_073_392_9),
            (&[3, 3, 2, 1, 0, 0, 1], &[1, 1, 2, 3, 3], 5, 0.971_832_550_822_551_6),
            (&[3, 3, 2, 1, 0, 0, 1], &[1, 1, 2, 3, 3], 10, 0.996_103_150_777_442_6),
            (&[1, 0, 2, 0, 0, 0, 0, 0, 0, 0, 0, 3], &[3, 2, 1], 10, 0.266_161_619_366_499_2),
            (&[2, 0, 1], &[3, 2, 1, 1, 0], 10, 0.356_289_731_604_309_4),
        ];
        for (order, all, k, expected) in rows {
            let got = ndcg_at(*k, order, all).unwrap();
            assert!((got - expected).abs() < 1e-12, "{order:?} at {k}: {got}");
        }
        assert_eq!(ndcg_at(10, &[0, 0], &[0]), None);
        assert_eq!(ndcg_at(10, &[], &[3]), Some(0.0));
    }

    #[test]
    fn reciprocal_ranks_of_a_worked_example() {
        // Worked by hand: third, second and first place give 1/3, 1/2 and 1, a mean of 11/18.
        let ranks = [&[0, 1, 3][..], &[0, 2], &[3, 3]].map(|grades| reciprocal_rank(2, grades));
        assert!((ranks.iter().sum::<f64>() / 3.0 - 11.0 / 18.0).abs() < 1e-15);
        assert_eq!(reciprocal_rank(1, &[0, 0]), 0.0);
    }
}

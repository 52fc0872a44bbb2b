//! Symmetric positive systems of a few unknowns, and whether their unknowns can be told apart.

/// A share of a column's length that is left when the columns before it are taken off, squared; below it they are one.
const LEAST_PIVOT: f64 = 1e-10;

/// `A = S·L·L'·S`: a diagonal that gives every unknown length 1, so that units do not matter, and a triangle.
pub(super) struct Cholesky {
    scales: Vec<f64>,
    lower: Vec<Vec<f64>>,
    inseparable: Option<usize>,
}

impl Cholesky {
    /// Takes a matrix apart. A pivot too small to mean anything is kept above zero, and told by
    /// [`inseparable`](Self::inseparable).
    pub(super) fn of(matrix: &[Vec<f64>]) -> Self {
        let size = matrix.len();
        let scales: Vec<f64> = (0..size).map(|i| matrix[i][i].max(f64::MIN_POSITIVE).sqrt()).collect();
        let mut lower = vec![vec![0.0; size]; size];
        let mut inseparable = None;
        for i in 0..size {
            for j in 0..=i {
                let scaled = matrix[i][j] / scales[i] / scales[j];
                let rest = scaled - (0..j).map(|m| lower[i][m] * lower[j][m]).sum::<f64>();
                if i != j {
                    lower[i][j] = rest / lower[j][j];
                    continue;
                }
                if rest < LEAST_PIVOT {
                    inseparable = inseparable.or(Some(i));
                }
                lower[i][i] = rest.max(f64::EPSILON).sqrt();
            }
        }
        Self { scales, lower, inseparable }
    }

    /// The first unknown that the ones before it explain, if any.
    pub(super) fn inseparable(&self) -> Option<usize> {
        self.inseparable
    }

    /// The unknowns before `column` that together explain it.
    pub(super) fn explained_by(&self, column: usize) -> Vec<usize> {
        let parts = self.back(self.lower[column][..column].to_vec());
        (0..column).filter(|&index| parts[index].abs() > 1e-6).collect()
    }

    /// Solves `A·x = b`.
    pub(super) fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut forward: Vec<f64> = Vec::with_capacity(right.len());
        for (i, value) in right.iter().enumerate() {
            let known: f64 = forward.iter().zip(&self.lower[i]).map(|(x, l)| x * l).sum();
            forward.push((value / self.scales[i] - known) / self.lower[i][i]);
        }
        self.back(forward).iter().zip(&self.scales).map(|(x, scale)| x / scale).collect()
    }

    /// `A⁻¹`.
    pub(super) fn inverse(&self) -> Vec<Vec<f64>> {
        let size = self.scales.len();
        let unit =
            |column: usize| (0..size).map(|row| f64::from(u8::from(row == column))).collect::<Vec<_>>();
        (0..size).map(|column| self.solve(&unit(column))).collect()
    }

    /// `ln |A|`.
    pub(super) fn log_determinant(&self) -> f64 {
        let part = |(index, scale): (usize, &f64)| 2.0 * (scale.ln() + self.lower[index][index].ln());
        self.scales.iter().enumerate().map(part).sum()
    }

    /// Solves `L'·x = b` for the first unknowns, as many as `b` has.
    fn back(&self, mut x: Vec<f64>) -> Vec<f64> {
        for i in (0..x.len()).rev() {
            let known: f64 = (i + 1..x.len()).map(|row| self.lower[row][i] * x[row]).sum();
            x[i] = (x[i] - known) / self.lower[i][i];
        }
        x
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_system_is_solved() {
        // By hand: |A| = 4·3 - 2·2 = 8, A⁻¹ = (3 -2; -2 4)/8.
        let cholesky = Cholesky::of(&[vec![4.0, 2.0], vec![2.0, 3.0]]);
        assert_eq!(cholesky.inseparable(), None);
        let inverse = cholesky.inverse();
        for (got, expected) in inverse.iter().flatten().zip([0.375, -0.25, -0.25, 0.5]) {
            assert!((got - expected).abs() < 1e-15, "{inverse:?}");
        }
        assert!((cholesky.log_determinant() - 8f64.ln()).abs() < 1e-14);
        let solved = cholesky.solve(&[8.0, 16.0]);
        assert!((solved[0] + 1.0).abs() < 1e-14 && (solved[1] - 6.0).abs() < 1e-14, "{solved:?}");
    }

    #[test]
    fn what_others_explain_is_told() {
        // Columns a, b, c = 2a - b of rows (1, 0), (0, 1), (1, 1): their products by hand.
        let products = [vec![2.0, 1.0, 3.0], vec![1.0, 2.0, 0.0], vec![3.0, 0.0, 6.0]];
        let cholesky = Cholesky::of(&products);
        assert_eq!(cholesky.inseparable(), Some(2));
        assert_eq!(cholesky.explained_by(2), [0, 1]);
        // The same in units a million times apart.
        let scaled = [vec![2.0, 1.0, 3e6], vec![1.0, 2.0, 0.0], vec![3e6, 0.0, 6e12]];
        assert_eq!(Cholesky::of(&scaled).inseparable(), Some(2));
        let apart = [vec![2.0, 1e6], vec![1e6, 2e12]];
        assert_eq!(Cholesky::of(&apart).inseparable(), None);
        assert_eq!(Cholesky::of(&[vec![0.0]]).inseparable(), Some(0));
    }
}

//! Symmetric positive systems of a few dozen unknowns, by Cholesky's factors.
//!
//! Dense, in place, no pivoting: the normal equations of a least-squares problem in which every unknown has some prior. A matrix that is not positive is a
//! named outcome, `None`.

/// The lower factor L of a matrix A = L L^T.
#[derive(Clone, Debug)]
pub struct Cholesky {
    size: usize,
    lower: Vec<f64>,
}

impl Cholesky {
    /// Factors a symmetric matrix, given row by row; only its lower triangle is read. `None` unless it is positive.
    pub fn new(mut matrix: Vec<f64>, size: usize) -> Option<Self> {
        if matrix.len() != size * size {
            return None;
        }
        for i in 0..size {
            for j in 0..=i {
                let (row_i, row_j) = (i * size, j * size);
                let inner: f64 = (0..j).map(|k| matrix[row_i + k] * matrix[row_j + k]).sum();
                let rest = matrix[row_i + j] - inner;
                if i == j {
                    if !(0.0 < rest && rest.is_finite()) {
                        return None;
                    }
                    matrix[row_i + j] = rest.sqrt();
                } else {
                    matrix[row_i + j] = rest / matrix[row_j + j];
                }
            }
        }
        Some(Self { size, lower: matrix })
    }

    /// Solves A x = b.
    pub fn solve(&self, right: &[f64]) -> Vec<f64> {
        let n = self.size;
        let at = |i: usize, j: usize| self.lower[i * n + j];
        let mut x = right.to_vec();
        x.resize(n, 0.0);
        for i in 0..n {
            let inner: f64 = (0..i).map(|k| at(i, k) * x[k]).sum();
            x[i] = (x[i] - inner) / at(i, i);
        }
        for i in (0..n).rev() {
            let inner: f64 = (i + 1..n).map(|k| at(k, i) * x[k]).sum();
            x[i] = (x[i] - inner) / at(i, i);
        }
        x
    }

    /// One column of the inverse.
    pub fn inverse_column(&self, column: usize) -> Vec<f64> {
        let mut unit = vec![0.0; self.size];
        if let Some(one) = unit.get_mut(column) {
            *one = 1.0;
        }
        self.solve(&unit)
    }

    /// Logarithm of the determinant.
    pub fn ln_determinant(&self) -> f64 {
        2.0 * (0..self.size).map(|i| crate::math::ln(self.lower[i * self.size + i])).sum::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: [[4, 2], [2, 3]] has determinant 8 and inverse [[3, -2], [-2, 4]]/8.
    #[test]
    fn two_by_two_by_hand() {
        let found = Cholesky::new(vec![4.0, 2.0, 2.0, 3.0], 2).unwrap();
        assert_close!(found.solve(&[2.0, 5.0])[0], -0.5, relative = 1e-14);
        assert_close!(found.solve(&[2.0, 5.0])[1], 2.0, relative = 1e-14);
        assert_close!(found.inverse_column(1)[0], -0.25, relative = 1e-14);
        assert_close!(found.ln_determinant(), 8.0_f64.ln(), relative = 1e-14);
    }

    #[test]
    fn what_is_not_positive_is_none() {
        assert!(Cholesky::new(vec![1.0, 2.0, 2.0, 1.0], 2).is_none());
        assert!(Cholesky::new(vec![f64::NAN], 1).is_none());
        assert!(Cholesky::new(vec![1.0; 3], 2).is_none());
    }
}

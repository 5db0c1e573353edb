//! Small symmetric matrices: one row and column per signal.

use std::fmt;

/// A square matrix, at most 8 × 8 here.
#[derive(Clone, PartialEq)]
pub struct Square {
    size: usize,
    values: Vec<f64>,
}

impl fmt::Debug for Square {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.values.chunks(self.size.max(1))).finish()
    }
}

/// Eigenvalues with their eigenvectors (unit length), ascending.
pub type Eigen = Vec<(f64, Vec<f64>)>;

impl Square {
    /// All zero.
    #[must_use]
    pub fn zero(size: usize) -> Self {
        Self { size, values: vec![0.0; size * size] }
    }

    /// From a function of row and column.
    #[must_use]
    pub fn from_fn(size: usize, mut value: impl FnMut(usize, usize) -> f64) -> Self {
        let values = (0..size * size).map(|at| value(at / size, at % size)).collect();
        Self { size, values }
    }

    /// How many rows.
    #[must_use]
    pub fn size(&self) -> usize {
        self.size
    }

    /// The entry, zero outside the matrix.
    #[must_use]
    pub fn get(&self, row: usize, column: usize) -> f64 {
        if column < self.size { self.values.get(row * self.size + column).copied().unwrap_or(0.0) } else { 0.0 }
    }

    /// Changes an entry; nothing happens outside the matrix.
    pub fn set(&mut self, row: usize, column: usize, value: f64) {
        if column < self.size
            && let Some(slot) = self.values.get_mut(row * self.size + column)
        {
            *slot = value;
        }
    }

    /// Each entry times a factor.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self { size: self.size, values: self.values.iter().map(|value| value * factor).collect() }
    }

    /// The sum with a multiple of another.
    #[must_use]
    pub fn plus(&self, other: &Self, factor: f64) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(one, two)| one + factor * two).collect();
        Self { size: self.size, values }
    }

    /// The product.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        Self::from_fn(self.size, |row, column| {
            (0..self.size).map(|middle| self.get(row, middle) * other.get(middle, column)).sum()
        })
    }

    /// Rows for columns.
    #[must_use]
    pub fn transposed(&self) -> Self {
        Self::from_fn(self.size, |row, column| self.get(column, row))
    }

    /// The mean of the matrix and its transpose.
    #[must_use]
    pub fn symmetric(&self) -> Self {
        Self::from_fn(self.size, |row, column| 0.5 * (self.get(row, column) + self.get(column, row)))
    }

    /// Whether every entry is a finite number.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.values.iter().all(|value| value.is_finite())
    }

    /// `x A x'` of two vectors.
    #[must_use]
    pub fn form(&self, one: &[f64], two: &[f64]) -> f64 {
        let rows = self.values.chunks(self.size.max(1));
        rows.zip(one).map(|(row, x)| x * row.iter().zip(two).map(|(a, y)| a * y).sum::<f64>()).sum()
    }

    /// The lower triangle G with A = G Gᵀ, if the matrix is positive.
    #[must_use]
    pub fn cholesky(&self) -> Option<Self> {
        let mut lower = Self::zero(self.size);
        for row in 0..self.size {
            for column in 0..=row {
                let known: f64 = (0..column).map(|k| lower.get(row, k) * lower.get(column, k)).sum();
                let rest = self.get(row, column) - known;
                if row == column {
                    // Rounding leaves a singular matrix with a tiny pivot of either sign.
                    if rest.is_nan() || rest <= 1e-9 * self.get(row, row).abs() {
                        return None;
                    }
                    lower.set(row, row, rest.sqrt());
                } else {
                    lower.set(row, column, rest / lower.get(column, column));
                }
            }
        }
        Some(lower)
    }

    /// The inverse of a lower triangle.
    fn lower_inverse(&self) -> Self {
        let mut inverse = Self::zero(self.size);
        for column in 0..self.size {
            for row in column..self.size {
                let right = if row == column { 1.0 } else { 0.0 };
                let known: f64 = (column..row).map(|k| self.get(row, k) * inverse.get(k, column)).sum();
                inverse.set(row, column, (right - known) / self.get(row, row));
            }
        }
        inverse
    }

    /// The inverse, if the matrix is positive.
    #[must_use]
    pub fn inverse(&self) -> Option<Self> {
        let lower = self.cholesky()?.lower_inverse();
        Some(lower.transposed().times(&lower))
    }

    /// The inverse of the triangle of `cholesky`.
    #[must_use]
    pub fn root_inverse(&self) -> Option<Self> {
        Some(self.cholesky()?.lower_inverse())
    }

    /// Eigenvalues and eigenvectors of a symmetric matrix, by Jacobi's rotations.
    #[must_use]
    pub fn eigen(&self) -> Eigen {
        let size = self.size;
        let mut matrix = self.symmetric();
        let mut vectors = Self::from_fn(size, |row, column| if row == column { 1.0 } else { 0.0 });
        for _ in 0..60 {
            let off: f64 = (0..size)
                .flat_map(|row| (0..row).map(move |column| (row, column)))
                .fold(0.0, |sum, (r, c)| sum + matrix.get(r, c) * matrix.get(r, c));
            let scale: f64 = (0..size).map(|at| matrix.get(at, at) * matrix.get(at, at)).sum();
            if off <= 1e-30 * scale || off.is_nan() {
                break;
            }
            for one in 0..size {
                for two in one + 1..size {
                    rotate(&mut matrix, &mut vectors, one, two);
                }
            }
        }
        let mut found: Eigen =
            (0..size).map(|at| (matrix.get(at, at), (0..size).map(|row| vectors.get(row, at)).collect())).collect();
        found.sort_by(|one, two| one.0.total_cmp(&two.0));
        found
    }
}

/// One rotation that makes the entry (`one`, `two`) vanish.
fn rotate(matrix: &mut Square, vectors: &mut Square, one: usize, two: usize) {
    let off = matrix.get(one, two);
    if off.abs() < f64::MIN_POSITIVE {
        return;
    }
    let theta = (matrix.get(two, two) - matrix.get(one, one)) / (2.0 * off);
    let tangent = theta.signum() / (theta.abs() + theta.hypot(1.0));
    let cosine = 1.0 / tangent.hypot(1.0);
    let sine = tangent * cosine;
    let size = matrix.size;
    for at in 0..size {
        let (left, right) = (matrix.get(at, one), matrix.get(at, two));
        matrix.set(at, one, cosine * left - sine * right);
        matrix.set(at, two, sine * left + cosine * right);
        let (left, right) = (vectors.get(at, one), vectors.get(at, two));
        vectors.set(at, one, cosine * left - sine * right);
        vectors.set(at, two, sine * left + cosine * right);
    }
    for at in 0..size {
        let (left, right) = (matrix.get(one, at), matrix.get(two, at));
        matrix.set(one, at, cosine * left - sine * right);
        matrix.set(two, at, sine * left + cosine * right);
    }
}

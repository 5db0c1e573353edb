//! A dense matrix, row by row, and its factorisation into triangles.

/// A dense matrix.
#[derive(Debug, Clone)]
pub struct Matrix {
    values: Vec<f64>,
    columns: usize,
}

/// A matrix that has no inverse, to working precision.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Singular;

impl Matrix {
    /// All zero.
    pub fn zero(rows: usize, columns: usize) -> Self {
        Self { values: vec![0.0; rows * columns], columns }
    }

    /// One row; empty if there is none such.
    pub fn row(&self, row: usize) -> &[f64] {
        self.values.get(row * self.columns..(row + 1) * self.columns).unwrap_or(&[])
    }

    /// One row, to be written.
    pub fn row_mut(&mut self, row: usize) -> &mut [f64] {
        self.values.get_mut(row * self.columns..(row + 1) * self.columns).unwrap_or(&mut [])
    }

    /// All rows.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.values.chunks_exact(self.columns.max(1))
    }
}

/// `P A = L U` with unit lower triangle, rows exchanged only within two blocks, so that the leading block's factors
/// are those of the leading block alone.
#[derive(Debug)]
pub struct Factors {
    matrix: Matrix,
    /// Row `i` of the factors is row `order[i]` of the matrix.
    order: Vec<usize>,
}

/// Columns eliminated together: more of them means fewer walks through memory.
const STEP: usize = 4;

/// Adds `-Σ factor·row` for all rows of a block at once.
#[inline]
fn subtract_block(target: &mut [f64], factors: [f64; STEP], sources: [&[f64]; STEP]) {
    let [a, b, c, d] = factors;
    let [one, two, three, four] = sources;
    for ((((target, one), two), three), four) in target.iter_mut().zip(one).zip(two).zip(three).zip(four) {
        *target -= (a * one + b * two) + (c * three + d * four);
    }
}

fn subtract(target: &mut [f64], factor: f64, source: &[f64]) {
    for (target, source) in target.iter_mut().zip(source) {
        *target -= factor * source;
    }
}

impl Factors {
    /// Factors a square matrix whose first `leading` rows are pivoted among themselves.
    ///
    /// # Errors
    /// `Singular` if a pivot vanishes against the largest entry of its row's block.
    pub fn new(mut matrix: Matrix, leading: usize) -> Result<Self, Singular> {
        let n = matrix.columns;
        let mut order: Vec<usize> = (0..n).collect();
        let mut first = 0;
        while first < n {
            let block_end = if first < leading { leading } else { n };
            let last = (first + STEP).min(block_end);
            for column in first..last {
                let mut best = (column, 0.0);
                for (row, values) in matrix.rows().enumerate().take(block_end).skip(column) {
                    let size = values.get(column).copied().unwrap_or(0.0).abs();
                    if size > best.1 {
                        best = (row, size);
                    }
                }
                // Rows are scaled to entries of order one, so the threshold is absolute. NaN fails it too.
                if !(best.1 > 1e-13 && best.1.is_finite()) {
                    return Err(Singular);
                }
                swap_rows(&mut matrix, column, best.0);
                order.swap(column, best.0);
                eliminate(&mut matrix, column, last);
            }
            update(&mut matrix, first, last);
            first = last;
        }
        Ok(Self { matrix, order })
    }

    /// Solves for one right side, in the leading block of `size` rows alone (`size` = all rows: the whole).
    pub fn solve(&self, right: &[f64], size: usize) -> Vec<f64> {
        let mut x: Vec<f64> = self.order.iter().take(size).map(|&row| right.get(row).copied().unwrap_or(0.0)).collect();
        for row in 1..size {
            let (known, rest) = x.split_at_mut(row);
            if let Some(value) = rest.first_mut() {
                *value -= dot(self.matrix.row(row), known);
            }
        }
        for row in (0..size).rev() {
            let (rest, known) = x.split_at_mut(row + 1);
            let values = self.matrix.row(row);
            if let (Some(value), Some((pivot, right))) =
                (rest.last_mut(), values.get(row..size).and_then(<[f64]>::split_first))
            {
                *value = (*value - dot(right, known)) / pivot;
            }
        }
        x
    }
}

impl Factors {
    /// Solves the transposed system.
    pub fn solve_transposed(&self, right: &[f64]) -> Vec<f64> {
        let mut x = right.to_vec();
        let size = self.order.len();
        for row in 0..size {
            let Some((&pivot, after)) = self.matrix.row(row).get(row..).and_then(<[f64]>::split_first) else {
                continue;
            };
            let (_, rest) = x.split_at_mut(row);
            if let Some((value, rest)) = rest.split_first_mut() {
                *value /= pivot;
                subtract(rest, *value, after);
            }
        }
        for row in (1..size).rev() {
            let (before, rest) = x.split_at_mut(row);
            if let Some(&value) = rest.first() {
                subtract(before, value, self.matrix.row(row));
            }
        }
        let mut result = vec![0.0; size];
        for (&row, value) in self.order.iter().zip(x) {
            if let Some(slot) = result.get_mut(row) {
                *slot = value;
            }
        }
        result
    }
}

/// The sum of products over the shorter one, in four running sums.
pub fn dot(one: &[f64], two: &[f64]) -> f64 {
    let shared = one.len().min(two.len());
    let (one, two) = (one.get(..shared).unwrap_or(&[]), two.get(..shared).unwrap_or(&[]));
    let (ones, twos) = (one.chunks_exact(4), two.chunks_exact(4));
    let tail: f64 = ones.remainder().iter().zip(twos.remainder()).map(|(a, b)| a * b).sum();
    let mut sums = [0.0; 4];
    for (a, b) in ones.zip(twos) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    let [a, b, c, d] = sums;
    (a + b) + (c + d) + tail
}

fn swap_rows(matrix: &mut Matrix, one: usize, two: usize) {
    if one == two {
        return;
    }
    let columns = matrix.columns;
    let (low, high) = (one.min(two), one.max(two));
    let (head, tail) = matrix.values.split_at_mut(high * columns);
    if let (Some(a), Some(b)) = (head.get_mut(low * columns..(low + 1) * columns), tail.get_mut(..columns)) {
        a.swap_with_slice(b);
    }
}

/// Eliminates one column below its pivot, within the columns up to `last` only.
fn eliminate(matrix: &mut Matrix, column: usize, last: usize) {
    let columns = matrix.columns;
    let (head, tail) = matrix.values.split_at_mut((column + 1) * columns);
    let Some(pivot_row) = head.get(column * columns + column..column * columns + last) else { return };
    let Some((pivot, right)) = pivot_row.split_first() else { return };
    let scale = 1.0 / pivot;
    for row in tail.chunks_exact_mut(columns) {
        if let Some((value, rest)) = row.get_mut(column..last).and_then(<[f64]>::split_first_mut) {
            *value *= scale;
            subtract(rest, *value, right);
        }
    }
}

/// Brings the columns right of `last` up to date with the block of columns `first..last`.
fn update(matrix: &mut Matrix, first: usize, last: usize) {
    let columns = matrix.columns;
    // The block's own rows first: a small triangle.
    for row in first + 1..last {
        let (head, tail) = matrix.values.split_at_mut(row * columns);
        let Some(target) = tail.get_mut(..columns) else { return };
        let (factors, target) = target.split_at_mut(last);
        for (above, &factor) in (first..row).zip(factors.iter().skip(first)) {
            if let Some(source) = head.get(above * columns + last..(above + 1) * columns) {
                subtract(target, factor, source);
            }
        }
    }
    let (head, tail) = matrix.values.split_at_mut(last * columns);
    let block = || head.get(first * columns..).unwrap_or(&[]).chunks_exact(columns).filter_map(|row| row.get(last..));
    let mut sources = block();
    let whole: [&[f64]; STEP] = std::array::from_fn(|_| sources.next().unwrap_or(&[]));
    for row in tail.chunks_exact_mut(columns) {
        let (factors, target) = row.split_at_mut(last);
        let factors = factors.get(first..).unwrap_or(&[]);
        if let Ok(factors) = <[f64; STEP]>::try_from(factors) {
            subtract_block(target, factors, whole);
        } else {
            for (&factor, source) in factors.iter().zip(block()) {
                subtract(target, factor, source);
            }
        }
    }
}

//! Gauss-Legendre points and weights on -1..1 (classical values, 16 digits).

/// Points and weights.
pub fn rule(points: usize) -> &'static [(f64, f64)] {
    match points {
        0 | 1 => &[(0.0, 2.0)],
        2 => &[(-0.577_350_269_189_625_8, 1.0), (0.577_350_269_189_625_8, 1.0)],
        3 => &[
            (-0.774_596_669_241_483_4, 0.555_555_555_555_555_6),
            (0.0, 0.888_888_888_888_889),
            (0.774_596_669_241_483_4, 0.555_555_555_555_555_6),
        ],
        4 => &[
            (-0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
            (-0.339_981_043_584_856_26, 0.652_145_154_862_546_2),
            (0.339_981_043_584_856_26, 0.652_145_154_862_546_2),
            (0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
        ],
        _ => &[
            (-0.932_469_514_203_152, 0.171_324_492_379_170_36),
            (-0.661_209_386_466_264_5, 0.360_761_573_048_138_6),
            (-0.238_619_186_083_196_9, 0.467_913_934_572_691_04),
            (0.238_619_186_083_196_9, 0.467_913_934_572_691_04),
            (0.661_209_386_466_264_5, 0.360_761_573_048_138_6),
            (0.932_469_514_203_152, 0.171_324_492_379_170_36),
        ],
    }
}

/// The Legendre polynomial `P_k`, k up to 3.
pub fn legendre(k: usize, t: f64) -> f64 {
    match k {
        0 => 1.0,
        1 => t,
        2 => 1.5 * t * t - 0.5,
        _ => t * (2.5 * t * t - 1.5),
    }
}

/// `∫ P_k` from -1 to `t`.
pub fn legendre_area(k: usize, t: f64) -> f64 {
    let edge = t * t - 1.0;
    match k {
        0 => t + 1.0,
        1 => 0.5 * edge,
        2 => 0.5 * t * edge,
        _ => 0.125 * (5.0 * t * t - 1.0) * edge,
    }
}

/// Where a panel of `P` unknowns is cut for its flux rows: Chebyshev extrema, ends included.
pub fn cuts(unknowns: usize) -> &'static [f64] {
    match unknowns {
        0 | 1 => &[-1.0, 1.0],
        2 => &[-1.0, 0.0, 1.0],
        3 => &[-1.0, -0.5, 0.5, 1.0],
        _ => &[-1.0, -std::f64::consts::FRAC_1_SQRT_2, 0.0, std::f64::consts::FRAC_1_SQRT_2, 1.0],
    }
}

/// The Gauss points on 0..1 for the weight `u^exponent` (Gauss-Jacobi), up to three, ascending.
pub fn jacobi(points: usize, exponent: f64) -> Vec<f64> {
    let moment = |n: f64| 1.0 / (n + exponent + 1.0);
    match points {
        0 | 1 => vec![moment(1.0) / moment(0.0)],
        2 => {
            // u² + a u + b, orthogonal to 1 and u.
            let (m0, m1, m2, m3) = (moment(0.0), moment(1.0), moment(2.0), moment(3.0));
            let det = m1 * m1 - m0 * m2;
            let a = (m0 * m3 - m1 * m2) / det;
            let b = (m2 * m2 - m1 * m3) / det;
            let root = (0.25 * a * a - b).max(0.0).sqrt();
            vec![-0.5 * a - root, -0.5 * a + root]
        }
        _ => {
            // Roots of the Jacobi polynomial of degree three for the exponents 0 and `exponent`, by Newton's method.
            let polynomial = |t: f64| {
                let (mut before, mut here) = (1.0, 0.5 * ((2.0 + exponent) * t - exponent));
                for n in [2.0, 3.0] {
                    let s = 2.0 * n + exponent;
                    let a = 2.0 * n * (n + exponent) * (s - 2.0);
                    let b = (s - 1.0) * (s * (s - 2.0) * t - exponent * exponent);
                    let c = 2.0 * (n - 1.0) * (n + exponent - 1.0) * s;
                    (before, here) = (here, (b * here - c * before) / a);
                }
                here
            };
            let root = |start: f64| {
                (0..8).fold(start, |t, _| {
                    let slope = (polynomial(t + 1e-6) - polynomial(t - 1e-6)) / 2e-6;
                    t - polynomial(t) / slope
                })
            };
            rule(3).iter().map(|&(start, _)| 0.5 * (1.0 + root(start))).collect()
        }
    }
}

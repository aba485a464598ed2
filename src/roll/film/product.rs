//! Weights as a product of any number of small factors.
//!
//! A run of a hundred and fifty frames that nobody noted weighs less than the
//! smallest `f64`. Here a power of two is kept beside the number, so that no
//! weight vanishes, and sums stay sums: no logarithm in the inner loop.

/// Binary digits in one step of a power.
const STEP: i32 = 256;
/// One step up and down.
const UP: f64 = pow2(STEP);
const DOWN: f64 = pow2(-STEP);
/// The power of a weight that is nothing, below any other.
const NOTHING: i32 = i32::MIN / 4;

/// 2 to the power of `n`, for normal numbers.
const fn pow2(n: i32) -> f64 {
    f64::from_bits(((1023 + n) as u64) << 52)
}

/// A weight from 0 up, `value · 2^(256 · power)`. The value lies within
/// 2^±256, so that factors of up to 2^±500 do it no harm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weight {
    value: f64,
    power: i32,
}

impl Weight {
    pub const ZERO: Self = Self { value: 0.0, power: NOTHING };

    /// A weight within 2^±900.
    pub fn new(value: f64) -> Self {
        Self { value, power: 0 }.settled()
    }

    pub fn times(self, factor: f64) -> Self {
        Self { value: self.value * factor, ..self }
    }

    /// The product of two.
    pub fn by(self, other: Self) -> Self {
        Self { value: self.value * other.value, power: self.power + other.power }
    }

    pub fn plus(self, other: Self) -> Self {
        let power = self.power.max(other.power);
        Self { value: self.under(power) + other.under(power), power }.settled()
    }

    /// What part it is of `whole`, which is not nothing.
    pub fn part_of(self, whole: Self) -> f64 {
        let (own, whole) = (self.settled(), whole.settled());
        own.under(whole.power) / whole.value
    }

    /// Its natural logarithm.
    pub fn ln(self) -> f64 {
        self.value.ln() + f64::from(STEP) * f64::from(self.power) * std::f64::consts::LN_2
    }

    /// The value beside a power that is not less than its own, but for one.
    fn under(self, power: i32) -> f64 {
        self.value * down(power - self.power)
    }

    fn settled(mut self) -> Self {
        if self.value == 0.0 {
            return Self::ZERO;
        }
        while self.value < DOWN {
            self = Self { value: self.value * UP, power: self.power - 1 };
        }
        while self.value > UP {
            self = Self { value: self.value * DOWN, power: self.power + 1 };
        }
        self
    }
}

/// `2^(-256 · steps)`; what lies four steps down counts for nothing.
fn down(steps: i32) -> f64 {
    match steps {
        -1 => UP,
        0 => 1.0,
        1 => DOWN,
        2 => DOWN * DOWN,
        3 => DOWN * DOWN * DOWN,
        _ => 0.0,
    }
}

/// `N` weights that are compared with each other only, under one power.
#[derive(Debug, Clone, Copy)]
pub struct Weights<const N: usize> {
    values: [f64; N],
    power: i32,
}

impl<const N: usize> Weights<N> {
    pub const ZERO: Self = Self { values: [0.0; N], power: NOTHING };

    /// Of these, what is less than 2^-512 of the largest may count for nothing.
    pub fn new(weights: [Weight; N]) -> Self {
        let power = weights.iter().fold(NOTHING, |most, w| most.max(w.power));
        let values = weights.map(|w| w.under(power));
        let most = values.iter().copied().fold(0.0, f64::max);
        let settled = Weight { value: most, power }.settled();
        match settled.power - power {
            0 => Self { values, power },
            _ if most == 0.0 => Self::ZERO,
            // In two parts, as the whole may be too large for one number.
            _ => Self { values: values.map(|v| v / most * settled.value), power: settled.power },
        }
    }

    pub fn get(&self, i: usize) -> Weight {
        Weight { value: self.values[i], power: self.power }
    }

    /// All together, each times its factor.
    pub fn sum(&self, factors: &[f64; N]) -> Weight {
        let value = self.values.iter().zip(factors).map(|(v, f)| v * f).sum();
        Weight { value, power: self.power }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn e_to(n: f64) -> Weight {
        let tenth = (n / 1000.0).exp();
        (0..1000).fold(Weight::new(1.0), |w, _| w.times(tenth).plus(Weight::ZERO))
    }

    proptest! {
        #[test]
        fn sums_and_products_are_those_of_the_numbers(a in -1e5..1e5f64, apart in -600.0..600.0f64) {
            let b = a + apart;
            let near = |found: f64, want: f64| (found - want).abs() < 1e-6;
            let (most, least) = (a.max(b), a.min(b));
            prop_assert!(near(e_to(a).ln(), a));
            prop_assert!(near(e_to(a).plus(e_to(b)).ln(), most + (least - most).exp().ln_1p()));
            prop_assert!(near(e_to(a).by(e_to(b)).ln(), a + b));
            prop_assert!(near(e_to(least).part_of(e_to(most)).ln(), least - most) || least - most < -530.0);
            let both = Weights::new([e_to(a), Weight::ZERO, e_to(b)]);
            prop_assert!(near(both.sum(&[1.0; 3]).ln(), e_to(a).plus(e_to(b)).ln()));
            prop_assert_eq!(both.get(1).plus(Weight::ZERO), Weight::ZERO);
        }
    }

    #[test]
    fn nothing_stays_nothing() {
        let none = Weights::new([Weight::ZERO; 3]);
        assert_eq!(none.sum(&[1.0; 3]).plus(Weight::ZERO), Weight::ZERO);
        assert_eq!(Weight::ZERO.times(0.5).by(Weight::ZERO).plus(e_to(-1e5)).part_of(e_to(-1e5)), 1.0);
        assert_eq!(Weight::new(0.0), Weight::ZERO);
        assert_eq!(Weight::ZERO.ln(), f64::NEG_INFINITY);
    }
}

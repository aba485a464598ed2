//! Whether this processor has the instructions that the speech engine was built with. Without
//! them it would be ended by the system, with no word of why.

/// The first instruction set that the engine may use and this processor lacks.
#[cfg(target_arch = "x86_64")]
pub(super) fn lacks() -> Option<&'static str> {
    use std::arch::is_x86_feature_detected as has;
    // As `.cargo/config.toml` and `scripts/setup` name them.
    let always = [("AVX2", has!("avx2")), ("FMA", has!("fma")), ("F16C", has!("f16c")), ("BMI2", has!("bmi2"))];
    let wide = has!("avx512f") && has!("avx512bw") && has!("avx512cd") && has!("avx512dq") && has!("avx512vl");
    let built_wide = option_env!("GGML_AVX512") == Some("ON");
    first_lacking(always.into_iter().chain(built_wide.then_some(("AVX-512", wide))))
}

/// Elsewhere the compiler's own choice is used, which every processor of the kind has.
#[cfg(not(target_arch = "x86_64"))]
pub(super) fn lacks() -> Option<&'static str> {
    None
}

#[cfg(any(target_arch = "x86_64", test))]
fn first_lacking(sets: impl IntoIterator<Item = (&'static str, bool)>) -> Option<&'static str> {
    sets.into_iter().find(|(_, there)| !there).map(|(name, _)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_that_is_not_there() {
        assert_eq!(first_lacking([("AVX2", true), ("FMA", false), ("AVX-512", false)]), Some("FMA"));
        assert_eq!(first_lacking([("AVX2", true)]), None);
        assert_eq!(lacks(), None, "the tests run where they were built");
    }
}

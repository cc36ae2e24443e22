//! The one number formatter for everything that is written: fixed decimals, no `-0`, no NaN.

use std::fmt::Write;

use thiserror::Error;

/// Decimals of a coordinate, length or radius in a shop file (mm).
///
/// A rounding of 5e-10 mm keeps positions, radii and areas within the 1e-6 mm
/// that shop files promise, with room for what a reader computes from them.
pub const LENGTH_DECIMALS: u32 = 9;

/// Decimals of a dimensionless ratio such as a bulge.
///
/// A bulge scales half a chord into an arc height: 5e-13 on a 1 m chord is 2.5e-10 mm.
pub const RATIO_DECIMALS: u32 = 12;

/// A number that no shop file can hold: NaN or infinite.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("a number is not finite")]
pub struct NotFinite;

/// Integers up to here are exact in an `f64` (2^53).
const EXACT_INTEGER: f64 = 9_007_199_254_740_992.0;

const POWERS: [u64; 16] = [
    1,
    10,
    100,
    1_000,
    10_000,
    100_000,
    1_000_000,
    10_000_000,
    100_000_000,
    1_000_000_000,
    10_000_000_000,
    100_000_000_000,
    1_000_000_000_000,
    10_000_000_000_000,
    100_000_000_000_000,
    1_000_000_000_000_000,
];

/// Appends `value` with exactly `decimals` decimals (at most 15; more are given as 15).
///
/// Rounds half away from zero; what rounds to zero has no sign.
///
/// # Errors
///
/// [`NotFinite`] for NaN and infinities; `out` is then unchanged.
pub fn push_fixed(out: &mut String, value: f64, decimals: u32) -> Result<(), NotFinite> {
    push(out, value, decimals, decimals as usize)
}

/// Appends `value` rounded to `decimals` decimals (at most 15), less trailing zeros; one decimal always stays: `12.0`.
///
/// # Errors
///
/// [`NotFinite`] for NaN and infinities; `out` is then unchanged.
pub fn push_trimmed(out: &mut String, value: f64, decimals: u32) -> Result<(), NotFinite> {
    push(out, value, decimals.max(1), 1)
}

/// `value` with exactly `decimals` decimals; see [`push_fixed`].
///
/// # Errors
///
/// [`NotFinite`] for NaN and infinities.
///
/// ```
/// use platewright::number::fixed;
/// assert_eq!(fixed(-1e-7, 3).as_deref(), Ok("0.000"));
/// assert_eq!(fixed(12.3456, 2).as_deref(), Ok("12.35"));
/// ```
pub fn fixed(value: f64, decimals: u32) -> Result<String, NotFinite> {
    let mut out = String::new();
    push_fixed(&mut out, value, decimals)?;
    Ok(out)
}

/// `value` rounded to `decimals` decimals, less every trailing zero and the point: `12`, `6.6`.
///
/// # Errors
///
/// [`NotFinite`] for NaN and infinities.
pub fn short(value: f64, decimals: u32) -> Result<String, NotFinite> {
    let mut out = String::new();
    push(&mut out, value, decimals, 0)?;
    Ok(out)
}

fn push(out: &mut String, value: f64, decimals: u32, keep: usize) -> Result<(), NotFinite> {
    if !value.is_finite() {
        return Err(NotFinite);
    }
    let decimals = (decimals as usize).min(POWERS.len() - 1);
    let keep = keep.min(decimals);
    let power = POWERS[decimals];
    let scaled = (value.abs() * power as f64).round();
    if scaled < EXACT_INTEGER {
        push_scaled(out, value < 0.0, scaled as u64, decimals, keep);
        return Ok(());
    }
    // Too large for exact integer arithmetic: the library's digits, which are exact and never -0 here.
    let start = out.len();
    // Writing to a string cannot fail.
    let _ = write!(out, "{value:.decimals$}");
    if decimals > keep {
        let least = start + out[start..].find('.').map_or(0, |dot| dot + 1 + keep);
        while out.len() > least && out.ends_with('0') {
            out.pop();
        }
        if out.ends_with('.') {
            out.pop();
        }
    }
    Ok(())
}

/// Appends `digits / 10^decimals`, dropping trailing zeros down to `keep` decimals.
fn push_scaled(out: &mut String, negative: bool, digits: u64, decimals: usize, keep: usize) {
    // 16 digits of 2^53, a point and a leading zero fit.
    let mut buffer = [b'0'; 24];
    let mut rest = digits;
    let mut at = buffer.len();
    let mut end = buffer.len();
    for place in 0..decimals {
        let digit = (rest % 10) as u8;
        rest /= 10;
        at -= 1;
        buffer[at] = b'0' + digit;
        let all_zero_so_far = end == at + 1;
        if digit == 0 && all_zero_so_far && decimals - place > keep {
            end = at;
        }
    }
    if decimals > 0 {
        at -= 1;
        buffer[at] = b'.';
        if end == at + 1 {
            end = at;
        }
    }
    loop {
        at -= 1;
        buffer[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    if negative && digits != 0 {
        out.push('-');
    }
    out.extend(buffer[at..end].iter().map(|&b| char::from(b)));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trimmed(value: f64, decimals: u32) -> String {
        let mut s = String::new();
        push_trimmed(&mut s, value, decimals).expect("finite");
        s
    }

    #[test]
    fn what_rounds_to_zero_has_no_sign() {
        assert_eq!(fixed(-0.0, 2).as_deref(), Ok("0.00"));
        assert_eq!(fixed(-4e-10, 9).as_deref(), Ok("0.000000000"));
        assert_eq!(trimmed(-4e-10, 9), "0.0");
    }

    #[test]
    fn trailing_zeros_go_and_inner_zeros_stay() {
        assert_eq!(trimmed(12.0, 9), "12.0");
        assert_eq!(trimmed(-12.5, 9), "-12.5");
        assert_eq!(trimmed(100.0, 9), "100.0");
        assert_eq!(trimmed(1.0203, 9), "1.0203");
        assert_eq!(trimmed(0.000_000_001, 9), "0.000000001");
        assert_eq!(trimmed(1e300, 9).len(), 303);
        assert_eq!(fixed(7.0, 0).as_deref(), Ok("7"));
        assert_eq!(short(7.0, 3).as_deref(), Ok("7"));
        assert_eq!(short(-70.10, 3).as_deref(), Ok("-70.1"));
        assert_eq!(short(-0.0004, 3).as_deref(), Ok("0"));
        assert_eq!(short(1e20, 3).as_deref(), Ok("100000000000000000000"));
    }

    #[test]
    fn not_a_number_is_refused_and_leaves_the_text_alone() {
        let mut s = String::from("x");
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(push_fixed(&mut s, bad, 3), Err(NotFinite));
        }
        assert_eq!(s, "x");
    }

    #[test]
    fn what_is_written_reads_back_within_half_a_unit_of_the_last_place() {
        let mut x = 0.123_456_789_f64;
        for k in 0..10_000 {
            x = (x * 1103.515245 + 0.377).fract();
            let value = (x - 0.5) * 10_f64.powi(k % 8);
            for decimals in [0, 3, 9, 12] {
                let text = fixed(value, decimals).expect("finite");
                let back: f64 = text.parse().expect("a number");
                let unit = 10_f64.powi(-i32::try_from(decimals).expect("small"));
                assert!(
                    (back - value).abs() <= 0.5 * unit * (1.0 + 1e-9) + value.abs() * 4e-16,
                    "{value:e} as {text}"
                );
                let short: f64 = trimmed(value, decimals.max(1)).parse().expect("a number");
                assert!(
                    (short - value).abs()
                        <= 0.5 * unit.min(0.1) * (1.0 + 1e-9) + value.abs() * 4e-16
                );
            }
        }
    }
}

//! Money: plain decimals in the shop's own currency, which nobody converts.

use std::fmt;
use std::str::FromStr;

use super::written::written;

/// An amount, or the price of one of something.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Money(pub f64);

/// The most that a price may be: what lies beyond is a slip of the finger.
const MOST: f64 = 1_000_000.0;
/// So many digits may stand behind the point: a millilitre of ink costs less than a cent.
const PLACES: usize = 4;

/// A text that is no price.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "found \"{0}\", expected a price from 0 to 1000000 with a point and at most 4 digits behind it, such as \"3.20\""
)]
pub struct NotMoney(String);

impl FromStr for Money {
    type Err = NotMoney;
    fn from_str(text: &str) -> Result<Self, NotMoney> {
        let plain = text.trim();
        let (whole, part) = plain.split_once('.').unwrap_or((plain, "0"));
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        let reads = digits(whole) && digits(part) && part.len() <= PLACES;
        let amount = reads.then(|| plain.parse().ok()).flatten().filter(|price| *price <= MOST);
        amount
            .map(Self)
            .ok_or_else(|| NotMoney(text.chars().filter(|c| !c.is_control()).take(20).collect()))
    }
}

impl TryFrom<String> for Money {
    type Error = NotMoney;
    fn try_from(text: String) -> Result<Self, NotMoney> {
        text.parse()
    }
}

/// To the hundredth, as amounts are read.
impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:.2}", self.0))
    }
}

// Stored as it was written, to its last place.
written!(Money, f64, |money| money.0, Money, |money: &Money| format!("{}", money.0));

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_is_a_plain_decimal_and_nothing_else() {
        for (text, price) in [("3.20", 3.2), ("24", 24.0), ("0", 0.0), ("0.0125", 0.0125)] {
            assert_eq!(text.parse(), Ok(Money(price)), "{text}");
        }
        for text in ["", "-1", "3,20", "1e3", "3.", ".5", "0.00001", "1000000.01", "inf", "3 EUR"] {
            assert!(text.parse::<Money>().is_err(), "{text}");
        }
        assert_eq!(Money(12.345).to_string(), "12.35");
    }
}

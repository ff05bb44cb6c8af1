//! What a digit names in a form.

use crate::shop::Shop;
use crate::shop::facts::ids::PressNo;

/// The place in a list, from none, that a digit from 1 on names; None for any other letter.
pub fn place(digit: char) -> Option<usize> {
    digit.to_digit(10).and_then(|n| usize::try_from(n).ok()?.checked_sub(1))
}

/// The press of this station that a digit names.
pub fn press(shop: &Shop, digit: char) -> Option<PressNo> {
    let press = digit.to_digit(10).and_then(|n| u8::try_from(n).ok()).map(PressNo);
    press.filter(|press| shop.press_numbers().contains(press))
}

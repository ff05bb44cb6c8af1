//! Numbers as people type them: a point or a comma as decimal mark, a sign, digits of any width.

use super::NotAQuantity;

/// Why a text holds no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoNumber {
    Nothing,
    NotANumber,
    /// "1,250": a decimal comma, or a mark between thousands.
    Ambiguous,
    TooLarge,
}

impl NoNumber {
    /// The error of a text, with what was expected.
    pub(super) fn error(self, text: &str, expected: &str) -> NotAQuantity {
        let why = match self {
            NoNumber::Nothing | NoNumber::NotANumber => return NotAQuantity::new(text, expected),
            NoNumber::Ambiguous => {
                "which may be a part of one or thousands; write a point, and no mark between thousands"
            }
            NoNumber::TooLarge => "which is beyond any measure",
        };
        NotAQuantity::because(text, why, expected)
    }
}

/// The same text in plain letters: full-width digits and letters, signs and blanks as a keyboard of another
/// language types them, are those of ASCII.
pub(super) fn in_plain_letters(text: &str) -> String {
    /// How far the full-width forms of ASCII lie from ASCII (Unicode block FF00).
    const WIDE: u32 = 0xFEE0;
    let plain = |letter: char| match letter {
        '\u{FF01}'..='\u{FF5E}' => char::from_u32(letter as u32 - WIDE).unwrap_or(letter),
        '\u{2212}' | '\u{2013}' => '-',
        letter if letter.is_whitespace() => ' ',
        letter => letter,
    };
    text.chars().map(plain).collect::<String>().trim().to_owned()
}

/// Splits "230 g/m2" into 230 and "g/m2". Expects plain letters.
pub(super) fn split(text: &str) -> Result<(f64, &str), NoNumber> {
    let is_mark = |letter: char| matches!(letter, '.' | ',');
    let sign = usize::from(text.starts_with(['-', '+']));
    let end = text[sign..]
        .find(|letter: char| !(letter.is_ascii_digit() || is_mark(letter)))
        .map_or(text.len(), |at| at + sign);
    let digits = &text[sign..end];
    let power = power(&text[end..]);
    let rest = text[end + power.len()..].trim();
    if text.is_empty() {
        return Err(NoNumber::Nothing);
    }
    let (whole, part) = digits.split_once(is_mark).unwrap_or((digits, ""));
    if part.contains(is_mark) {
        return Err(NoNumber::Ambiguous);
    }
    let grouped = part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    if digits.contains(',') && grouped {
        return Err(NoNumber::Ambiguous);
    }
    if (whole.is_empty() && part.is_empty()) || rest.starts_with(is_mark) {
        return Err(NoNumber::NotANumber);
    }
    let number: f64 = format!("{}{}{power}", &text[..sign], digits.replace(',', "."))
        .parse()
        .map_err(|_| NoNumber::NotANumber)?;
    if number.is_finite() { Ok((number, rest)) } else { Err(NoNumber::TooLarge) }
}

/// The power of ten at the beginning of a text, as spreadsheets write it: "e-3".
fn power(text: &str) -> &str {
    let Some(rest) = text.strip_prefix(['e', 'E']) else { return "" };
    let figures = rest.strip_prefix(['-', '+']).unwrap_or(rest);
    let end = figures.bytes().take_while(u8::is_ascii_digit).count();
    if end == 0 { "" } else { &text[..text.len() - figures.len() + end] }
}

/// Reads a number that has no unit: "12.5", "12,5", "-3".
///
/// # Errors
/// No number, or something behind it.
pub fn number(text: &str) -> Result<f64, NotAQuantity> {
    const WANTED: &str = "a number such as \"12.5\"";
    let plain = in_plain_letters(text);
    match split(&plain) {
        Ok((number, "")) => Ok(number),
        Ok(_) => Err(NotAQuantity::new(text, WANTED)),
        Err(reason) => Err(reason.error(text, WANTED)),
    }
}

/// Reads a whole number between two others: so many presses, so many garments.
///
/// # Errors
/// No whole number, or one outside.
pub fn whole<T: TryFrom<u64>>(
    text: &str,
    what: &str,
    (least, most): (u64, u64),
) -> Result<T, NotAQuantity> {
    let expected = match most {
        u64::MAX => format!("{what}, a whole number such as \"{}\"", least.max(1)),
        _ => format!("{what}, {least} to {most}"),
    };
    let plain = in_plain_letters(text);
    let why = match split(&plain) {
        Ok((number, "")) if number < 0.0 => "which is below zero",
        Ok((number, "")) if number.fract() != 0.0 => "which is no whole number",
        // The digits themselves: a number of twenty digits is not what a float makes of it.
        Ok((number, "")) => {
            let digits = plain.trim_start_matches('+');
            let found = digits.parse::<u64>().ok().filter(|found| (least..=most).contains(found));
            if let Some(found) = found.and_then(|found| T::try_from(found).ok()) {
                return Ok(found);
            }
            if number == 0.0 { "which is none" } else { "which is too many" }
        }
        Ok(_) => return Err(NotAQuantity::new(text, &expected)),
        Err(reason) => return Err(reason.error(text, &expected)),
    };
    Err(NotAQuantity::because(text, why, &expected))
}

/// The same, as the command line wants it.
pub fn whole_reader<T: TryFrom<u64> + Clone + Send + Sync + 'static>(
    what: &'static str,
    least: u64,
    most: u64,
) -> impl Fn(&str) -> Result<T, NotAQuantity> + Clone + Send + Sync + 'static {
    move |text| whole(text, what, (least, most))
}

/// Prints a number without a tail of zeros, to so many places behind the point at most: 340, 12.5, 3.937.
pub(super) fn plain(number: f64, places: usize) -> String {
    let text = format!("{number:.places$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comma_is_a_decimal_mark_and_never_cuts() {
        assert_eq!(number("12,5"), Ok(12.5));
        assert_eq!(number("0,250"), Ok(0.25));
        assert_eq!(number("-3"), Ok(-3.0));
        assert_eq!(number("\u{2212}3.5"), Ok(-3.5));
        assert_eq!(number("１２．５"), Ok(12.5));
        assert_eq!(number("1250,5"), Ok(1250.5));
        assert_eq!(number("1,5e-3"), Ok(0.0015));
        for text in
            ["1,250", "1.250,5", "1,2,3", "", ".", ",", "-", "1e", "1e999", "NaN", "inf", "12 5"]
        {
            assert!(number(text).is_err(), "{text:?}");
        }
        assert!(number("1,250").unwrap_err().to_string().contains("thousands"));
    }

    #[test]
    fn a_whole_number_says_what_is_wrong_with_it() {
        let presses = |text: &str| whole::<u8>(text, "presses", (1, 9));
        assert_eq!(presses("9"), Ok(9));
        for (text, words) in [
            ("0", "which is none: expected presses, 1 to 9"),
            ("10", "too many"),
            ("-1", "below zero"),
            ("2.5", "no whole number"),
            ("2,5", "no whole number"),
            ("", "found nothing, expected presses, 1 to 9"),
            ("two", "found \"two\", expected presses"),
        ] {
            let said = presses(text).unwrap_err().to_string();
            assert!(said.contains(words), "{text:?}: {said}");
        }
        assert_eq!(whole::<u64>("18446744073709551615", "a seed", (0, u64::MAX)), Ok(u64::MAX));
    }
}

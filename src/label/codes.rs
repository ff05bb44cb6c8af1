//! A tag as two codes: bars for the usual scanner, squares for a camera.
//!
//! ISO/IEC 15417 (Code 128) and ISO/IEC 18004 (QR); the encoding is the libraries' own.

use barcoders::sym::code128::Code128;
use qrcode::{Color, EcLevel, QrCode};

/// What a code cannot hold.
#[derive(Debug, thiserror::Error)]
#[error("\"{0}\" cannot be made a code: expected a tag such as \"A17-03\"")]
pub struct NoCode(pub String);

/// Quiet zones that the standards ask for, in modules on each side.
pub const QUIET_BARS: u32 = 10;
pub const QUIET_SQUARES: u32 = 4;

/// Modules from left to right, black ones true. Character set B, which has letters, digits and the hyphen.
pub fn bars(tag: &str) -> Result<Vec<bool>, NoCode> {
    const SET_B: char = '\u{0181}';
    let code = Code128::new(format!("{SET_B}{tag}")).map_err(|_| NoCode(tag.to_owned()))?;
    Ok(code.encode().into_iter().map(|module| module == 1).collect())
}

/// Rows of modules from above, black ones true. A label that lost a seventh of its code is still read.
pub fn squares(tag: &str) -> Result<Vec<Vec<bool>>, NoCode> {
    let code =
        QrCode::with_error_correction_level(tag, EcLevel::M).map_err(|_| NoCode(tag.to_owned()))?;
    let black: Vec<bool> = code.to_colors().into_iter().map(|one| one == Color::Dark).collect();
    Ok(black.chunks(code.width()).map(<[bool]>::to_vec).collect())
}

//! Words on the command line that name how a sprayer works.

use crate::figures::fan::Profile;
use crate::figures::strokes::Onto;
use crate::shop::facts::words::clean;

/// What lies past the edge.
pub fn read_onto(text: &str) -> Result<Onto, String> {
    match text.trim().to_ascii_lowercase().as_str() {
        "garment" => Ok(Onto::Garment),
        "mask" => Ok(Onto::Mask),
        "board" => Ok(Onto::Board),
        _ => Err(format!("found \"{}\", expected garment, mask or board", clean(text, 20))),
    }
}

/// How a fan's fluid lies across its stroke.
pub fn read_profile(text: &str) -> Result<Profile, String> {
    match text.trim().to_ascii_lowercase().as_str() {
        "tapered" => Ok(Profile::Tapered),
        "even" => Ok(Profile::Even),
        _ => Err(format!("found \"{}\", expected tapered or even", clean(text, 20))),
    }
}

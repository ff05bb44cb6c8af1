//! Bytes as an artwork's file: it is refused in words, or what it says of its garment is a share of its pixels.

use dwell::figures::artwork::Limits;
use dwell::figures::units::Colour;
use dwell::shell::picture::look_at_bytes;
use dwell::shop::facts::order::Backdrop;

use super::bench::check_said;

/// The first byte makes the garment's colour.
pub fn run(bytes: &[u8]) {
    let Some((first, bytes)) = bytes.split_first() else { return };
    let garment = Colour { red: *first, green: first.rotate_left(3), blue: !first };
    for backdrop in [None, Some(Backdrop::Keep), Some(Backdrop::Drop)] {
        match look_at_bytes("artwork.png".as_ref(), bytes, garment, Limits::default()) {
            Ok(look) => {
                let Some(artwork) = look.says(backdrop) else { continue };
                for share in [artwork.lighter_share, artwork.brighter_channel_share] {
                    assert!((0.0..=1.0).contains(&share), "{share} is no share");
                }
                check_said(&artwork.reason);
            }
            Err(wrong) => {
                check_said(&wrong.to_string());
                check_said(&wrong.in_one_line());
                return;
            }
        }
    }
}

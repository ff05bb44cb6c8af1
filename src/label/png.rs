//! A drawing as PNG: one bit a dot, with the printer's dots to the metre.

use super::{DOTS_PER_INCH, Drawing};

/// The whole file.
///
/// # Errors
/// What the encoder says; none for a drawing of at least one dot.
pub fn png(drawing: &Drawing) -> Result<Vec<u8>, png::EncodingError> {
    const INCHES_PER_METRE: f64 = 1.0 / 0.0254;
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, drawing.width, drawing.height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::One);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a constant, 7992")]
    let per_metre = (DOTS_PER_INCH * INCHES_PER_METRE).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&bits(drawing))?;
    writer.finish()?;
    Ok(file)
}

/// White bits, rows from above, each row begun with a byte of its own.
fn bits(drawing: &Drawing) -> Vec<u8> {
    let stride = drawing.width.div_ceil(8) as usize;
    let mut bits = vec![0xff; stride * drawing.height as usize];
    for bar in &drawing.bars {
        for y in bar.y..(bar.y + bar.height).min(drawing.height) {
            for x in bar.x..(bar.x + bar.width).min(drawing.width) {
                bits[y as usize * stride + x as usize / 8] &= !(0x80 >> (x % 8));
            }
        }
    }
    bits
}

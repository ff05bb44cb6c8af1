//! A picture such as is printed: flat letters, gradients, a grainy photograph, soft edges, nothing around it.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

use dwell::figures::artwork::Rgba;

/// Grain: the same for the same place.
fn grain(x: u32, y: u32) -> u32 {
    let mut n = x.wrapping_mul(0x9E37_79B1) ^ y.wrapping_mul(0x85EB_CA77);
    n ^= n >> 15;
    n = n.wrapping_mul(0x2C1B_3CB5);
    n ^ n >> 13
}

fn byte(n: u32) -> u8 {
    u8::try_from(n.min(255)).unwrap_or(u8::MAX)
}

/// The pixel at a place of a picture of this size.
fn pixel(x: u32, y: u32, width: u32, height: u32) -> Rgba {
    let (across, down) = (x * 1000 / width, y * 1000 / height);
    if !(80..920).contains(&across) || !(80..920).contains(&down) {
        return [0, 0, 0, 0];
    }
    match down {
        // Letters of two inks.
        ..250 if (across / 30).is_multiple_of(3) => [16, 24, 32, 255],
        ..250 => [230, 60, 40, 255],
        // A sky that runs smoothly both ways, and the soft edge of a glow.
        250..400 => {
            [byte(x * 200 / width), byte(y * 600 / height), byte(60 + x * 160 / width), 255]
        }
        400..500 => [250, 240, 200, byte(x * 300 / width)],
        // A photograph: light and shadow with the grain of a sensor, its channels grained alike.
        500..800 => {
            let (tone, grain) = ((x / 9 + y / 7) % 160, grain(x, y));
            let grained = |base: u32, n: u32| byte((base + n % 9 + (n >> 8) % 9).saturating_sub(8));
            let (red, green, blue) = (tone + 60, tone * 3 / 4 + 40, tone / 2 + 20);
            [grained(red, grain), grained(green, grain), grained(blue, grain >> 4), 255]
        }
        // A halftone of dots on nothing.
        _ if (across / 50).is_multiple_of(2) && (x / 6 + y / 6).is_multiple_of(2) => {
            [255, 255, 255, 255]
        }
        _ => [0, 0, 0, 0],
    }
}

/// Writes such a picture as a PNG that is not interlaced.
pub fn write(path: &Path, width: u32, height: u32) {
    let file = BufWriter::new(File::create(path).unwrap());
    let mut encoder = png::Encoder::new(file, width, height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    // As programs that draw save it: packed well, each row filtered as suits it.
    encoder.set_compression(png::Compression::Balanced);
    encoder.set_filter(png::Filter::Adaptive);
    let mut writer = encoder.write_header().unwrap();
    let mut stream = writer.stream_writer().unwrap();
    for y in 0..height {
        let row: Vec<Rgba> = (0..width).map(|x| pixel(x, y, width, height)).collect();
        stream.write_all(row.as_flattened()).unwrap();
    }
    stream.finish().unwrap();
}

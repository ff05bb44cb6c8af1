//! JPEG files put together by hand (ITU-T T.81), for what an encoder would not write: four components, profiles in
//! pieces, heads that lie.
//!
//! The picture is made of blocks of 8 x 8 pixels, each of one colour, with all quantisers 1: so every sample comes
//! out exactly as it went in.

/// A segment: its mark and what is in it.
pub type Segment = (u8, Vec<u8>);

/// A file of `columns` blocks in a row, each block's samples one for each component; `more` stands before the frame.
pub fn file(blocks: &[Vec<u8>], columns: usize, more: &[Segment]) -> Vec<u8> {
    in_scans(blocks, columns, more, false)
}

/// The same as a progressive one: its one scan has the means, and none of detail follows.
pub fn progressive(blocks: &[Vec<u8>], columns: usize, more: &[Segment]) -> Vec<u8> {
    in_scans(blocks, columns, more, true)
}

fn in_scans(blocks: &[Vec<u8>], columns: usize, more: &[Segment], progressive: bool) -> Vec<u8> {
    let components = u8::try_from(blocks[0].len()).unwrap();
    let mut file = vec![0xFF, 0xD8];
    for (mark, data) in more {
        push(&mut file, *mark, data);
    }
    push(&mut file, 0xDB, &[&[0][..], &[1; 64]].concat());
    let rows = blocks.len() / columns;
    let [high, low] = u16::try_from(rows * 8).unwrap().to_be_bytes();
    let [left, right] = u16::try_from(columns * 8).unwrap().to_be_bytes();
    let mut frame = vec![8, high, low, left, right, components];
    let mut scan = vec![components];
    for component in 1..=components {
        frame.extend([component, 0x11, 0]);
        scan.extend([component, 0]);
    }
    scan.extend([0, if progressive { 0 } else { 63 }, 0]);
    push(&mut file, if progressive { 0xC2 } else { 0xC0 }, &frame);
    push(&mut file, 0xC4, &table(0x00, 4, (0..=11).collect()));
    push(&mut file, 0xC4, &table(0x10, 2, vec![0]));
    push(&mut file, 0xDA, &scan);
    file.extend(coded(blocks, usize::from(components), !progressive));
    file.extend([0xFF, 0xD9]);
    file
}

/// The segment by which inks are known to be stored inverted; 0 for CMYK, 2 for luminance, chrominance and black.
pub fn inverted(transform: u8) -> Segment {
    (0xEE, [&b"Adobe"[..], &[0, 100, 0, 0, 0, 0, transform]].concat())
}

/// A profile cut into so many segments (ICC.1, annex B.4).
pub fn profile(bytes: &[u8], pieces: usize) -> Vec<Segment> {
    let size = bytes.len().div_ceil(pieces);
    let numbered = bytes.chunks(size).enumerate();
    let head = |n: usize| [u8::try_from(n + 1).unwrap(), u8::try_from(pieces).unwrap()];
    numbered.map(|(n, part)| (0xE2, [b"ICC_PROFILE\0", &head(n)[..], part].concat())).collect()
}

/// Exif data that says nothing but how the picture stands.
pub fn exif(orientation: u8) -> Vec<u8> {
    let mut tiff = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0".to_vec();
    tiff.extend([orientation, 0, 0, 0, 0, 0, 0, 0]);
    tiff
}

fn push(file: &mut Vec<u8>, mark: u8, data: &[u8]) {
    file.extend([0xFF, mark]);
    file.extend(u16::try_from(data.len() + 2).unwrap().to_be_bytes());
    file.extend(data);
}

/// A table of codes that all have the same length.
fn table(class: u8, length: usize, values: Vec<u8>) -> Vec<u8> {
    let mut counts = [0; 16];
    counts[length - 1] = u8::try_from(values.len()).unwrap();
    [&[class][..], &counts, &values].concat()
}

/// Each block as the difference of its mean to the one before, and no detail.
fn coded(blocks: &[Vec<u8>], components: usize, ended: bool) -> Vec<u8> {
    let (mut bytes, mut held, mut count) = (Vec::new(), 0u64, 0);
    let mut put = |value: u32, bits: u32| {
        held = held << bits | u64::from(value);
        count += bits;
        while count >= 8 {
            count -= 8;
            let byte = (held >> count & 0xFF) as u8;
            bytes.push(byte);
            if byte == 0xFF {
                bytes.push(0);
            }
        }
    };
    let mut before = vec![0i32; components];
    for block in blocks {
        for (sample, before) in block.iter().zip(&mut before) {
            let mean = (i32::from(*sample) - 128) * 8;
            let difference = mean - *before;
            *before = mean;
            let size = 32 - difference.unsigned_abs().leading_zeros();
            let low = if difference < 0 { difference + (1 << size) - 1 } else { difference };
            put(size, 4);
            put(u32::try_from(low).unwrap(), size);
            if ended {
                put(0, 2);
            }
        }
    }
    put(0x7F, 7);
    bytes
}

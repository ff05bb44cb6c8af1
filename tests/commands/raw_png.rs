//! PNG files put together by hand, for what an encoder would not write: Adam7 rows, and heads that lie.
//!
//! By the PNG specification (W3C, third edition): chunks with CRC-32, pixels in a zlib stream (RFC 1950), here
//! of stored blocks.

/// The head of a picture, 8 bits of red, green, blue and opacity.
pub fn head(width: u32, height: u32, interlaced: bool) -> [u8; 13] {
    let mut head = [0; 13];
    head[..4].copy_from_slice(&width.to_be_bytes());
    head[4..8].copy_from_slice(&height.to_be_bytes());
    head[8..].copy_from_slice(&[8, 6, 0, 0, u8::from(interlaced)]);
    head
}

/// The head of a picture of 16 bits, red, green, blue and opacity.
pub fn deep_head(width: u32, height: u32) -> [u8; 13] {
    let mut deep = head(width, height, false);
    deep[8] = 16;
    deep
}

/// The head of a grey picture of so many bits.
pub fn grey_head(width: u32, height: u32, bits: u8) -> [u8; 13] {
    let mut grey = head(width, height, false);
    grey[8..10].copy_from_slice(&[bits, 0]);
    grey
}

/// The same file with more chunks behind its head.
pub fn with(file: &[u8], chunks: &[(&[u8; 4], Vec<u8>)]) -> Vec<u8> {
    const HEAD: usize = 8 + 12 + 13;
    let mut more = file[..HEAD].to_vec();
    for (kind, data) in chunks {
        more.extend(chunk(kind, data));
    }
    more.extend(&file[HEAD..]);
    more
}

/// The same file with more chunks behind its pixels.
pub fn with_behind(file: &[u8], chunks: &[(&[u8; 4], Vec<u8>)]) -> Vec<u8> {
    const END: usize = 12;
    let (before, end) = file.split_at(file.len() - END);
    let more = chunks.iter().flat_map(|(kind, data)| chunk(kind, data));
    before.iter().copied().chain(more).chain(end.iter().copied()).collect()
}

/// A profile as a chunk has it: a name, a zero, the method 0, a zlib stream.
pub fn iccp(profile: &[u8]) -> Vec<u8> {
    [b"p\0\0", &zlib(profile)[..]].concat()
}

fn chunk(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let body = [kind, data].concat();
    let length = u32::try_from(data.len()).unwrap().to_be_bytes();
    [&length, &body[..], &crc(&body).to_be_bytes()].concat()
}

/// A file with this head and these rows, each after the byte that names its filter.
pub fn file(head: [u8; 13], rows: &[u8]) -> Vec<u8> {
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    for (kind, data) in [(b"IHDR", head.to_vec()), (b"IDAT", zlib(rows)), (b"IEND", Vec::new())] {
        file.extend(chunk(kind, &data));
    }
    file
}

/// The rows of a picture of 8 x 8 pixels as Adam7 orders them: seven passes, each a coarser or finer grid.
pub fn adam7<const BYTES: usize>(pixel: impl Fn(usize, usize) -> [u8; BYTES]) -> Vec<u8> {
    /// First column and row of each pass, and the steps between its columns and rows (specification, 8.1).
    const PASSES: [(usize, usize, usize, usize); 7] = [
        (0, 0, 8, 8),
        (4, 0, 8, 8),
        (0, 4, 4, 8),
        (2, 0, 4, 4),
        (0, 2, 2, 4),
        (1, 0, 2, 2),
        (0, 1, 1, 2),
    ];
    let mut rows = Vec::new();
    for (left, top, across, down) in PASSES {
        for y in (top..8).step_by(down) {
            rows.push(0);
            rows.extend((left..8).step_by(across).flat_map(|x| pixel(x, y)));
        }
    }
    rows
}

fn zlib(data: &[u8]) -> Vec<u8> {
    let length = u16::try_from(data.len()).unwrap();
    let mut stream = vec![0x78, 0x01, 1];
    stream.extend(length.to_le_bytes());
    stream.extend((!length).to_le_bytes());
    stream.extend(data);
    let (a, b) = data.iter().fold((1u32, 0u32), |(a, b), byte| {
        let a = (a + u32::from(*byte)) % 65_521;
        (a, (b + a) % 65_521)
    });
    stream.extend((b << 16 | a).to_be_bytes());
    stream
}

fn crc(data: &[u8]) -> u32 {
    let step = |crc: u32| if crc & 1 == 1 { crc >> 1 ^ 0xEDB8_8320 } else { crc >> 1 };
    !data.iter().fold(u32::MAX, |crc, byte| (0..8).fold(crc ^ u32::from(*byte), |crc, _| step(crc)))
}

//! PNG: its rows as they come, and its colours in the order of precedence that its third edition lays down.

use std::io::{BufRead, Read, Seek};
use std::path::Path;

use flate2::Crc;
use flate2::bufread::ZlibDecoder;

use super::strips::{ColoursFound, Layout, Source, Strips, first_that_reads};
use super::{MOST_BYTES, NoPicture, Row, check_size, too_many_bytes, upright};
use crate::figures::profile::{self, Depth, Samples};

/// The most bytes of a chunk that says something of colours or of how the picture stands.
const MOST_SAID: u32 = 16 << 20;

/// What a PNG says of itself beside its pixels: each chunk's bytes, or why they are not to be had.
#[derive(Default)]
struct Said {
    head: Option<Chunk>,
    cicp: Option<Chunk>,
    iccp: Option<Chunk>,
    srgb: bool,
    gama: Option<Chunk>,
    chrm: Option<Chunk>,
    exif: Option<Chunk>,
}

type Chunk = Result<Vec<u8>, String>;

impl Said {
    /// Goes through the chunks. What comes behind the pixels says nothing of their colours; a file that ends too
    /// early is the decoder's to tell.
    fn read(file: &mut (impl BufRead + Seek)) -> std::io::Result<Self> {
        const SIGNATURE: i64 = 8;
        let mut said = Self::default();
        file.seek_relative(SIGNATURE)?;
        let mut before_pixels = true;
        let mut head = [0; 8];
        while file.read_exact(&mut head).is_ok() {
            let [a, b, c, d, kind @ ..] = head;
            let length = u32::from_be_bytes([a, b, c, d]);
            let slot = match &kind {
                b"IHDR" => &mut said.head,
                b"cICP" if before_pixels => &mut said.cicp,
                b"iCCP" if before_pixels => &mut said.iccp,
                b"gAMA" if before_pixels => &mut said.gama,
                b"cHRM" if before_pixels => &mut said.chrm,
                b"eXIf" => &mut said.exif,
                b"IEND" => break,
                other => {
                    said.srgb |= other == b"sRGB" && before_pixels;
                    before_pixels &= other != b"IDAT";
                    file.seek_relative(i64::from(length) + 4)?;
                    continue;
                }
            };
            let chunk = chunk(file, &kind, length)?;
            // The first counts: there may be one of each.
            slot.get_or_insert(chunk);
        }
        Ok(said)
    }
}

/// The bytes of a chunk behind its head, with its checksum looked at.
fn chunk(file: &mut (impl BufRead + Seek), kind: &[u8; 4], length: u32) -> std::io::Result<Chunk> {
    if length > MOST_SAID {
        file.seek_relative(i64::from(length) + 4)?;
        return Ok(Err(format!("it says {length} bytes, expected at most {MOST_SAID}")));
    }
    let mut data = Vec::new();
    file.take(u64::from(length) + 4).read_to_end(&mut data)?;
    let Some((rest, sum)) = data.split_last_chunk::<4>() else {
        return Ok(Err("the file ends within it".into()));
    };
    let whole = u32::try_from(rest.len()) == Ok(length);
    let mut crc = Crc::new();
    crc.update(kind);
    crc.update(rest);
    if !whole || crc.sum() != u32::from_be_bytes(*sum) {
        return Ok(Err("its checksum is wrong: the file is damaged there".into()));
    }
    data.truncate(data.len() - 4);
    Ok(Ok(data))
}

/// The profile in an iCCP chunk: a name, a zero, the method 0, and a zlib stream (PNG, 11.3.2.3).
fn unpacked(chunk: &[u8]) -> Result<Vec<u8>, String> {
    let name = chunk.iter().position(|byte| *byte == 0).unwrap_or(chunk.len());
    let packed = match chunk.get(name + 1..) {
        Some([0, packed @ ..]) if (1..80).contains(&name) => packed,
        _ => return Err("it does not begin as the PNG standard has it".into()),
    };
    let mut profile = Vec::new();
    // One byte more than may be, so that more is seen; a small chunk may unpack to a thousand times its size.
    let most = u64::try_from(profile::MOST_BYTES).unwrap_or(u64::MAX);
    let unpacked = ZlibDecoder::new(packed).take(most + 1).read_to_end(&mut profile);
    match unpacked {
        Ok(_) => Ok(profile),
        Err(reason) => Err(format!("it does not unpack: {reason}")),
    }
}

/// Numbers of four bytes, so many.
fn numbers<const N: usize>(chunk: &[u8]) -> Result<[u32; N], String> {
    let (numbers, rest) = chunk.as_chunks::<4>();
    let numbers: Vec<u32> = numbers.iter().map(|number| u32::from_be_bytes(*number)).collect();
    let wrong = || format!("found {} bytes, expected {}", chunk.len(), N * 4);
    if !rest.is_empty() {
        return Err(wrong());
    }
    numbers.try_into().map_err(|_| wrong())
}

/// What the chunks say of colours, the one that counts first (PNG, third edition, 4.3).
fn sources(said: Said, samples: Samples, depth: Depth) -> Vec<Source> {
    let read =
        |reading: Result<_, profile::NoProfile>| reading.map_err(|reason| reason.to_string());
    let mut sources: Vec<Source> = Vec::new();
    if let Some(chunk) = said.cicp {
        let points = chunk.and_then(|chunk| numbers::<1>(&chunk)).map(|[points]| points);
        let reading = points.map(u32::to_be_bytes);
        let reading = reading.and_then(|points| read(profile::coded(points, samples, depth)));
        sources.push(("cICP", reading));
    }
    if let Some(chunk) = said.iccp {
        let reading = chunk.and_then(|chunk| unpacked(&chunk));
        let reading = reading.and_then(|bytes| read(profile::read(&bytes, samples, depth)));
        sources.push(("iCCP", reading));
    }
    if said.srgb {
        sources.push(("sRGB", Ok(profile::Reading::Srgb)));
    }
    let gamma = said.gama.map(|chunk| chunk.and_then(|chunk| numbers::<1>(&chunk)));
    let chromaticities = said.chrm.map(|chunk| chunk.and_then(|chunk| numbers::<8>(&chunk)));
    let name = match (&gamma, &chromaticities) {
        (Some(_), Some(_)) => "gAMA and cHRM",
        (Some(_), None) => "gAMA",
        (None, Some(_)) => "cHRM",
        (None, None) => return sources,
    };
    let reading = gamma.transpose().and_then(|gamma| {
        let gamma = gamma.map(|[gamma]| gamma);
        read(profile::stated(gamma, chromaticities.transpose()?, samples, depth))
    });
    sources.push((name, reading));
    sources
}

/// Hands each row to `take`.
pub fn rows(
    path: &Path,
    file: &mut (impl BufRead + Seek),
    take: &mut impl FnMut(&Row<'_>),
) -> Result<ColoursFound, NoPicture> {
    let wrong = |reason: png::DecodingError| NoPicture::new(path, reason);
    let said = Said::read(file).map_err(|reason| NoPicture::new(path, reason))?;
    file.rewind().map_err(|reason| NoPicture::new(path, reason))?;
    // Before the decoder makes room for its rows.
    if let Some(Ok([a, b, c, d, e, f, g, h, ..])) = said.head.as_ref().map(|head| head.as_deref()) {
        let [width, height] = [[*a, *b, *c, *d], [*e, *f, *g, *h]].map(u32::from_be_bytes);
        check_size(path, width, height)?;
    }
    let mut decoder = png::Decoder::new(file);
    // Both are read above, where they may be as large as they say, and may be damaged.
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    decoder.set_transformations(png::Transformations::EXPAND | png::Transformations::ALPHA);
    let mut reader = decoder.read_info().map_err(wrong)?;
    let (width, height) = (reader.info().width, reader.info().height);
    check_size(path, width, height)?;
    let (colours, bits) = reader.output_color_type();
    let layout = Layout {
        samples: match colours {
            png::ColorType::GrayscaleAlpha => Samples::Grey,
            _ => Samples::Colour,
        },
        opacity: true,
        depth: match bits {
            png::BitDepth::Sixteen => Depth::Sixteen,
            _ => Depth::Eight,
        },
    };
    let of = upright(width, height, said.exif.as_ref().and_then(|chunk| chunk.as_deref().ok()));
    let (reading, told) =
        first_that_reads(sources(said, layout.samples, layout.depth), layout.samples);
    let mut strips = Strips::new(layout, reading);
    if reader.info().interlaced {
        // Its rows do not come in order.
        let bytes = reader.output_buffer_size().unwrap_or(usize::MAX);
        if bytes > MOST_BYTES {
            return Err(too_many_bytes(path, width, height, bytes));
        }
        let mut whole = vec![0; bytes];
        let line = reader.next_frame(&mut whole).map_err(wrong)?.line_size;
        for (number, row) in (0u32..).zip(whole.chunks_exact(line)) {
            take(&Row { pixels: strips.strip(path, row)?, number, of });
        }
        return Ok(told);
    }
    for number in 0..height {
        let row = reader.next_row().map_err(wrong)?;
        let Some(row) = row else {
            let reason = format!("the picture ends after {number} of {height} rows");
            return Err(NoPicture::new(path, reason));
        };
        take(&Row { pixels: strips.strip(path, row.data())?, number, of });
    }
    Ok(told)
}

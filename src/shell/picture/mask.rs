//! Where white goes under an artwork, as rows of a picture that stands upright.

use std::path::{Path, PathBuf};

use super::{NoPicture, each_row};
use crate::figures::artwork::{Asks, Judge, Limits};
use crate::figures::light::Deep;
use crate::figures::units::Colour;
use crate::figures::upright::Upright;

/// White where what asked for white asks for it; black elsewhere, and all of it where nothing asked.
pub struct Mask {
    path: PathBuf,
    judge: Judge,
    asks: Asks,
    dropped: Option<Deep>,
    upright: Upright,
}

impl Mask {
    /// Looks at the artwork on a garment of this colour. With `drop_backdrop` a border of one colour is not printed.
    ///
    /// # Errors
    /// No picture.
    pub fn of(
        path: &Path,
        garment: Colour,
        limits: Limits,
        drop_backdrop: bool,
    ) -> Result<Self, NoPicture> {
        let mut judge = Judge::new(garment, limits);
        let mut upright = Upright::new([1, 1], 1);
        each_row(path, |row| {
            judge.row(row.pixels, row.is_edge());
            upright = row.of;
        })?;
        let asks = judge.finish(drop_backdrop).asks;
        let dropped = judge.backdrop().filter(|_| drop_backdrop);
        Ok(Self { path: path.to_owned(), judge, asks, dropped, upright })
    }

    /// Columns and rows.
    pub fn size(&self) -> [usize; 2] {
        self.upright.size()
    }

    /// Hands out its rows from above, a byte a pixel: 255 where white goes, else 0.
    ///
    /// # Errors
    /// The artwork does not read any more.
    pub fn rows(&self, mut take: impl FnMut(&[u8])) -> Result<(), NoPicture> {
        let [columns, rows] = self.size();
        let mut white = Vec::new();
        let mut line = vec![0; columns];
        // Rows that come in another order are kept until all are there, in a bit a pixel.
        let stay = self.upright.rows_stay();
        let mut bits = vec![0u8; if stay { 0 } else { (columns * rows).div_ceil(8) }];
        each_row(&self.path, |row| {
            white.clear();
            self.judge.white(row.pixels, self.asks, self.dropped, &mut white);
            let y = usize::try_from(row.number).unwrap_or(usize::MAX);
            for (x, white) in white.iter().enumerate() {
                let [right, below] = self.upright.place([x, y]);
                // The file may have been changed since it was measured: what is outside is left out.
                if stay {
                    line.get_mut(right).into_iter().for_each(|at| *at = shade(*white));
                } else if *white {
                    let place = below * columns + right;
                    bits.get_mut(place / 8).into_iter().for_each(|byte| *byte |= 1 << (place % 8));
                }
            }
            if stay {
                take(&line);
            }
        })?;
        for row in 0..if stay { 0 } else { rows } {
            for (column, at) in line.iter_mut().enumerate() {
                let place = row * columns + column;
                *at = shade(bits[place / 8] >> (place % 8) & 1 == 1);
            }
            take(&line);
        }
        Ok(())
    }
}

fn shade(white: bool) -> u8 {
    if white { 255 } else { 0 }
}

//! How a picture is set upright: cameras and scanners store it as it lay, and say how it is to be turned.

/// A picture's size and its turn, by the orientations 1 to 8 of Exif (CIPA DC-008, tag 0x0112).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Upright {
    /// Columns and rows as the file has them.
    of_file: [usize; 2],
    /// Whether columns become rows.
    swapped: bool,
    /// Whether what was left is right then, and what was above is below.
    mirrored: [bool; 2],
}

impl Upright {
    /// For a picture of so many columns and rows; 1 for an orientation that there is not.
    pub fn new(of_file: [usize; 2], orientation: u8) -> Self {
        let (swapped, mirrored) = match orientation {
            2 => (false, [true, false]),
            3 => (false, [true, true]),
            4 => (false, [false, true]),
            5 => (true, [false, false]),
            6 => (true, [true, false]),
            7 => (true, [true, true]),
            8 => (true, [false, true]),
            _ => (false, [false, false]),
        };
        Self { of_file: of_file.map(|side| side.max(1)), swapped, mirrored }
    }

    /// Columns and rows as the file has them.
    pub fn of_file(&self) -> [usize; 2] {
        self.of_file
    }

    /// Columns and rows of the picture set upright.
    pub fn size(&self) -> [usize; 2] {
        self.stored(self.of_file)
    }

    /// A number for across and one for down, said of the upright picture, as the file has them; and back.
    pub fn stored(&self, [across, down]: [usize; 2]) -> [usize; 2] {
        if self.swapped { [down, across] } else { [across, down] }
    }

    /// Whether the file's rows are the upright picture's, in order.
    pub fn rows_stay(&self) -> bool {
        !self.swapped && !self.mirrored[1]
    }

    /// Where a pixel of the file stands in the upright picture: its column and row.
    pub fn place(&self, of_file: [usize; 2]) -> [usize; 2] {
        let (at, size) = (self.stored(of_file), self.size());
        [0, 1].map(|n| if self.mirrored[n] { size[n] - 1 - at[n].min(size[n] - 1) } else { at[n] })
    }
}

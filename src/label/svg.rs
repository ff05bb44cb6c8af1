//! A drawing as SVG: one path, in millimetres.

use std::fmt::Write;

use super::{DOTS_PER_INCH, Drawing};

/// The whole file.
pub fn svg(drawing: &Drawing) -> String {
    let Drawing { width, height, bars } = drawing;
    let mm = |dots: u32| f64::from(dots) * 25.4 / DOTS_PER_INCH;
    let mut path = String::new();
    for bar in bars {
        // Writing to a text never fails.
        let _ = write!(path, "M{} {}h{}v{}h-{}z", bar.x, bar.y, bar.width, bar.height, bar.width);
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.3}mm\" height=\"{:.3}mm\" viewBox=\"0 0 {width} {height}\" \
         shape-rendering=\"crispEdges\"><rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/><path d=\"{path}\"/></svg>\n",
        mm(*width),
        mm(*height),
    )
}

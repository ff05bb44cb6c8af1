//! Drawings as PDF, a page each, in the size of the paper.

use pdf_writer::{Content, Finish, Pdf, Rect, Ref};

use super::{DOTS_PER_INCH, Drawing};

/// The whole file.
pub fn pdf(pages: &[Drawing]) -> Vec<u8> {
    let mut next = 0;
    let mut new = || {
        next += 1;
        Ref::new(next)
    };
    let (catalogue, tree) = (new(), new());
    let made: Vec<(Ref, Ref)> = pages.iter().map(|_| (new(), new())).collect();
    let mut pdf = Pdf::new();
    pdf.catalog(catalogue).pages(tree);
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(made.iter().map(|(page, _)| *page)).count(count);
    for (drawing, (page, content)) in pages.iter().zip(made) {
        let size = Rect::new(0.0, 0.0, points(drawing.width), points(drawing.height));
        let mut written = pdf.page(page);
        written.parent(tree).media_box(size).contents(content);
        // An empty page needs no fonts, but a reader wants to be told so.
        written.resources();
        written.finish();
        pdf.stream(content, &drawn(drawing));
    }
    pdf.finish()
}

/// Dots as points, of which an inch has 72.
fn points(dots: u32) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "PDF has no finer numbers")]
    let points = (f64::from(dots) * 72.0 / DOTS_PER_INCH) as f32;
    points
}

/// The bars, measured from below as PDF does.
fn drawn(drawing: &Drawing) -> Vec<u8> {
    let mut content = Content::new();
    let scale = points(1);
    content.transform([scale, 0.0, 0.0, -scale, 0.0, points(drawing.height)]);
    #[expect(
        clippy::cast_precision_loss,
        reason = "a paper has far fewer dots than a float counts"
    )]
    let number = |dots: u32| dots as f32;
    for bar in &drawing.bars {
        content.rect(number(bar.x), number(bar.y), number(bar.width), number(bar.height));
    }
    content.fill_nonzero();
    content.finish().into_vec()
}

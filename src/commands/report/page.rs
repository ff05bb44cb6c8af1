//! The report as one page that needs nothing else: no script, no font, no picture from elsewhere, and a rule of its
//! own that forbids them. Every text goes through `maud`, which escapes what it is given.

use jiff::tz::TimeZone;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::charts::{Picture, finished};
use super::section::{Chart, Figure, Part, Section};
use super::strips::{SHOWN, strips};
use super::tables::table;
use super::words;
use crate::commands::Failure;
use crate::screen::words::clock;
use crate::shop::books::shift_report::Report;

const STYLE: &str = include_str!("page.css");
/// Nothing is fetched or run, whatever a text might say; the page's own style is all that it may have.
const FORBIDS: &str = "script-src 'none'; img-src 'none'; font-src 'none'; connect-src 'none'; \
     frame-src 'none'; media-src 'none'; object-src 'none'; base-uri 'none'; form-action 'none'";
/// The widths of the pictures on a desk or paper, and on a phone, in pixels.
const WIDE: u32 = 720;
const NARROW: u32 = 340;

/// The page.
///
/// # Errors
/// None in practice: it is made in memory.
pub fn page(report: &Report, sections: &[Section], zone: &TimeZone) -> Result<String, Failure> {
    let pace = [finished(report, zone, (WIDE, 200))?, finished(report, zone, (NARROW, 210))?];
    let strips = [strips(report, zone, WIDE)?, strips(report, zone, NARROW)?];
    let picture = |chart| match chart {
        Chart::Presses => html! { (both("strips", &strips)) (legend()) },
        _ => both("pace", &pace),
    };
    let title = format!("Shift report: {}, {}", report.station, words::days(report));
    let under = format!("{}; {}", words::hours(report, zone), words::people(report));
    let footer = footer(report, zone);
    Ok(document(&title, Some(&under), sections, &picture, Some(footer)))
}

/// A page of sections that needs nothing else; `picture` draws what stands in them.
pub fn document(
    title: &str,
    under: Option<&str>,
    sections: &[Section],
    picture: &dyn Fn(Chart) -> Markup,
    footer: Option<Markup>,
) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(FORBIDS);
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    @if let Some(under) = under { p { (under) } }
                }
                main {
                    @for one in sections {
                        (section(one.id, one.title, html! {
                            @for part in &one.parts { (shown(part, picture)) }
                        }))
                    }
                }
                @if let Some(footer) = footer { (footer) }
            }
        }
    };
    page.into_string()
}

fn shown(part: &Part, picture: &dyn Fn(Chart) -> Markup) -> Markup {
    match part {
        Part::Figures(figures) => self::figures(figures),
        Part::Says(texts) if texts.len() == 1 => html! { p { (texts[0]) } },
        Part::Says(texts) => html! { ul.notes { @for text in texts { li { (text) } } } },
        Part::Explains(text) => html! { p.said { (text) } },
        Part::Table(one) => table(one),
        Part::Chart(chart) => picture(*chart),
        Part::Data(_) => html! {},
    }
}

/// A part of the page under a heading of its own.
fn section(id: &str, title: &str, inside: Markup) -> Markup {
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (title) }
            (inside)
        }
    }
}

/// The figures that are read from across the room.
fn figures(figures: &[Figure]) -> Markup {
    html! {
        dl.figures {
            @for figure in figures {
                div {
                    dt { (figure.name) }
                    dd.big { (figure.shown) }
                    dd { (figure.says) }
                }
            }
        }
    }
}

/// A picture in the size for a desk and in the one for a phone; only one of them is shown, and read out.
pub fn both(id: &str, pictures: &[Picture; 2]) -> Markup {
    let [wide, narrow] = pictures;
    html! {
        (picture(&format!("{id}-wide"), "wide", wide))
        (picture(&format!("{id}-narrow"), "narrow", narrow))
    }
}

fn picture(id: &str, class: &str, picture: &Picture) -> Markup {
    let (width, height) = picture.size;
    let (title, description) = (format!("{id}-title"), format!("{id}-desc"));
    html! {
        svg.(class) role="img" viewBox=(format!("0 0 {width} {height}"))
            aria-labelledby=(title) aria-describedby=(description) {
            title id=(title) { (picture.title) }
            desc id=(description) { (picture.description) }
            // Drawn by a library that escapes its texts; our tests hold it to that.
            (PreEscaped(&picture.inside))
        }
    }
}

fn legend() -> Markup {
    html! {
        ul.legend {
            @for (doing, (red, green, blue), place) in SHOWN {
                li {
                    svg viewBox="0 0 14 14" aria-hidden="true" {
                        rect width="14" height="14" fill=(format!("rgb({red},{green},{blue})")) {}
                    }
                    " " (doing.words()) ": " (place)
                }
            }
            li { "idle: blank" }
        }
    }
}

fn footer(report: &Report, zone: &TimeZone) -> Markup {
    html! {
        footer {
            p {
                "As the journal had it at " (clock(report.shift.to.0, zone)) ". The board that wrote it is no "
                "safety device: keep each press's own timer and buzzer on."
            }
        }
    }
}

//! The report as one page that needs nothing else: no script, no font, no picture from elsewhere, and a rule of its
//! own that forbids them. Every text goes through `maud`, which escapes what it is given.

use jiff::tz::TimeZone;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::charts::{Picture, finished};
use super::strips::{SHOWN, strips};
use super::tables;
use super::words::{self, percent, tenths};
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
pub fn page(report: &Report, zone: &TimeZone) -> Result<String, Failure> {
    let charts = [finished(report, zone, (WIDE, 200))?, finished(report, zone, (NARROW, 210))?];
    let rows = [strips(report, zone, WIDE)?, strips(report, zone, NARROW)?];
    let day = report.shift.day.0.strftime("%A %Y-%m-%d");
    let title = format!("Shift report: {}, {day}", report.station);
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
                    p { (words::hours(report, zone)) "; " (words::people(report)) }
                }
                main {
                    (figures(report))
                    (section("orders", "Orders", tables::orders(report)))
                    (section("pace", "Finished over the shift", both("pace", &charts)))
                    (section("losses", "Losses, most costly first", tables::losses(report)))
                    (section("presses", "Presses", presses(report, &rows)))
                    div.pair {
                        (section("standard", "Standard figures", tables::standards(report)))
                        div {
                            (section("coats", "Coats, fluid, shelf", coats(report, zone)))
                            (section("unsure", "What is unsure", unsure(report, zone)))
                        }
                    }
                }
                (footer(report, zone))
            }
        }
    };
    Ok(page.into_string())
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
fn figures(report: &Report) -> Markup {
    let output = &report.output;
    let pressed = report.elements.pq > 0.0 || output.finished > 0;
    let needed = output.needed_per_hour.map_or_else(
        || "nothing is due at a time".to_owned(),
        |pace| format!("needed {pace:.1} for what is due"),
    );
    let figure = |name: &str, big: String, said: String| {
        html! {
            div {
                dt { (name) }
                dd.big { (big) }
                dd { (said) }
            }
        }
    };
    html! {
        section aria-labelledby="figures" {
            h2 id="figures" { "At a glance" }
            @if !pressed { p.bad { "Nothing was pressed in this time." } }
            dl.figures {
                (figure("finished", output.finished.to_string(),
                    format!("{} of {} ordered are done", output.done, output.ordered)))
                (figure("an hour", tenths(output.per_hour), needed))
                (figure("first-pass yield", percent(output.first_pass_yield),
                    format!("{} out, {} second quality", output.out, output.second)))
                (figure("minutes lost", tenths(output.lost_minutes),
                    "of presses and hands, by cause below".to_owned()))
            }
        }
    }
}

/// A picture in the size for a desk and in the one for a phone; only one of them is shown, and read out.
fn both(id: &str, pictures: &[Picture; 2]) -> Markup {
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

fn presses(report: &Report, rows: &[Picture; 2]) -> Markup {
    html! {
        @if report.presses.is_empty() {
            p { "The station has no press." }
        } @else {
            (both("strips", rows))
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
            (tables::presses(report))
            p.said { (words::PRESSES_COUNTED) }
        }
        p { (words::past_target(&report.past_target)) }
        p { "Sheets: " (words::sheets(&report.sheets)) }
    }
}

fn coats(report: &Report, zone: &TimeZone) -> Markup {
    html! {
        (tables::weigh_ins(report))
        @for line in words::fluid(report, zone) { p { "Fluid: " (line) "." } }
        p { "Shelf: " (words::shelf(&report.shelf)) }
    }
}

fn unsure(report: &Report, zone: &TimeZone) -> Markup {
    html! {
        ul.notes {
            @for note in &report.notes { li { (note.words(zone)) } }
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

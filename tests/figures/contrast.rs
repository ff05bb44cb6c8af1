//! Every colour pair of the theme is legible, for the three kinds of colour-blind eyes as well.
//!
//! Contrast by WCAG 2.2 (relative luminance, 1.4.3: at least 4.5 for text, and 4.48 is not 4.5). Colour
//! vision by Machado, Oliveira and Fernandes 2009, severity 1.0, on linear RGB. Colours by the VGA palette.

use dwell::figures::units::Colour;
use dwell::screen::theme::{ROLES, Role, Theme};
use ratatui::style::Color;

use super::{agree, reference, rows};

/// What text needs: WCAG 2.2, 1.4.3, level AA.
const LEAST: f64 = 4.5;

type Rgb = [f64; 3];

/// The linear value of a channel: IEC 61966-2-1.
fn linear(channel: u8) -> f64 {
    let c = f64::from(channel) / 255.0;
    if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
}

fn linear_of(hex: &str) -> Rgb {
    let colour: Colour = hex.parse().unwrap();
    [colour.red, colour.green, colour.blue].map(linear)
}

/// (L1 + 0.05) / (L2 + 0.05) with L = 0.2126 R + 0.7152 G + 0.0722 B: WCAG 2.2.
fn contrast(one: Rgb, other: Rgb) -> f64 {
    let light = |[r, g, b]: Rgb| 0.2126 * r + 0.7152 * g + 0.0722 * b;
    let (one, other) = (light(one), light(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

fn vga(colour: Color) -> &'static str {
    match colour {
        Color::Black => "#000000",
        Color::Red => "#aa0000",
        Color::Green => "#00aa00",
        Color::Yellow => "#aa5500",
        Color::Blue => "#0000aa",
        Color::Magenta => "#aa00aa",
        Color::Cyan => "#00aaaa",
        Color::Gray => "#aaaaaa",
        Color::DarkGray => "#555555",
        Color::LightRed => "#ff5555",
        Color::LightGreen => "#55ff55",
        Color::LightYellow => "#ffff55",
        Color::LightBlue => "#5555ff",
        Color::LightMagenta => "#ff55ff",
        Color::LightCyan => "#55ffff",
        Color::White => "#ffffff",
        other => panic!("{other:?} is none of the sixteen named colours"),
    }
}

/// The eyes that look: usual ones, and three that lack a kind of cone.
fn eyes() -> Vec<(String, [Rgb; 3])> {
    let text = reference("cvd_matrices.json");
    let all: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mut eyes = vec![("usual".to_owned(), [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])];
    for kind in ["Protanomaly", "Deuteranomaly", "Tritanomaly"] {
        let matrix = &all["machado2009_linear_rgb"][kind]["1.0"];
        let matrix: [Rgb; 3] = serde_json::from_value(matrix.clone()).unwrap();
        eyes.push((kind.to_owned(), matrix));
    }
    eyes
}

/// A colour as other eyes see it, cut to what a screen can show.
fn seen(matrix: &[Rgb; 3], colour: Rgb) -> Rgb {
    matrix.map(|row| row.iter().zip(colour).map(|(m, c)| m * c).sum::<f64>().clamp(0.0, 1.0))
}

#[test]
fn the_formula_gives_the_published_contrasts() {
    let text = reference("wcag_contrast.csv");
    let rows = rows(&text, 4);
    assert!(rows.len() >= 18);
    for row in rows {
        let found = contrast(linear_of(row[0]), linear_of(row[1]));
        let recomputed: f64 = row[2].parse().unwrap();
        assert!((found - recomputed).abs() < 1e-5, "{} on {}: {found}", row[0], row[1]);
        // Published ones are rounded to the digits that they show, or rest on longer luminance weights.
        if let Ok(published) = row[3].parse::<f64>() {
            assert!(agree(found, published, 1e-3), "{}: {found}, not {published}", row[0]);
        }
    }
    assert!(contrast(linear_of("#777"), linear_of("#fff")) < LEAST, "4.48 fails 4.5");
}

/// The rows of each matrix sum to 1: white stays white (Machado and others 2009).
#[test]
fn white_is_white_to_all_eyes() {
    for (name, matrix) in eyes() {
        for row in matrix {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-5, "{name}");
        }
    }
}

#[test]
fn every_pair_of_the_theme_is_legible_to_all_eyes() {
    let mut faint = Vec::new();
    for (eye, matrix) in eyes() {
        for role in ROLES {
            let (fg, bg) = Theme::pair(role);
            let look = |colour| seen(&matrix, linear_of(vga(colour)));
            let found = contrast(look(fg), look(bg));
            if found < LEAST {
                faint.push(format!("{role:?} ({fg:?} on {bg:?}), {eye} eyes: {found:.2}"));
            }
        }
    }
    assert!(faint.is_empty(), "under {LEAST}: {faint:#?}");
}

/// The same three as the notes on terminals name, so that the palette above is the one that was meant.
#[test]
fn red_blue_and_dark_grey_on_black_would_fail() {
    let black = linear_of(vga(Color::Black));
    for (colour, wanted) in [(Color::Red, 2.7), (Color::Blue, 1.6), (Color::DarkGray, 2.8)] {
        let found = contrast(linear_of(vga(colour)), black);
        assert!((found - wanted).abs() < 0.06 && found < LEAST, "{colour:?}: {found:.2}");
    }
}

/// Colour never stands alone: without it harm still differs from what runs as it should.
#[test]
fn without_colour_no_colour_is_used_and_danger_stands_out() {
    let plain = Theme { colour: false, halves: true };
    for role in ROLES {
        let style = plain.style(role);
        assert_eq!((style.fg, style.bg), (None, None), "{role:?}");
    }
    assert_ne!(plain.style(Role::Danger), plain.style(Role::Running));
    assert_ne!(plain.style(Role::Abnormal), plain.style(Role::Plain));
}

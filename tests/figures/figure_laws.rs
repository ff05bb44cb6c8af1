//! Laws that the figures keep whatever goes in.

use dwell::figures::artwork::{Asks, Judge, Limits, Rgba, Strip};
use dwell::figures::coat::per_area;
use dwell::figures::colour::{lightness, linear, luminance};
use dwell::figures::coverage::Coverage;
use dwell::figures::fan::Profile;
use dwell::figures::light::{Deep, Light, spread};
use dwell::figures::spray::{Task, evenest, evenness, pace};
use dwell::figures::steam::{SteamConditions, USUAL_CLOTH};
use dwell::figures::strokes::{Aim, Motion, Onto};
use dwell::figures::units::{
    Centimetres, Colour, Grams, GramsPerSquareMetre, Rectangle, SquareCentimetres, Temperature,
};
use proptest::prelude::*;

fn colour() -> impl Strategy<Value = Colour> {
    any::<(u8, u8, u8)>().prop_map(|(red, green, blue)| Colour { red, green, blue })
}

fn picture() -> impl Strategy<Value = Vec<Vec<Rgba>>> {
    (1usize..12, 1usize..12).prop_flat_map(|(width, height)| {
        prop::collection::vec(prop::collection::vec(any::<Rgba>(), width), height)
    })
}

/// Wide rows of runs of a few colours, as artwork has them, some shorter than the blocks in which they are looked
/// at, some longer; in places grained, so that a block's pixels lie close together.
fn artwork() -> impl Strategy<Value = Vec<Vec<Rgba>>> {
    let run = (0usize..4, 1usize..90, 0u8..12);
    let row = prop::collection::vec(run, 1..9);
    let opacity = prop_oneof![Just(0u8), Just(255u8), any::<u8>()];
    let colour = (any::<[u8; 3]>(), opacity).prop_map(|([r, g, b], opacity)| [r, g, b, opacity]);
    let colours = prop::collection::vec(colour, 4);
    (colours, 1usize..200, prop::collection::vec(row, 1..6)).prop_map(|(colours, width, rows)| {
        let grained = |colour: Rgba, n: usize, grain: u8| {
            let by = u8::try_from(n * 7 % 13).unwrap().min(grain);
            let opaque = colour[3] == 255;
            let [r, g, b, opacity] = colour.map(|channel| channel.saturating_add(by));
            [r, g, b, if opaque || colour[3] == 0 { colour[3] } else { opacity }]
        };
        let pixels = |row: &Vec<(usize, usize, u8)>| -> Vec<Rgba> {
            let runs = row.iter().flat_map(|(colour, length, grain)| {
                (0..*length).map(|n| grained(colours[*colour], n, *grain))
            });
            let runs: Vec<Rgba> = runs.collect();
            runs.into_iter().cycle().take(width).collect()
        };
        rows.iter().map(pixels).collect()
    })
}

/// The light of the printed pixels as they look on the garment, mixed as encoded and never rounded.
fn seen(garment: Colour, pixels: impl Iterator<Item = Rgba>) -> impl Iterator<Item = [f64; 3]> {
    pixels.filter(|pixel| pixel[3] >= 128).map(move |[red, green, blue, opacity]| {
        // A mixture in whole numbers, so that both ways have the same last bit.
        let mix = |ink: u8, cloth: u8| {
            let (ink, cloth, opacity) = (u32::from(ink), u32::from(cloth), u32::from(opacity));
            linear(f64::from(ink * opacity + cloth * (255 - opacity)) / 65_025.0)
        };
        [mix(red, garment.red), mix(green, garment.green), mix(blue, garment.blue)]
    })
}

/// How many pixels are lighter, brighter, printed, each looked at by itself.
fn counted(garment: Colour, pixels: impl Iterator<Item = Rgba>) -> [usize; 3] {
    let base = garment.lab().lightness;
    let mut counts = [0; 3];
    for ink in seen(garment, pixels) {
        let purer = ink.iter().zip(garment.linear()).any(|(ink, cloth)| *ink > cloth + 0.02);
        counts[0] += usize::from(lightness(luminance(ink)) > base + 1.0);
        counts[1] += usize::from(purer);
        counts[2] += 1;
    }
    counts
}

fn lightest(garment: Colour, pixels: impl Iterator<Item = Rgba>) -> f64 {
    seen(garment, pixels).map(|ink| lightness(luminance(ink))).fold(0.0, f64::max)
}

fn judged(garment: Colour, picture: &[Vec<Rgba>]) -> Judge {
    let mut judge = Judge::new(garment, Limits::default());
    for (n, row) in picture.iter().enumerate() {
        judge.row(Strip::Plain(row), n == 0 || n + 1 == picture.len());
    }
    judge
}

/// The same picture in 16 bits.
fn judged_deep(garment: Colour, picture: &[Vec<Rgba>]) -> Judge {
    let mut judge = Judge::new(garment, Limits::default());
    let light = Light::srgb();
    for (n, row) in picture.iter().enumerate() {
        let row: Vec<Deep> = row.iter().map(|pixel| spread(*pixel)).collect();
        judge.row(Strip::Deep(&row, &light), n == 0 || n + 1 == picture.len());
    }
    judge
}

fn inches(width: u32, height: u32) -> Rectangle {
    format!("{width} in x {height} in").parse().unwrap()
}

fn task() -> impl Strategy<Value = Task> {
    let motion = (2.0f64..40.0, 0.0f64..0.9, 0.0f64..20.0, any::<bool>(), 0usize..3);
    let motion = motion.prop_map(|(fan, overlap, past, tapered, onto)| Motion {
        fan: Centimetres(fan),
        overlap,
        past: Centimetres(past),
        profile: if tapered { Profile::Tapered } else { Profile::Even },
        onto: [Onto::Garment, Onto::Mask, Onto::Board][onto],
    });
    let size = prop_oneof![
        Just(inches(4, 4)),
        Just(inches(14, 16)),
        (4u32..30, 4u32..30).prop_map(|(width, height)| inches(width, height)),
    ];
    let aim = (size, 0.0f64..5.0)
        .prop_map(|(size, margin)| Aim::Print { size, margin: Centimetres(margin) });
    (0.2f64..8.0, 0.1f64..1.0, motion, aim, 20.0f64..600.0).prop_map(
        |(flow_g_s, kept, motion, aim, coat)| {
            let coat = GramsPerSquareMetre(coat);
            Task { flow_g_s, kept, motion, aim, coat }
        },
    )
}

proptest! {
    /// Shares lie between 0 and 1, and white goes exactly where a printed pixel is lighter.
    #[test]
    fn shares_are_shares_and_white_goes_where_it_is_lighter(garment in colour(), picture in picture()) {
        let judge = judged(garment, &picture);
        let found = judge.finish(false);
        for share in [found.lighter_share, found.brighter_channel_share, found.printed_share] {
            prop_assert!((0.0..=1.0).contains(&share), "{share}");
        }
        let printed: Vec<Rgba> = picture.concat().into_iter().filter(|pixel| pixel[3] >= 128).collect();
        let mut white = Vec::new();
        let lighter = Asks { lighter: true, brighter: false };
        judge.white(Strip::Plain(&printed), lighter, None, &mut white);
        let white = white.into_iter().filter(|white| *white).count();
        let share = if printed.is_empty() { 0.0 } else { white as f64 / printed.len() as f64 };
        prop_assert!((share - found.lighter_share).abs() < 1e-12, "{share} is not {}", found.lighter_share);
    }

    /// However pixels are taken together, the shares are those of looking at each by itself; without its backdrop
    /// too.
    #[test]
    fn rows_are_judged_as_their_pixels_are(garment in colour(), picture in artwork()) {
        let judge = judged(garment, &picture);
        let backdrop = judge.backdrop();
        for drop in [false, true] {
            let kept = |pixel: &Rgba| !(drop && Some(spread(*pixel)) == backdrop);
            let all = picture.iter().flatten().copied();
            let [lighter, brighter, printed] = counted(garment, all.filter(kept));
            let found = judge.finish(drop);
            let share = |part: usize| part as f64 / printed.max(1) as f64;
            prop_assert_eq!(found.lighter_share, share(lighter));
            prop_assert_eq!(found.brighter_channel_share, share(brighter));
            prop_assert_eq!(found.lightest.is_some(), printed > 0);
            let seen = picture.iter().flatten().copied().filter(kept);
            let lightest = lightest(garment, seen);
            // The matrix sums to a hair over 1, which one of the two ways takes out again.
            prop_assert!((found.lightest.unwrap_or(0.0) - lightest).abs() < 1e-6);
            let of = picture.iter().map(Vec::len).sum::<usize>() as f64;
            prop_assert_eq!(found.printed_share, printed as f64 / of);
        }
    }

    /// 16 bits that hold no more than 8 say the same.
    #[test]
    fn sixteen_bits_say_what_eight_say(garment in colour(), picture in artwork()) {
        let (eight, sixteen) = (judged(garment, &picture), judged_deep(garment, &picture));
        for drop in [false, true] {
            let (one, other) = (eight.finish(drop), sixteen.finish(drop));
            prop_assert_eq!((one.asks, one.pixels), (other.asks, other.pixels));
            prop_assert_eq!(one.backdrop_suspected, other.backdrop_suspected);
            prop_assert_eq!(one.printed_share, other.printed_share);
            prop_assert_eq!(one.lighter_share, other.lighter_share);
            prop_assert_eq!(one.brighter_channel_share, other.brighter_channel_share);
        }
    }

    /// Nothing is lighter than white.
    #[test]
    fn a_white_garment_needs_no_underbase(picture in picture()) {
        let white = Colour { red: 255, green: 255, blue: 255 };
        prop_assert!(!judged(white, &picture).finish(false).underbase);
    }

    /// The garment's own colour is neither lighter nor brighter than the garment.
    #[test]
    fn a_print_in_the_garments_colour_needs_no_underbase(garment in colour()) {
        let row = vec![[garment.red, garment.green, garment.blue, 255]; 4];
        let found = judged(garment, &[row.clone(), row]).finish(false);
        prop_assert!(!found.underbase && found.backdrop_suspected);
    }

    /// What is on the garment was used, more is on the cloth than under the print, and the strokes of one direction
    /// reach from edge to edge.
    #[test]
    fn grams_on_never_exceed_grams_used(task in task()) {
        let pace = pace(&task).unwrap();
        let (counted, on_scale, used) = (pace.counted.0, pace.on_scale.0, pace.used.0);
        prop_assert!(counted <= on_scale * (1.0 + 1e-12) && on_scale <= used * (1.0 + 1e-12), "{pace:?}");
        prop_assert!(pace.speed_cm_s > 0.0 && pace.strokes.across.count > 0 && pace.strokes.down.count > 0);
        let fan = task.motion.fan.0;
        let reach = fan + f64::from(pace.strokes.across.count - 1) * fan * (1.0 - task.motion.overlap);
        let (_, height) = task.aim.sprayed();
        prop_assert!(reach + 1e-6 >= height, "{reach} of {height}");
    }

    /// The circle closes: what the pace puts on the scale is the coat that was asked for, and the strokes lay just
    /// that under the print, whatever lies past the edge.
    #[test]
    fn what_the_pace_puts_on_the_scale_is_the_coat(task in task()) {
        let pace = pace(&task).unwrap();
        let coverage = Coverage::by_strokes(task.aim, &task.motion);
        let coat = coverage.per_area(pace.on_scale).0;
        prop_assert!((coat - task.coat.0).abs() <= 1e-9 * coat, "{coat} of {:?}", task.coat);
        prop_assert!((coverage.grams(task.coat).0 - pace.on_scale.0).abs() <= 1e-9 * pace.on_scale.0);
        let even = evenness(&task, &pace);
        prop_assert!((even.both.mean.0 - coat).abs() <= 1e-9 * coat, "{even:?}");
        prop_assert!(even.both.low.0 <= coat * (1.0 + 1e-9) && coat <= even.both.high.0 * (1.0 + 1e-9));
    }

    /// The most even strokes lie level all over the print.
    #[test]
    fn the_most_even_strokes_lie_level(task in task()) {
        let best = evenest(&task).unwrap();
        let even = evenness(&task, &best);
        prop_assert!(even.both.cv < 1e-6, "{even:?} of {best:?}");
        prop_assert!(even.cv_by_hand >= 0.0 && even.cv_by_hand < 2.0, "{even:?}");
    }

    /// Twice the grams on twice the area is the same coat.
    #[test]
    fn scaling_the_area_scales_the_grams(grams in 0.1f64..200.0, area in 10.0f64..5000.0, by in 0.1f64..10.0) {
        let one = per_area(Grams(grams), SquareCentimetres(area)).0;
        let other = per_area(Grams(grams * by), SquareCentimetres(area * by)).0;
        prop_assert!((one - other).abs() <= 1e-9 * one);
    }

    /// Heat in is sensible plus latent heat; a heavier coat takes more of it.
    #[test]
    fn the_balance_closes(grams in 1.0f64..80.0, h in 50.0f64..1000.0, altitude_m in 0.0f64..3000.0, plate in 250.0f64..420.0) {
        let bench = SteamConditions { plate: Temperature::fahrenheit(plate), area: inches(14, 16).area(), cloth: USUAL_CLOTH, altitude_m };
        let [heat, sensible, latent] = bench.balance(Grams(grams), h).unwrap();
        prop_assert!((heat - sensible - latent).abs() <= 1e-9 * heat, "{heat} {sensible} {latent}");
        let [more, ..] = bench.balance(Grams(grams + 1.0), h).unwrap();
        prop_assert!(more > heat);
    }

    /// What is learned from the model's own seconds is the model's own coefficient, and gives the grams back.
    #[test]
    fn the_coefficient_is_found_again(h in 60.0f64..900.0, light in 5.0f64..20.0, step in 2.0f64..15.0) {
        let bench = SteamConditions { plate: Temperature::fahrenheit(340.0), area: inches(14, 16).area(), cloth: USUAL_CLOTH, altitude_m: 0.0 };
        let known = |n: f64| Grams(light + n * step);
        // Any line through the origin of the model gives the shape; its slope is 1/h.
        let unit = bench.learn(&[(known(0.0), 1.0), (known(1.0), 2.0), (known(2.0), 3.0)]).unwrap();
        let seconds = |n: f64| unit.seconds(known(n)).unwrap() * unit.h() / h;
        let pairs: Vec<(Grams, f64)> = [0.0, 1.0, 2.0, 3.0].map(|n| (known(n), seconds(n))).to_vec();
        let learned = bench.learn(&pairs).unwrap();
        prop_assert!((learned.h() - h).abs() <= 1e-6 * h, "{} is not {h}", learned.h());
        let back = learned.estimate(seconds(1.0)).unwrap().grams.0;
        prop_assert!((back - known(1.0).0).abs() <= 1e-6 * back, "{back} is not {}", known(1.0).0);
    }
}

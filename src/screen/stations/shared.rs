//! Orders that all stations share, as the lead sees them: who makes how many, and what nobody has taken.

use crate::screen::paint::Line;
use crate::screen::stations::seen::{AllSeen, StationSeen, called};
use crate::screen::theme::Role;
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::words::clean;
use crate::shop::rules::shared::{SharedBoard, SharedLine};

/// What all stations say of them.
pub fn board(stations: &[StationSeen]) -> SharedBoard {
    let mut board = SharedBoard::default();
    stations.iter().for_each(|station| board.add(&station.shop));
    board
}

/// Which shared order an order of a station is a part of.
pub fn part_of(station: &StationSeen, order: OrderId) -> Option<OrderId> {
    station.shop.part_of(order).map(|part| part.of)
}

/// "6 untaken", "2 too many"; None where each garment has its maker.
pub fn state(line: &SharedLine<'_>) -> Option<String> {
    match (line.left(), line.over()) {
        (0, 0) => None,
        (0, over) => Some(format!("{over} too many")),
        (left, _) => Some(format!("{left} untaken")),
    }
}

/// A row for each line of which garments are untaken, or too many are taken; what is divided out stands among the orders.
pub fn lines(all: &AllSeen) -> Vec<Line> {
    let board = board(&all.stations);
    let row = |line: SharedLine<'_>| {
        let state = state(&line)?;
        let role = if line.over() > 0 { Role::Danger } else { Role::Abnormal };
        let by = line.by_station().into_iter();
        let by: Vec<String> = by
            .map(|(station, count)| format!("{count} at {}", called(&all.stations, station)))
            .collect();
        let by = if by.is_empty() { "none taken".to_owned() } else { by.join(", ") };
        let of = format!("{} {}: ", line.order, clean(&line.form.name, 30));
        let rest = format!(" of {}, {by}", line.wanted);
        Some(Line::of(Role::Plain, of).and(role, state).and(Role::Plain, rest))
    };
    board.lines().filter_map(row).collect()
}

//! Orders that all stations share, as the lead sees them: who makes how many, and what nobody has taken.

use crate::screen::paint::Line;
use crate::screen::stations::seen::{AllSeen, StationSeen, called};
use crate::screen::theme::Role;
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::words::clean;
use crate::shop::rules::shared::{SharedBoard, SharedLine};

/// What all stations say of them.
pub fn board(all: &AllSeen) -> SharedBoard {
    SharedBoard::of(all.stations.iter().map(|station| &*station.shop)).beside(all.granted.clone())
}

/// Which shared order an order of a station is a part of.
pub fn part_of(station: &StationSeen, order: OrderId) -> Option<OrderId> {
    station.shop.part_of(order).map(|part| part.of)
}

/// "6 untaken", "2 too many", "cancelled"; None where each garment has its maker, or nobody is to make any.
pub fn state(line: &SharedLine<'_>) -> Option<String> {
    match (line.left(), line.over()) {
        _ if line.cancelled => (!line.open.is_empty()).then(|| "cancelled".to_owned()),
        (0, 0) => None,
        (0, over) => Some(format!("{over} too many")),
        (left, _) => Some(format!("{left} untaken")),
    }
}

/// A row for each line of which garments are untaken, or too many are taken, or which is cancelled while stations still make
/// some of it; and one for what a station was granted and has not begun. What is divided out stands among the orders.
pub fn lines(all: &AllSeen) -> Vec<Line> {
    let name = |station| called(&all.stations, station);
    let row = |line: &SharedLine<'_>| {
        let of = format!("{} {}: ", line.order, clean(&line.form.name, 30));
        let state = state(line).map(|state| {
            let role = if line.over() > 0 { Role::Danger } else { Role::Abnormal };
            let rest = match line.cancelled {
                true => {
                    let open = line.open.iter().map(|one| format!("{one} {}", name(one.station)));
                    format!(", open: {}", open.collect::<Vec<String>>().join(", "))
                }
                false => {
                    let by = line.by_station().into_iter();
                    let by = by.map(|(id, count)| format!("{count} at {}", name(id)));
                    let by = by.collect::<Vec<String>>().join(", ");
                    let by = if by.is_empty() { "none taken".to_owned() } else { by };
                    format!(" of {}, {by}", line.wanted)
                }
            };
            Line::of(Role::Plain, of.clone()).and(role, state).and(Role::Plain, rest)
        });
        let granted = line.granted.iter().filter(|_| !line.cancelled).map(|(station, count)| {
            let what = format!("{count} granted to {} and not begun", name(*station));
            Line::of(Role::Plain, of.clone())
                .and(Role::Abnormal, what)
                .and(Role::Plain, ": its board takes them in once it runs")
        });
        state.into_iter().chain(granted).collect::<Vec<Line>>()
    };
    board(all).lines().iter().flat_map(row).collect()
}

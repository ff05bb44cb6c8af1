//! Whether a station and its hub tell one history, and what follows from it. Plain rules over heads and sums: what is
//! asked of whom stands elsewhere.

use super::head::Head;
use super::memory::Known;

/// How the hub's history of a station stands to the journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// The hub lacks so many of the journal's last rows; none: both end with the same.
    Behind(u64),
    /// The hub has so many rows behind the journal's last.
    Ahead(u64),
    /// From some row on they tell different things.
    Apart,
}

impl Relation {
    /// From the journal's last row, the journal's sum at the hub's head, and the hub's sum at the journal's last row,
    /// each where there is such a row.
    pub fn of(head: &Head, last: (u64, i64), own_sum: Option<i64>, hub_sum: Option<i64>) -> Self {
        match head.upto.checked_sub(last.0) {
            None | Some(0) if own_sum == Some(head.sum) => Self::Behind(last.0 - head.upto),
            Some(ahead @ 1..) if hub_sum == Some(last.1) => Self::Ahead(ahead),
            _ => Self::Apart,
        }
    }
}

/// What a station is to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Send what the hub lacks.
    Send,
    /// Begin a new life at the hub's head first, so that no other machine goes on with the one before.
    BeginLife,
    /// The hub has later rows of this station: they are fetched before the first act.
    Fetch,
    /// They tell different things: a hand says from where on this machine is the station.
    Apart,
    /// Another machine goes on as this station.
    Replaced,
    /// It is another hub than before.
    OtherHub,
    /// A server answers that was replaced by a fail-over: what is sent there would be lost.
    OldServer,
}

impl Verdict {
    /// For a station that remembers so much of its hub, on a machine of this name.
    pub fn of(known: Option<&Known>, machine: &str, head: &Head, relation: Relation) -> Self {
        let Some(known) = known else { return Self::of_stranger(head, relation) };
        if known.hub != head.hub {
            return Self::OtherHub;
        }
        // A dump that was restored lies on another cluster, whose timelines are its own: the heads alone decide there.
        if known.cluster == head.cluster && head.timeline < known.timeline {
            return Self::OldServer;
        }
        let is_ours =
            head.begun_by == machine || (head.begun_by.is_empty() && head.life <= known.life);
        if !is_ours && head.life >= known.life {
            return Self::Replaced;
        }
        match relation {
            // The hub has forgotten our life, and would take rows of the machine before.
            Relation::Behind(_) if head.life < known.life => Self::BeginLife,
            Relation::Behind(_) => Self::Send,
            Relation::Ahead(_) => Self::Fetch,
            Relation::Apart => Self::Apart,
        }
    }

    /// A machine that has never spoken to a hub.
    fn of_stranger(head: &Head, relation: Relation) -> Self {
        match relation {
            Relation::Behind(_) if head.upto == 0 && head.life == 1 => Self::Send,
            Relation::Behind(_) => Self::BeginLife,
            Relation::Ahead(_) => Self::Fetch,
            Relation::Apart => Self::Apart,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(life: i32, begun_by: &str, upto: u64, sum: i64) -> Head {
        Head {
            hub: "h".into(),
            cluster: "7".into(),
            timeline: 2,
            station: "b".into(),
            life,
            begun_by: begun_by.into(),
            upto,
            sum,
        }
    }

    fn known(life: i32) -> Known {
        Known {
            hub: "h".into(),
            cluster: "7".into(),
            timeline: 2,
            life,
            seq: 5,
            sum: 50,
            ask_at_start: false,
        }
    }

    #[test]
    fn heads_and_sums_tell_behind_from_ahead_from_apart() {
        let of = |upto, sum, own, hub| Relation::of(&head(1, "", upto, sum), (5, 50), own, hub);
        assert_eq!(of(5, 50, Some(50), None), Relation::Behind(0));
        assert_eq!(of(3, 30, Some(30), None), Relation::Behind(2));
        assert_eq!(of(0, 0, Some(0), None), Relation::Behind(5));
        assert_eq!(of(8, 80, None, Some(50)), Relation::Ahead(3));
        assert_eq!(of(5, 51, Some(50), None), Relation::Apart);
        assert_eq!(of(3, 31, Some(30), None), Relation::Apart);
        assert_eq!(of(8, 80, None, Some(51)), Relation::Apart);
        assert_eq!(of(8, 80, None, None), Relation::Apart);
    }

    #[test]
    fn a_station_sends_only_where_it_is_the_one_that_goes_on() {
        let (behind, ahead, apart) = (Relation::Behind(2), Relation::Ahead(2), Relation::Apart);
        let of =
            |known: &Known, head: &Head, relation| Verdict::of(Some(known), "me", head, relation);
        assert_eq!(of(&known(1), &head(1, "", 3, 30), behind), Verdict::Send);
        assert_eq!(of(&known(2), &head(2, "me", 3, 30), behind), Verdict::Send);
        assert_eq!(
            of(&known(1), &head(2, "me", 3, 30), behind),
            Verdict::Send,
            "begun, and cut off"
        );
        assert_eq!(of(&known(1), &head(2, "it", 3, 30), behind), Verdict::Replaced);
        assert_eq!(of(&known(2), &head(2, "it", 3, 30), ahead), Verdict::Replaced);
        assert_eq!(of(&known(2), &head(1, "", 3, 30), behind), Verdict::BeginLife, "an older dump");
        assert_eq!(of(&known(3), &head(2, "it", 3, 30), behind), Verdict::BeginLife);
        assert_eq!(of(&known(1), &head(1, "", 8, 80), ahead), Verdict::Fetch);
        assert_eq!(of(&known(1), &head(1, "", 8, 80), apart), Verdict::Apart);
        let other = Head { hub: "i".into(), ..head(1, "", 0, 0) };
        assert_eq!(of(&known(1), &other, behind), Verdict::OtherHub);
        let old = Head { timeline: 1, ..head(1, "", 3, 30) };
        assert_eq!(of(&known(1), &old, behind), Verdict::OldServer);
        let restored = Head { timeline: 1, cluster: "8".into(), ..head(1, "", 3, 30) };
        assert_eq!(of(&known(1), &restored, behind), Verdict::Send);
    }

    #[test]
    fn a_new_machine_takes_a_station_over_by_a_new_life() {
        let of = |head: &Head, relation| Verdict::of(None, "me", head, relation);
        assert_eq!(of(&head(1, "", 0, 0), Relation::Behind(5)), Verdict::Send, "its first time");
        assert_eq!(of(&head(1, "", 3, 30), Relation::Behind(2)), Verdict::BeginLife);
        assert_eq!(of(&head(2, "it", 0, 0), Relation::Behind(2)), Verdict::BeginLife);
        assert_eq!(of(&head(1, "", 8, 80), Relation::Ahead(3)), Verdict::Fetch);
        assert_eq!(of(&head(1, "", 8, 80), Relation::Apart), Verdict::Apart);
    }
}

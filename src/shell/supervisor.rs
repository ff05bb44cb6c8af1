//! Whoever started the board and wants to know how it does: systemd, by its socket for notifications (sd_notify(3)).
//!
//! The loop itself tells that it lives, and nothing else does: a board whose loop hangs falls silent, and is started
//! anew. Its presses go on by the journal. Without a socket in the environment nothing is said to anybody.

use std::time::Duration;

use sd_notify::NotifyState;
use tokio::time::Instant;

/// What is told to the supervisor.
#[derive(Debug)]
pub struct Supervisor {
    /// How often it wants to hear of us; None: never, or nobody is there.
    every: Option<Duration>,
    told: Instant,
}

impl Supervisor {
    /// The one that the environment names. Half of what it allows leaves room for a loaded machine, as sd_notify(3) asks.
    pub fn of_environment() -> Self {
        let limit = sd_notify::watchdog_enabled().filter(|limit| *limit > Duration::from_millis(1));
        Self { every: limit.map(|limit| limit / 2), told: Instant::now() }
    }

    /// The board stands on the screen.
    pub fn ready() {
        tell(NotifyState::Ready);
    }

    /// It is being left: what is not saved yet is saved now.
    pub fn stopping() {
        tell(NotifyState::Stopping);
    }

    /// When it is to hear of us again, at the latest.
    pub fn next(&self) -> Option<Instant> {
        self.every.map(|every| self.told + every)
    }

    /// The loop has come round.
    pub fn alive(&mut self) {
        if self.next().is_some_and(|next| Instant::now() >= next) {
            tell(NotifyState::Watchdog);
            self.told = Instant::now();
        }
    }
}

/// Nobody may be there any more: the board goes on.
fn tell(state: NotifyState<'_>) {
    if let Err(reason) = sd_notify::notify(&[state]) {
        tracing::debug!(%reason, "the supervisor was not told");
    }
}

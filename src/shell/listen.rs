//! What the loop listens to besides the keys: signals, the journal's writer, the threads that look at the disk.

use std::path::PathBuf;
use std::time::Duration;

use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::sync::oneshot;

use super::board::{Board, Source};
use super::input::Input;
use super::keyboard::Struck;
use super::mishap::catch_panic;
use super::profiles::{self, Own};

pub(super) fn to_signals<T: From<Input> + Send + 'static>(
    sender: &UnboundedSender<T>,
) -> std::io::Result<()> {
    let kinds: [(SignalKind, fn() -> Input); 6] = [
        (SignalKind::terminate(), || Input::End),
        // Whoever closed the window closed the terminal: the keyboard may say so before or after.
        (SignalKind::hangup(), || Input::Struck(Struck::Gone)),
        (SignalKind::interrupt(), || Input::End),
        (SignalKind::window_change(), || Input::Resized),
        (SignalKind::from_raw(rustix::process::Signal::TSTP.as_raw()), || Input::Stop),
        (SignalKind::from_raw(rustix::process::Signal::CONT.as_raw()), || Input::Continued),
    ];
    for (kind, input) in kinds {
        let mut stream = signal(kind)?;
        let sender = sender.clone();
        tokio::spawn(async move {
            while stream.recv().await.is_some() && sender.send(input().into()).is_ok() {}
        });
    }
    Ok(())
}

pub(super) fn to_journal(board: &Board, sender: &UnboundedSender<Input>) {
    let (Source::Writes { writer, .. } | Source::Rehearses { writer: Some(writer), .. }) =
        &board.source
    else {
        return;
    };
    let mut progress = writer.progress();
    let sender = sender.clone();
    tokio::spawn(async move {
        while progress.changed().await.is_ok() {
            let now = progress.borrow_and_update().clone();
            if sender.send(Input::Saved(now)).is_err() {
                return;
            }
        }
    });
}

pub(super) fn to_clerk(board: &mut Board, sender: &UnboundedSender<Input>) {
    if let Source::Writes { clerk, .. } = &mut board.source {
        forward(clerk.take_told(), "inbox", Input::Clerk, sender);
    }
}

pub(super) fn to_instruments(board: &mut Board, sender: &UnboundedSender<Input>) {
    forward(board.serial.take_told(), "cable", Input::Cable, sender);
}

pub(super) fn to_order_folder(board: &mut Board, sender: &UnboundedSender<Input>) {
    hand_on(board.order_folder.take_told(), Input::Orders, sender);
}

pub(super) fn to_follower(board: &mut Board, sender: &UnboundedSender<Input>) {
    if let Source::Watches { follower, .. } = &mut board.source {
        forward(follower.take_news(), "follower", Input::News, sender);
    }
}

/// Who speaks to the hub ends whenever the profile names another one, and the board outlives it.
pub(super) fn to_hub(board: &mut Board, sender: &UnboundedSender<Input>) {
    hand_on(board.take_courier(), Input::Courier, sender);
    hand_on(board.take_neighbours(), Input::Neighbours, sender);
}

fn hand_on<T: Send + 'static>(
    told: Option<UnboundedReceiver<T>>,
    input: fn(T) -> Input,
    sender: &UnboundedSender<Input>,
) {
    let (Some(mut told), sender) = (told, sender.clone()) else { return };
    tokio::spawn(async move {
        while let Some(news) = told.recv().await {
            if sender.send(input(news)).is_err() {
                return;
            }
        }
    });
}

/// Hands on what a thread tells.
pub(super) fn forward<T: Send + 'static, I: From<Input> + Send + 'static>(
    told: Option<UnboundedReceiver<T>>,
    name: &'static str,
    input: fn(T) -> I,
    sender: &UnboundedSender<I>,
) {
    let (Some(mut told), sender) = (told, sender.clone()) else { return };
    tokio::spawn(async move {
        while let Some(one) = told.recv().await {
            if sender.send(input(one)).is_err() {
                return;
            }
        }
        // The thread ends before the loop does only if it has gone down. The loop may have ended already.
        drop(sender.send(Input::Broken(name).into()));
    });
}

/// Watches the directory, not the files: an editor saves by renaming, and a watch on the file would be lost.
pub(super) fn to_profiles(
    directory: PathBuf,
    mut own: Own,
    sender: &UnboundedSender<Input>,
) -> Option<notify::RecommendedWatcher> {
    use notify::{EventKind, RecursiveMode, Watcher};
    let (changed, mut changes) = unbounded_channel();
    let watched = directory.clone();
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        if event.is_ok_and(|event| !matches!(event.kind, EventKind::Access(_))) {
            // The loop may have ended already.
            let _ = changed.send(());
        }
    })
    .ok()?;
    watcher.watch(&watched, RecursiveMode::Recursive).ok()?;
    let sender = sender.clone();
    tokio::spawn(async move {
        while changes.recv().await.is_some() {
            // An editor writes in several steps: read once they are over.
            tokio::time::sleep(Duration::from_millis(200)).await;
            while changes.try_recv().is_ok() {}
            let folder = directory.clone();
            let Some(read) =
                on_own_thread("profiles", move || profiles::load_again(&folder, own)).await
            else {
                continue;
            };
            own = read.as_ref().map_or(own, |read| read.own);
            if sender.send(Input::Profiles(Box::new(read))).is_err() {
                return;
            }
        }
    });
    Some(watcher)
}

/// Does work on a thread of its own: the loop waits for no disk and no plan. None where that panicked, or no thread is
/// left. What it took goes back with it, since the result goes through memory of the loop's own.
pub(super) async fn on_own_thread<T: Send + 'static>(
    name: &str,
    work: impl FnOnce() -> T + Send + 'static,
) -> Option<T> {
    let (done, result) = oneshot::channel();
    let work = move || {
        if let Some(result) = catch_panic(work) {
            // The loop may have ended already.
            drop(done.send(result));
        }
    };
    if let Err(reason) = std::thread::Builder::new().name(name.into()).spawn(work) {
        tracing::warn!(%reason, name, "no thread left");
    }
    result.await.ok()
}

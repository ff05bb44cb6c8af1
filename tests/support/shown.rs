//! What a screen had called saved, beside what the journal tells.

/// The messages that tell of an act; others only answer a key.
pub fn is_act(message: &str) -> bool {
    ["shut press", "opened press", "sprayed ", "printed ", "stored ", "undid: ", "steam of press"]
        .iter()
        .any(|start| message.starts_with(start))
}

/// Looks for the acts in the journal's own words, in their order, each as often as it was shown.
pub fn assert_all_told(shown: &[String], journal: &str) {
    let mut told = journal.lines();
    for act in shown {
        // One line of the screen may stand for several events of one act.
        let act = act.split_once(" and ").map_or(act.as_str(), |(first, _)| first);
        // What the board adds to it is its own.
        let act = act.split_once(';').map_or(act, |(first, _)| first);
        assert!(
            told.any(|line| line.contains(act)),
            "shown as saved and not in the journal: {act:?}\n{journal}"
        );
    }
}

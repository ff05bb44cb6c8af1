//! How far a hub has the history of a station.

/// The head of a station's history at the hub, and which hub that is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    pub hub: String,
    pub cluster: String,
    pub timeline: u32,
    pub station: String,
    pub life: i32,
    /// Which machine began that life; empty for the first.
    pub begun_by: String,
    pub upto: u64,
    pub sum: i64,
}

//! The hub: a PostgreSQL database in which the stations of a shop meet. No station waits for it.
//!
//! Each station adds to its own history there, by one function that checks the chain (`schema.sql`), and whoever may
//! read follows all of them. What a station says is saved is so in its own journal, whatever becomes of the hub.

pub mod address;
pub mod agreement;
mod answer;
pub mod connection;
pub mod courier;
pub mod head;
pub mod lead;
pub mod memory;
pub mod mirror;
pub mod neighbours;
pub mod parts;
pub mod prepare;
pub mod readers;
pub mod reading;
pub mod replaced;
pub mod secret;
pub mod station;
pub mod status;
pub mod trouble;

pub use address::Destination;
pub use connection::Connection;
pub use courier::Courier;
pub use trouble::HubError;

/// The version of the tables and functions that this program makes and knows.
pub const SCHEMA_VERSION: i32 = 1;

/// Runs what speaks to the hub to its end, for a command.
///
/// # Errors
/// No runtime, or what the work returns.
pub fn block_on<T>(work: impl Future<Output = Result<T, HubError>>) -> Result<T, HubError> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    runtime.map_err(|reason| HubError::Outage(reason.to_string()))?.block_on(work)
}

//! What stands in an answer of the server: its columns, and a journal's row in ten of them.

use tokio_postgres::Row;
use tokio_postgres::types::FromSql;

use super::HubError;
use crate::shell::journal::row::Stored;

/// A column of an answer.
///
/// # Errors
/// There is none, or it is of another type.
pub fn column<'a, T: FromSql<'a>>(row: &'a Row, at: usize) -> Result<T, HubError> {
    row.try_get(at).map_err(|wrong| HubError::Answer(wrong.to_string()))
}

/// A journal's row, in the order of `journal::row::COLUMNS` from a column on.
///
/// # Errors
/// As for `column`.
pub fn stored(row: &Row, first: usize) -> Result<Stored, HubError> {
    Ok(Stored {
        station: column(row, first)?,
        seq: column(row, first + 1)?,
        act: column(row, first + 2)?,
        at: column(row, first + 3)?,
        boot: column(row, first + 4)?,
        up: column(row, first + 5)?,
        version: u32::try_from(column::<i32>(row, first + 6)?).unwrap_or(u32::MAX),
        kind: column(row, first + 7)?,
        body: column(row, first + 8)?,
        sum: column(row, first + 9)?,
    })
}

/// The number of a row, as the server keeps it.
pub fn to_server(seq: u64) -> i64 {
    i64::try_from(seq).unwrap_or(i64::MAX)
}

/// The same back; 0, which no row has, where it is none.
pub fn from_server(seq: i64) -> u64 {
    u64::try_from(seq).unwrap_or(0)
}

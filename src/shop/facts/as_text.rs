//! What people wrote (profiles, orders) is kept as the JSON that it has in the journal too: its fields may be left
//! out, which only a form with names can tell.

use serde::de::{DeserializeOwned, Deserializer, Error as _};
use serde::ser::{Error as _, Serializer};
use serde::{Deserialize, Serialize};

/// As a text that holds JSON.
///
/// # Errors
/// What the serializer says.
pub fn serialize<T: Serialize, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
    serde_json::to_string(value).map_err(S::Error::custom)?.serialize(serializer)
}

/// From a text that holds JSON.
///
/// # Errors
/// No text, or one that does not read.
pub fn deserialize<'de, T: DeserializeOwned, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<T, D::Error> {
    serde_json::from_str(&String::deserialize(deserializer)?).map_err(D::Error::custom)
}

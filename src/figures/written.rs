//! What people read as a text is a text in files and in the journal, and its bare parts where only programs read.

/// Gives a type two stored forms: its text, by `Display` and `TryFrom, and its parts for forms that no
/// person reads, such as a snapshot.
macro_rules! written {
    ($type:ty, $parts:ty, $apart:expr, $together:expr) => {
        written!($type, $parts, $apart, $together, |this: &$type| this.to_string());
    };
    ($type:ty, $parts:ty, $apart:expr, $together:expr, $text:expr) => {
        impl serde::Serialize for $type {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                if serializer.is_human_readable() {
                    let text: fn(&$type) -> String = $text;
                    return serializer.serialize_str(&text(self));
                }
                let apart: fn(&$type) -> $parts = $apart;
                apart(self).serialize(serializer)
            }
        }

        impl<'de> serde::Deserialize<'de> for $type {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                if deserializer.is_human_readable() {
                    let text = String::deserialize(deserializer)?;
                    return Self::try_from(text).map_err(serde::de::Error::custom);
                }
                let together: fn($parts) -> $type = $together;
                <$parts>::deserialize(deserializer).map(together)
            }
        }
    };
}

pub(crate) use written;

//! What the compiler makes of the table of kinds.

/// Ties each kind's stored name to its variant and its body, and says of each: who did it (`hand`: somebody at the
/// bench; `before`: the same, and it only says more of the fact before it; `received`: the same, and nobody takes it back; `system`; `file`: the system where it came by a
/// file of the inbox; `order`: as the order says itself), and whether it is about a `garment`, `perhaps` about one, or `nothing`. What says it
/// in words (`telling`), it asks for; what it is to the books, a match without a default does.
macro_rules! facts {
    ($($(#[$doc:meta])* $name:literal => $kind:ident: $by:ident, $of:ident;)*) => {
        /// What happened.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Fact {
            $($(#[$doc])* $kind($kind)),*
        }

        impl Fact {
            /// The stored names of all kinds.
            pub const KINDS: &[&str] = &[$($name),*];

            /// The stored name of the kind.
            pub fn kind(&self) -> &'static str {
                match self {
                    $(Fact::$kind(_) => $name),*
                }
            }

            /// The stored body, as JSON.
            ///
            /// # Errors
            /// None in practice: a body holds only numbers and texts.
            pub fn body(&self) -> serde_json::Result<String> {
                match self {
                    $(Fact::$kind(body) => serde_json::to_string(body)),*
                }
            }

            /// Whether somebody at the bench did it. The others are the system's, and undo passes over them.
            pub fn is_by_hand(&self) -> bool {
                match self {
                    $(Fact::$kind(body) => facts!(@by $by body)),*
                }
            }

            /// Whether it only says more of the fact before it in its act.
            pub fn says_more(&self) -> bool {
                match self {
                    $(Fact::$kind(_) => stringify!($by) == "before"),*
                }
            }

            /// The garment that the fact is about, if it is about one.
            pub fn garment(&self) -> Option<Tag> {
                match self {
                    $(Fact::$kind(body) => facts!(@of $of body)),*
                }
            }

            /// What says it in words.
            pub(in crate::shop::facts) fn telling(&self) -> &dyn Telling {
                match self {
                    $(Fact::$kind(body) => body),*
                }
            }

            /// Reads a fact from what was stored.
            ///
            /// # Errors
            /// An unknown kind, or a body that does not fit it.
            pub fn read(kind: &str, body: &str) -> Result<Fact, NotAFact> {
                match kind {
                    $($name => serde_json::from_str(body).map(Fact::$kind).map_err(|reason| {
                        NotAFact::Body { kind: kind.to_owned(), reason }
                    }),)*
                    _ => Err(NotAFact::Kind(super::words::clean(kind, 40))),
                }
            }
        }

        $(impl From<$kind> for Fact {
            fn from(body: $kind) -> Fact {
                Fact::$kind(body)
            }
        })*
    };
    (@by hand $body:ident) => {{
        let _ = $body;
        true
    }};
    (@by before $body:ident) => { facts!(@by hand $body) };
    (@by system $body:ident) => {{
        let _ = $body;
        false
    }};
    (@by received $body:ident) => { facts!(@by system $body) };
    (@by file $body:ident) => { $body.file.is_none() };
    (@by order $body:ident) => { $body.is_by_hand() };
    (@of garment $body:ident) => { Some($body.garment) };
    (@of perhaps $body:ident) => { $body.garment };
    (@of nothing $body:ident) => {{
        let _ = $body;
        None
    }};
}

pub(super) use facts;

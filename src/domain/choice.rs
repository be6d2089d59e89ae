//! One macro for every plain choice.

/// Declares a choice: a plain enum, written in JSON, in forms and in the store as one word, with its words for people.
macro_rules! choice {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident = $word:literal / $label:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(
            Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize, schemars::JsonSchema,
        )]
        pub enum $name { $($(#[$variant_doc])* #[serde(rename = $word)] $variant),+ }

        impl $name {
            /// Every value, in the order a form offers them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// `(word, label)` of every value.
            pub const WORDS: &'static [(&'static str, &'static str)] = &[$(($word, $label)),+];
            /// The word in JSON, in a form's value and in the store.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
            /// The words a person reads.
            pub const fn label(self) -> &'static str {
                match self { $(Self::$variant => $label),+ }
            }
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|choice| choice.word() == word)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.label())
            }
        }
    };
}
pub(crate) use choice;

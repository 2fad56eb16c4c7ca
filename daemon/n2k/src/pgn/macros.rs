//! The two macros that turn a field table into a struct with its codec.
//!
//! `group!` takes one line per field: name, type, place and kind. From it come the struct (every field an `Option`),
//! `decode`, `encode` and `missing`, so that reading and writing cannot disagree. Optional parts: `@part` embeds fields
//! shared by several groups, `@texts` adds texts of variable length after the fixed bytes.
//!
//! `codes!` makes an enumeration that keeps the codes it does not know.

macro_rules! group {
    (
        $(#[$meta:meta])*
        pub struct $Group:ident $(= $pgn:literal)?, $length:literal bytes {
            $( @part $(#[$part_meta:meta])* $part:ident : $Part:ty; )?
            $( $(#[$field_meta:meta])* $field:ident : $Type:ty = $codec:expr; )*
            $( @texts $max_text:literal { $( $(#[$text_meta:meta])* $text:ident; )* } )?
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct $Group {
            $( $(#[$part_meta])* pub $part: $Part, )?
            $( $(#[$field_meta])* pub $field: Option<$Type>, )*
            $( $( $(#[$text_meta])* pub $text: Option<String>, )* )?
        }

        impl $Group {
            $(
                /// Number of this parameter group.
                pub const PGN: u32 = $pgn;
            )?

            /// Bytes of the fixed part as it is sent.
            pub const LENGTH: usize = $length;

            /// Reads a payload of any length; a field that is not there or carries no value is `None`.
            #[must_use]
            pub fn decode(payload: &[u8]) -> Self {
                Self::read(&$crate::field::Reader::new(payload))
            }

            #[inline]
            pub(crate) fn read(from: &$crate::field::Reader<'_>) -> Self {
                use $crate::field::Codec;
                $( let mut at = Some($length); $( let $text = super::macros::next_text(from, &mut at); )* )?
                Self {
                    $( $part: <$Part>::read(from), )?
                    $( $field: Codec::<$Type>::read(&$codec, from).ok(), )*
                    $( $( $text, )* )?
                }
            }

            /// Appends the payload. Numbers that do not fit are sent as "out of range", missing ones as "not available".
            pub fn encode(&self, out: &mut Vec<u8>) {
                let mut to = $crate::field::Writer::append(out, $length);
                self.write(&mut to);
                $( $( $crate::field::write_lau(out, $max_text, self.$text.as_deref()); )* )?
            }

            pub(crate) fn write(&self, to: &mut $crate::field::Writer<'_>) {
                use $crate::field::Codec;
                $( self.$part.write(to); )?
                $( Codec::<$Type>::write(&$codec, to, self.$field); )*
            }

            /// The fields of a payload that have no value, by name, each with the reason. Texts are not listed.
            #[must_use]
            pub fn missing(payload: &[u8]) -> Vec<(&'static str, $crate::field::Missing)> {
                use $crate::field::Codec;
                let from = &$crate::field::Reader::new(payload);
                #[allow(unused_mut, reason = "not every group embeds another")]
                let mut list = Vec::new();
                $( list.extend(<$Part>::missing(payload)); )?
                $( list.extend(Codec::<$Type>::read(&$codec, from).err().map(|why| (stringify!($field), why))); )*
                list
            }
        }
    };
}

macro_rules! codes {
    ( $(#[$meta:meta])* pub enum $Name:ident { $( $(#[$code_meta:meta])* $Variant:ident = $raw:literal, )* } ) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $Name {
            $( $(#[$code_meta])* $Variant, )*
            /// A code without a known meaning.
            Other(u8),
        }

        impl $crate::field::Code for $Name {
            #[inline]
            fn from_raw(raw: u8) -> Self {
                match raw {
                    $( $raw => Self::$Variant, )*
                    other => Self::Other(other),
                }
            }

            #[inline]
            fn to_raw(self) -> u8 {
                match self {
                    $( Self::$Variant => $raw, )*
                    Self::Other(raw) => raw,
                }
            }
        }
    };
}

pub(crate) use {codes, group};

/// Reads the text at `at` and moves `at` to the next one, or to `None` when nothing more can be read.
pub(crate) fn next_text(from: &crate::field::Reader<'_>, at: &mut Option<usize>) -> Option<String> {
    let (text, next) = crate::field::read_lau(from.payload(), (*at)?);
    *at = next;
    text
}

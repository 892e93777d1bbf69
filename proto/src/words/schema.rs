//! Words of the schema's enumerations, from the names of their values.

use prost_reflect::EnumDescriptor;

/// Value of an enumeration in words: `THICKNESS_BASIS_COMPOSITE` of `ThicknessBasis` as
/// "composite".
pub fn enum_word(kind: &EnumDescriptor, value: &str) -> String {
    let zero = kind.default_value();
    let prefix = zero.name().strip_suffix("UNSPECIFIED").unwrap_or_default();
    let word = value.strip_prefix(prefix).unwrap_or(value);
    word.to_lowercase().replace('_', " ")
}

//! What two of a kind have in common, whatever they are of.

/// A struct of two fields of one type as the list of the two: to go through, to be made from, and as JSON.
macro_rules! pair {
    ($name:ident { $first:ident, $second:ident }) => {
        impl<T> From<[T; 2]> for $name<T> {
            fn from([$first, $second]: [T; 2]) -> Self {
                Self { $first, $second }
            }
        }

        impl<'a, T> IntoIterator for &'a $name<T> {
            type Item = &'a T;
            type IntoIter = std::array::IntoIter<&'a T, 2>;

            fn into_iter(self) -> Self::IntoIter {
                [&self.$first, &self.$second].into_iter()
            }
        }

        impl<T: serde::Serialize> serde::Serialize for $name<T> {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                [&self.$first, &self.$second].serialize(serializer)
            }
        }

        impl<T: schemars::JsonSchema> schemars::JsonSchema for $name<T> {
            fn inline_schema() -> bool {
                <[T; 2]>::inline_schema()
            }

            fn schema_name() -> std::borrow::Cow<'static, str> {
                <[T; 2]>::schema_name()
            }

            fn schema_id() -> std::borrow::Cow<'static, str> {
                <[T; 2]>::schema_id()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                <[T; 2]>::json_schema(generator)
            }
        }
    };
}
pub(crate) use pair;

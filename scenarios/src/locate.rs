//! The text of a file: whether it is JSON at all, and on which line a field stands.

use crate::error::{FileError, quoted};
use crate::field::{FieldPath, Step};
use jsonc_parser::ast;
use jsonc_parser::common::Ranged;
use jsonc_parser::errors::ParseErrorKind;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use serde_json::Value;

/// Standard JSON (RFC 8259) and nothing beyond it.
fn standard_json() -> ParseOptions {
    ParseOptions {
        allow_comments: false,
        allow_loose_object_property_names: false,
        allow_trailing_commas: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        allow_non_finite_numbers: false,
        allow_extended_string_escapes: false,
    }
}

/// Line (counted from 1) of a byte of the text.
pub(crate) fn line_at(text: &str, byte: usize) -> u32 {
    let before = &text.as_bytes()[..byte.min(text.len())];
    let breaks = before.iter().filter(|&&b| b == b'\n').count();
    u32::try_from(breaks + 1).unwrap_or(u32::MAX)
}

/// Line of a field: where its name stands, or its value in a list; for a missing field that of the innermost value around it.
pub(crate) fn line_of(text: &str, path: &FieldPath) -> Option<u32> {
    let parsed = parse_to_ast(text, &CollectOptions::default(), &standard_json()).ok()?;
    let mut here = parsed.value.as_ref()?;
    let mut start = here.start();
    for step in &path.0 {
        match (here, step) {
            (ast::Value::Object(object), Step::Key(name)) => {
                // The last of doubled names: what is said about doubled names is about the later one.
                let Some(property) = object
                    .properties
                    .iter()
                    .rev()
                    .find(|p| p.name.as_str() == name)
                else {
                    break;
                };
                start = property.start();
                here = &property.value;
            }
            (ast::Value::Array(array), Step::Index(index)) => {
                let Some(element) = array.elements.get(*index) else {
                    break;
                };
                start = element.start();
                here = element;
            }
            _ => break,
        }
    }
    Some(line_at(text, start))
}

/// The JSON value of a text.
///
/// # Errors
/// Where it is not standard JSON, a field stands twice in one object, or a number is too large to be one.
pub(crate) fn parse(file: &str, text: &str) -> Result<Value, FileError> {
    let error = |byte: usize, found: String, wanted: &str| FileError {
        file: file.to_owned(),
        line: Some(line_at(text, byte)),
        field: None,
        found,
        wanted: wanted.to_owned(),
        nearest: None,
    };
    let parsed = parse_to_ast(text, &CollectOptions::default(), &standard_json())
        .map_err(|wrong| syntax_error(file, text, &wrong))?;
    let Some(root) = parsed.value else {
        return Err(error(0, "an empty file".to_owned(), "a JSON object"));
    };
    check_node(file, text, &root, &FieldPath::default())?;
    // What the position-keeping parser lets pass and the value parser does not (control characters in texts, deep nesting).
    serde_json::from_str(text).map_err(|wrong| {
        let words = wrong.to_string();
        let words = words
            .split(" at line ")
            .next()
            .unwrap_or_default()
            .to_owned();
        FileError {
            line: u32::try_from(wrong.line()).ok(),
            ..error(0, words, "standard JSON")
        }
    })
}

fn syntax_error(file: &str, text: &str, wrong: &jsonc_parser::errors::ParseError) -> FileError {
    use ParseErrorKind as K;
    let start = wrong.range().start;
    let token = token_at(text, start);
    let found = if token.is_empty() {
        "the end of the file".to_owned()
    } else {
        format!("{} at column {}", quoted(token), wrong.column_display())
    };
    let (found, wanted) = match wrong.kind() {
        K::CommentsNotAllowed => (found, "standard JSON, which has no comments"),
        K::TrailingCommasNotAllowed => (found, "no comma after the last entry"),
        K::ExpectedComma => (found, "a comma between two entries"),
        K::ExpectedColonAfterObjectKey => (found, "a colon between a field's name and its value"),
        K::ExpectedObjectValue => (found, "a value after the colon"),
        K::ExpectedStringObjectProperty => (found, "a field's name in double quotes"),
        K::SingleQuotedStringsNotAllowed => (found, "text in double quotes"),
        K::NonFiniteNumbersNotAllowed => (found, "a finite number"),
        K::UnterminatedObject => (
            "the end of the file".to_owned(),
            "a } for the { that opens on this line",
        ),
        K::UnterminatedArray => (
            "the end of the file".to_owned(),
            "a ] for the [ that opens on this line",
        ),
        K::String(jsonc_parser::ParseStringErrorKind::UnterminatedStringLiteral) => {
            (found, "a closing quote on the same line")
        }
        K::MultipleRootJsonValues => (found, "nothing after the file's one object"),
        K::HexadecimalNumbersNotAllowed
        | K::UnaryPlusNumbersNotAllowed
        | K::BareDecimalPointNumbersNotAllowed
        | K::ExpectedDigit
        | K::ExpectedDigitFollowingNegativeSign
        | K::ExpectedPlusMinusOrDigitInNumberLiteral => {
            (found, "a number as JSON writes it, such as -0.5")
        }
        K::UnexpectedWord => (
            found,
            "a value: a number, text in double quotes, true, false, {...} or [...]",
        ),
        _ => (found, "standard JSON"),
    };
    FileError {
        file: file.to_owned(),
        line: Some(line_at(text, start)),
        field: None,
        found,
        wanted: wanted.to_owned(),
        nearest: None,
    }
}

/// The text from a byte to the end of the word there.
fn token_at(text: &str, byte: usize) -> &str {
    let rest = text.get(byte..).unwrap_or_default();
    let mut ends = rest.char_indices().skip(1);
    let end = ends
        .find(|(_, c)| c.is_whitespace() || ",:[]{}".contains(*c))
        .map_or(rest.len(), |(i, _)| i);
    rest[..end].trim_end()
}

/// Doubled names and numbers too large.
fn check_node(
    file: &str,
    text: &str,
    node: &ast::Value<'_>,
    path: &FieldPath,
) -> Result<(), FileError> {
    let error = |byte: usize, path: &FieldPath, found: String, wanted: &str| {
        // Names of list elements come from the parsed value, which does not exist yet: parse it leniently for the path's sake.
        let value: Value = serde_json::from_str(text).unwrap_or_default();
        FileError {
            file: file.to_owned(),
            line: Some(line_at(text, byte)),
            field: Some(path.shown(&value)),
            found,
            wanted: wanted.to_owned(),
            nearest: None,
        }
    };
    match node {
        ast::Value::Object(object) => {
            for (i, property) in object.properties.iter().enumerate() {
                let name = property.name.as_str();
                let here = path.key(name);
                if let Some(first) = object.properties[..i]
                    .iter()
                    .find(|p| p.name.as_str() == name)
                {
                    let line = line_at(text, first.start());
                    let found = format!("this field a second time (the first is on line {line})");
                    return Err(error(property.start(), &here, found, "it once"));
                }
                check_node(file, text, &property.value, &here)?;
            }
            Ok(())
        }
        ast::Value::Array(array) => array
            .elements
            .iter()
            .enumerate()
            .try_for_each(|(i, element)| check_node(file, text, element, &path.index(i))),
        ast::Value::NumberLit(literal) => match literal.value.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(()),
            _ => Err(error(
                literal.start(),
                path,
                literal.value.to_owned(),
                "a finite number",
            )),
        },
        _ => Ok(()),
    }
}

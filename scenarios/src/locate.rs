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
    let parsed =
        parse_to_ast(text, &CollectOptions::default(), &standard_json()).map_err(|wrong| {
            let (byte, found, wanted) = syntax_error(text, &wrong);
            error(byte, found, wanted)
        })?;
    let Some(root) = parsed.value else {
        return Err(error(0, "an empty file".to_owned(), "a JSON object"));
    };
    check_node(&root, &FieldPath::default()).map_err(|wrong| FileError {
        field: Some(wrong.path.shown(&names_only(&root))),
        ..error(wrong.byte, wrong.found, wrong.wanted)
    })?;
    // What the position-keeping parser lets pass and the value parser does not.
    serde_json::from_str(text).map_err(|wrong| {
        if let Some((byte, found, wanted)) = control_character(text) {
            return error(byte, found, wanted);
        }
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

/// Where a syntax error is, what was found there and what was wanted.
fn syntax_error(
    text: &str,
    wrong: &jsonc_parser::errors::ParseError,
) -> (usize, String, &'static str) {
    use ParseErrorKind as K;
    let start = wrong.range().start;
    let rest = text.get(start..).unwrap_or_default();
    let start = start + (rest.len() - rest.trim_start().len());
    let token = token_at(text, start);
    let column = text[..start.min(text.len())]
        .chars()
        .rev()
        .take_while(|&c| c != '\n')
        .count()
        + 1;
    let found = if token.is_empty() {
        "the end of the file".to_owned()
    } else {
        format!("{} at column {column}", quoted(token))
    };
    let wanted = match wrong.kind() {
        K::CommentsNotAllowed => "standard JSON, which has no comments",
        K::SingleQuotedStringsNotAllowed => "text in double quotes",
        // A quote that is missing shows as a line break inside a text, before what the parser then trips over.
        _ if control_character(text).is_some_and(|(byte, ..)| byte < start) => {
            return control_character(text).expect("just seen");
        }
        K::TrailingCommasNotAllowed => "no comma after the last entry",
        K::ExpectedComma => "a comma between two entries",
        K::ExpectedColonAfterObjectKey => "a colon between a field's name and its value",
        K::ExpectedObjectValue | K::UnexpectedComma => "a value after the colon",
        K::ExpectedStringObjectProperty | K::UnexpectedTokenInObject => {
            "a field's name in double quotes"
        }
        K::NonFiniteNumbersNotAllowed => "a finite number",
        K::UnterminatedObject => {
            return (
                start,
                "the end of the file".to_owned(),
                "one more }, since the { on this line is left open",
            );
        }
        K::UnterminatedArray => {
            return (
                start,
                "the end of the file".to_owned(),
                "one more ], since the [ on this line is left open",
            );
        }
        K::String(jsonc_parser::ParseStringErrorKind::UnterminatedStringLiteral) => {
            "a closing quote"
        }
        K::String(_) => "an escape as JSON has it, such as \\n or \\u00b0",
        K::MultipleRootJsonValues => "nothing after the file's one object",
        K::HexadecimalNumbersNotAllowed
        | K::UnaryPlusNumbersNotAllowed
        | K::BareDecimalPointNumbersNotAllowed
        | K::ExpectedDigit
        | K::ExpectedDigitFollowingNegativeSign
        | K::ExpectedPlusMinusOrDigitInNumberLiteral => "a number as JSON writes it, such as -0.5",
        K::UnexpectedWord | K::UnexpectedToken => {
            "a value: a number, text in double quotes, true, false, {...} or [...]"
        }
        K::NestingDepthExceeded => "fewer levels of {...} and [...]",
        _ => "standard JSON",
    };
    (start, found, wanted)
}

/// The first control character inside a text, a line break above all: JSON has them only as escapes.
fn control_character(text: &str) -> Option<(usize, String, &'static str)> {
    let (mut inside, mut escaped) = (false, false);
    for (byte, c) in text.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '"' => inside = !inside,
            '\\' if inside => escaped = true,
            '\n' | '\r' if inside => {
                return Some((
                    byte,
                    "a text that goes on over the end of the line".to_owned(),
                    "a closing quote",
                ));
            }
            c if inside && c < ' ' => {
                let found = format!("the control character {} inside a text", c.escape_default());
                return Some((byte, found, "its escape, such as \\t"));
            }
            _ => {}
        }
    }
    None
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

/// A value that JSON syntax allows and the files do not.
struct Refused {
    byte: usize,
    path: FieldPath,
    found: String,
    wanted: &'static str,
}

/// Doubled names and numbers too large.
fn check_node(node: &ast::Value<'_>, path: &FieldPath) -> Result<(), Refused> {
    match node {
        ast::Value::Object(object) => {
            for (i, property) in object.properties.iter().enumerate() {
                let name = property.name.as_str();
                let here = path.key(name);
                if object.properties[..i]
                    .iter()
                    .any(|earlier| earlier.name.as_str() == name)
                {
                    return Err(Refused {
                        byte: property.start(),
                        path: here,
                        found: "this field a second time".to_owned(),
                        wanted: "it once",
                    });
                }
                check_node(&property.value, &here)?;
            }
            Ok(())
        }
        ast::Value::Array(array) => array
            .elements
            .iter()
            .enumerate()
            .try_for_each(|(i, element)| check_node(element, &path.index(i))),
        ast::Value::NumberLit(literal) => match literal.value.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(()),
            _ => Err(Refused {
                byte: literal.start(),
                path: path.clone(),
                found: literal.value.to_owned(),
                wanted: "a finite number",
            }),
        },
        _ => Ok(()),
    }
}

/// Objects, lists and texts of a file whose numbers cannot be trusted yet: enough to call list elements by their names.
fn names_only(node: &ast::Value<'_>) -> Value {
    match node {
        ast::Value::Object(object) => object
            .properties
            .iter()
            .map(|property| {
                (
                    property.name.as_str().to_owned(),
                    names_only(&property.value),
                )
            })
            .collect(),
        ast::Value::Array(array) => array.elements.iter().map(names_only).collect(),
        ast::Value::StringLit(literal) => Value::String(literal.value.to_string()),
        _ => Value::Null,
    }
}

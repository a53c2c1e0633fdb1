//! Pieces of a result's page. Text is escaped by the template library; pictures come from `chart` and `map`.

mod plots;

pub use super::names::words_of;
pub use plots::{Figure, Plots, Series};

use super::marks;
use super::table::{Column, number, percent};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use scenarios::study::judge::Share;
use serde_json::{Map, Value};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");
/// Significant digits of a number in a table nobody has laid out.
const DIGITS: i32 = 4;

/// A whole page: a heading, the paragraph to act on, then its sections. It takes nothing from elsewhere: style, script and pictures are in it.
pub fn page(title: &str, answer: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta http-equiv="Content-Security-Policy"
                    content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'";
                title { (title) }
                style { (PreEscaped(marks::STYLE)) (PreEscaped(STYLE)) }
            }
            body {
                main {
                    h1 { (title) }
                    p.answer { (answer) }
                    (body)
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string()
}

/// A section with a heading.
pub fn section(heading: &str, body: &Markup) -> Markup {
    html! { section { h2 { (heading) } (body) } }
}

/// A table in a box that scrolls where it is too wide, and can then be scrolled by keyboard. Its first column is heads of rows.
pub fn table(caption: &str, heads: &[String], rows: &[Vec<Markup>]) -> Markup {
    html! {
        @let caption = capital(caption);
        div.scroll tabindex="0" role="region" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { @for head in heads { th scope="col" { (head) } } } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// With a capital in front.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// The table of numbers the terminal shows.
pub fn table_of_numbers(
    caption: &str,
    corner: &str,
    columns: &[Column],
    rows: &[(String, Vec<Option<f64>>)],
) -> Markup {
    let heads = std::iter::once(corner.to_owned())
        .chain(columns.iter().map(|c| format!("{}, {}", c.name, c.unit)));
    let rows = rows.iter().map(|(name, values)| {
        let cells = values.iter().zip(columns);
        let cells = cells.map(|(value, column)| html! { (number(*value, column.decimals)) });
        std::iter::once(html! { (name) }).chain(cells).collect()
    });
    table(
        caption,
        &heads.collect::<Vec<_>>(),
        &rows.collect::<Vec<Vec<Markup>>>(),
    )
}

/// A list of like objects as a table: a column for each key, in their order. Objects within are laid out flat, but for counted shares, which
/// stand in one cell.
pub fn table_of_objects(caption: &str, list: &[Value]) -> Markup {
    let rows: Vec<Map<String, Value>> = list.iter().map(flat).collect();
    let mut keys: Vec<&String> = Vec::new();
    for key in rows.iter().flat_map(Map::keys) {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    let decimals = keys.iter().map(|key| {
        let column = rows.iter().filter_map(|row| row.get(*key)?.as_f64());
        decimals(column.fold(0.0, |most: f64, value| most.max(value.abs())))
    });
    let decimals: Vec<usize> = decimals.collect();
    let heads: Vec<String> = keys.iter().map(|key| words_of(key)).collect();
    let cells = |row: &Map<String, Value>| {
        let each = keys.iter().zip(&decimals);
        each.map(|(key, decimals)| cell(row.get(*key), *decimals))
            .collect()
    };
    let rows: Vec<Vec<Markup>> = rows.iter().map(cells).collect();
    table(caption, &heads, &rows)
}

/// Digits after the point that leave the largest of a column its significant digits.
fn decimals(largest: f64) -> usize {
    if largest <= 0.0 {
        return 0;
    }
    (DIGITS - 1 - largest.log10().floor() as i32).clamp(0, 6) as usize
}

fn flat(object: &Value) -> Map<String, Value> {
    let mut row = Map::new();
    for (key, value) in object.as_object().into_iter().flatten() {
        match value {
            Value::Object(inner) if share(value).is_none() => {
                for (inner_key, inner) in inner {
                    row.insert(format!("{key} {inner_key}"), inner.clone());
                }
            }
            _ => {
                row.insert(key.clone(), value.clone());
            }
        }
    }
    row
}

fn share(value: &Value) -> Option<Share> {
    serde_json::from_value(value.clone()).ok()
}

/// Names and values of what an object holds beside lists, of what is known. Objects within are laid out as in a table.
pub fn facts_of_object(object: &Value) -> Markup {
    let known: Vec<(String, Markup)> = flat(object)
        .iter()
        .filter(|(_, value)| !value.is_array() && !value.is_null())
        .map(|(key, value)| {
            let shown = match value.as_f64().filter(|_| value.is_f64()) {
                Some(value) => html! { (shortest(value, decimals(value.abs()))) },
                None => cell(Some(value), 0),
            };
            (words_of(key), shown)
        })
        .collect();
    let list: Vec<(&str, Markup)> = known
        .iter()
        .map(|(name, value)| (name.as_str(), value.clone()))
        .collect();
    facts(&list)
}

/// A number without zeros at its end.
fn shortest(value: f64, decimals: usize) -> String {
    let text = number(Some(value), decimals);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

fn cell(value: Option<&Value>, decimals: usize) -> Markup {
    html! {
        @match value {
            None | Some(Value::Null) => "–",
            Some(Value::Bool(true)) => "yes",
            Some(Value::Bool(false)) => "no",
            Some(Value::String(text)) => (text),
            Some(Value::Number(n)) if n.is_f64() => (number(n.as_f64(), decimals)),
            Some(Value::Number(n)) => (n),
            Some(Value::Array(list)) => {
                @for (i, one) in list.iter().enumerate() {
                    @if i > 0 { ", " }
                    (cell(Some(one), decimals))
                }
            }
            Some(object) => {
                @match share(object) {
                    Some(share) => { (share.count) " of " (share.of) ", " (percent(&share)) }
                    None => (object),
                }
            }
        }
    }
}

/// Names and values.
pub fn facts(list: &[(&str, Markup)]) -> Markup {
    html! {
        dl { @for (name, value) in list { div { dt { (name) } dd { (value) } } } }
    }
}

/// A list of sentences; nothing of none.
pub fn sentences(list: &[String]) -> Markup {
    html! { @if !list.is_empty() { ul { @for one in list { li { (one) } } } } }
}

/// A link to a file beside the page. The name must be one that needs no escaping in an address.
pub fn link(file: &str, words: &str) -> Markup {
    html! { a href=(file) { (words) } }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_named_like_markup_stays_text() {
        let evil = "<script>alert(1)</script>\"'&";
        let rows = vec![vec![html! { (evil) }]];
        let page = page(evil, evil, &table(evil, &[evil.to_owned()], &rows));
        assert!(!page.contains("<script>alert"), "{page}");
        assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
        assert!(!page.contains("aria-label=\"<script>alert(1)</script>\""));
    }

    #[test]
    fn objects_become_a_table_with_units_in_its_heads() {
        let share = json!({"count": 54, "of": 64, "share_fraction": 0.84375, "low_fraction": 0.731, "high_fraction": 0.922});
        let list = [
            json!({"condition": "stays-up", "meets": share, "moment": {"wash_N_m": 0.001}}),
            json!({"condition": "dry", "meets": null, "moment": {"wash_N_m": -0.25}}),
        ];
        let text = table_of_objects("conditions", &list).into_string();
        for words in [
            "54 of 64, 84.4 % (73.1 to 92.2 %)",
            "moment wash, N·m",
            "0.0010",
            "-0.2500",
            "–",
        ] {
            assert!(text.contains(words), "{words}: {text}");
        }
    }
}

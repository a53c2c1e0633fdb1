//! `tossline schema`.

use crate::args::SchemaKind;
use crate::exit::Outcome;
use crate::output::print_json;
use scenarios::schema::Kind;

/// Prints the JSON Schema of a kind of file.
pub fn run(kind: SchemaKind) -> Outcome {
    print_json(
        &match kind {
            SchemaKind::Airframe => Kind::Airframe,
            SchemaKind::Scenario => Kind::Scenario,
            SchemaKind::Study => Kind::Study,
        }
        .schema(),
    )
}

//! Wrong airframe files and exactly what is said about them.

use super::{FOLDER, KNOT, airframe, with};
use crate::load::{airframe_from_bytes, load_airframe};
use crate::read::LARGEST_FILE_BYTES;

fn airframe_says(from: &str, to: &str, expected: &str) {
    let error = airframe(&with(KNOT, from, to), &[]).expect_err(to);
    assert_eq!(error.to_string(), expected);
}

#[test]
fn text_that_is_not_json() {
    for (from, to, expected) in [
        (
            r#""mass_g": 8, "at""#,
            r#""mass_g": 8 "at""#,
            r#"knot.json:41: found "\"at\"" at column 56, wanted a comma between two entries"#,
        ),
        (
            r#""beta_blend_deg": 5 }"#,
            r#""beta_blend_deg": 5, }"#,
            r#"knot.json:83: found "," at column 100, wanted no comma after the last entry"#,
        ),
        (
            r#""mass_g": 8"#,
            r#""mass_g": 8 /* g */"#,
            r#"knot.json:41: found "/*" at column 56, wanted standard JSON, which has no comments"#,
        ),
        (
            r#""mass_g": 8"#,
            r#""mass_g": .8"#,
            r#"knot.json:41: found ".8" at column 54, wanted a number as JSON writes it, such as -0.5"#,
        ),
        (
            r#""name": "knot""#,
            r#""name": "knot"#,
            "knot.json:4: found a text that goes on over the end of the line, wanted a closing quote",
        ),
        (
            r#""note": "Inv"#,
            "\"note\": \"\tInv",
            r"knot.json:5: found the control character \t inside a text, wanted its escape, such as \t",
        ),
        (
            r#""mass_g": 8"#,
            r#""mass_g": 1e999"#,
            "knot.json:41: mass.parts.module.mass_g: found 1e999, wanted a finite number",
        ),
        (
            r#""mass_g": 8"#,
            r#""mass_g": NaN"#,
            r#"knot.json:41: found "NaN" at column 54, wanted a value: a number, text in double quotes, true, false, {...} or [...]"#,
        ),
        (
            "\"spin\": \"clockwise\",\n",
            "\"spin\": \"clockwise\",\n\"spin\": \"clockwise\",\n",
            "knot.json:105: motors.left.spin: found this field a second time, wanted it once",
        ),
    ] {
        airframe_says(from, to, expected);
    }
}

#[test]
fn files_that_are_no_json_text_at_all() {
    let says = |bytes: &[u8]| {
        let error =
            airframe_from_bytes("knot.json", bytes.to_vec(), &[]).expect_err("a wrong file");
        error.to_string()
    };
    assert_eq!(
        says(b""),
        "knot.json:1: found an empty file, wanted a JSON object"
    );
    assert_eq!(
        says(b"[]"),
        "knot.json:1: found a list, wanted an object {...}"
    );
    assert_eq!(
        says(b"{\n\"tossline\": 1,\n\"name\": \"b\xe9casseau\"\n}"),
        "knot.json:3: found bytes that are not UTF-8, wanted text saved as UTF-8"
    );
    assert_eq!(
        says(&vec![b' '; LARGEST_FILE_BYTES as usize + 1]),
        "knot.json: found a larger file, wanted a file of at most 4000000 bytes"
    );
    assert_eq!(
        says("[".repeat(100_000).as_bytes()),
        "knot.json:1: found \"[\" at column 513, wanted fewer levels of {...} and [...]"
    );
    let missing = format!("{FOLDER}/knott.json");
    assert_eq!(
        load_airframe(&missing, &[])
            .expect_err("no such file")
            .to_string(),
        format!(
            "{missing}: found no such file, wanted a JSON file that can be read; did you mean \"{FOLDER}/knot.json\"?"
        )
    );
    assert_eq!(
        load_airframe(FOLDER, &[])
            .expect_err("a folder")
            .to_string(),
        format!("{FOLDER}: found a folder, wanted a JSON file")
    );
}

#[test]
fn forms_that_are_not_those_of_an_airframe() {
    for (from, to, expected) in [
        (
            r#""tossline": 1"#,
            r#""tossline": 2"#,
            "knot.json:2: tossline: found 2, wanted 1, the version of the file format",
        ),
        (
            r#""kind": "airframe""#,
            r#""kind": "scenario""#,
            r#"knot.json:3: kind: found "scenario", wanted "airframe""#,
        ),
        (
            r#""clockwise""#,
            r#""clokwise""#,
            r#"knot.json:104: motors.left.spin: found "clokwise", wanted "clockwise" or "counterclockwise"; did you mean "clockwise"?"#,
        ),
        (
            r#""spin": "clockwise","#,
            "",
            r#"knot.json:97: motors.left.spin: found nothing, wanted "clockwise" or "counterclockwise""#,
        ),
        (
            r#""spin": "clockwise""#,
            r#""spinn": "clockwise""#,
            r#"knot.json:104: motors.left.spinn: found an unknown field, wanted a field that exists here; did you mean "spin"?"#,
        ),
        (
            r#""station_mm": 30, "up_mm": 0 },"#,
            r#""station_mm": 30, "up_mm": 0, "colour": "red" },"#,
            r#"knot.json:66: reference.colour: found an unknown field, wanted "area_cm2", "span_mm", "chord_mm", "station_mm" or "up_mm""#,
        ),
        (
            r#""mass_g": 8"#,
            r#""mass_g": "8""#,
            r#"knot.json:41: mass.parts.module.mass_g: found "8", wanted a number"#,
        ),
        (
            r#""mass_g": 8"#,
            r#""mass_g": null"#,
            "knot.json:41: mass.parts.module.mass_g: found null, wanted a number",
        ),
        (
            r#""mass_g": 8"#,
            r#""mass_g": -1e20"#,
            "knot.json:41: mass.parts.module.mass_g: found -1e20, wanted a number of at most 1e9 in size",
        ),
        (
            r#""form": "rod""#,
            r#""form": "rood""#,
            r#"knot.json:40: mass.parts.spar.form: found "rood", wanted "sheet", "strip", "rod" or "point"; did you mean "rod"?"#,
        ),
        (
            r#""form": "rod""#,
            r#""form": "point""#,
            r#"knot.json:40: mass.parts.spar.from: found an unknown field, wanted "form", "name", "note", "mass_g", "at" or "mirrored""#,
        ),
        (
            r#""mirrored": true"#,
            r#""mirrored": "yes""#,
            r#"knot.json:21: mass.parts.wing.mirrored: found "yes", wanted true or false"#,
        ),
    ] {
        airframe_says(from, to, expected);
    }
}

#[test]
fn airframes_that_cannot_be() {
    let long_table = r#""electronics_current_A": 0.05, "open_circuit_voltage": [
        { "charge_fraction": 0, "voltage_V": 3.2 },
        { "charge_fraction": 0.9, "voltage_V": 4.2 } ] }"#;
    for (from, to, expected) in [
        (
            r#""mass_g": 8"#,
            r#""mass_g": -8"#,
            "knot.json:41: mass.parts.module.mass_g: found -8, wanted a number over 0",
        ),
        (
            r#""name": "knot""#,
            r#""name": "../knot""#,
            r#"knot.json:4: name: found "../knot", wanted a name of letters, digits, - and _, starting with a letter or digit, 80 at most"#,
        ),
        (
            r#""name": "right""#,
            r#""name": "left""#,
            r#"knot.json:110: motors.left.name: found "left" a second time (entry 1 has it already), wanted a name of its own"#,
        ),
        (
            r#""propeller": "two-blade-45""#,
            r#""propeller": "two-blade-54""#,
            r#"knot.json:99: motors.left.propeller: found "two-blade-54", wanted "two-blade-45"; did you mean "two-blade-45"?"#,
        ),
        (
            r#""carried_by": "module""#,
            r#""carried_by": "modul""#,
            r#"knot.json:107: motors.left.mount.carried_by: found "modul", wanted the name of a part: "wing", "fin", "edge", "spar", "module" or "ballast"; did you mean "module"?"#,
        ),
        (
            r#""carried_by": "module""#,
            r#""carried_by": "wing""#,
            r#"knot.json:107: motors.left.mount.carried_by: found "wing", which stands on both sides, wanted a part that is not mirrored; write it as two parts"#,
        ),
        (
            r#""thrust_toe_deg": 2"#,
            r#""thrust_right_deg": 2"#,
            r#"knot.json:106: motors.left.thrust_right_deg: found 2, wanted "thrust_toe_deg" instead, for a motor off the centre line"#,
        ),
        (
            r#""advance_ratio": 0,"#,
            r#""advance_ratio": 0.1,"#,
            "knot.json:90: propellers.two-blade-45.table[1].advance_ratio: found 0.1, wanted 0 in the first row",
        ),
        (
            r#""advance_ratio": 0.9"#,
            r#""advance_ratio": 0.4"#,
            "knot.json:92: propellers.two-blade-45.table[3].advance_ratio: found 0.4, wanted more than in the entry before (0.4), by 1e-6 at least",
        ),
        (
            r#""electronics_current_A": 0.05 }"#,
            long_table,
            "knot.json:86: cell.open_circuit_voltage[2].charge_fraction: found 0.9, wanted 1 in the last row",
        ),
        (
            r#"  "cell": { "capacity_mAh": 150, "internal_resistance_ohm": 0.12, "electronics_current_A": 0.05 },"#,
            "",
            "knot.json:1: cell: found nothing, wanted the cell that feeds the motors",
        ),
        (
            r#""up_mm": 0,"#,
            "",
            r#"knot.json:8: mass.parts.wing.up_mm: found nothing, wanted a number, in a sheet with plane "level""#,
        ),
        (
            r#"{ "station_mm": 0, "right_mm": 200 }"#,
            r#"{ "station_mm": 200, "right_mm": 100 }"#,
            "knot.json:18: mass.parts.wing.outline[3]: found the edges from corners 1 and 3 meeting, \
             wanted an outline that can be cut: edges in order, none crossing or touching another",
        ),
        (
            r#""drag_min": { "value": 0.04"#,
            r#""drag_min": { "value": -0.04"#,
            "knot.json:69: coefficients.drag_min.value: found -0.04, wanted a number of 0 or more",
        ),
        (
            r#""dihedral_deg": 90"#,
            r#""dihedral_deg": 900"#,
            "knot.json:63: surfaces.fin.dihedral_deg: found 900, wanted a number from -90 to 90",
        ),
    ] {
        airframe_says(from, to, expected);
    }
}

#[test]
fn mass_is_given_once_and_can_belong_to_a_body() {
    let parts = KNOT.find("\"parts\": [").expect("the parts");
    let end = KNOT.find("    ]\n  },\n  \"surfaces\"").expect("their end");
    let says = |mass: &str| {
        let text = format!("{}{mass}\n{}", &KNOT[..parts], &KNOT[end + 5..]);
        airframe(&text, &[]).expect_err(mass).to_string()
    };
    let measured = |zz: &str| {
        format!(
            r#""measured": {{ "mass_g": 20, "balance": {{ "station_mm": 24, "right_mm": 0, "up_mm": 3 }},
      "inertia_xx_kg_m2": 7e-5, "inertia_yy_kg_m2": 3e-5, "inertia_zz_kg_m2": {zz} }}"#
        )
    };
    assert_eq!(
        says(&measured("2e-4")),
        "knot.json:7: mass.measured: found principal moments of inertia 3.000e-5, 7.000e-5 and 2.000e-4 kg m², \
         wanted moments a real body can have: all over 0, none above the sum of the other two"
    );
    // The parts took lines 7 to 43, what stands for them takes 7 to 9 and an end of line: 34 less before the motors.
    assert_eq!(
        says(&measured("1e-4")),
        "knot.json:73: motors.left.mount.carried_by: found \"module\", wanted a fixed mount, since the mass is measured and not \
         listed by parts"
    );
    assert_eq!(
        says(""),
        "knot.json:6: mass: found neither \"parts\" nor \"measured\", wanted \"parts\" or \"measured\""
    );
    assert_eq!(
        says(
            r#""parts": [{ "name": "all", "form": "point", "mass_g": 20, "at": { "station_mm": 20, "right_mm": 0, "up_mm": 6 } }]"#
        ),
        "knot.json:7: mass.parts: found principal moments of inertia 0.000e0, 0.000e0 and 0.000e0 kg m², \
         wanted mass spread along more than one line"
    );
    assert_eq!(
        says(r#""parts": []"#),
        "knot.json:7: mass.parts: found an empty list, wanted one part at least"
    );
    let both = with(
        KNOT,
        "\"parts\": [",
        &format!("{},\n\"parts\": [", measured("1e-4")),
    );
    assert_eq!(
        airframe(&both, &[]).expect_err("both").to_string(),
        "knot.json:6: mass: found \"parts\" and \"measured\", wanted \"parts\" or \"measured\", not both"
    );
}

//! Prints what the propeller and motor estimate says of the measured ones: `tests/predictions/propulsion.csv`.

fn main() {
    println!(
        "# Predicted before the comparison was made, by `cargo run -p tossline-tests --example predict_propulsion`."
    );
    println!("# Not measured. What was known of each is in tests/src/known/propulsion.rs.");
    println!("name, value, one_sigma");
    for one in tossline_tests::known::propulsion::predictions() {
        println!("{}, {:.6e}, {:.2e}", one.name, one.value, one.one_sigma);
    }
}

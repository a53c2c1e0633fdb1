//! A flight's uniform rows as CSV.

use scenarios::build::BuiltAirframe;
use sim_core::flight::Flight;
use sim_core::record;
use sim_core::solver::Method;

/// Trajectory of a flight, a header and a row every `interval_s`, the end last.
///
/// Numbers are written with the shortest digits that give the same number back; absent values are empty. A flight that was screened
/// says so in a last column.
///
/// # Errors
/// Only where the CSV writer refuses.
pub fn csv(
    flight: &Flight,
    airframe: &BuiltAirframe,
    interval_s: f64,
) -> Result<Vec<u8>, csv::Error> {
    let motors: Vec<&str> = airframe.motors.iter().map(|m| m.name.as_str()).collect();
    let tabs: Vec<&str> = airframe.tabs.iter().map(|t| t.name.as_str()).collect();
    let mut writer = csv::Writer::from_writer(Vec::new());
    let is_screened = flight.throw().tolerance.method == Method::LanesSingle;
    let mut names = record::column_names(&motors, &tabs);
    names.extend(is_screened.then(|| "screened_in".to_owned()));
    writer.write_record(names)?;
    for time_s in record::row_times_s(flight, interval_s) {
        let row = record::row(flight, time_s);
        writer.write_record(
            row.iter()
                .map(|value| value.map_or(String::new(), |v| (v + 0.0).to_string()))
                .chain(is_screened.then(|| "24_bits".to_owned())),
        )?;
    }
    writer
        .into_inner()
        .map_err(|error| error.into_error().into())
}

//! What a footprint says: the page, and the lines under its map.

use super::Report;
use crate::args::PageOption;
use crate::output::CAUTION;
use crate::output::table::{number, of_texts, percent};
use crate::plan::StudyPlan;
use scenarios::footprint::ZoneShare;

/// Throws below which an interval is too wide to go by.
const FEW_THROWS: u32 = 100;

pub(super) fn legend(report: &Report) -> Vec<String> {
    let mut lines = vec![format!(
        "Blue: landings{}. Dashed: convex hull.",
        match report.landings.as_ref().and_then(|cloud| cloud.ellipse) {
            Some(ellipse) => format!(
                "; ellipse: {} % of a normal cloud of this mean and covariance",
                number(Some(ellipse.coverage_fraction * 100.0), 0)
            ),
            None => String::new(),
        }
    )];
    if report.power_cut_moments > 0 {
        lines.push(format!(
            "Orange: where the same throws come down when the motors die at one of {} moments.",
            report.power_cut_moments
        ));
    }
    lines.push(format!(
        "Shares at {} % confidence:",
        number(Some(report.confidence_fraction * 100.0), 1)
    ));
    for zone in &report.zones {
        let cut = zone.lands_after_power_cut.as_ref();
        let cut = cut.map_or_else(String::new, |cut| {
            format!("; power cut at the worst moment {}", percent(cut))
        });
        lines.push(format!("{}: {}{cut}", zone.zone, percent(&zone.lands)));
    }
    lines.push("Computed, not flown; throws outside the hull happen.".to_owned());
    lines
}

pub(super) fn page(plan: &StudyPlan, report: &Report, page: PageOption) -> String {
    let mut text = format!("{}\n", report.in_plain_words);
    if let Some(cloud) = &report.landings {
        text += &format!(
            "landings: {} of {} throws; mean {:.1} m north and {:.1} m east of the release, farthest {:.1} m away\n",
            cloud.landings, report.throws, cloud.mean_north_m, cloud.mean_east_m, cloud.farthest_m
        );
        if let Some(ellipse) = &cloud.ellipse {
            text += &format!(
                "ellipse for {} % of a normal cloud: {:.1} by {:.1} m (half axes), long axis towards {:.0} deg; {} of these landings are inside\n",
                ellipse.coverage_fraction * 100.0,
                ellipse.semi_major_m,
                ellipse.semi_minor_m,
                ellipse.major_heading_deg,
                ellipse.landings_inside
            );
        }
    }
    let ends: Vec<String> = report
        .ends
        .iter()
        .map(|(end, n)| format!("{end} {n}"))
        .collect();
    text += &format!("ended: {}\n", ends.join(", "));
    if let Some(reason) = &report.first_reason {
        text += &format!(
            "{} throws could not start; the first: {reason}\n",
            report.could_not_start
        );
    }
    if report.ends.keys().any(|end| end.contains("in the air")) {
        text += "Some were still in the air: where they come down is not in these shares; raise end.time_limit_s.\n";
    }
    if !report.zones.is_empty() {
        let rows = report.zones.iter().map(|zone| {
            let cut = zone.lands_after_power_cut.as_ref();
            vec![
                zone.zone.clone(),
                zone.kind.replace('_', " "),
                percent(&zone.lands),
                cut.map_or_else(|| "–".to_owned(), percent),
            ]
        });
        text += &of_texts(
            &[
                "zone",
                "what",
                "comes down in it",
                "power cut at\nthe worst moment",
            ],
            &rows.collect::<Vec<_>>(),
        );
    }
    if !report.conditions.is_empty() {
        let rows: Vec<Vec<String>> = report
            .conditions
            .iter()
            .map(|c| {
                let verdict = match (c.must_hold, c.holds) {
                    (true, false) => "MUST HOLD, DOES NOT",
                    (_, true) => "holds",
                    (false, false) => "does not hold",
                };
                vec![c.condition.clone(), percent(&c.meets), verdict.to_owned()]
            })
            .collect();
        text += &of_texts(&["condition", "met by", "asked share"], &rows);
    }
    text += &format!(
        "Brackets: {} % confidence (Clopper-Pearson). They hold the luck of the draw, not what the model or the study leaves out.\n",
        number(Some(report.confidence_fraction * 100.0), 1)
    );
    if plan.study.file.flights < FEW_THROWS {
        text += &format!("Fewer than {FEW_THROWS} throws: take the upper ends of the brackets.\n");
    }
    text + &format!(
        "Written to {}: footprint.svg, footprint.json, landings.csv{}\n{CAUTION}\n",
        plan.out.display(),
        page.named()
    )
}

/// One paragraph that can be acted on.
pub(super) fn plain_words(report: &Report) -> String {
    let worst = report.zones.iter().filter(|zone| !zone.kind.is_empty());
    let of = |zone: &ZoneShare| {
        let cut = zone
            .lands_after_power_cut
            .as_ref()
            .map_or(0.0, |cut| cut.high_fraction);
        zone.lands.high_fraction.max(cut)
    };
    let worst = worst.max_by(|a, b| of(a).total_cmp(&of(b)));
    match worst {
        None => format!(
            "{}: no zones are given; keep the whole hull free.",
            report.study
        ),
        Some(zone) => format!(
            "{}: of all zones {} is the likeliest to be hit: up to {:.1} % of throws{}. {}",
            report.study,
            zone.zone,
            of(zone) * 100.0,
            if zone.lands_after_power_cut.is_some() {
                ", power cut at the worst moment counted in"
            } else {
                ""
            },
            if of(zone) > 0.01 {
                "Move the release, turn the throw or wait for less wind, until you would sign that number."
            } else {
                "That is the most these throws can rule out; more throws can rule out more."
            }
        ),
    }
}

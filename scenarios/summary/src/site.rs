//! What the flight touched, where it ended, and which zones it was over (MODEL.md § 9.1).

use super::metrics::Summary;
use super::moment::Trace;
use super::refine::time_above_zero_s;
use nalgebra::Vector3;
use sim_core::flight::{End, Flight};
use sim_core::look::Moment;
use sim_core::site::{Hall, Site, Zone};
use std::borrow::Cow;

/// Fills in touch, place and zones.
pub fn fill(summary: &mut Summary, trace: &Trace<'_>) {
    let (flight, last) = (trace.flight, trace.last());
    let site = &flight.throw().site;
    if let Some((name, square_to)) = touched_square_to(flight.end, site) {
        summary.touched = Some(name);
        summary.touch_speed_m_s = Some(last.ground_m_s.norm());
        summary.touch_speed_square_m_s = Some(last.ground_m_s.dot(&square_to));
    }
    summary.end_north_m = Some(last.position_m.x);
    summary.end_east_m = Some(last.position_m.y);
    summary.end_height_m = Some(last.height_m);
    if site.zones.is_empty() {
        return;
    }
    let over = |zone: &&Zone| trace.moments.iter().any(|m| is_over(zone, m));
    summary.zones_overflown = names(site.zones.iter().filter(over));
    if flight.end == End::Ground {
        summary.landed_in_zone = names(site.zones.iter().filter(|zone| is_over(zone, last)));
    }
    let over_any = |position_m: &Vector3<f64>| {
        if site.zones.iter().any(|zone| zone.holds(&position_m.xy())) {
            1.0
        } else {
            -1.0
        }
    };
    let time = time_above_zero_s(&trace.whole().of(|m| over_any(&m.position_m)), |time_s| {
        over_any(&trace.flight.state_at(time_s).position)
    });
    summary.time_over_zones_s = Some(time);
}

/// What a flight touched, by name, as `touched` in the summary; none where it touched nothing.
pub fn touched(flight: &Flight) -> Option<Cow<'static, str>> {
    touched_square_to(flight.end, &flight.throw().site).map(|(name, _)| name)
}

fn is_over(zone: &Zone, moment: &Moment) -> bool {
    zone.holds(&moment.position_m.xy())
}

fn names<'a>(zones: impl Iterator<Item = &'a Zone>) -> Option<String> {
    let names: Vec<&str> = zones.map(|zone| zone.name.as_str()).collect();
    (!names.is_empty()).then(|| names.join("; "))
}

/// What ended the flight by being touched, and the direction (unit vector, earth axes) square into it.
fn touched_square_to(end: End, site: &Site) -> Option<(Cow<'static, str>, Vector3<f64>)> {
    Some(match end {
        End::Ground => ("ground".into(), Vector3::z()),
        End::Ceiling => ("ceiling".into(), -Vector3::z()),
        End::Wall(i) => {
            let (sin, cos) = libm::sincos(site.walls.get(i)?.heading_rad);
            (
                format!("wall {}", i + 1).into(),
                Vector3::new(cos, sin, 0.0),
            )
        }
        End::HallWall(i) => {
            let wall = site.hall.as_ref().map(Hall::walls)?.get(i)?;
            let into = Vector3::new(wall.normal.x, wall.normal.y, 0.0);
            (format!("hall wall {}", wall.name).into(), into)
        }
        _ => return None,
    })
}

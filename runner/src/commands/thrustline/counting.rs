//! From flown flights to counted shares.

use super::passes::Flown;
use scenarios::study::LoadedStudy;
use scenarios::study::file::Condition;
use scenarios::study::judge::{Share, is_asked};
use scenarios::thrustline::power::steady_refusal;
use scenarios::thrustline::usual::names_of_circumstances;
use scenarios::thrustline::window::AtAngle;
use std::cell::RefCell;
use std::collections::BTreeMap;

/// How a study's flights are counted.
pub struct Counting<'a> {
    study: &'a LoadedStudy,
    /// Names of the axis values of each circumstance.
    names: Vec<Vec<String>>,
    /// What was found out of steady flight, by angle.
    refused: RefCell<BTreeMap<u64, Option<String>>>,
}

impl<'a> Counting<'a> {
    /// Of a study's flights.
    pub fn of(study: &'a LoadedStudy) -> Self {
        Counting {
            study,
            names: names_of_circumstances(study),
            refused: RefCell::default(),
        }
    }

    fn share(&self, count: usize, of: usize) -> Share {
        Share::new(count as u64, of as u64, self.study.file.confidence_fraction)
    }

    /// Whether a flight meets every condition that counts.
    pub fn meets_all(&self, one: &Flown) -> bool {
        let conditions = self.study.file.conditions.iter();
        one.result.is_ok()
            && conditions
                .zip(&one.met)
                .all(|(condition, met)| *met || !condition.counts)
    }

    /// Flights at one angle; refused by nothing.
    pub fn at(&self, angle_deg: f64, here: &[&Flown]) -> AtAngle {
        let count = |list: &[&Flown]| {
            let met = list.iter().filter(|one| self.meets_all(one)).count();
            self.share(met, list.len())
        };
        let in_one = |i: usize| -> Vec<&Flown> {
            let these = here.iter().filter(|one| one.circumstance == i);
            these.copied().collect()
        };
        AtAngle {
            angle_deg,
            meets: count(here),
            each: (0..self.names.len()).map(|i| count(&in_one(i))).collect(),
            refused: None,
        }
    }

    /// Flights of a pass counted angle by angle, angles rising.
    pub fn of_pass(&self, flights: &[Flown], pass: &str) -> Vec<AtAngle> {
        let these = || flights.iter().filter(|one| one.pass == pass);
        let mut angles: Vec<f64> = these().map(|one| one.angle_deg).collect();
        angles.sort_by(f64::total_cmp);
        angles.dedup();
        let counted = |angle_deg: f64| {
            let here: Vec<&Flown> = these().filter(|one| one.angle_deg == angle_deg).collect();
            AtAngle {
                refused: self.refusal(angle_deg),
                ..self.at(angle_deg, &here)
            }
        };
        angles.into_iter().map(counted).collect()
    }

    fn refusal(&self, angle_deg: f64) -> Option<String> {
        let mut known = self.refused.borrow_mut();
        let entry = known.entry(angle_deg.to_bits());
        // An angle that cannot be set has no flights that start: they tell.
        let fresh = || steady_refusal(self.study, angle_deg).unwrap_or_default();
        entry.or_insert_with(fresh).clone()
    }

    /// Flights that are asked a condition.
    fn asked<'f>(&self, condition: &Condition, here: &[&'f Flown]) -> Vec<&'f Flown> {
        let asked = |one: &&&Flown| {
            let names = self.names.get(one.circumstance);
            names.is_some_and(|names| is_asked(condition, names))
        };
        here.iter().filter(asked).copied().collect()
    }

    /// Share of the flights that meet each condition, of those that are asked it.
    pub fn conditions(&self, here: &[&Flown]) -> Vec<(String, Share)> {
        let conditions = self.study.file.conditions.iter().enumerate();
        let counted = |(i, condition): (usize, &Condition)| {
            let asked = self.asked(condition, here);
            let met = asked.iter().filter(|one| one.met[i]).count();
            (condition.name.clone(), self.share(met, asked.len()))
        };
        conditions.map(counted).collect()
    }

    /// The condition that counts and that fewest flights meet.
    pub fn weakest_condition(&self, here: &[&Flown]) -> Option<&'a Condition> {
        let conditions = self.study.file.conditions.iter().enumerate();
        let counted = conditions.filter(|(_, condition)| condition.counts);
        counted
            .min_by_key(|(i, _)| here.iter().filter(|one| one.met[*i]).count())
            .map(|(_, condition)| condition)
    }
}

//! In how much wind an airframe still goes (MODEL.md § 10.2 to 10.4).
//!
//! [`penetration`]: what steady flight leaves against a wind, and when it no longer comes back. [`dive`]: the height power needs to end a
//! dive. [`built_in`]: the throws of an ordinary windy afternoon as a [study](crate::study), where nobody brings another. [`verdicts`]: of
//! the throws at each wind and throttle, go or no-go.

pub mod built_in;
pub mod dive;
pub mod penetration;
pub mod verdicts;

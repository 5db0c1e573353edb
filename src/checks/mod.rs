//! Checks: one file per check, each a pure function of facts and parameters. `ALL` is the one ordered table.

pub mod added_loss;
mod check;
mod copper_place;
mod electric;
mod facts;
pub mod impedance_step;
mod judge;
mod layer_change_subject;
pub mod length_match;
mod length_match_time;
mod length_members;
mod message;
mod net_open;
mod net_short;
pub mod pad_neck;
pub mod pair_gap;
pub mod pair_impedance;
mod pair_routes;
pub mod pair_skew;
mod pair_skew_time;
mod pair_subject;
mod plane_doubt;
pub mod plane_gap;
mod profile;
pub mod reference_change;
pub mod return_via;
mod route_subject;
mod run;
mod select;
mod select_names;
mod select_pairs;
mod stackup_compare;
mod stackup_missing;
pub mod stackup_stated;
mod stale_fill;
mod sustained;
pub mod uncoupled_run;
mod verdict;
pub mod via_stub;
mod via_stub_notch;
mod zones;

pub use check::{Check, Info};
pub use facts::{Facts, Pair, Selection};
pub use judge::{Sense, judge};
pub use message::{Message, Value};
pub use pair_routes::PairRoute;
pub use run::{RuleRun, find, run, run_timed};
pub use select::{Selected, nets_matching, proposed_pairs, select};
pub use stackup_stated::Stated;
pub use verdict::{Outcome, Place, Subject, Verdict};

/// Every check, in the order of reports.
pub static ALL: &[&dyn Check] = &[
    &net_open::NetOpen,
    &net_short::NetShort,
    &stale_fill::StaleFill,
    &stackup_missing::StackupMissing,
    &length_match::LengthMatch,
    &pair_skew::PairSkew,
    &pair_gap::PairGap,
    &uncoupled_run::UncoupledRun,
    &pair_impedance::PairImpedance,
    &impedance_step::ImpedanceStep,
    &added_loss::AddedLoss,
    &plane_gap::PlaneGap,
    &reference_change::ReferenceChange,
    &return_via::ReturnVia,
    &via_stub::ViaStub,
    &pad_neck::PadNeck,
];

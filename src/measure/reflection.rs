//! What a reflectometer would show at the first end of a channel.

use super::Unknown;
use super::profile::Wanted;
use super::signal::Aim;
use crate::field::{Edge, Impedance, Load, Time, Undetermined, Waveform};
use crate::signal::{Break, Channel, PairChannel};

/// The edge that is sent in, and what stands at both ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probe {
    /// Rise time, 10 % to 90 %, of a Gaussian edge.
    pub rise: Time,
    /// Who says so.
    pub rise_from: Said,
    /// Impedance of source and load; differential for a pair.
    pub source: Impedance,
    /// Who says so.
    pub source_from: Said,
}

/// Who says a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// The command line.
    Asked,
    /// It follows from the group's rate or target impedance.
    Group,
    /// Nobody: common practice.
    Usual,
}

/// Rise time times bandwidth of a Gaussian edge: 10 % to 90 % are 2.563 standard deviations, and it has lost 3 dB at
/// 0.1325 over one.
const RISE_BANDWIDTH: f64 = 0.34;
/// The rise time without a rate: common practice of reflectometers, no source.
const USUAL_RISE: Time = Time::ps(35.0);
/// The source of a pair and of a net without a target: common practice of reflectometers.
const USUAL_PAIR: Impedance = Impedance::ohms(100.0);
const USUAL_NET: Impedance = Impedance::ohms(50.0);

impl Probe {
    /// What is asked for; else what the group's rate and impedance suggest: an edge that has lost 3 dB at half the rate,
    /// and a source that fits; else what is usual.
    #[must_use]
    pub fn new(aim: &Aim, wanted: Wanted, is_pair: bool) -> Self {
        let suggested = aim.nyquist().map(|nyquist| Time::seconds(RISE_BANDWIDTH / nyquist.to_hertz()));
        let (rise, rise_from) = match (wanted.rise, suggested) {
            (Some(rise), _) => (rise, Said::Asked),
            (None, Some(rise)) => (rise, Said::Group),
            (None, None) => (USUAL_RISE, Said::Usual),
        };
        let (source, source_from) = match (wanted.source, aim.target()) {
            (Some(source), _) => (source, Said::Asked),
            (None, Some(target)) => (target, Said::Group),
            (None, None) => (if is_pair { USUAL_PAIR } else { USUAL_NET }, Said::Usual),
        };
        Self { rise, rise_from, source, source_from }
    }
}

/// A reflected step.
#[derive(Debug, Clone, PartialEq)]
pub struct Reflection {
    /// What was sent in.
    pub probe: Probe,
    /// The answer in order of time, or why there is none.
    pub samples: Result<Vec<Echo>, Unknown>,
    /// From when on it is not known, and why: a doubt on the way.
    pub until: Option<(Time, Unknown)>,
    /// Delay from end to end and back, as far as it is known.
    pub round_trip: Time,
    /// The dielectrics' loss was left out, for the stackup does not state it.
    pub lossless: bool,
}

/// What comes back at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Echo {
    /// Time since the middle of the edge went in.
    pub time: Time,
    /// Reflected voltage over the incident one.
    pub reflected: f64,
    /// The impedance that a reflectometer shows for it.
    pub apparent: Impedance,
}

/// The record begins this many rise times before the edge, and ends this many behind the last echo.
const BEFORE: f64 = 1.0;
const BEHIND: f64 = 4.0;
/// Behind a doubt the answer is unknown from this many rise times before its echo: a Gaussian edge has half a percent
/// of its height that early.
const EARLY: f64 = 1.0;

impl Reflection {
    pub(super) fn of_net(channel: &Channel, probe: Probe) -> Self {
        let edge = Edge::Gaussian(probe.rise);
        let delay = channel.knots.last().map(|knot| knot.delay).unwrap_or_default();
        let wave = channel.chain.reflected_step(probe.source, Load::Resistance(probe.source), edge);
        Self::new(probe, wave, delay, channel.broken, channel.lossless)
    }

    pub(super) fn of_pair(channel: &PairChannel, probe: Probe) -> Self {
        let ends = channel.knots.iter().filter_map(|knots| Some(knots.last()?.delay));
        let delay = ends.max_by(Time::total_cmp).unwrap_or_default();
        let wave = channel.chain.reflected_step(probe.source, Edge::Gaussian(probe.rise));
        Self::new(probe, wave, delay, channel.broken, channel.lossless)
    }

    fn new(
        probe: Probe,
        wave: Result<Waveform, Undetermined>,
        delay: Time,
        broken: Option<Break>,
        lossless: bool,
    ) -> Self {
        let round_trip = delay * 2.0;
        let until = broken.map(|broken| (broken.delay * 2.0 - probe.rise * EARLY, Unknown::from(broken.doubt)));
        let last = until.as_ref().map_or(round_trip + probe.rise * BEHIND, |until| until.0);
        let first = probe.rise * -BEFORE;
        let samples = wave.map_err(Unknown::from).map(|wave| {
            let times = (0_u32..).map(|row| wave.start() + wave.step() * f64::from(row));
            let echo = |(time, &reflected): (Time, &f64)| Echo {
                time,
                reflected,
                apparent: wave.apparent_impedance(reflected),
            };
            times.zip(wave.values()).map(echo).filter(|echo| echo.time >= first && echo.time <= last).collect()
        });
        Self { probe, samples, until, round_trip, lossless }
    }
}

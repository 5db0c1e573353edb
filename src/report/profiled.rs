//! What a report of `profile` is about, and the words its forms share.

use super::StackupOf;
use super::electric::{self, ohm};
use crate::board::{Board, LayerId};
use crate::field::Time;
use crate::measure::{Mark, MarkKind, PadSort, PairSignal, Profile, Said, Unknown, Whole};
use crate::signal::Leg;
use crate::source::printable_name;
use crate::units::decimal;

/// One run of `profile`.
#[derive(Debug)]
pub struct Profiled<'b> {
    /// The board.
    pub board: &'b Board,
    /// Whose stackup the numbers rest on.
    pub stackup: StackupOf,
    /// The channel.
    pub profile: Profile,
}

impl Profiled<'_> {
    /// `J1.B5/J1.B6 to U1.A12/U1.A13`.
    pub fn ends(&self) -> String {
        let both = |pads: &[String]| pads.iter().map(|pad| printable_name(pad)).collect::<Vec<_>>().join("/");
        format!("{} to {}", both(&self.profile.from), both(&self.profile.to))
    }

    /// What the channel is: `pair` or `net`.
    pub const fn kind(&self) -> &'static str {
        if self.profile.is_pair() { "pair" } else { "net" }
    }

    /// A layer's name.
    pub fn layer(&self, layer: LayerId) -> String {
        printable_name(self.board.layers.name(layer)).into_owned()
    }

    /// A leg's letter where there are two.
    pub const fn leg(&self, leg: Leg) -> &'static str {
        match (self.profile.is_pair(), leg) {
            (false, _) => "",
            (true, Leg::P) => "P",
            (true, Leg::N) => "N",
        }
    }

    /// Sentences on the channel as a whole: impedance, delay, skew, loss, each with a reason where it is not known.
    pub fn whole(&self) -> Vec<String> {
        let (impedance, loss) = match &self.profile.whole {
            Whole::Net(signal) => (&signal.impedance, &signal.loss),
            Whole::Pair(signal) => (&signal.impedance, &signal.loss),
        };
        let mut words = vec![match impedance {
            Ok(row) => {
                let range = format!("{} ohm typical, {} to {} ohm", ohm(row.typical), ohm(row.least), ohm(row.most));
                match row.doubtful {
                    Some((length, doubt)) => format!("{range}; not known for {length}: {doubt}"),
                    None => range,
                }
            }
            Err(why) => format!("impedance not known: {why}"),
        }];
        match &self.profile.whole {
            Whole::Net(signal) => words.push(time("delay", &signal.delay)),
            Whole::Pair(signal) => words.extend(times(signal)),
        }
        words.push(match loss {
            Ok(row) => format!(
                "{} dB lost at {} GHz: metal {}, dielectrics {}, barrels {}",
                electric::db(row.total()),
                decimal(row.frequency.to_ghz(), 3),
                electric::db(row.metal),
                electric::db(row.dielectric),
                electric::db(row.barrels)
            ),
            Err(why) => format!("loss not known: {why}"),
        });
        words
    }

    /// The edge and the source of the reflection, and who says so.
    pub fn probe(&self) -> String {
        let probe = &self.profile.reflection.probe;
        let rate = self.profile.aim.rate.as_ref().map(|rate| rate.value.to_string()).unwrap_or_default();
        let rise = match probe.rise_from {
            Said::Asked => "as asked for".to_owned(),
            Said::Group => format!("3 dB down at half of {rate}"),
            Said::Usual => "no rate is known; common practice".to_owned(),
        };
        let source = match probe.source_from {
            Said::Asked => "as asked for",
            Said::Group => "the group's target",
            Said::Usual => "no target is known; common practice",
        };
        format!(
            "Gaussian edge, {} ps from 10 to 90 % ({rise}); source and load {} ohm ({source})",
            decimal(probe.rise.to_ps(), 1),
            decimal(probe.source.to_ohms(), 1)
        )
    }

    /// A mark in words.
    pub fn mark(&self, mark: &Mark) -> String {
        match &mark.kind {
            MarkKind::Pad { name, sort } => {
                let sort = match sort {
                    PadSort::Ball => "ball",
                    PadSort::Contact => "contact",
                    PadSort::Pad => "pad",
                };
                format!("{sort} {}", printable_name(name))
            }
            MarkKind::Barrel { to, line } => {
                let way = format!("barrel {} to {}", self.layer(mark.layer), self.layer(*to));
                match line {
                    Ok((impedance, delay)) => format!("{way}, {} ohm, {} ps", ohm(*impedance), electric::ps(*delay)),
                    Err(doubt) => format!("{way}; not known: {doubt}"),
                }
            }
            MarkKind::Neck { length, width, main, .. } => format!("neck {width} wide for {length}, else {main}"),
        }
    }
}

fn time(name: &str, known: &Result<Time, Unknown>) -> String {
    match known {
        Ok(time) => format!("{name} {} ps", electric::ps(*time)),
        Err(why) => format!("{name} not known: {why}"),
    }
}

fn times(signal: &PairSignal) -> Vec<String> {
    let legs = match (&signal.p, &signal.n) {
        (Ok(p), Ok(n)) => format!("delay P {} ps, N {} ps", electric::ps(*p), electric::ps(*n)),
        (Err(p), Err(n)) if p == n => format!("delay not known: {p}"),
        (p, n) => format!("{}; {}", time("delay P", p), time("N", n)),
    };
    let peak = signal.peak.as_ref().map(|peak| peak.0).map_err(Clone::clone);
    let skew = match (&signal.skew, &peak) {
        (Err(skew), Err(peak)) if skew == peak => format!("skew not known: {skew}"),
        _ => format!("{}, {}", time("skew", &signal.skew), time("at its peak", &peak)),
    };
    vec![legs, skew]
}

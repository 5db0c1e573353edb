//! Rule sets: read, extend, select. Every value keeps the file and span it came from. Knows no boards.
//!
//! # The rule file
//!
//! A rule file is TOML. It says which nets to look at and what must hold there; code says how things are measured.
//!
//! ```toml
//! extends = ["serial-16g"]          # shipped sets or files; what stands here wins over them
//!
//! [groups.lanes]                    # what to look at
//! pairs     = ["LANE?_{TX,RX}_{P,N}", ["REFCLK_P", "REFCLK_N"]]
//! impedance = "85 ohm ±10 %"
//! rate      = "16 GT/s"
//!
//! [groups.supply]
//! nets    = ["VCORE", "VIO*"]
//! current = "1.2 A"
//!
//! [[check]]                         # what must hold
//! use    = "pair-skew"
//! on     = ["lanes"]
//! warn   = "0.1 mm"
//! limit  = "0.2 mm"
//! level  = "error"
//! source = "our layout guide, table 3"
//!
//! [[check]]
//! use   = "pad-neck"                # stated by serial-16g, not wanted here
//! on    = ["lanes"]
//! level = "off"
//! ```
//!
//! | key | takes |
//! | --- | --- |
//! | `extends` | a list of shipped sets (`serial-16g`) and files (`own.toml`, `../shared.toml`: a name with an ending or a `/`, relative to the file that names it) |
//! | `[stackup]` | what the fab will build; see below |
//! | `[groups.NAME]` | a group of nets or pairs |
//! | `[[check]]` | a check to hold |
//! | `[[waive]]` | a finding that is accepted; see below |
//! | `waivers` | a list of files that hold nothing but `[[waive]]`, relative to the file that names them |
//!
//! ## Groups
//!
//! | key | takes |
//! | --- | --- |
//! | `nets` | a list of net patterns |
//! | `pairs` | a list of pair patterns, and of lists of two names: `["CK_P", "CK_N"]` |
//! | `proposed` | `true` for all pairs that names and copper propose |
//! | `impedance` | the target, with or without tolerance: `"85 ohm ±10 %"` (`+-` is read too) |
//! | `rate` | the symbol rate: `"16 GT/s"` |
//! | `current` | the current that each net carries: `"1.2 A"` |
//!
//! **Net patterns**: `*` is any text, `?` one character, `{a,b}` one of the alternatives; the rest is itself, case included.
//! Brackets, and braces without a comma, are themselves. A pattern without `/` is held against the whole name and against the
//! last part of its path, a pattern with `/` against the whole name. Names count as the board has them and plain, without
//! overbar marks and with `{slash}` as `/`: `RST` finds `~{RST}`, and so does `~{RST}`.
//!
//! **Pair patterns**: the last list of two alternatives marks the legs P and N, in that order: `LANE?_{P,N}`, `CK{+,-}`,
//! `DQS{0,1}_{T,C}`. Both nets must be there, in the same folder of the path. A pattern without a list of two chooses among
//! the pairs that the board proposes, by the name of the pair. Two names in a list are taken as they are.
//!
//! A pattern that finds nothing, a leg without a mate, a net in two pairs, a name that is two nets: each is told at its place in
//! the rule file with the nearest names, since a net that is not selected would otherwise pass unseen.
//!
//! ## Checks
//!
//! | key | takes |
//! | --- | --- |
//! | `use` | the check |
//! | `on` | the groups it looks at; checks of the whole board take none |
//! | `limit` | the value beyond which it fails at its level; a value exactly at the limit passes; for `pair-impedance` the tolerance of the group's `impedance` if not stated |
//! | `warn` | a value before the limit, beyond which it warns |
//! | `level` | `"error"`, `"warning"`, `"note"` or `"off"`; each check has its own level otherwise |
//! | `source` | who says so |
//! | others | parameters of the check; `throughline explain CHECK` lists them |
//!
//! **Quantities** are texts with a unit: `mm um mil in nm cm m`, `ps fs ns us ms s`, `ohm mohm kohm`, `GHz MHz kHz Hz`,
//! `GT/s MT/s`, `A mA uA`, `%`, `dB`; `µm` and `Ω` are read too. A count has no unit and needs no quotes. Lengths that differ by
//! less than 0.5 nm are the same.
//!
//! ## Stackup
//!
//! The stackup as the fab's sheet has it, top to bottom. It wins over the one in the board file, which is often missing or
//! was never entered; `stackup-missing` tells where the two differ.
//!
//! ```toml
//! [stackup]
//! source    = "sheet of 3 March, six layers, 1.0 mm"
//! frequency = "1 GHz"               # where permittivity and loss tangent hold
//! roughness = "3 um"                # Rz of the foils
//!
//! [[stackup.layer]]
//! mask         = "green"
//! thickness    = "20 um"
//! permittivity = 3.8
//!
//! [[stackup.layer]]
//! copper    = "F.Cu"                # or "L1"
//! thickness = "43 um"
//!
//! [[stackup.layer]]
//! prepreg      = "1080"
//! thickness    = "0.075 mm"
//! permittivity = 3.9
//! loss-tangent = 0.018
//!
//! [[stackup.layer]]
//! copper    = "B.Cu"
//! thickness = "43 um"
//! ```
//!
//! A list of tables in braces says the same, one line for each line of the sheet:
//! `layer = [ { mask = "green", thickness = "20 um" }, { copper = "F.Cu", thickness = "43 um" }, ... ]`.
//!
//! | key of `[stackup]` | takes |
//! | --- | --- |
//! | `layer` | the layers, top to bottom |
//! | `frequency` | where permittivity and loss tangent hold; 1 GHz if not stated |
//! | `roughness` | the height of the foils' roughness, peak to valley (Rz) |
//! | `source` | who says so |
//! | `boards` | patterns over the names of the boards it is for; without it, all. Several stackups are written as `[[stackup]]`, each with its own `boards` and its `[[stackup.layer]]` after it; one that names a board wins over one for all |
//!
//! | key of a layer | takes |
//! | --- | --- |
//! | `copper` | the name of the board's copper layer, or its number from the top (`L1`) |
//! | `core`, `prepreg` | the material; several in a row are fine |
//! | `mask` | a solder mask, above the top or below the bottom copper |
//! | `thickness` | the finished thickness, after pressing and plating; a mask may lack it |
//! | `permittivity` | relative permittivity of a dielectric; a mask may lack it |
//! | `loss-tangent` | if known; without it losses are not computed |
//! | `frequency` | where the values of this layer hold, if elsewhere |
//!
//! ## Waivers
//!
//! A waiver accepts one finding: which, how bad at most, why, until when.
//!
//! ```toml
//! [[waive]]
//! check    = "plane-gap"
//! place    = "9f3a1c07d2e4b586"     # the finding's fingerprint
//! board    = "base"
//! accepted = "0.42 mm"              # a worse value is no longer waived
//! reason   = "cut-out under the coupling capacitors, agreed in review"
//! until    = 2027-03-01             # the last day
//! ```
//!
//! | key | takes |
//! | --- | --- |
//! | `check` | the check; needed, so that a reader knows what is waived |
//! | `place` | the fingerprint, 16 digits or the first 8 and more; needed |
//! | `reason` | why; needed |
//! | `accepted` | the worst value that is accepted, as the finding measures it, or `"not checked"` for a subject that could not be judged. A finding with a measured value needs it; one without has none |
//! | `board` | the board's name; then a run without that board leaves the waiver alone |
//! | `until` | the last day on which it holds, without quotes |
//!
//! A waived finding no longer fails a run, but stands in every report with its reason. A waiver that has expired, whose
//! value is exceeded, or that finds nothing to waive is told as a finding of its own, and waives nothing.
//! `throughline waive` writes one.
//!
//! ## Extending
//!
//! Sets are laid over each other in the order of `extends`, each one once, the file itself last. Later keys win, key by key:
//! groups of the same name are one group, checks with the same `use` and the same groups in `on` are one check, stackups for the
//! same boards are one stackup; a file that states its layers replaces all of it. Three things go
//! together: a file that states any of `nets`, `pairs`, `proposed` replaces all three; a file that states `warn` or `limit`
//! without `source` drops the source, which spoke for another number; `level = "off"` must name a check that is held. Sets that
//! extend each other in a circle are a fault.
//!
//! All faults of all files are told, from the outermost file inwards and from top to bottom. A group that no check looks at is
//! a warning.

mod extend;
mod glob;
mod origin;
mod pattern;
mod quote;
mod read;
mod schema;
mod set;
mod sheet;
mod shipped;
mod stackup;
mod stackup_lay;
mod stackup_statement;
mod statement;
mod waiver;
mod waiver_files;
mod waiver_statement;

pub use glob::{Glob, GlobError};
pub use origin::{At, Origin};
pub use pattern::{LegPattern, NetPattern, PairPattern};
pub use quote::{key, quoted};
pub use read::read;
pub use schema::{CheckSchema, Parameter, ParameterKind};
pub use set::{Group, Level, Rule, RuleSet, Setting, SwitchedOff};
pub use shipped::{SHIPPED, shipped};
pub use stackup::{Stackup, StackupKind, StackupLayer};
pub use waiver::{Accepted, Waiver};

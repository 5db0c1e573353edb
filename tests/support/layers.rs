//! Layers, stackups and format generations.

/// A generation of the board format that the writer knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Generation {
    /// Version 3: layers numbered from the bottom, `Inner1.Cu`.
    V3,
    /// Version 4: `module`, bare atoms.
    V4,
    /// 20171130: custom pads, net classes in the board.
    V5,
    /// 20211014: `footprint`, quoted strings, arc tracks, stackup, exact fills.
    V6,
    /// 20221018: `stroke`.
    V7,
    /// 20240108: `uuid`, `property`.
    V8,
    /// 20241229: layer numbers changed, pad stacks.
    V9,
    /// 20260206: nets by name only.
    V10,
}

impl Generation {
    /// All of them, oldest first.
    pub const ALL: [Self; 8] = [Self::V3, Self::V4, Self::V5, Self::V6, Self::V7, Self::V8, Self::V9, Self::V10];

    /// The number in `(version …)`.
    pub fn version(self) -> u64 {
        match self {
            Self::V3 => 3,
            Self::V4 => 4,
            Self::V5 => 20_171_130,
            Self::V6 => 20_211_014,
            Self::V7 => 20_221_018,
            Self::V8 => 20_240_108,
            Self::V9 => 20_241_229,
            Self::V10 => 20_260_206,
        }
    }

    /// Whether tracks can be arcs; older files get chords.
    pub fn arcs(self) -> bool {
        self >= Self::V6
    }

    /// Whether the file can hold a stackup.
    pub fn stackup(self) -> bool {
        self >= Self::V6
    }

    /// Whether a fill polygon is drawn with a pen of the minimum thickness (else it is the copper itself).
    pub fn pen(self) -> bool {
        self <= Self::V5
    }
}

/// One entry of a stackup, top to bottom.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// `copper`, `core`, `prepreg`, `mask`.
    pub kind: &'static str,
    /// Layer name for copper, otherwise empty.
    pub layer: String,
    /// Thickness, mm.
    pub thickness: f64,
    /// Material as written.
    pub material: &'static str,
    /// Relative permittivity; 0 for copper.
    pub permittivity: f64,
    /// Loss tangent; 0 for copper.
    pub loss: f64,
    /// Written as a sub-layer of the dielectric above it.
    pub joined: bool,
}

impl Sheet {
    /// A copper foil.
    pub fn copper(layer: &str, thickness: f64) -> Self {
        Self {
            kind: "copper",
            layer: layer.into(),
            thickness,
            material: "",
            permittivity: 0.0,
            loss: 0.0,
            joined: false,
        }
    }

    /// A dielectric: `core` or `prepreg`.
    pub fn dielectric(kind: &'static str, thickness: f64, material: &'static str, er: f64, loss: f64) -> Self {
        Self { kind, layer: String::new(), thickness, material, permittivity: er, loss, joined: false }
    }

    /// A solder mask.
    pub fn mask(thickness: f64) -> Self {
        Self::dielectric("mask", thickness, "Epoxy", 3.8, 0.025)
    }

    /// Written as a sub-layer of the entry above.
    #[must_use]
    pub fn joined(mut self) -> Self {
        self.joined = true;
        self
    }
}

/// The copper layers of a board and what lies between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// Copper layer names, top to bottom: `F.Cu`, `In1.Cu` …, `B.Cu`.
    pub layers: Vec<String>,
    /// Sheets, top to bottom; empty if the board states no stackup.
    pub sheets: Vec<Sheet>,
    /// `general/thickness`, mm.
    pub thickness: f64,
    /// User names shown beside the canonical ones from v6 on (canonical, shown).
    pub aliases: Vec<(String, String)>,
}

impl Stack {
    /// A stack from its sheets.
    pub fn of(sheets: Vec<Sheet>) -> Self {
        let layers = sheets.iter().filter(|sheet| sheet.kind == "copper").map(|sheet| sheet.layer.clone()).collect();
        let thickness = sheets.iter().map(|sheet| sheet.thickness).sum();
        Self { layers, sheets, thickness, aliases: Vec::new() }
    }

    /// Two layers, 1.6 mm, stackup stated.
    pub fn two() -> Self {
        Self::of(vec![
            Sheet::mask(0.015),
            Sheet::copper("F.Cu", 0.035),
            Sheet::dielectric("core", 1.5, "FR4", 4.4, 0.02),
            Sheet::copper("B.Cu", 0.035),
            Sheet::mask(0.015),
        ])
    }

    /// Four layers, 0.8 mm, thin prepreg on both sides, stackup stated.
    pub fn four() -> Self {
        let prepreg = || Sheet::dielectric("prepreg", 0.1, "3313", 4.05, 0.02);
        Self::of(vec![
            Sheet::mask(0.015),
            Sheet::copper("F.Cu", 0.035),
            prepreg(),
            Sheet::copper("In1.Cu", 0.0175),
            Sheet::dielectric("core", 0.465, "FR4", 4.4, 0.019),
            Sheet::copper("In2.Cu", 0.0175),
            prepreg(),
            Sheet::copper("B.Cu", 0.035),
            Sheet::mask(0.015),
        ])
    }

    /// Six layers, about 1 mm: planes on In1 and In4, signals outside and on In2 and In3.
    pub fn six() -> Self {
        let prepreg = || Sheet::dielectric("prepreg", 0.1, "3313", 4.05, 0.02);
        let core = || Sheet::dielectric("core", 0.2, "FR4", 4.4, 0.019);
        Self::of(vec![
            Sheet::mask(0.015),
            Sheet::copper("F.Cu", 0.035),
            prepreg(),
            Sheet::copper("In1.Cu", 0.0175),
            core(),
            Sheet::copper("In2.Cu", 0.0175),
            Sheet::dielectric("prepreg", 0.1, "2116", 4.15, 0.02),
            Sheet::dielectric("prepreg", 0.1, "2116", 4.15, 0.02).joined(),
            Sheet::copper("In3.Cu", 0.0175),
            core(),
            Sheet::copper("In4.Cu", 0.0175),
            prepreg(),
            Sheet::copper("B.Cu", 0.035),
            Sheet::mask(0.015),
        ])
    }

    /// The same layers, but the file says nothing of what lies between them.
    #[must_use]
    pub fn unstated(mut self) -> Self {
        self.sheets.clear();
        self
    }

    /// Adds a user name for a layer.
    #[must_use]
    pub fn alias(mut self, layer: &str, shown: &str) -> Self {
        self.aliases.push((layer.into(), shown.into()));
        self
    }

    /// Position of a layer from the top.
    pub fn index(&self, layer: &str) -> usize {
        self.layers.iter().position(|name| name == layer).unwrap_or_else(|| panic!("no copper layer {layer}"))
    }
}

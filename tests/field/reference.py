"""Writes reference.csv with a general radio-frequency library from the package index, scikit-rf.

Run it in an environment of its own:  python -m venv V && V/bin/pip install scikit-rf && V/bin/python reference.py
It also reads channel.s2p, pair.s4p and uneven.s4p, which the project wrote, and puts what it found there beside its own answer.
"""

import math
from pathlib import Path

import numpy
import skrf
from skrf.media import CPW, DefinedGammaZ0, DistributedCircuit, MLine

HERE = Path(__file__).parent
LIGHT = 299792458.0
lines = [f"# scikit-rf {skrf.__version__}, numpy {numpy.__version__}"]


def put(kind, *values):
    lines.append(",".join([kind] + [repr(float(v)) for v in values]))


low = skrf.Frequency(1, 1, 1, unit="khz")

# Bare microstrip, quasi-static (Hammerstad-Jensen with thickness): width, thickness, height, permittivity (mm) -> ohm, eeff.
for w, t, h, e in [
    (0.18, 0.035, 0.10, 4.2),
    (0.30, 0.018, 0.15, 4.2),
    (0.25, 0.035, 0.12, 3.5),
    (0.10, 0.018, 0.10, 3.4),
    (0.20, 0.018, 0.20, 4.6),
    (0.40, 0.018, 0.10, 3.8),
    (0.15, 0.018, 0.30, 4.0),
    (0.50, 0.035, 0.50, 9.8),
]:
    line = MLine(frequency=low, w=w * 1e-3, h=h * 1e-3, t=t * 1e-3, ep_r=e, rho=1e-12, tand=0, rough=1e-12,
                 model="hammerstadjensen", disp="none", diel="frequencyinvariant")
    put("microstrip", w, t, h, e, line.z0_characteristic[0].real, line.ep_reff_f[0].real)

# Coplanar waveguide without back metal, strips without thickness: width, gap, height, permittivity -> ohm, eeff.
for w, s, h, e in [(0.2, 0.1, 1.6, 4.4), (0.3, 0.15, 0.8, 4.4), (0.5, 0.1, 0.4, 3.5), (0.2, 0.2, 0.5, 9.8)]:
    line = CPW(frequency=low, w=w * 1e-3, s=s * 1e-3, h=h * 1e-3, ep_r=e, t=None, rho=None, tand=0,
               diel="frequencyinvariant", has_metal_backside=False)
    put("coplanar", w, s, h, e, line.z0_characteristic[0].real, (line.gamma[0].imag / (2 * math.pi * low.f[0] / LIGHT)) ** 2)

# Line constants -> characteristic impedance and propagation: R, X inside, L, G, C, f.
for r, x, l, g, c, f in [(140.0, 140.0, 3.3e-7, 0.12, 1.4e-10, 8e9), (8.0, 1.0, 3.3e-7, 1e-4, 1.3e-10, 1e7)]:
    frequency = skrf.Frequency.from_f([f], unit="hz")
    line = DistributedCircuit(frequency=frequency, R=r, L=l + x / (2 * math.pi * f), G=g, C=c)
    z, p = line.z0_characteristic[0], line.gamma[0]
    put("constants", r, x, l, g, c, f, z.real, z.imag, p.real, p.imag)

# The chain of touchstone.rs: 60 ohm 25 mm er 4, shunt 0.1 pF, 0.5 ohm, open stub 45 ohm 1.5 mm er 3.6 with 0.05 pF, series 0.2 nH,
# 45 ohm 10 mm er 4, against 50 ohm.
frequency = skrf.Frequency.from_f([0.1e9, 1e9, 4e9, 8e9, 16e9, 25e9], unit="hz")


def medium(ohms, permittivity):
    gamma = 2j * math.pi * frequency.f * math.sqrt(permittivity) / LIGHT
    return DefinedGammaZ0(frequency=frequency, z0_port=50, z0=ohms, gamma=gamma)


fifty = DefinedGammaZ0(frequency=frequency, z0_port=50, z0=50, gamma=1j * numpy.ones(len(frequency.f)))
stub = medium(45, 3.6).line(1.5e-3, "m") ** (fifty.shunt_capacitor(0.05e-12) ** fifty.open())
chain = (medium(60, 4.0).line(25e-3, "m") ** fifty.shunt_capacitor(0.1e-12) ** fifty.resistor(0.5)
         ** fifty.shunt(stub) ** fifty.inductor(0.2e-9) ** medium(45, 4.0).line(10e-3, "m"))
read = skrf.Network(str(HERE / "channel.s2p"))
assert numpy.allclose(read.f, frequency.f) and numpy.allclose(read.z0, 50)
for at, f in enumerate(frequency.f):
    for kind, s in (("chain", chain.s[at]), ("read", read.s[at])):
        put(kind, f, *[part for m, n in ((0, 0), (1, 0), (0, 1), (1, 1)) for part in (s[m, n].real, s[m, n].imag)])

# The coupled pair as a four-port: what the library makes of it in mixed mode.
pair = skrf.Network(str(HERE / "pair.s4p"))
pair.se2gmm(p=2)
for at, f in enumerate(pair.f):
    s = pair.s[at]
    # Order: differential ports 1 and 2, then common ports 1 and 2.
    put("mixed", f, s[1, 0].real, s[1, 0].imag, s[3, 2].real, s[3, 2].imag, abs(s[2:, :2]).max())

# The unequal pair of coupled_chain.rs against 50 ohm: first leg alone 45 ohm 3 mm er 4; both coupled 20 mm, odd wave 45 ohm er 3.2,
# even wave 60 ohm er 3.6; 0.1 pF on the second leg; second leg alone 52 ohm 5 mm er 4; coupled again 10 mm; 0.2 nH in the first.
def legs(first, second):
    """Two lines that know nothing of each other as a four-port: near ends, then far ends."""
    s = numpy.zeros((len(frequency.f), 4, 4), dtype=complex)
    for leg, line in enumerate((first, second)):
        s[:, leg::2, leg::2] = line.s
    return skrf.Network(frequency=frequency, s=s, z0=50)


def coupled(length):
    odd, even = medium(45, 3.2).line(length, "m").s, medium(60, 3.6).line(length, "m").s
    same, cross = (even + odd) / 2, (even - odd) / 2
    s = numpy.zeros((len(frequency.f), 4, 4), dtype=complex)
    for one in (0, 1):
        for two in (0, 1):
            for m in (0, 1):
                for n in (0, 1):
                    s[:, 2 * m + one, 2 * n + two] = (same if one == two else cross)[:, m, n]
    return skrf.Network(frequency=frequency, s=s, z0=50)


through = fifty.thru()
uneven = (legs(medium(45, 4.0).line(3e-3, "m"), through) ** coupled(20e-3) ** legs(through, fifty.shunt_capacitor(0.1e-12))
          ** legs(through, medium(52, 4.0).line(5e-3, "m")) ** coupled(10e-3) ** legs(fifty.inductor(0.2e-9), through))
read = skrf.Network(str(HERE / "uneven.s4p"))
assert numpy.allclose(read.f, frequency.f) and numpy.allclose(read.z0, 50)
assert read.is_reciprocal(tol=1e-7) and read.is_passive(tol=1e-7)
for at, f in enumerate(frequency.f):
    for kind, network in (("uneven", uneven), ("uneven-read", read)):
        put(kind, f, *[part for value in network.s[at].flatten() for part in (value.real, value.imag)])

(HERE / "reference.csv").write_text("\n".join(lines) + "\n")
print("\n".join(lines))

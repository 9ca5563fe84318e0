"""The reference model a second time: motor, pack, harness, drivetrain, shot,
cycle, ledger, from the equations by their tags, with SciPy's integrators.

It shares no code with the library and reads none of it. It is slow, checks no
input and writes no report: it is there for the library to be held against.

Everything inside is SI. Angles are sector angles in radians (D5).

Within a shot R0, R1, R2, C1 and C2 stay those of the charge at its start, the
capacitances below 2 % those of 2 %, while the open-circuit voltage follows the running charge and
is held at its end below 0 (F5).
"""

import bisect
import copy
import math
import re

import numpy as np
import yaml
from scipy.integrate import DOP853
from scipy.optimize import brentq, minimize_scalar

PI = math.pi
MU0 = 4 * PI * 1e-7
RGAS = 8.314462618
ZERO = 273.15
GAMMA = 1.4
RAIR = 287.05
CV = RAIR / (GAMMA - 1)
CP = GAMMA * CV

RTOL = 1e-12          # cycle
FLIGHT_RTOL = 1e-11   # flight


# ---------------------------------------------------------------- quantities

UNITS = {
    "": 1, "%": 0.01, "m": 1, "g": 1e-3, "s": 1, "A": 1, "V": 1, "N": 1, "K": 1,
    "W": 1, "J": 1, "ohm": 1, "Ω": 1, "F": 1, "H": 1, "T": 1, "Pa": 1, "Hz": 1,
    "C": 1, "bar": 1e5, "deg": PI / 180, "rad": 1, "rpm": 2 * PI / 60, "h": 3600,
    "min": 60, "mol": 1, "Ah": 1, "ft": 0.3048, "in": 0.0254, "fps": 0.3048,
}
PREFIX = {"k": 1e3, "M": 1e6, "G": 1e9, "m": 1e-3, "c": 1e-2, "d": 0.1,
          "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "n": 1e-9}
NUMBER = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")


def _unit(token):
    m = re.match(r"^(.*?)(?:\^?([234])|([²³]))?$", token)
    name, power = m.group(1), m.group(2)
    if m.group(3):
        power = {"²": 2, "³": 3}[m.group(3)]
    power = int(power or 1)
    if name in UNITS:
        return UNITS[name] ** power
    if name[:1] in PREFIX and name[1:] in UNITS and name[1:]:
        return (PREFIX[name[0]] * UNITS[name[1:]]) ** power
    raise ValueError(f"unit {token!r}")


def quantity(text):
    """A number with its unit to SI; a tolerance behind it is dropped. A
    capacity stays in Ah, a temperature becomes kelvin, a gauge (C1) metres."""
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        return float(text)
    text = re.split(r"±|\+/-", str(text))[0]
    m = NUMBER.match(text)
    if not m:
        raise ValueError(f"quantity {text!r}")
    value, unit = float(m.group(1)), m.group(2)
    if unit in ("degC", "°C"):
        return value + ZERO
    if unit == "AWG":
        return 0.127e-3 * 92 ** ((36 - value) / 39)
    top, *below = unit.split("/")
    factor = 1.0
    for tok in re.split(r"[\s·*]+", top.strip()):
        factor *= _unit(tok)
    for part in below:
        for tok in re.split(r"[\s·*]+", part.strip()):
            factor /= _unit(tok)
    return value * factor


# ---------------------------------------------------------------- build files

# Setting one of these takes the others away.
ALTERNATIVES = [
    (["gears", "ratio"], ["gears", "teeth"]),
    (["harness", "switch", "mosfet"], ["harness", "switch", "contacts"]),
    (["harness", "lead", "gauge"], ["harness", "lead", "area"]),
    (["motor", "stator", "air_gap"], ["motor", "stator", "bore"]),
    (["motor", "bench", "stall_current"], ["motor", "bench", "resistance"]),
]


def _take(tree, path):
    for key in path[:-1]:
        tree = tree.get(key) if isinstance(tree, dict) else None
        if tree is None:
            return
    if isinstance(tree, dict):
        tree.pop(path[-1], None)


def override(tree, setting):
    key, _, value = setting.partition("=")
    path = key.strip().split(".")
    if value == "":
        _take(tree, path)
        return
    for a, b in ALTERNATIVES:
        if path[:len(a)] == a:
            _take(tree, b)
        if path[:len(b)] == b:
            _take(tree, a)
    node = tree
    for k in path[:-1]:
        if isinstance(node, list):
            node = node[int(k)]
        else:
            if not isinstance(node.get(k), (dict, list)):
                node[k] = {}
            node = node[k]
    value = yaml.safe_load(value)
    if isinstance(node, list):
        node[int(path[-1])] = value
    else:
        node[path[-1]] = value


def load(path, settings=()):
    with open(path, encoding="utf-8") as f:
        tree = yaml.safe_load(f)
    tree = copy.deepcopy(tree)
    for s in settings:
        override(tree, s)
    return tree


class Refused(ValueError):
    """A build that can't work."""


class Keys:
    """Reads quantities out of the tree by dotted path."""

    def __init__(self, tree):
        self.tree = tree

    def raw(self, path, default=None):
        node = self.tree
        for k in path.split("."):
            if not isinstance(node, dict) or node.get(k) is None:
                return default
            node = node[k]
        return node

    def has(self, path):
        return self.raw(path) is not None

    def __call__(self, path, default=None):
        v = self.raw(path)
        if v is None:
            if default is None:
                raise KeyError(path)
            return default
        return quantity(v)


# ---------------------------------------------------------------- copper, A6

RHO_CU, ALPHA_CU = 1e-6 / 58, 0.00393


def copper(t):
    return RHO_CU * (1 + ALPHA_CU * (t - 20 - ZERO))


# ---------------------------------------------------------------- motor, A

def commutation(slots, saturation):
    """A17, from how far the coil's flux would be past the tooth's."""
    leak = 0.35
    return 4 / (slots + 1) * (leak + (1 - leak) * (1 + saturation ** 8) ** (-1 - 1 / 8))


class Motor:
    def __init__(self, b, ta):
        dt = ta - ZERO - 20
        self.fill = self.flux = self.bg = self.margin_h = None
        self.kappa = 0.0                                                           # A16
        if b.has("motor.bench"):
            self._bench(b, ta)
        else:
            self._wound(b, ta, dt)
        if b.raw("motor.commutation", "auto") != "auto":
            self.kappa = b("motor.commutation")
        # in series with Ra, a factor of the motor's speed
        self.rcom = self.kappa * self.S * self.la / (2 * PI)

    def _wound(self, b, ta, dt):
        st, ar = "motor.stator.", "motor.armature."
        S = int(b(ar + "slots"))
        N, strands = b(ar + "turns"), b(ar + "strands", 1.0)
        ra, Le = b(ar + "rotor_diameter") / 2, b(ar + "stack_length")
        d = b(ar + "wire")
        g = b(st + "bore") / 2 - ra if b.has(st + "bore") else b(st + "air_gap")
        kc, lm, mu = b(st + "carter"), b(st + "magnet.thickness"), b(st + "magnet.permeability")
        arc, leak = b(st + "magnet.arc"), b(st + "leakage")
        br20 = b(st + "magnet.remanence")
        br = br20 * (1 + b(st + "magnet.drift") * dt)                              # A1
        bg = (1 - leak) * br / (1 + mu * kc * g / lm)                              # A2
        y = S // 2
        psi = min(arc, y * 2 * PI / S - b(ar + "slot_opening") / ra)
        phi0 = bg * (ra + g / 2) * psi * Le                                        # A3
        sat = y * b(ar + "saturation") * b(ar + "tooth_width") * Le * b(ar + "stacking")
        phi = phi0 * (1 + (phi0 / sat) ** 8) ** (-1 / 8)                           # A4
        self.kappa = commutation(S, phi0 / sat)                                    # A17
        self.S = S
        self.ke = S * N * phi / PI                                                 # A5
        r = copper(ta) * N * b(ar + "mean_turn") / (strands * PI / 4 * d * d)      # A6
        beta = min(1.0, S * b(st + "brush.arc") / PI)
        self.ra = r * ((1 - beta) * (S * S - 1) / (4 * S) + beta * (S - 1) / 4)    # A7
        self.la = (b(ar + "inductance") if b.has(ar + "inductance") else
                   MU0 * N * N * (ra + g / 2) * psi * Le / (2 * (kc * g + lm / mu)))  # A8
        self.tc, self.kv = b("motor.drag.constant"), b("motor.drag.viscous")       # A9
        self.vb = b(st + "brush.drop")                                             # A10
        di = d + 0.068e-3 * (d * 1e3) ** 0.6
        self.fill = 2 * N * strands * PI / 4 * di * di / b(ar + "slot_area")       # A11
        self.j = b(ar + "inertia")
        self.flux, self.bg = phi, bg
        # A15: opposing field at a current, and the coercivity it meets
        drift = b(st + "magnet.coercivity_drift", 0.003 if br20 < 0.5 else -0.006)
        hc = b(st + "magnet.coercivity") * (1 + drift * dt)

        def margin(i):
            h = (br - bg / (1 - leak)) / (MU0 * mu) + S * N * i / 4 * arc / PI / (lm + mu * kc * g)
            return 1 - h / hc
        self.margin_h = margin

    def _bench(self, b, ta):                                                       # A13
        p = "motor.bench."
        v, w0, i0 = b(p + "voltage"), b(p + "no_load_speed"), b(p + "no_load_current")
        self.vb = b(p + "brush_drop", 0.3)
        r = b(p + "resistance") if b.has(p + "resistance") else (v - self.vb) / b(p + "stall_current")
        tb = b(p + "temperature", 20 + ZERO)
        ke = (v - self.vb - r * i0) / w0
        self.kv = b("motor.drag.viscous", 0.0)
        self.tc = ke * i0 - self.kv * w0
        self.la = b(p + "inductance", 0.7e-3 * r)
        self.ra = r * copper(ta) / copper(tb)
        self.ke = ke * (1 + b(p + "drift", -0.001) * (ta - ZERO - 20)) / (1 + b(p + "drift", -0.001) * (tb - ZERO - 20))
        self.j = b(p + "inertia")
        self.S = int(b(p + "slots", 3.0))


# ---------------------------------------------------------------- battery, B

def _chen_ocv(s):
    return -1.031 * math.exp(-35 * s) + 3.685 + 0.2156 * s - 0.1178 * s * s + 0.3201 * s ** 3


def _afshar_ocv(s):
    # Afshar 2017; the positive electrode's fill is 1 − s
    x = 1 - s
    return 3.4077 - 0.020269 * x + 0.5 * math.exp(-150 * x) - 0.9 * math.exp(-30 * s)


NIMH = [1.2062, 1.2341, 1.2518, 1.2646, 1.2743, 1.2818, 1.2882, 1.2944, 1.3013, 1.3191, 1.3941]


def _table(xs, vs):
    def ocv(s):
        j = 0
        while j < len(xs) - 2 and s >= xs[j + 1]:
            j += 1
        return vs[j] + (vs[j + 1] - vs[j]) * (s - xs[j]) / (xs[j + 1] - xs[j])
    return ocv


class Pack:
    """B1 to B3, B6. Resistances and capacitances are those of the charge at
    the start of a shot; the open-circuit voltage follows the charge."""

    def __init__(self, b, ta):
        ns, npar = int(b("battery.series")), int(b("battery.parallel", 1.0))
        chem = b.raw("battery.chemistry")
        self.q = b("battery.capacity") * 3600
        self.s0 = b("battery.state_of_charge")
        self.reserve = b("battery.reserve", 0.2)
        self.knots = []
        if chem == "lithium-polymer":
            cell = _chen_ocv
        elif chem == "lithium-iron-phosphate":
            cell = _afshar_ocv
        elif chem == "nickel-metal-hydride":
            self.knots = [j / 10 for j in range(11)]
            cell = _table(self.knots, NIMH)
        elif chem == "custom":
            rows = b.raw("battery.ocv")
            self.knots = [quantity(r[0]) for r in rows]
            cell = _table(self.knots, [quantity(r[1]) for r in rows])
        else:
            raise ValueError(chem)
        if not self.knots or self.knots[0] > 0:
            self.knots = [0.0] + self.knots
        self.cell, self.ns = cell, ns
        s = self.s0
        rs = lambda z: 0.1562 * math.exp(-24.37 * z) + 0.07446
        scale = b("battery.resistance") / rs(1.0)
        arr = math.exp(b("battery.activation_energy", 20e3) / RGAS * (1 / ta - 1 / 298.15))
        kr = scale * arr * ns / npar
        kcap = npar / ns / scale
        self.r0 = kr * rs(s)
        self.r1 = kr * (0.3208 * math.exp(-29.14 * s) + 0.04669)
        self.r2 = kr * (6.603 * math.exp(-155.2 * s) + 0.04984)
        s = max(s, 0.02)  # where the fit of the capacitances falls to zero
        self.c1 = kcap * (-752.9 * math.exp(-13.51 * s) + 703.6)
        self.c2 = kcap * (-6056 * math.exp(-27.12 * s) + 4475)

    def ocv(self, s):
        return self.ns * self.cell(max(s, 0.0))


# ---------------------------------------------------------------- harness, C

class Harness:
    def __init__(self, b, ta):
        h = "harness."
        if b.has(h + "lead.area"):
            area = b(h + "lead.area")
        else:
            d = b(h + "lead.gauge")
            area = PI / 4 * d * d
        self.lead = copper(ta) * b(h + "lead.length") / area                       # C1
        self.conn = sum(quantity(c["resistance"]) for c in b.raw(h + "connectors", []) or [])
        self.mosfet = b.has(h + "switch.mosfet")
        self.braking, self.fly = False, 0.0
        if self.mosfet:                                                            # C5
            m = h + "switch.mosfet."
            self.sw = b(m + "resistance") * (1 + b(m + "drift", 0.005) * (ta - ZERO - 25))
            self.fly = b(m + "flyback_drop", 0.7)
            self.braking = bool(b.raw(m + "active_braking", False))
            self.delay = b(m + "brake_delay", 1e-3)
            self.rbrake = b(m + "brake_resistance", self.sw)
        else:                                                                      # C4
            m = h + "switch.contacts."
            if b.raw(m + "material") == "silver":
                rho, hard = 1.59e-8 * (1 + 0.0038 * (ta - ZERO - 20)), 0.6e9
            else:
                rho, hard = copper(ta), 0.9e9
            self.sw = rho / 2 * math.sqrt(PI * b(m + "hardness", hard) / b(m + "force"))
        self.r = self.lead + self.conn + self.sw


# ---------------------------------------------------------------- drivetrain, D, E

class Gun:
    def __init__(self, b, ta, motor):
        if b.has("gears.teeth"):                                                   # D1
            t = lambda k: b("gears.teeth." + k)
            self.G = t("bevel") / t("pinion") * t("spur") / t("bevel_pinion") * t("sector") / t("spur_pinion")
        else:
            self.G = b("gears.ratio")
        self.eta = b("gears.efficiency")
        jg = b("gears.inertia")
        self.churn = b("gears.churning", 0.0)
        Z, z, q = b("sector.full_teeth"), b("sector.teeth"), b("sector.removed", 0.0)
        self.rp = b("sector.module") * Z / 2                                       # D2
        self.th_n = 2 * PI / b("sector.lobes", 1.0)
        self.w = b("piston.spacer", 0.0)
        self.th_r = b("sector.engaged_angle") if b.has("sector.engaged_angle") else self.teeth(b, int(z - q))
        if not self.th_r < self.th_n:
            raise Refused("the sector releases behind the next lobe's pickup")
        if b.has("spring.rate"):                                                   # D3
            self.k, x0 = b("spring.rate"), b("spring.preload")
        else:
            self.k = (b("spring.modulus", 79.3e9) * b("spring.wire") ** 4
                      / (8 * b("spring.coil_diameter") ** 3 * b("spring.coils")))
            x0 = b("spring.free_length") - b("spring.installed_length")
        self.x0 = x0 + self.w
        self.mp, self.ms = b("piston.mass"), b("spring.mass")
        self.me = self.mp + self.ms / 3
        self.waves = bool(b.raw("spring.waves", True)) and self.ms >= self.mp / 1000   # D12
        self.ff = b("piston.drag")
        self.ffpull = b("piston.drag_pull", self.ff)                               # D11
        self.seal = b("piston.seal_area", 0.0)
        self.clear = b("piston.clear")
        self.th_p = self.w / self.rp                                               # D5
        self.s = self.rp * self.th_r - self.w
        self.jfree = motor.j + jg / self.G ** 2                                    # D6
        self.jpull = self.jfree + self.me * self.rp ** 2 / self.G ** 2
        self.tappet = None
        if b.has("tappet"):                                                        # D4
            a, c = b("tappet.from"), b("tappet.to")
            self.tappet = (a, c, b("tappet.work"))
            self.ttorque = self.tappet[2] / ((c - a) * self.G)
        self.start = b("trigger.start", 0.0)
        self.cutoff = b("trigger.cutoff")
        # E
        self.pa, self.ta = b("ambient.pressure"), ta
        cd = b("cylinder.discharge")
        self.bore, self.calibre = b("cylinder.bore"), b("barrel.bore")
        self.ac = PI / 4 * self.bore ** 2
        self.vd = b("cylinder.dead_volume")
        self.port = b("cylinder.port") - self.w if b.has("cylinder.port") else None
        self.aport = cd * b("cylinder.port_area", 0.0)
        self.anoz = cd * PI / 4 * b("cylinder.nozzle") ** 2
        self.aseal = b("cylinder.seal_leak", 0.0)
        bb, pd = self.calibre, b("pellet.diameter")
        self.ab = PI / 4 * bb * bb
        self.lb, self.vb0 = b("barrel.length"), b("barrel.breech_volume")
        self.aann = PI / 4 * (bb * bb - pd * pd) * b("barrel.clearance_discharge")
        self.amuz = self.ab * cd
        self.mb = b("pellet.mass")
        self.fhop, self.lhop = b("pellet.hop_force"), b("pellet.hop_length")
        self.fb = b("pellet.barrel_drag")
        self.walls1, self.walls2 = b("cylinder.wall_heat", 1.0), b("barrel.wall_heat", 1.0)   # E8
        air = b.raw("barrel.air", "moving")                                        # E9
        if air not in ("moving", "still"):
            raise ValueError(f"air {air!r}")
        self.air = air == "moving"

    def teeth(self, b, last):
        """D2 by H: the angle at which the last pair of teeth lets go."""
        m = b("sector.module")
        alpha = b("sector.pressure_angle", 20 * PI / 180)
        rp, rb = self.rp, self.rp * math.cos(alpha)
        hs = b("sector.addendum", 1.0) * m
        hr = b("rack.addendum") if b.has("rack.addendum") else hs
        ra = rp + hs
        lift = b("rack.lift", 0.0)
        thick = PI * m / 2 - b("rack.backlash", 0.1e-3) / 2
        count = int(b("rack.teeth", float(last)))
        if not 1 <= last <= count:
            raise Refused(f"{last} sector teeth, {count} rack teeth")
        down = [0.0] * count
        for d in b.raw("rack.taken_down", []) or []:
            down[int(d["tooth"]) - 1] = quantity(d["depth"])
        tips = [rp + lift - hr + d for d in down]
        inv = lambda a: math.tan(a) - a
        # Teeth that can't work: pointed at their tips, undercut, out of each other's reach.
        if thick / (2 * rp) + inv(alpha) - inv(math.acos(rb / ra)) <= 0 or thick - 2 * hr * math.tan(alpha) <= 0:
            raise Refused("pointed teeth")
        if rp - min(tips) > rp * math.sin(alpha) ** 2:
            raise Refused("the rack's teeth undercut the sector's")
        yt = tips[last - 1]
        if not yt < ra:
            raise Refused("the last rack tooth is out of the sector's reach")
        e0 = b("rack.pickup_offset", self.w)
        return (e0 + (last - 1) * PI * m + math.sqrt(ra * ra - yt * yt) + (yt - rp) * math.tan(alpha)) / rp

    def springs(self, x):
        return 0.5 * self.k * (self.x0 + x) ** 2


# ---------------------------------------------------------------- events

def _step_to(fun, solver_args, t0, y0, t1):
    """The state at t1, stepped there from t0 instead of interpolated."""
    if t1 <= t0:
        return y0.copy()
    s = DOP853(fun, t0, y0, t1, first_step=t1 - t0, **solver_args)
    while s.status == "running":
        s.step()
    return s.y


def advance(fun, t0, y0, t_end, events, rtol, atol, watch=None, record=(), first=None, tops=400000, keep=None):
    """Integrates until the first of the events, each a pair of a function of
    (t, y) and the direction of the crossing that counts; returns t, y, and the
    event's index or None at t_end. The event is located on the interpolant,
    then the step is repeated to it, twice if need be (F4). record holds
    functions whose falls through zero are noted and don't stop anything; keep
    is given each step's times and interpolant.
    """
    args = dict(rtol=rtol, atol=atol)
    solver = DOP853(fun, t0, y0, t_end, first_step=first, **args)
    g0 = [d * g(t0, y0) for g, d in events]
    r0 = [g(t0, y0) for g, _ in record]
    for _ in range(tops):
        yo, fo = solver.y, solver.f
        msg = solver.step()
        if solver.status == "failed":
            raise RuntimeError(msg)
        to, tn, yn = solver.t_old, solver.t, solver.y
        g1 = [d * g(tn, yn) for g, d in events]
        dense = None
        hit, te = None, tn
        for j, (a, c) in enumerate(zip(g0, g1)):
            if a < 0 <= c:
                dense = dense or solver.dense_output()
                g, d = events[j]
                root = tn if c == 0 else brentq(lambda t: d * g(t, dense(t)), to, tn, xtol=1e-16, rtol=1e-15)
                if hit is None or root < te:
                    hit, te = j, root
        ye = yn
        if hit is not None:
            g, d = events[hit]
            ye = _step_to(fun, args, to, yo, te)
            for _ in range(3):
                h = 1e-9 * max(tn - to, 1e-9)
                slope = (g(te + h, ye + h * fun(te, ye)) - g(te, ye)) / h
                if slope == 0:
                    break
                dt = -g(te, ye) / slope
                if not math.isfinite(dt) or abs(dt) > 0.01 * (tn - to) or abs(dt) < 1e-17:
                    break
                te2 = min(max(te + dt, to), t_end)
                if te2 == te:
                    break
                te, ye = te2, _step_to(fun, args, to, yo, te2)
        for j, (g, note) in enumerate(record):
            c = g(te, ye)
            if r0[j] > 0 >= c:
                dense = dense or solver.dense_output()
                note(te if c == 0 else brentq(lambda t: g(t, dense(t)), to, te, xtol=1e-16, rtol=1e-15))
            r0[j] = c
        if watch:
            watch(to, yo, fo, te, ye, solver)
        if keep:
            keep(to, te, dense or solver.dense_output())
        if hit is not None:
            return te, ye, hit
        if solver.status == "finished":
            return tn, yn, None
        g0 = g1
    raise RuntimeError("too many steps")


# ---------------------------------------------------------------- flight, E

_P1, _P2 = 2 / GAMMA, (GAMMA + 1) / GAMMA
_RC = (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1))


def _psi_raw(r):
    return math.sqrt(2 * GAMMA / (GAMMA - 1) * (r ** _P1 - r ** _P2))


_PSIC, _PSI999 = _psi_raw(_RC), _psi_raw(0.999)


def psi(r):
    if r <= _RC:
        return _PSIC
    if r > 0.999:
        return _PSI999 * (1 - r) * 1000
    return math.sqrt(2 * GAMMA / (GAMMA - 1) * (r ** _P1 - r ** _P2))


def flow(cda, pa, ta, pb, tb):
    """E3: mass flow from a to b, negative if it runs back."""
    if pa >= pb:
        return cda * pa / math.sqrt(RAIR * ta) * psi(pb / pa)
    return -cda * pb / math.sqrt(RAIR * tb) * psi(pa / pb)


def viscosity(t):
    """C2: Sutherland's viscosity of air."""
    return 1.716e-5 * (t / 273.15) ** 1.5 * 383.55 / (t + 110.4)


def conductivity(t):
    return 0.0241 * (t / 273.15) ** 1.5 * 467.15 / (t + 194)


T_LAYER = 2e-4     # from when on the layer at the cylinder's wall grows, E8


def layer(lam, rho, t):
    """E8: what a wall takes per area and kelvin through air that conducts."""
    return lam / math.sqrt(PI * lam / (rho * CP) * (t if t > T_LAYER else T_LAYER))


RE_TURN = 2300.0   # where a pipe's flow becomes turbulent, E8 and E9


def gnielinski(re, pr):
    f = (0.790 * math.log(re) - 1.64) ** -2
    return f / 8 * (re - 1000) * pr / (1 + 12.7 * math.sqrt(f / 8) * (pr ** (2 / 3) - 1))


def pipe_friction(re, turbulent):
    return 0.3164 / re ** 0.25 if turbulent else 64 / re


class Echo:
    """D12: what the spring's force is but for Z·v, which is what has run up the
    line and comes back. Call it W: before 2τ it is k·(x0+s) + k·v0·t − Z·v0, then
    W(t) = W(t − 2τ) + 2·Z·v(t − 2τ), so after n reflections the former at t − 2nτ
    and 2·Z·v(t − 2iτ) for each i from 1 to n. The speed is kept as a polynomial
    for each step, from the step's interpolant.
    """

    # Eight points settle the interpolant, which is of degree 7.
    AT = np.cos(PI * (np.arange(8) + 0.5) / 8)
    TO_POWERS = np.linalg.inv(np.vander(AT))

    def __init__(self, k, ms, stretched, v0):
        self.z = math.sqrt(k * ms)
        self.turn = 2 * math.sqrt(ms / k)   # 2τ
        self.f0, self.rise = k * stretched - self.z * v0, k * v0
        self.ends, self.pieces = [], []     # ends: a piece's end; a piece: middle, half its length, powers

    def keep(self, to, te, dense):
        mid, half = (to + te) / 2, (te - to) / 2
        if half > 0:
            v = dense(mid + half * self.AT)[1] if dense else np.zeros(8)
            self.ends.append(te)
            self.pieces.append((mid, half, (self.TO_POWERS @ v).tolist()))

    def speed(self, t):
        mid, half, c = self.pieces[min(bisect.bisect_left(self.ends, t), len(self.ends) - 1)]
        return float(np.polyval(c, (t - mid) / half))

    def between(self, ta, tb):
        """The force as a function of time from ta to tb, which lie in one 2τ and
        between two jumps that come back, so that each is seen from its side."""
        n = int((ta + 1e-12) / self.turn)
        turn, z2, f0, rise, pieces, ends = self.turn, 2 * self.z, self.f0, self.rise, self.pieces, self.ends
        spans = []
        for i in range(1, n + 1):
            lo = bisect.bisect_right(ends, ta - i * turn + 1e-13)
            hi = bisect.bisect_left(ends, min(tb, ta + turn) - i * turn - 1e-13)
            spans.append((i * turn, lo, max(lo, min(hi, len(ends) - 1))))

        def echo(t):
            v = 0.0
            for back, lo, hi in spans:
                u = t - back
                j = bisect.bisect_left(ends, u, lo, hi) if hi > lo else lo
                mid, half, c = pieces[j]
                x = (u - mid) / half
                v += ((((((c[0] * x + c[1]) * x + c[2]) * x + c[3]) * x + c[4]) * x + c[5]) * x + c[6]) * x + c[7]
            return f0 + rise * (t - n * turn) + z2 * v
        return echo


class Flight:
    """E1 to E9 with D11 and D12, from the rack's speed at release."""

    # A jump of v comes back as one of dv/dt, that as one of its derivative and so
    # on; from this derivative on they are too smooth to matter to a step.
    SMOOTH = 8

    def __init__(self, gun, speed, rtol=None):
        rtol = rtol or FLIGHT_RTOL
        g = self.g = gun
        self.exit_t = self.exit_v = self.home = self.impact_v = None
        self.impact = 0.0
        pa, ta = g.pa, g.ta
        rho = pa / (RAIR * ta)
        v1, v2 = g.ac * g.s + g.vd, g.vb0
        y = np.zeros(13)
        y[:8] = g.s, speed, 0.0, 0.0, rho * v1, pa * v1 / (GAMMA - 1), rho * v2, pa * v2 / (GAMMA - 1)
        u_start = y[5] + y[7]
        atol = np.array([1e-13, 1e-11, 1e-12, 1e-9, 1e-17, 1e-12, 1e-17, 1e-13, 1e-12, 1e-12, 1e-12, 1e-12, 1e-12]) * (rtol / 1e-11)
        loose = True
        open_ = g.port is not None and g.s > g.port
        moving, out, hop = False, False, g.lhop > 0
        self.homes = []
        t = 0.0
        kx, ac, vd, ff, ab, mb = g.k, g.ac, g.vd, g.ff, g.ab, g.mb
        x0, vb0, lb, seal = g.x0, g.vb0, g.lb, g.seal
        mass = g.mp if g.waves else g.me
        echo = self.echo = Echo(kx, g.ms, x0 + g.s, speed) if g.waves else None
        z_spring = echo.z if echo else 0.0
        bore, dia, c1, c2 = g.bore, g.calibre, g.walls1, g.walls2
        a_fixed = 2 * ac + 4 * vd / bore
        mu_a = viscosity(ta)
        tanh = math.tanh
        # Jumps, not kinks: turbulent flow past the barrel's wall (E8), and in the
        # two columns (E9), whose friction begins at 1 m/s. Each is a mode of its
        # own. What it does may drive the flow back to where it jumps; then the
        # flow stays there, slides, with so much of both modes as keeps it there.
        on = dict.fromkeys(("stir", "rub", "stir2", "stira"), False)
        slides = None
        # Times at which a step must end, with the lowest derivative of v that jumps there.
        due = [(T_LAYER, 2)] if c1 else []
        windows = 0

        def gas1(y):
            return (GAMMA - 1) * y[5] / (ac * y[0] + vd)

        def gas2(y):
            vol = vb0 + ab * (lb if out else y[2])
            u = y[7] - 0.5 * y[6] * y[3] ** 2 if g.air and moving else y[7]
            return (GAMMA - 1) * u / vol

        def re_wall(y):
            """E8's Reynolds number of the barrel."""
            p1, p2 = gas1(y), gas2(y)
            vol = vb0 + ab * y[2]
            t2 = p2 * vol / (y[6] * RAIR)
            n = flow(g.anoz, p1, y[5] / (y[4] * CV), p2, t2)
            return 0.5 * (y[6] / vol * (y[3] if moving else 0.0) + abs(n) / ab) * dia / viscosity((t2 + ta) / 2)

        def re_back(y):
            vol = vb0 + ab * y[2]
            return y[6] / vol * y[3] * dia / viscosity(gas2(y) * vol / (y[6] * RAIR))

        def re_front(y):
            return rho * y[3] * dia / mu_a

        jump = {"stir": lambda y: re_wall(y) - RE_TURN, "rub": lambda y: y[3] - 1.0,
                "stir2": lambda y: re_back(y) - RE_TURN, "stira": lambda y: re_front(y) - RE_TURN}

        while True:
            hold = (g.fhop if hop else 0.0) + g.fb
            aleak = g.aseal + (g.aport if open_ else 0.0)
            aend = g.amuz if out else g.aann
            stream = g.air and moving
            if echo and t >= windows * echo.turn - 1e-12:
                windows += 1
                due.append((windows * echo.turn, self.SMOOTH))
            while due and min(due)[0] <= t + 1e-12:
                when, rough = min(due)
                due.remove((when, rough))
                if echo and rough < self.SMOOTH:
                    due.append((when + echo.turn, rough + 1))
            t_end = min(due)[0] if due else t + 5.0
            if t > 5.0:
                raise RuntimeError("the flight does not end")
            back = echo.between(t, t_end) if echo else None

            def rate(t, y, stir, rub, stir2, stira):
                x, v, z, vb, m1, u1, m2, u2 = y[:8].tolist()
                vol1 = ac * x + vd
                vol2 = vb0 + ab * (lb if out else z)
                e2 = u2 - 0.5 * m2 * vb * vb if stream else u2
                if min(vol1, vol2, m1, m2, u1, e2) <= 0 or rub and vb <= 0:
                    return np.full(13, math.nan)   # a trial step too far: refuse it
                p1, p2 = (GAMMA - 1) * u1 / vol1, (GAMMA - 1) * e2 / vol2
                t1, t2 = u1 / (m1 * CV), e2 / (m2 * CV)
                n = flow(g.anoz, p1, t1, p2, t2)
                leak = flow(aleak, p1, t1, pa, ta)
                end = flow(aend, p2, t2, pa, ta)
                hn = n * CP * (t1 if n > 0 else t2)
                hl = leak * CP * (t1 if leak > 0 else ta)
                he = end * CP * (t2 if end > 0 else ta)
                dx = dv = dw = ds = 0.0
                if loose:
                    fs = back(t) + z_spring * v if back else kx * (x0 + x)
                    fr = ff
                    if seal and p1 > pa:
                        fr += seal * (p1 - pa)                                     # D11
                    fr *= tanh(v / 0.05)
                    dx = v
                    dv = (-fs + (p1 - pa) * ac - fr) / mass
                    dw, ds = fr * v, -fs * v
                q1 = q2 = 0.0
                if c1:                                                             # E8
                    lam = conductivity((t1 + ta) / 2)
                    q1 = c1 * layer(lam, m1 / vol1, t) * (a_fixed + PI * bore * x) * (t1 - ta)
                if c2 and not out:
                    tf = (t2 + ta) / 2
                    lam, nu = conductivity(tf), 3.66
                    if stir:
                        mu = viscosity(tf)
                        re = 0.5 * (m2 / vol2 * (vb if moving else 0.0) + abs(n) / ab) * dia / mu
                        if re < 1000:
                            return np.full(13, math.nan)
                        nu = gnielinski(re, CP * mu / lam)
                    lw = z + vb0 / ab
                    q2 = c2 * nu * lam / dia * (1 + (dia / lw) ** (2 / 3)) * PI * dia * lw * (t2 - ta)
                dz = dvb = work2 = dair = 0.0
                if moving:
                    dz = vb
                    if stream:                                                     # E9
                        rb = rf = 0.0
                        if rub:
                            r2 = m2 / vol2
                            rb = pipe_friction(r2 * vb * dia / viscosity(t2), stir2) / 4 * z / dia * r2 * vb * vb * ab
                            rf = pipe_friction(rho * vb * dia / mu_a, stira) / 2 * (lb - z) / dia * rho * vb * vb * ab
                        front = rho * ab * (lb - z)
                        dvb = ((p2 - pa) * ab - hold - rb - rf) / (mb + 0.5 * m2 + front)
                        work2 = (pa * ab + (mb + front) * dvb + hold + rb + rf) * vb
                        dair = (front * dvb + rb + rf) * vb
                    else:
                        dvb = ((p2 - pa) * ab - hold) / mb
                        work2 = p2 * ab * vb
                return np.array([dx, dv, dz, dvb, -n - leak, -hn - hl - q1 - p1 * ac * dx,
                                 n - end, hn - he - q2 - work2, hl + he, dw, q1 + q2, dair, ds])

            def drift(t, y, what, mode):
                """The rates in one mode of a jump, and how fast they leave it."""
                f = rate(t, y, **{**on, what: mode})
                h = 1e-7
                return f, (jump[what](y + h * f) - jump[what](y - h * f)) / (2 * h)

            def sliding(t, y):
                below, up = drift(t, y, slides, False)
                above, down = drift(t, y, slides, True)
                share = up / (up - down) if up > down else 0.0
                return below + share * (above - below)

            if slides:
                up, down = drift(t, y, slides, False)[1], drift(t, y, slides, True)[1]
                if not up > 0 > down:
                    on[slides], slides = up > 0, None
            fun = sliding if slides else lambda t, y, a=on["stir"], b=on["rub"], c=on["stir2"], d=on["stira"]: rate(t, y, a, b, c, d)

            ev, names = [], []

            def add(name, g_, d):
                ev.append((g_, d))
                names.append(name)

            lift = lambda t, y: (gas1(y) - pa) * ac - (back(t) if back else kx * x0)
            if not loose and lift(t, y) > 0:   # an echo has let go of it
                loose = True
            if loose:
                add("stop", lambda t, y: y[0], -1)
                if g.port is not None:
                    add("port", lambda t, y: y[0] - g.port, -1 if open_ else 1)
            else:
                add("lift", lift, 1)
            if moving:
                add("out", lambda t, y: y[2] - lb, 1)
                if hop:
                    add("hop", lambda t, y: y[2] - g.lhop, 1)
                add("stuck", lambda t, y: y[3], -1)
            elif not out:
                add("free", lambda t, y: (gas2(y) - pa) * ab - hold, 1)
            jumps = (["stir"] if c2 and not out else []) + (["rub"] if stream else []) + (["stir2", "stira"] if stream and on["rub"] else [])
            for what in jumps:
                if what == slides:
                    add("below", lambda t, y, what=what: drift(t, y, what, False)[1], -1)
                    add("above", lambda t, y, what=what: drift(t, y, what, True)[1], 1)
                else:
                    add(what, lambda t, y, what=what: jump[what](y), -1 if on[what] else 1)
            done = not loose and not moving
            if done:
                # no pressure can rise above the higher of the two; the spring is
                # taken at its rest's force, whatever still runs in it (D12)
                lim = kx * x0 / ac
                if not out:
                    lim = min(lim, hold / ab)
                if max(gas1(y), gas2(y)) - pa < lim:
                    break
                add("quiet", lambda t, y: max(gas1(y), gas2(y)) - pa - lim, -1)
            record = [(lambda t, y: y[0] - g.clear, self.homes.append)] if loose else []

            def keep(to, te, dense):
                echo.keep(to, te, dense if loose else None)

            t, y, j = advance(fun, t, y, t_end, ev, rtol, atol, record=record, first=min(1e-8, t_end - t),
                              keep=keep if echo else None)
            y = y.copy()
            if j is None:
                continue
            what = names[j]
            if what == "quiet":
                break
            if echo:
                due.append((t + echo.turn, {"stop": 1, "lift": 2}.get(what, 3)))
            if what == "stop":
                if self.impact_v is None:
                    self.impact_v = -y[1]
                self.impact += 0.5 * mass * y[1] ** 2
                y[0] = y[1] = 0.0
                loose = lift(t, y) > 0
            elif what == "lift":
                y[0] = y[1] = 0.0
                loose = True
            elif what == "port":
                y[0] = g.port
                open_ = not open_
            elif what == "free":
                y[3] = 0.0
                moving = True
            elif what == "hop":
                y[2] = g.lhop
                hop = False
            elif what == "stuck":
                y[3] = 0.0
                moving = False
            elif what == "out":
                y[2] = lb
                self.exit_t, self.exit_v = t, y[3]
                moving, out, hop = False, True, False
            elif what in ("below", "above"):
                on[slides], slides = what == "above", None
            elif what in jump:
                on[what] = not on[what]
                if what == "rub":
                    on["stir2"], on["stira"] = (on["rub"] and jump[k](y) > 0 for k in ("stir2", "stira"))
                leaves = drift(t, y, what, on[what])[1]
                if leaves < 0 if on[what] else leaves > 0:
                    if slides:
                        raise RuntimeError("two jumps at once hold the flow")
                    slides = what
            if slides and slides != "stir" and not (moving and on["rub"]) or out:
                slides = None
        self.end = t
        z = y[2]
        if self.homes:
            self.home = self.homes[-1]
        dvol = -ac * g.s + ab * (lb if out else z)
        self.rows = {
            "piston_drag": y[9], "impact": self.impact,
            "air": y[5] + y[7] - u_start + y[8] + pa * dvol + y[11],
            "walls": y[10],
            "surge": g.springs(g.s) - g.springs(0.0) + g.ms / 6 * speed ** 2 - y[12] if echo else 0.0,
            "barrel": g.fhop * min(z, g.lhop) + g.fb * z,
            "pellet": 0.5 * mb * self.exit_v ** 2 if self.exit_v else 0.0,
        }


# ---------------------------------------------------------------- cycle, F

I, W, TH, V1, V2, SOC, QB, Q2, EB, QA, QW, WW, QC, RC = range(14)
ROWS = ["battery", "winding", "brush", "motor_drag", "pack", "leads", "connectors", "switch",
        "mesh", "tappet", "pickup", "piston_drag", "impact", "air", "walls", "surge", "barrel", "pellet", "stored"]
ATOL = np.array([1e-12, 1e-9, 1e-12, 1e-13, 1e-13, 1e-15, 1e-13, 1e-11, 1e-12, 1e-13, 1e-11, 1e-8, 1e-9, 1e-14])


class Stall(Exception):
    pass


class Machine:
    def __init__(self, tree):
        b = Keys(tree)
        self.b = b
        self.ta = b("ambient.temperature")
        self.motor = Motor(b, self.ta)
        self.pack = Pack(b, self.ta)
        self.har = Harness(b, self.ta)
        self.gun = Gun(b, self.ta, self.motor)
        self.mode = b.raw("trigger.mode")

    def pull_load(self, x):
        g = self.gun
        return (g.k * (g.x0 + x) + g.ffpull) * g.rp / (g.G * g.eta)

    def run(self, i=0.0, w=0.0, th=None, held=False, cutoff=None):
        """Runs from a pull: to the pickup after the first release, or, with a
        cut-off, to rest. Returns a dict of what happened."""
        g, m, p, h = self.gun, self.motor, self.pack, self.har
        th = g.th_p if th is None else th
        y = np.zeros(14)
        y[I], y[W], y[TH], y[SOC] = i, w, th, p.s0
        row = dict.fromkeys(ROWS, 0.0)
        out = dict(rows=row, releases=[], peak=max(i, 0.0), vmin=math.inf, charge=0.0, q2=0.0, brake=0.0)
        path, sgn, pull, lobe = "closed", 1, True, 0
        turning = w > 0
        t, t_brake, braked = 0.0, None, False
        wnl = (p.ocv(p.s0) - m.vb) / m.ke
        ns, cell = p.ns, p.cell
        ra, la, ke, vb, tc, kv, rcom = m.ra, m.la, m.ke, m.vb, m.tc, m.kv, m.rcom
        hold_v = p.ocv(p.s0)

        def energy(y, pull, lobe):
            x = g.rp * (y[TH] - lobe * g.th_n) - g.w if pull else 0.0
            j = g.jpull if pull else g.jfree
            return (0.5 * j * y[W] ** 2 + 0.5 * la * y[I] ** 2 + g.springs(x)
                    + 0.5 * p.c1 * y[V1] ** 2 + 0.5 * p.c2 * y[V2] ** 2)

        e0 = energy(y, pull, lobe)

        while True:
            # where the next kink of the load stands
            th = y[TH]
            stops = [lobe * g.th_n + g.th_r] if pull else [(lobe + 1) * g.th_n + g.th_p]
            tap = 0.0
            if g.tappet:
                a, c, _ = g.tappet
                for kk in range(lobe - 2, lobe + 3):
                    lo, hi = kk * g.th_n + a, kk * g.th_n + c
                    if lo <= th < hi:
                        tap = g.ttorque
                    for edge in (lo, hi):
                        if edge > th:
                            stops.append(edge)
            if cutoff is not None and path == "closed":
                stops.append(cutoff)
            target = min(stops)
            j = g.jpull if pull else g.jfree
            if pull:
                base = self.pull_load(-g.w - g.rp * lobe * g.th_n) + tap
                slope = g.k * g.rp * g.rp / (g.G * g.eta)
            else:
                base, slope = tap, 0.0
            ch = g.churn / (g.G * g.G)
            closed = path == "closed"
            rext = p.r0 + h.r if closed else (h.rbrake if path == "brake" else 0.0)
            vext = -h.fly if path == "diode" else 0.0

            # latched: does the shaft turn, or is it a stall (D8)?
            if not turning:
                load = tc + base + slope * y[TH]
                if closed:
                    v = hold_v if held else p.ocv(y[SOC]) - y[V1] - y[V2]
                    ist = (v - vb) / (ra + p.r0 + h.r)
                    if m.ke * ist <= load:
                        out.update(stall=dict(angle=y[TH], current=ist, time=t),
                                   peak=max(out["peak"], ist), vmin=min(out["vmin"], v - p.r0 * ist))
                        return out
                    if m.ke * y[I] > load:
                        turning = True
                else:
                    break   # at rest: no current without the switch can start it again

            def fun(t, y, c=closed):
                i, w, th, v1, v2, s = y.tolist()[:6]
                ocv = hold_v if held else ns * cell(s if s > 0 else 0.0)
                rc = rcom * w
                di = 0.0
                if sgn:
                    volt = ocv - v1 - v2 if c else vext
                    di = (volt - (ra + rc + rext) * i - sgn * vb - ke * w) / la
                dw = (ke * i - tc - (kv + ch) * w - base - slope * th) / j if turning else 0.0
                ib = i if c else 0.0
                if held:
                    d1 = d2 = ds = rr = 0.0
                else:
                    d1 = (ib - v1 / p.r1) / p.c1
                    d2 = (ib - v2 / p.r2) / p.c2
                    ds = -ib / p.q
                    rr = v1 * v1 / p.r1 + v2 * v2 / p.r2
                return np.array([di, dw, w / g.G if turning else 0.0, d1, d2, ds,
                                 ib, ib * ib, ocv * ib, abs(i), i * i, w * w, rc * i * i, rr])

            ev, names = [], []

            def add(name, g_, d):
                ev.append((g_, d))
                names.append(name)

            if turning:
                add("angle", lambda t, y: y[TH] - target, 1)
                floor = 1e-6 * wnl if held else 0.0
                add("stop", lambda t, y: y[W] - floor, -1)
            elif closed or path == "brake" or path == "diode":
                add("go", lambda t, y: ke * y[I] - tc - base - slope * y[TH], 1)
            if sgn:
                add("zero", lambda t, y: y[I], -sgn)
            elif closed:
                gap = lambda y: (hold_v if held else p.ocv(y[SOC])) - y[V1] - y[V2] - ke * y[W]
                add("draw", lambda t, y: gap(y) - vb, 1)
                add("feed", lambda t, y: gap(y) + vb, -1)
            if not held and closed:
                for kn in p.knots:   # kinks of an OCV table
                    add("knot", lambda t, y, kn=kn: y[SOC] - kn, -1)

            def vterm(y):
                return (hold_v if held else p.ocv(y[SOC])) - y[V1] - y[V2] - p.r0 * y[I]

            def watch(to, yo, fo, te, ye, solver):
                if path == "brake":
                    out["brake"] = max(out["brake"], -yo[I], -ye[I])
                    if fo[I] < 0 < fun(te, ye)[I]:
                        dense = solver.dense_output()
                        r = minimize_scalar(lambda t: dense(t)[I], bounds=(to, te), method="bounded",
                                            options=dict(xatol=1e-6 * (te - to)))
                        out["brake"] = max(out["brake"], -r.fun)
                if not closed:
                    return
                out["peak"] = max(out["peak"], yo[I], ye[I])
                out["vmin"] = min(out["vmin"], vterm(yo), vterm(ye))
                fe = fun(te, ye)
                if fo[I] > 0 > fe[I]:
                    dense = solver.dense_output()
                    r = minimize_scalar(lambda t: -dense(t)[I], bounds=(to, te), method="bounded",
                                        options=dict(xatol=1e-6 * (te - to)))
                    out["peak"] = max(out["peak"], -r.fun)

                def dv(y, f):
                    e = 1e-9 * (te - to)
                    return (vterm(y + e * f) - vterm(y - e * f))
                if dv(yo, fo) < 0 < dv(ye, fe) or fo[I] > 0 > fe[I]:
                    dense = solver.dense_output()
                    r = minimize_scalar(lambda t: vterm(dense(t)), bounds=(to, te), method="bounded",
                                        options=dict(xatol=1e-6 * (te - to)))
                    out["vmin"] = min(out["vmin"], r.fun)

            y = y.copy()
            y[QB:] = 0.0
            ys = y.copy()
            t_end = t + 20.0
            if t_brake is not None and not braked:
                t_end = t_brake
            ts = t
            if t_end > t:
                t, y, hit = advance(fun, t, y, t_end, ev, RTOL, ATOL, watch=watch)
            else:
                hit = None
            y = y.copy()
            what = names[hit] if hit is not None else "time"
            if what == "angle":
                y[TH] = target

            # the books of this stretch
            dth = y[TH] - ys[TH]
            row["battery"] += y[EB]
            row["winding"] += ra * y[QW]
            row["brush"] += vb * y[QA] + y[QC]
            row["motor_drag"] += tc * g.G * dth + kv * y[WW]
            row["pack"] += p.r0 * y[Q2] + y[RC]
            row["leads"] += h.lead * y[Q2]
            row["connectors"] += h.conn * y[Q2]
            row["switch"] += h.sw * y[Q2]
            if path == "diode":
                row["switch"] += h.fly * y[QA]
            if path == "brake":
                row["switch"] += h.rbrake * y[QW]
            row["mesh"] += ch * y[WW]
            row["tappet"] += tap * g.G * dth
            if pull:
                xa = g.rp * (ys[TH] - lobe * g.th_n) - g.w
                xb = g.rp * (y[TH] - lobe * g.th_n) - g.w
                work = g.springs(xb) - g.springs(xa) + g.ffpull * (xb - xa)
                row["mesh"] += (1 / g.eta - 1) * work
                row["piston_drag"] += g.ffpull * (xb - xa)
            out["charge"] += y[QB]
            out["q2"] += y[Q2]

            # what comes next
            if what == "angle":
                if cutoff is not None and path == "closed" and target == cutoff:
                    out["opened"] = (t, target)
                    if h.mosfet:
                        path = "diode"
                        if h.braking:
                            t_brake = t + h.delay
                        if y[I] <= 0:
                            sgn, y[I] = 0, 0.0
                    else:
                        row["switch"] += 0.5 * la * y[I] ** 2
                        y[I], sgn, path = 0.0, 0, "open"
                if pull and target == lobe * g.th_n + g.th_r:
                    speed = g.rp * y[W] / g.G
                    out["releases"].append((t, speed))
                    pull = False
                elif not pull and target == (lobe + 1) * g.th_n + g.th_p:
                    before = y[W]
                    y[W] *= g.jfree / g.jpull
                    row["pickup"] += 0.5 * g.jfree * before ** 2 * (1 - g.jfree / g.jpull)
                    pull = True
                    lobe += 1
                    if lobe > 200:
                        raise RuntimeError("neither a steady cycle nor a stall")
                    if cutoff is None:
                        out.update(t=t, i=y[I], w=y[W], before=before)
                        break
            elif what == "stop":
                y[W], turning = 0.0, False
                out["rest"] = t
            elif what == "go":
                turning = True
            elif what == "zero":
                y[I] = 0.0
                if closed:
                    gap0 = (hold_v if held else p.ocv(y[SOC])) - y[V1] - y[V2] - ke * y[W]
                    sgn = 1 if gap0 > vb else -1 if gap0 < -vb else 0
                elif path == "brake" and sgn > 0 and ke * y[W] > vb:
                    sgn = -1
                else:
                    sgn = 0
            elif what == "draw":
                sgn = 1
            elif what == "feed":
                sgn = -1
            elif what == "time":
                if t_brake is not None and not braked:
                    braked, path = True, "brake"
                    if sgn == 0 and ke * y[W] > vb:
                        sgn = -1
                else:
                    raise RuntimeError("neither a shot nor rest")
        row["stored"] = energy(y, pull, lobe) - e0
        out["theta"], out["pull"] = y[TH], pull
        return out

    # -------------------------------------------------- steady cycle, F5

    def steady(self, i, w):
        z = np.array([i, w])
        scale = np.array([1.0, 100.0])

        def step(z):
            r = self.run(i=float(z[0]), w=float(z[1]), held=True)
            if "stall" in r:
                return r, None
            return r, (np.array([r["i"], r["w"]]) - z) / scale
        jac = -np.eye(2)
        r, f = step(z)
        for n in range(40):
            if f is None:
                return r
            off = np.max(np.abs(f) * scale / np.maximum(np.abs(z), 1.0))
            if off < 1e-11 or (n > 8 and off < 1e-9):   # the latter is F5's
                return r
            dz = -np.linalg.solve(jac, f)
            zn = z + dz * scale
            if not zn[1] > 0:
                zn, dz, jac = z + f * scale, f, -np.eye(2)
            r, fn = step(zn)
            if fn is None:
                return r
            if np.linalg.norm(fn) > 2 * np.linalg.norm(f):   # back to the plain map
                jac = -np.eye(2)
            elif np.linalg.norm(dz) > 1e-11:
                jac = jac + np.outer(fn - f - jac @ dz, dz) / (dz @ dz)
            z, f = zn, fn
        raise RuntimeError("no steady cycle")


# ---------------------------------------------------------------- figures, I

FIGURES = """rate_of_fire_hz period_s trigger_delay_s free_time_s time_to_home_s pme_margin_s pme_rate_of_fire_hz
muzzle_velocity_m_s muzzle_energy_j swept_volume_m3 barrel_volume_m3 piston_impact_m_s stroke_m spring_energy_j
spring_peak_force_n current_peak_a current_mean_a current_rms_a inrush_a pack_voltage_min_v charge_per_shot_c
shots_per_charge overspin_rad stop_angle_rad stop_phase time_to_rest_s stall_angle_rad stall_current_a stall_time_s
second_shot overall_efficiency demagnetisation_margin brake_current_a commutation""".split()

TARGETS = {"rate_of_fire": "rate_of_fire_hz", "muzzle_velocity": "muzzle_velocity_m_s",
           "muzzle_energy": "muzzle_energy_j", "trigger_delay": "trigger_delay_s", "pme_margin": "pme_margin_s"}


def figures(tree):
    """All figures of one build, in the keys of the command's document."""
    mc = Machine(tree)
    g, m, p = mc.gun, mc.motor, mc.pack
    f = dict.fromkeys(FIGURES)
    f["commutation"] = m.kappa
    f["stroke_m"] = g.s
    f["spring_energy_j"] = 0.5 * g.k * ((g.x0 + g.s) ** 2 - g.x0 ** 2)
    f["spring_peak_force_n"] = g.k * (g.x0 + g.s)
    f["swept_volume_m3"] = g.ac * (g.s if g.port is None else min(g.port, g.s))
    f["barrel_volume_m3"] = g.ab * g.lb
    ledger = dict.fromkeys(ROWS + ["residual"])
    premature = False
    th0 = g.th_p + g.start
    single = mc.mode == "single"

    cutoff = None
    if single:
        cutoff = g.cutoff
        while cutoff <= th0:
            cutoff += g.th_n
    first = mc.run(th=th0, cutoff=cutoff)
    f["inrush_a"] = first["peak"]
    steady = None
    stalled = first if "stall" in first else None
    if not stalled and not single:
        steady = mc.steady(first["i"], first["w"])
        if "stall" in steady:
            # The first shot came round, the cycle does not: the train stands
            # where the first turns, with the pack that follows, come to rest.
            stalled = mc.run(th=th0, cutoff=math.inf)

    def in_lobe(a):
        """A sector angle counted in its lobe, from pickup to pickup."""
        while a >= g.th_n + g.th_p:
            a -= g.th_n
        return a

    def shot(fl):
        f["muzzle_velocity_m_s"] = fl.exit_v
        f["muzzle_energy_j"] = 0.5 * g.mb * fl.exit_v ** 2 if fl.exit_v else None
        f["time_to_home_s"] = fl.home
        f["piston_impact_m_s"] = fl.impact_v

    def close(rows, flights):
        for fl in flights:
            for k, v in fl.rows.items():
                rows[k] += v
        for k in ROWS:
            ledger[k] = rows[k]
        ledger["residual"] = rows["battery"] - sum(rows[k] for k in ROWS[1:])
        f["overall_efficiency"] = rows["pellet"] / rows["battery"] if f["muzzle_velocity_m_s"] is not None else None

    if stalled:
        outcome = "stall"
        st = stalled["stall"]
        f.update(stall_angle_rad=in_lobe(st["angle"]), stall_current_a=st["current"], stall_time_s=st["time"],
                 inrush_a=max(first["peak"], stalled["peak"]), current_peak_a=max(first["peak"], stalled["peak"]),
                 pack_voltage_min_v=min(first["vmin"], stalled["vmin"]))
        if stalled["releases"]:
            t_r, v_r = stalled["releases"][0]
            fl = Flight(g, v_r)
            if fl.exit_t is not None:
                f["trigger_delay_s"] = t_r + fl.exit_t
            if single:
                shot(fl)   # quoted are the first shot's
    elif single:
        outcome = "single"
        flights = [Flight(g, v) for _, v in first["releases"]]
        if flights:
            t_r = first["releases"][0][0]
            shot(flights[0])
            if flights[0].exit_t is not None:
                f["trigger_delay_s"] = t_r + flights[0].exit_t
        f["current_peak_a"] = first["peak"]
        f["pack_voltage_min_v"] = first["vmin"]
        f["brake_current_a"] = first["brake"]
        f["charge_per_shot_c"] = first["charge"]
        f["overspin_rad"] = first["theta"] - first["opened"][1]
        f["stop_angle_rad"] = in_lobe(first["theta"])
        f["stop_phase"] = "pull" if first["pull"] else "free"
        f["time_to_rest_s"] = first["rest"]
        f["second_shot"] = len(first["releases"]) > 1
        close(first["rows"], flights)
    else:
        outcome = "steady"
        r = steady
        period = r["t"]
        fl1 = Flight(g, first["releases"][0][1])
        fl = Flight(g, r["releases"][0][1])
        shot(fl)
        if fl1.exit_t is not None:
            f["trigger_delay_s"] = first["releases"][0][0] + fl1.exit_t
        f["period_s"] = period
        f["rate_of_fire_hz"] = 1 / period
        free = f["free_time_s"] = period - r["releases"][0][0]
        if fl.home is not None:
            f["pme_margin_s"] = free - fl.home
            f["pme_rate_of_fire_hz"] = free / fl.home / period
            premature = fl.home > free
        f["current_peak_a"] = r["peak"]
        f["current_mean_a"] = r["charge"] / period
        f["current_rms_a"] = math.sqrt(r["q2"] / period)
        f["pack_voltage_min_v"] = min(first["vmin"], r["vmin"])
        f["charge_per_shot_c"] = r["charge"]
        close(r["rows"], [fl])
    if f["charge_per_shot_c"]:
        f["shots_per_charge"] = (1 - p.reserve) * p.q / f["charge_per_shot_c"]
    if m.margin_h:
        f["demagnetisation_margin"] = m.margin_h(f["inrush_a"])

    verdict = []
    for what, lim in (mc.b.raw("target") or {}).items():
        v = f[TARGETS[what]]
        lo = quantity(lim["min"]) if "min" in lim else None
        hi = quantity(lim["max"]) if "max" in lim else None
        ok = None if v is None else (lo is None or v >= lo) and (hi is None or v <= hi)
        verdict.append(dict(what=what, value=v, min=lo, max=hi, ok=ok))

    doc = dict(build=tree.get("name"), mode=mc.mode, outcome=outcome, premature=premature, **f)
    doc["motor"] = dict(ke_v_s=m.ke, resistance_ohm=m.ra, inductance_h=m.la, inertia_kg_m2=m.j,
                        tooth_flux_wb=m.flux, gap_flux_density_t=m.bg, slot_fill=m.fill)
    doc["ledger_j"] = ledger
    doc["verdict"] = verdict
    return doc

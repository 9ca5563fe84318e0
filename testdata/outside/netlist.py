#!/usr/bin/env python3
"""The single shot as a circuit: ngspice against `ampstroke cycle`.

A second opinion from outside: a build file is drawn as one netlist, ngspice
solves it, and currents, speeds and event times are held against the command's
trace and JSON. What is checked is how the equations are put together and
integrated: modes, events, pickup, freewheel, brake, latch. Nobody's product
and no measured gun stands behind it, and the flight has no part in it.

    python3 netlist.py AMPSTROKE [-o spice.json] [-k DIRECTORY]

AMPSTROKE is the built command. Exit status: 0 all within tolerance, 1 some
not, or a difference that doesn't fall when the engine is tightened, 2 usage.

Analogy (mobility): a speed is a voltage, a torque a current, an inertia a
capacitance. Everything that the command treats as a mode is a part here:

    latch (D8)         a diode across the shaft's capacitance: no speed below 0
    rack, piston (D6)  a second capacitance, me·rp²/G², joined to the shaft by a
                       switch in the pull. Discharged in the free phase, joined
                       at pickup: charge is shared, energy lost, which is D7
    brush drop (A10)   two diodes, one each way, each with Vb behind it
    flyback diode (C5) a diode with the drop behind it
    contacts (F3)      a switch that opens to 1 Mohm
    brake (C5)         a switch across the motor, closed by a timer
    sector angle       the voltage of an integrator; never wrapped

From where the numbers are: every one is computed here from the build file by
the equations of the reference model, whose tags stand beside them: motor
A1-A9, A16 and A17, pack B1-B3 (published cell: Chen & Rincon-Mora 2006), harness
A6, C1, C4, C5, train D1-D6, D9, D10, D11, release D2. Nothing is taken from the command but the
figures that are compared, and the time to rest, for how long the engine runs.
Its motor object is only held against the Ke, Ra, La found here, to 1e-9. A
piston is taken to be home when the next pickup comes (F8 counts on that too).
"""
import argparse
import bisect
import csv
import json
import math
import os
import re
import struct
import subprocess
import sys
import tempfile
import time

import yaml

HERE = os.path.dirname(os.path.abspath(__file__))

# name, build file seen from the tree's root, --set. Their commutation is the
# motor's own (A17) but for the last, which has none. Ferrite: contacts, spacer,
# parallel cells, warm air, a drag of its own in the pull, three shots for one
# pull. Two-lobe: start part-way, tappet, churning, second shot.
DEMO, FERRITE, TWO_LOBE = ("testdata/reference/full/" + n + ".yaml" for n in ("demo", "ferrite", "two-lobe"))
CASES = [
    ("demo", DEMO, []),
    ("demo, braking", DEMO, ["harness.switch.mosfet.active_braking=true"]),
    ("ferrite", FERRITE, []),
    ("two-lobe", TWO_LOBE, []),
    ("two-lobe, braking", TWO_LOBE, ["harness.switch.mosfet.active_braking=true", "motor.commutation=0 %"]),
]

UNITS = {
    "": 1, "%": 1e-2, "s": 1, "ms": 1e-3, "V": 1, "mohm": 1e-3, "ohm": 1, "uH": 1e-6, "H": 1,
    "T": 1, "%/K": 1e-2, "m": 1, "mm": 1e-3, "deg": math.pi / 180, "rad": 1, "mm2": 1e-6,
    "cm3": 1e-6, "g": 1e-3, "g cm2": 1e-7, "mN m": 1e-3, "N m": 1, "N m s": 1, "N": 1, "N/m": 1,
    "GPa": 1e9, "mAh": 3.6, "Ah": 3600, "mJ": 1e-3, "J": 1, "kJ/mol": 1e3, "kPa": 1e3,
}


def q(value, default=None):
    """A quantity of the build file in SI units; degrees Celsius stay."""
    if value is None:
        if default is None:
            raise KeyError("a value that the netlist needs is not in the build")
        return default
    if not isinstance(value, str):
        return float(value)
    m = re.fullmatch(r"\s*([-+0-9.eE]+)\s*(.*?)\s*", value)
    number, unit = float(m.group(1)), m.group(2)
    if unit == "degC":
        return number
    if unit == "AWG":
        return 0.127e-3 * 92 ** ((36 - number) / 39)  # C1
    return number * UNITS[unit]


def copper(t):
    return 1e-6 / 58 * (1 + 0.00393 * (t - 20))  # A6, IEC 60028


def release(se, rack, w):
    """D2: the sector angle at which the last tooth's corner leaves its rack tooth."""
    if "engaged_angle" in se:
        return q(se["engaged_angle"])
    m, last = q(se["module"]), q(se["teeth"]) - q(se.get("removed"), 0.0)
    slope, rp = math.tan(q(se.get("pressure_angle"), math.pi / 9)), m * q(se["full_teeth"]) / 2
    high = q(se.get("addendum"), 1.0) * m
    down = sum(q(d["depth"]) for d in rack.get("taken_down", []) if d["tooth"] == last)
    tip = q(rack.get("lift"), 0.0) - q(rack.get("addendum"), high) + down  # above the pitch line
    corner = math.sqrt((rp + high) ** 2 - (rp + tip) ** 2)
    return (q(rack.get("pickup_offset"), w) + (last - 1) * math.pi * m + corner + tip * slope) / rp


def values(path, sets):
    """The circuit's values, from the build by the model's equations."""
    with open(path, encoding="utf-8") as f:
        b = yaml.safe_load(f)
    for s in sets:
        key, value = s.split("=", 1)
        at = b
        *way, last = key.split(".")
        for k in way:
            at = at[k]
        at[last] = yaml.safe_load(value)
    c = {}
    t = q(b["ambient"]["temperature"])  # F5: every part at ambient

    # Motor, A1-A9 and A16.
    st, ar, drag = b["motor"]["stator"], b["motor"]["armature"], b["motor"]["drag"]
    mg = st["magnet"]
    lm, g, kc, mu = q(mg["thickness"]), q(st["air_gap"]), q(st["carter"]), q(mg["permeability"])
    br = q(mg["remanence"]) * (1 + q(mg["drift"]) * (t - 20))
    bg = (1 - q(st["leakage"])) * br / (1 + mu * kc * g / lm)
    S, N = int(ar["slots"]), q(ar["turns"])
    y = S // 2
    ra, le = q(ar["rotor_diameter"]) / 2, q(ar["stack_length"])
    psi = min(q(mg["arc"]), y * 2 * math.pi / S - q(ar["slot_opening"]) / ra)
    flux0 = bg * (ra + g / 2) * psi * le
    sat = y * q(ar["saturation"]) * q(ar["tooth_width"]) * le * q(ar["stacking"])
    flux = flux0 * (1 + (flux0 / sat) ** 8) ** (-1 / 8)
    c["Ke"] = S * N * flux / math.pi
    area = math.pi / 4 * q(ar["wire"]) ** 2
    r = copper(t) * N * q(ar["mean_turn"]) / (q(ar["strands"]) * area)
    beta = min(1, S * q(st["brush"]["arc"]) / math.pi)
    c["Ra"] = r * ((1 - beta) * (S * S - 1) / (4 * S) + beta * (S - 1) / 4)
    c["La"] = 4e-7 * math.pi * N * N * (ra + g / 2) * psi * le / (2 * (kc * g + lm / mu))
    c["Vb"] = q(st["brush"]["drop"])
    share = b["motor"].get("commutation", "auto")
    if share == "auto":
        share = 4 / (S + 1) * (0.35 + 0.65 * (1 + (flux0 / sat) ** 8) ** (-9 / 8))  # A17
    c["Kcom"] = q(share) * S * c["La"] / (2 * math.pi)
    c["Tc"], c["kv"] = q(drag["constant"]), q(drag["viscous"])
    jm = q(ar["inertia"])

    # Pack, B1-B3. R and C are those of the charge at the shot's start; the
    # open-circuit voltage follows the running charge.
    pk = b["battery"]
    if pk["chemistry"] != "lithium-polymer":
        raise ValueError("only the lithium-polymer cell is drawn")
    ns, np_, s = q(pk["series"]), q(pk["parallel"]), q(pk["state_of_charge"])
    scale = q(pk["resistance"]) / (0.1562 * math.exp(-24.37) + 0.07446)
    warm = math.exp(q(pk.get("activation_energy"), 20e3) / 8.314462618 * (1 / (t + 273.15) - 1 / 298.15))
    for name, a, rate, end in (("R0", 0.1562, 24.37, 0.07446), ("R1", 0.3208, 29.14, 0.04669), ("R2", 6.603, 155.2, 0.04984)):
        c[name] = scale * warm * (a * math.exp(-rate * s) + end) * ns / np_
    for name, a, rate, end in (("C1", -752.9, 13.51, 703.6), ("C2", -6056, 27.12, 4475)):
        c[name] = (a * math.exp(-rate * s) + end) / scale * np_ / ns
    c["ns"], c["s"], c["Q"] = ns, s, q(pk["capacity"])

    # Harness, C1, C4, C5.
    hs = b["harness"]
    lead, sw = hs["lead"], hs["switch"]
    a = q(lead["area"]) if "area" in lead else math.pi / 4 * q(lead["gauge"]) ** 2
    c["Rlead"] = copper(t) * q(lead["length"]) / a
    c["Rconn"] = [q(x["resistance"]) for x in hs["connectors"]]
    c["contacts"] = "contacts" in sw
    if c["contacts"]:
        k = sw["contacts"]
        rho = {"copper": copper(t), "silver": 1.59e-8 * (1 + 0.0038 * (t - 20))}[k["material"]]
        c["Rsw"] = rho / 2 * math.sqrt(math.pi * q(k["hardness"]) / q(k["force"]))
    else:
        m = sw["mosfet"]
        c["Rsw"] = q(m["resistance"]) * (1 + q(m["drift"], 0.0) * (t - 25))
        c["Vfly"] = q(m.get("flyback_drop"), 0.7)
        c["braking"] = bool(m.get("active_braking"))
        c["delay"], c["Rbrake"] = q(m.get("brake_delay"), 1e-3), q(m.get("brake_resistance"), c["Rsw"])
    c["braking"] = c.get("braking", False)

    # Train, D1-D6, D9, D10.
    se, pi, sp, ge = b["sector"], b["piston"], b["spring"], b["gears"]
    w = q(pi["spacer"])
    c["rp"] = rp = q(se["module"]) * q(se["full_teeth"]) / 2
    c["w"], c["G"], eta = w, q(ge["ratio"]), q(ge["efficiency"])
    c["thn"] = 2 * math.pi / q(se["lobes"])
    c["thp"], c["thr"] = w / rp, release(se, b.get("rack") or {}, w)
    if "rate" in sp:
        c["k"], x0 = q(sp["rate"]), q(sp["preload"])
    else:
        c["k"] = q(sp.get("modulus"), 79.3e9) * q(sp["wire"]) ** 4 / (8 * q(sp["coil_diameter"]) ** 3 * q(sp["coils"]))
        x0 = q(sp["free_length"]) - q(sp["installed_length"])
    c["x0"], c["Ff"] = x0 + w, q(pi.get("drag_pull"), q(pi["drag"]))  # D11
    c["Kload"] = rp / (c["G"] * eta)
    c["Jfree"] = jm + q(ge["inertia"]) / c["G"] ** 2
    c["Jrack"] = (q(pi["mass"]) + q(sp["mass"]) / 3) * rp * rp / c["G"] ** 2
    c["churn"] = q(ge.get("churning"), 0.0) / c["G"] ** 2
    tp = b.get("tappet")
    c["tappet"] = tp and (q(tp["from"]), q(tp["to"]), q(tp["work"]) / ((q(tp["to"]) - q(tp["from"])) * c["G"]))
    c["start"] = c["thp"] + q(b["trigger"].get("start"), 0.0)
    c["cutoff"] = q(b["trigger"]["cutoff"])
    if c["cutoff"] <= c["start"]:
        raise ValueError("a cut-off at or before the start is not drawn")
    return c


# How tight the engine is, from coarse to fine. What isn't ideal about the
# circuit's own parts is tightened with it, since it is part of the engine's
# error: the diodes' emission coefficient n (forward drop n·26 mV·ln(i/Is)) and
# the time tau in which rack and shaft come to one speed.
LEVELS = [
    {"step": 3.2e-6, "reltol": 1e-5, "n": 1e-4, "tau": 4e-7},
    {"step": 8e-7, "reltol": 1e-6, "n": 2.5e-5, "tau": 1e-7},
    {"step": 2e-7, "reltol": 1e-7, "n": 6.25e-6, "tau": 2.5e-8},
]


# The pack's capacitances are drawn this much smaller, with the current that
# fills them: ngspice has one charge tolerance for all, and farads drown it.
SMALL = 1e-7


def netlist(c, level, stop, method="gear"):
    ocv = "-1.031*exp(-35*V(s))+3.685+V(s)*(0.2156+V(s)*(-0.1178+V(s)*0.3201))"
    tau = level["tau"]
    out = [
        "a single shot",
        f".options method={method} maxord=2 reltol={level['reltol']} abstol=1e-7 vntol=1e-7 chgtol={1e-14 / level['reltol']} trtol=1 itl4=200",
        f".model d1 D(is=1e-12 n={level['n']})",
        "* pack, leads, connectors (B1, C1); V(s) is the charge",
        f"Bocv ocv 0 V={c['ns']!r}*({ocv})",
        f"Cs s 0 {c['Q'] * SMALL!r} ic={c['s']!r}",
        f"Fs s 0 Vpack {SMALL}",
        "Vpack ocv b0 0",
        f"R0 b0 b1 {c['R0']!r}",
        "E1 b1 b2 v1 0 1",
        "E2 b2 bat v2 0 1",
        f"F1 0 v1 Vpack {SMALL}",
        f"R1 v1 0 {c['R1'] / SMALL!r}",
        f"C1 v1 0 {c['C1'] * SMALL!r} ic=0",
        f"F2 0 v2 Vpack {SMALL}",
        f"R2 v2 0 {c['R2'] / SMALL!r}",
        f"C2 v2 0 {c['C2'] * SMALL!r} ic=0",
        f"Rlead bat c0 {c['Rlead']!r}",
    ]
    for i, r in enumerate(c["Rconn"]):
        out.append(f"Rconn{i} c{i} c{i + 1} {r!r}")
    last = f"c{len(c['Rconn'])}"
    out += [
        "* switch: opens as the sector angle passes the cut-off (F3)",
        f"Bon on 0 V=V(th)<{c['cutoff']!r} ? 1 : 0",
        f"S1 {last} m on 0 main",
        f".model main SW(vt=0.5 vh=0 ron={c['Rsw']!r} roff={1e6 if c['contacts'] else 1e9})",
    ]
    if not c["contacts"]:
        out += ["* flyback diode (C5)", "Dfly 0 f d1", f"Vfly f m {c['Vfly']!r}"]
    if c["braking"]:
        out += [
            "* brake (C5): a capacitance counts the time since switch-off",
            "Btimer 0 timer I=1e-4*(1-V(on))",
            "Ctimer timer 0 1e-4 ic=0",
            "S2 m 0 timer 0 brake",
            f".model brake SW(vt={c['delay']!r} vh=0 ron={c['Rbrake']!r} roff=1e9)",
        ]
    out += [
        "* motor (F1, A10, A16)",
        f"Ra m m1 {c['Ra']!r}",
        f"La m1 m2 {c['La']!r} ic=0",
        "Dfwd m2 m3 d1",
        f"Vfwd m3 m5 {c['Vb']!r}",
        "Drev m5 m4 d1",
        f"Vrev m4 m2 {c['Vb']!r}",
        f"Bcom m5 m6 V={c['Kcom']!r}*V(w)*I(Vmot)",
        f"Eemf m6 m7 w 0 {c['Ke']!r}",
        "Vmot m7 0 0",
        "* shaft (F2, A9, D8, D10): V(w) is its speed",
        f"Cj w 0 {c['Jfree']!r} ic=0",
        f"Fkt 0 w Vmot {c['Ke']!r}",
        f"Itc w 0 {c['Tc']!r}",
        f"Rkv w 0 {1 / (c['kv'] + c['churn'])!r}",
        "Dlatch 0 w d1",
        "* sector (D5): V(th) is its angle, V(phi) that from its lobe's zero, begun at the pickup;",
        "* 1e-8 rad keep a shaft that the latch holds at the pickup from falling off it",
        f"Bth 0 th I=V(w)>0 ? {1e-4 / c['G']!r}*V(w) : 0",
        f"Cth th 0 1e-4 ic={c['start']!r}",
        f"Bphi phi 0 V=V(th)-{c['thn']!r}*floor((V(th)-{c['thp'] - 1e-8!r})/{c['thn']!r})",
        f"Bpull in 0 V=V(phi)<{c['thr']!r} ? 1 : 0",
        "* a moment passes before the train feels it, else a step finds no answer at the pickup",
        "Rpull in pull 1",
        f"Cpull pull 0 {tau / 4!r} ic=1",
        f"Bload w 0 I=V(pull)>0.5 ? {c['Kload']!r}*({c['k']!r}*({c['x0'] - c['w']!r}+{c['rp']!r}*V(phi))+{c['Ff']!r}) : 0",
        "* rack and piston (D6, D7): V(x) is their speed as seen from the shaft",
        f"Cx x 0 {c['Jrack']!r} ic=0",
        f"Bjoin w x I=V(pull)>0.5 ? (V(w)-V(x))*{c['Jrack'] / tau!r} : 0",
        f"Bhome x 0 I=V(pull)>0.5 ? 0 : V(x)*{c['Jrack'] / tau!r}",
    ]
    if c["tappet"]:
        a, b, torque = c["tappet"]
        out += [
            "* tappet (D4), fixed on the sector",
            f"Btau tau 0 V=V(th)-{c['thn']!r}*floor(V(th)/{c['thn']!r})",
            f"Btap w 0 I=(V(tau)>={a!r}) && (V(tau)<{b!r}) ? {torque!r} : 0",
        ]
    out += [
        ".save i(Vmot) v(w) v(th) v(bat) i(Vpack) v(s)",
        f".tran {level['step']!r} {stop!r} 0 {level['step']!r} uic",
        ".end",
        "",
    ]
    return "\n".join(out)


def run(text, where, name):
    """ngspice's answer as columns: time, current, speed, angle, pack voltage."""
    cir, raw = os.path.join(where, name + ".cir"), os.path.join(where, name + ".raw")
    with open(cir, "w", encoding="utf-8") as f:
        f.write(text)
    done = subprocess.run(["ngspice", "-b", "-r", raw, cir], capture_output=True, text=True, timeout=600)
    if done.returncode or not os.path.exists(raw):
        sys.exit(f"ngspice: {done.stdout[-2000:]}{done.stderr[-2000:]}")
    with open(raw, "rb") as f:
        data = f.read()
    head, body = data.split(b"Binary:\n", 1)
    names = [x.split("\t")[2] for x in head.decode().split("Variables:\n")[1].splitlines() if x.strip()]
    n = len(names)
    flat = struct.unpack(f"<{len(body) // 8}d", body)
    cols = {k: flat[i::n] for i, k in enumerate(names)}
    pick = lambda *ks: next(cols[k] for k in ks if k in cols)
    return {
        "t": cols["time"], "i": pick("i(vmot)", "vmot#branch"), "w": pick("v(w)", "w"),
        "th": pick("v(th)", "th"), "v": pick("v(bat)", "bat"), "ib": pick("i(vpack)", "vpack#branch"), "s": pick("v(s)", "s"),
    }


def at(d, key, t):
    """Straight line between the engine's own points."""
    j = min(max(bisect.bisect_left(d["t"], t), 1), len(d["t"]) - 1)
    t0, t1 = d["t"][j - 1], d["t"][j]
    y0, y1 = d[key][j - 1], d[key][j]
    return y0 + (y1 - y0) * (t - t0) / (t1 - t0)


def reach(d, angle):
    j = bisect.bisect_left(d["th"], angle)
    if j == len(d["th"]):
        return None
    a, b = d["th"][j - 1], d["th"][j]
    return d["t"][j - 1] + (d["t"][j] - d["t"][j - 1]) * (angle - a) / (b - a)


def figures(c, d):
    """Event times and extremes that the engine finds."""
    f = {"opened_s": reach(d, c["cutoff"])}
    lobe = 0
    while (r := reach(d, lobe * c["thn"] + c["thr"])) is not None:
        f[f"release_{lobe + 1}_s"] = r
        if lobe == 0:
            f["release_speed_rad_s"] = at(d, "w", r)
        lobe += 1
    f["releases"] = lobe
    # Rest: the speed before it, drawn on to zero as a straight line.
    moving = max(d["w"])
    end = next(j for j in range(len(d["w"]) - 1, 0, -1) if d["w"][j] > 1e-4 * moving)
    # A hundred steps back or so for the slope: long against rounding, short against the coast.
    back = bisect.bisect_left(d["t"], d["t"][end] - 1e-5)
    slope = (d["w"][end] - d["w"][back]) / (d["t"][end] - d["t"][back])
    f["rest_s"] = d["t"][end] - d["w"][end] / slope
    f["stop_angle_rad"] = d["th"][-1]
    f["current_peak_a"] = max(d["i"])
    f["pack_voltage_min_v"] = min(d["v"])
    f["charge_c"] = (d["s"][0] - d["s"][-1]) * c["Q"]
    if c["braking"]:
        f["brake_current_a"] = -min(d["i"])
    return f


def command(exe, path, sets, where):
    trace = os.path.join(where, "trace.csv")
    args = [exe, "cycle", path, "--json", "--trace", trace, "--set", "trigger.mode=single"]
    for s in sets:
        args += ["--set", s]
    done = subprocess.run(args, capture_output=True, text=True)
    if done.returncode:
        sys.exit(done.stderr)
    with open(trace, encoding="utf-8") as f:
        rows = list(csv.DictReader(f))
    return json.loads(done.stdout), rows


def told(c, doc, rows):
    """The command's figures and course, named as the engine's."""
    p = doc["pull"]
    f = {"opened_s": p["opened_s"], "rest_s": p["rest_s"], "releases": len(p["shots"])}
    for n, shot in enumerate(p["shots"], 1):
        f[f"release_{n}_s"] = shot["release_s"]
    f["stop_angle_rad"] = c["cutoff"] + p["overspin_rad"]
    f["current_peak_a"], f["pack_voltage_min_v"] = doc["current_peak_a"], doc["pack_voltage_min_v"]
    f["charge_c"] = p["charge_c"]
    if c["braking"]:
        f["brake_current_a"] = p["brake_current_a"]
    course = {"t": [], "i": [], "w": [], "th": [], "v": [], "ib": []}
    names = {"t": "time_s", "i": "current_a", "w": "motor_speed_rad_s", "th": "sector_angle_rad", "v": "pack_voltage_v", "ib": "battery_current_a"}
    turn = 0.0
    for r in rows:
        if r["course"] != "first shot" or not r["motor_speed_rad_s"]:
            continue
        for k, n in names.items():
            course[k].append(float(r[n]))
        # The trace counts the angle anew at each pickup; here it goes on.
        th = course["th"]
        th[-1] += turn
        if len(th) > 1 and th[-1] < th[-2] - c["thn"] / 2:
            turn += c["thn"]
            th[-1] += c["thn"]
    j = min(range(len(course["t"])), key=lambda j: abs(course["t"][j] - p["shots"][0]["release_s"]))
    f["release_speed_rad_s"] = course["w"][j]
    return f, course


UNIT = {"i": "A", "w": "rad/s", "th": "rad", "v": "V", "ib": "A"}
SAY = {"i": "current", "w": "speed", "th": "sector angle", "v": "pack voltage", "ib": "battery current"}


def windows(c, f):
    """The scenarios as stretches of time: the start, then behind the opening."""
    first = f["release_1_s"]
    out = [("start", 0.0, first), ("to cut-off", first, f["opened_s"])]
    if c["braking"]:
        on = f["opened_s"] + c["delay"]
        out += [("freewheel", f["opened_s"], on), ("brake, coast", on, f["rest_s"])]
    else:
        out.append(("freewheel, coast", f["opened_s"], f["rest_s"]))
    return out


def apart(c, f, course, a, jumps, key, lo, hi, guard, b=None):
    """The greatest difference in [lo, hi] between run a and the course, or run b.

    Where a quantity jumps, the rows within the guard are left out: there the
    difference says when, not how much, and the event times say that better.
    """
    worst = 0.0
    for j, t in enumerate(course["t"]):
        if not lo <= t <= hi or any(a0 - guard <= t <= a1 + guard for a0, a1 in jumps):
            continue
        other = at(b, key, t) if b else course[key][j]
        worst = max(worst, abs(at(a, key, t) - other))
    return worst


def check(name, c, doc, rows, runs):
    """One row per figure and per stretch of course: differences at each level."""
    want, course = told(c, doc, rows)
    got = [figures(c, d) for d in runs]
    table = []

    def row(what, unit, scale, diffs, moves):
        # Why this much: see WHY.
        tol = max(moves[1], moves[0] / 4) + FLOOR * scale
        ok = diffs[-1] <= tol and tol <= CEILING * scale
        falls = diffs[-1] <= diffs[0] / 4 or diffs[-1] <= 2 * FLOOR * scale
        table.append({"build": name, "what": what, "unit": unit, "scale": scale, "differences": diffs, "tolerance": tol, "within": ok, "falls": falls})

    for k in want:
        if k == "releases":
            if any(g[k] != want[k] for g in got):
                table.append({"build": name, "what": k, "unit": "1", "scale": want[k], "differences": [abs(g[k] - want[k]) for g in got], "tolerance": 0, "within": False, "falls": False})
            continue
        values = [g.get(k) for g in got]
        if None in values:
            values = [math.inf if v is None else v for v in values]
        unit = k.rsplit("_", 1)[1] if not k.endswith("rad_s") else "rad/s"
        unit = {"a": "A", "v": "V", "c": "C"}.get(unit, unit)
        row(k, unit, abs(want[k]), [abs(v - want[k]) for v in values], [abs(values[1] - values[0]), abs(values[2] - values[1])])

    ts = [g["opened_s"] for g in got]
    opened = [(min(ts), max(ts))]
    # From the first level's pickup to the last's: while they differ, so does the speed.
    pickups = []
    for n in range(1, want["releases"] + 1):
        ts = [t for d in runs if (t := reach(d, n * c["thn"] + c["thp"])) is not None]
        if ts:
            pickups.append((min(ts), max(ts)))
    for title, lo, hi in windows(c, want):
        for key in ("i", "ib", "w", "th", "v"):
            # At the opening the pack's current jumps, and the motor's with contacts.
            jumps = pickups if key == "w" else opened if key in ("ib", "v") or key == "i" and c["contacts"] else []
            guard = 10e-6
            scale = max(abs(x) for x in course[key])
            diffs = [apart(c, want, course, d, jumps, key, lo, hi, guard) for d in runs]
            moves = [apart(c, want, course, runs[n + 1], jumps, key, lo, hi, guard, runs[n]) for n in range(2)]
            row(f"{title}: {SAY[key]}", UNIT[key], scale, diffs, moves)
    return table


FLOOR, CEILING = 2e-7, 2e-4
WHY = (
    "The engine says itself how far off it is: each level has steps, diode drops and the rack's time to catch four times "
    "smaller than the one before, and its error falls at least in proportion, for an event is met within a step. So what is left at "
    "the finest level is about a third of what the last tightening moved. The tolerance is that whole move (or a quarter of the "
    "move before it, if larger, for where a step lies against an event is luck), that is three times the error expected, with "
    "2e-7 of the scale for rounding, the trace's digits and the command's own tolerance. It never looks at the command. It must itself stay "
    "below 2e-4 of the scale, or the engine proves nothing. And the difference to the command must fall to a quarter or less from the "
    "coarsest level to the finest."
)


def main():
    p = argparse.ArgumentParser(description="ngspice against ampstroke cycle")
    p.add_argument("ampstroke")
    p.add_argument("-o", "--output", help="write the result to this JSON file")
    p.add_argument("-k", "--keep", help="keep netlists and raw files in this directory")
    p.add_argument("-r", "--root", default=os.path.join(HERE, "..", ".."), help="the tree that holds the builds")
    p.add_argument("-b", "--build", choices=[name for name, _, _ in CASES], help="this one only")
    a = p.parse_args()
    exe = os.path.abspath(a.ampstroke)
    version = re.search(r"ngspice-\S+", subprocess.run(["ngspice", "--version"], capture_output=True, text=True).stdout).group(0)
    tables, constants, figs = [], {}, {}
    with tempfile.TemporaryDirectory() as tmp:
        where = a.keep or tmp
        os.makedirs(where, exist_ok=True)
        for name, path, sets in [x for x in CASES if a.build in (None, x[0])]:
            path = os.path.join(a.root, path)
            c = values(path, sets)
            doc, rows = command(exe, path, sets, where)
            m = doc["motor"]
            for mine, its in (("Ke", "ke_v_s"), ("Ra", "resistance_ohm"), ("La", "inductance_h")):
                if abs(c[mine] / m[its] - 1) > 1e-9:
                    sys.exit(f"{name}: motor.{its}: {m[its]!r} of the command, {c[mine]!r} here")
            stop = 1.05 * doc["pull"]["rest_s"]
            plain = re.sub(r"\W+", "-", name)
            runs = [run(netlist(c, lv, stop), where, f"{plain}-{n}") for n, lv in enumerate(LEVELS, 1)]
            tables += check(name, c, doc, rows, runs)
            constants[name] = c
            figs[name] = {"ngspice": figures(c, runs[-1]), "ampstroke": told(c, doc, rows)[0], "points": [len(d["t"]) for d in runs]}
    bad = [r for r in tables if not (r["within"] and r["falls"])]
    print(f"{'build':18} {'what':32} {'unit':6} {'differences, engine tightened':33} {'tolerance':>10} of scale")
    for r in tables:
        mark = "" if r["within"] and r["falls"] else "  NOT WITHIN" if not r["within"] else "  DOESN'T FALL"
        rel = r["differences"][-1] / r["scale"] if r["scale"] else 0
        print(f"{r['build']:18} {r['what']:32} {r['unit']:6} " + " ".join(f"{x:10.3e}" for x in r["differences"]) + f" {r['tolerance']:10.3e} {rel:8.1e}{mark}")
    print(f"{version}: {len(tables)} rows, {len(bad)} not in order")
    if a.output:
        with open(a.output, "w", encoding="utf-8") as f:
            json.dump({"engine": version, "levels": LEVELS, "why": WHY, "floor": FLOOR, "ceiling": CEILING, "circuit": constants, "figures": figs, "rows": tables}, f, indent=1)
            f.write("\n")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())

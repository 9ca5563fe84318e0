"""Holds model.py against figures that others computed, and against closed forms.

    python3 references.py ROOT

ROOT is the repository's root. Three parts, each of which must hold:

- every file of testdata/reference that `cycle` has figures for, at compare.py's
  tolerances, with the share κ of commutation (A17) where the file tells it;
- what books and formulas say of springs, walls and windings;
- the flight's convergence: at half and a quarter of its tolerance nothing moves
  by more than a thousandth of what is promised.

Exit status 1 if anything is further off.
"""

import json
import math
import multiprocessing
import os
import sys

from scipy.integrate import quad

import batch
import compare
import model

SINGLE, BRAKE = "trigger.mode=single", "harness.switch.mosfet.active_braking=true"
PLAIN = ["spring.waves=false", "barrel.air=still", "cylinder.wall_heat=0", "barrel.wall_heat=0"]
# reference, build, what is set beside plain physics. Ferrite tells its commutation.
REFERENCES = [
    ("demo", "demo", ["motor.commutation=0"]),
    ("demo-single", "demo", ["motor.commutation=0", SINGLE]),
    ("demo-braking", "demo", ["motor.commutation=0", SINGLE, BRAKE]),
    ("demo-three-cells", "demo", ["motor.commutation=0", "battery.series=3"]),
    ("demo-stall", "demo", ["motor.commutation=0", "spring.rate=2400 N/m"]),
    ("ferrite", "ferrite", []),
    ("ferrite-single", "ferrite", [SINGLE]),
    ("two-lobe", "two-lobe", ["motor.commutation=0"]),
    ("two-lobe-single", "two-lobe", ["motor.commutation=0", SINGLE]),
]
# The full model's: build and figures of one name.
FULL = ["demo", "demo-single", "demo-braking", "demo-three-cells", "demo-waves-alone", "demo-air-alone", "demo-walls-alone",
        "demo-none", "ferrite", "two-lobe"]


def compute(job):
    path, sets = job
    return batch.plain(model.figures(model.load(path, sets)))


def references(root):
    at = os.path.join(root, "testdata", "reference")
    jobs = [(ref + ".json", build + ".yaml", PLAIN + sets) for ref, build, sets in REFERENCES]
    jobs += [(os.path.join("full", n + ".json"), os.path.join("full", n + ".yaml"), []) for n in FULL]
    with multiprocessing.Pool(2) as pool:
        done = pool.map(compute, [(os.path.join(at, build), sets) for _, build, sets in jobs], chunksize=1)
    w = compare.Worst()
    for (ref, _, _), got in zip(jobs, done):
        with open(os.path.join(at, ref), encoding="utf-8") as f:
            want = json.load(f)
        # Keys that a file lacks aren't asked, nor what is no figure.
        want = {k: v for k, v in want.items() if k in got}
        for part in ("motor", "ledger_j"):
            want[part] = {k: v for k, v in want[part].items() if k in got[part]}
        compare.check(w, ref, want, got)
        if "commutation" in want:
            compare.hold(w, ref, "commutation", want["commutation"], got["commutation"], 1e-9)
    for ref, (share, figure) in w.builds.items():
        print(f"  {ref:28} {share:8.1e} of its tolerance: {figure}")
    for t in w.faults:
        print("FAULT", t)
    print(f"{len(jobs)} references, {w.count} comparisons")
    return not w.faults and all(share <= 1 for share, *_ in w.rows.values())


def free_spring(full):
    """A spring let go at rest with a mass before it, and no air."""
    tree = model.load(full, [
        "spring.rate=680 N/m", "spring.preload=1 mm", "spring.mass=18 g", "piston.mass=26 g", "piston.drag=0 N", "piston.seal_area=0 mm2",
        "cylinder.bore=0.001 mm", "cylinder.wall_heat=0", "barrel.wall_heat=0", "sector.full_teeth=60",
        f"sector.engaged_angle={(64.78052807 / 680 - 1e-3) / 0.03!r} rad"])
    return model.Flight(model.Machine(tree).gun, 0.0).echo


def conduction():
    """What a wall 100 K colder has taken per area in 10 ms; the closed form
    stands in for the first moment, in which E8's layer doesn't grow."""
    lam, a = 0.026, 2.2e-5
    q, _ = quad(lambda t: 100 * model.layer(lam, lam / (a * model.CP), t), model.T_LAYER, 0.01, epsrel=1e-12)
    return q + 200 * lam * math.sqrt(model.T_LAYER / (math.pi * a))


def closed_forms(root):
    full = os.path.join(root, "testdata", "reference", "full", "demo.yaml")
    spring = free_spring(full)
    wire = model.Machine(model.load(full, [
        "spring.rate=", "spring.preload=", "spring.wire=1.42 mm", "spring.coil_diameter=12 mm", "spring.coils=33",
        "spring.free_length=170 mm", "spring.installed_length=126 mm"])).gun
    bar, surge = "impact on a bar (St Venant, from memory)", "Wahl, Mechanical Springs; Shigley (from memory)"
    ok = True
    for what, got, want, tol, source in [  # relative, but for the shares
        ("impedance of a spring [N·s/m]", spring.z, 3.49857114, 1e-7, bar),
        ("time up and down a spring [s]", spring.turn, 10.28991511e-3, 1e-7, bar),
        ("released spring's speed at 1 ms [m/s]", spring.speed(1e-3), -2.33119879, 1e-7, bar),
        ("released spring's speed at 5 ms [m/s]", spring.speed(5e-3), -9.06785440, 1e-7, bar),
        ("released spring's speed as the wave is back [m/s]", spring.speed(spring.turn), -13.87943251, 1e-7, bar),
        ("rate of a spring from wire [N/m]", wire.k, 706.77129, 1e-7, surge),
        ("first surge, both ends fixed [Hz]", 1 / model.Echo(wire.k, 15.466116e-3, 0.1, 0.0).turn, 106.885505, 1e-7, surge),
        ("heat into a wall [J/m²]", conduction(), 62.548524, 1e-7, "Carslaw & Jaeger (from memory)"),
        ("Nusselt number, Re 1e4", model.gnielinski(1e4, 0.7), 29.81741, 1e-6, "Gnielinski (from memory)"),
        ("Nusselt number, Re 5e4", model.gnielinski(5e4, 0.7), 104.18831, 1e-6, "Gnielinski (from memory)"),
        ("Nusselt number, Re 8e4", model.gnielinski(8e4, 0.71), 151.39508, 1e-6, "Gnielinski (from memory)"),
        ("share lost in commutation, saturated", model.commutation(3, 1.638), 0.358, 1e-3, "derived, three digits"),
        ("share lost in commutation, unsaturated", model.commutation(3, 0.611), 0.986, 1e-3, "derived, three digits"),
    ]:
        off = abs(got - want) / (1 if what.startswith("share") else abs(want))
        ok &= off <= tol
        print(f"  {what:52} {got:<14.9g} {off:8.1e} of {tol:.0e}{'' if off <= tol else '  EXCESS'}  {source}")
    return ok


def converge(job):
    path, sets, speed = job
    gun = model.Machine(model.load(path, sets)).gun
    runs = []
    for part in (1, 2, 4):
        fl = model.Flight(gun, speed, model.FLIGHT_RTOL / part)
        runs.append([fl.exit_v, fl.exit_t, fl.home, fl.impact_v] + [v / gun.springs(gun.s) for v in fl.rows.values()])
    return [max(abs(a - b) / (abs(b) if n < 4 else 1) for n, (a, b) in enumerate(zip(runs[j], runs[j + 1]))) for j in range(2)]


def convergence(root):
    full = os.path.join(root, "testdata", "reference", "full")
    jobs = [(os.path.join(full, n + ".yaml"), sets, v) for n, sets, v in [
        ("demo", [], 2.1), ("ferrite", [], 1.6), ("two-lobe", [], 1.9), ("demo", ["spring.mass=3 g"], 2.1),
        ("demo", ["spring.mass=50 g", "piston.mass=12 g", "piston.seal_area=20 mm2"], 2.1),
        # a pellet so slow that the flow behind it slides between laminar and turbulent
        ("demo", ["pellet.mass=3 g", "spring.rate=200 N/m", "piston.mass=12 g", "cylinder.dead_volume=0.1 cm3"], 1.85)]]
    with multiprocessing.Pool(2) as pool:
        done = pool.map(converge, jobs, chunksize=1)
    for (path, sets, _), moves in zip(jobs, done):
        print(f"  {' '.join([os.path.basename(path)] + sets):92} tolerance halved {moves[0]:8.1e}, again {moves[1]:8.1e}")
    return all(m <= 1e-8 for moves in done for m in moves)


def main():
    root = sys.argv[1]
    ok = True
    for title, part in (("figures of others, worst of each", references), ("closed forms", closed_forms), ("convergence of the flight", convergence)):
        print(title)
        good = part(root)
        ok &= good
        print("  in order" if good else "  NOT IN ORDER")
    sys.exit(0 if ok else 1)


if __name__ == "__main__":
    main()

"""Holds the command's figures against results.json.

    python3 compare.py RESULTS COMMAND ROOT

COMMAND is the ampstroke binary, ROOT the repository's root. Every build is run
as "cycle FILE --set … --json". The tolerances are those agreed with the file
format: motor constants 1e-9, electrical and mechanical figures 1e-6, figures
that contain the flight 1e-5, each relative; ledger rows 1e-6 of themselves,
those of the flight and "stored" 1e-5 of the battery's; the PME margin 1e-6 s.
A figure that is null must be null on both sides, and a build that is refused on
one side must be on both. Exit status 1 if anything is further off.

The margin against demagnetisation (A15) is reckoned at the inrush. Where the
current of an active brake is larger, the command takes that, so these builds'
margins are left out and counted.
"""

import json
import os
import subprocess
import sys

FLIGHT = {"muzzle_velocity_m_s", "muzzle_energy_j", "time_to_home_s", "piston_impact_m_s",
          "trigger_delay_s", "pme_rate_of_fire_hz", "overall_efficiency"}
OF_BATTERY = {"piston_drag", "impact", "air", "walls", "surge", "barrel", "pellet", "stored"}
RESIDUAL = 1e-6
ASIDE = {"premature", "brake_current_a", "commutation", "motor", "ledger_j", "verdict"}


class Worst:
    def __init__(self):
        self.rows = {}     # figure -> (share of the tolerance, difference, build)
        self.builds = {}   # build -> (share, figure)
        self.faults = []
        self.count = self.skipped = 0

    def note(self, build, figure, diff, tol):
        share = diff / tol
        self.count += 1
        if figure not in self.rows or share > self.rows[figure][0]:
            self.rows[figure] = (share, diff, tol, build)
        if build not in self.builds or share > self.builds[build][0]:
            self.builds[build] = (share, figure)

    def fault(self, build, text):
        self.faults.append(f"{build}: {text}")
        self.builds.setdefault(build, (float("inf"), "fault"))


def number(v):
    return isinstance(v, (int, float)) and not isinstance(v, bool)


def hold(w, build, figure, want, got, tol, scale=None):
    """scale is what the difference is measured in; None is the figure itself."""
    if not (number(want) and number(got)):
        if want != got or type(want) is not type(got):
            w.fault(build, f"{figure}: {got!r}, outside {want!r}")
        else:
            w.count += 1
        return
    diff = abs(got - want)
    if scale is None:
        scale = abs(want)
    if scale == 0:
        if diff != 0:
            w.fault(build, f"{figure}: {got!r}, outside {want!r}")
        else:
            w.count += 1
        return
    w.note(build, figure, diff / scale, tol)


def check(w, name, want, got):
    for key, v in want.items():
        if key in ASIDE:
            continue
        if key == "demagnetisation_margin" and (want["brake_current_a"] or 0) > want["inrush_a"]:
            w.skipped += 1
            continue
        if key not in got:
            w.fault(name, f"{key} is missing")
            continue
        if key == "pme_margin_s":
            hold(w, name, key, v, got[key], 1e-6, scale=1.0)
        else:
            hold(w, name, key, v, got[key], 1e-5 if key in FLIGHT else 1e-6)
    for key, v in want["motor"].items():
        hold(w, name, "motor." + key, v, got["motor"].get(key, "missing"), 1e-9)
    battery = want["ledger_j"]["battery"]
    for key, v in want["ledger_j"].items():
        g = got["ledger_j"].get(key, "missing")
        if key == "residual":
            if number(v) and number(g):
                w.note(name, "ledger.residual", abs(g) / battery, RESIDUAL)
                w.note(name, "ledger.residual, outside", abs(v) / battery, RESIDUAL)
            else:
                hold(w, name, "ledger.residual", v, g, 1)
        elif key in OF_BATTERY and battery:
            hold(w, name, "ledger." + key, v, g, 1e-5, scale=battery)
        else:
            hold(w, name, "ledger." + key, v, g, 1e-6)
    if [v["what"] for v in want["verdict"]] != [v["what"] for v in got["verdict"]]:
        w.fault(name, "the verdicts are about other figures")
    else:
        for a, b in zip(want["verdict"], got["verdict"]):
            for k in ("min", "max"):
                hold(w, name, f"verdict.{k}", a[k], b[k], 1e-9)
            if a["ok"] is not b["ok"]:
                w.fault(name, f"verdict on {a['what']}: {b['ok']}, outside {a['ok']}")
    if "warnings" not in got:
        return
    warned = any(x["code"] == "premature-engagement" for x in got["warnings"])
    if got["outcome"] == "steady" and warned != want["premature"]:
        w.fault(name, f"premature engagement: {warned}, outside {want['premature']}")


def main():
    results, command, root = sys.argv[1], os.path.abspath(sys.argv[2]), sys.argv[3]
    with open(results, encoding="utf-8") as f:
        doc = json.load(f)
    w = Worst()
    for r in doc["results"]:
        name = r["name"]
        if "failed" in r["figures"]:
            w.fault(name, "has no outside result: " + r["figures"]["failed"])
            continue
        args = [command, "cycle", r["file"]]
        for s in r["set"]:
            args += ["--set", s]
        p = subprocess.run(args + ["--json"], cwd=root, capture_output=True, text=True)
        if "refused" in r["figures"]:
            if p.returncode != 2:
                w.fault(name, f"exit status {p.returncode}, outside refused: {r['figures']['refused']}")
            else:
                w.count += 1
            continue
        if p.returncode != 0:
            w.fault(name, f"exit status {p.returncode}: {p.stderr.strip()}")
            continue
        check(w, name, r["figures"], json.loads(p.stdout))

    print("worst difference of each figure")
    for fig, (share, diff, tol, build) in w.rows.items():
        print(f"  {fig:32} {diff:8.1e} of {tol:.0e}  {'EXCESS' if share > 1 else '      '}  {build}")
    print("worst figure of each build, as a share of its tolerance")
    for b, (share, fig) in sorted(w.builds.items(), key=lambda x: -x[1][0]):
        print(f"  {b:46} {share:8.1e}  {fig}")
    for t in w.faults:
        print("FAULT", t)
    excess = sum(1 for s, *_ in w.rows.values() if not s <= 1)
    print(f"{len(doc['results'])} builds, {w.count} comparisons, {excess} figures in excess, "
          f"{len(w.faults)} faults; {w.skipped} margins left out")
    sys.exit(1 if excess or w.faults else 0)


if __name__ == "__main__":
    main()

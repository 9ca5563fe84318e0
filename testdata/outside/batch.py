"""Computes every build of builds.json with model.py and writes results.json.

    python3 batch.py ROOT [NAME...]

ROOT is the repository's root, to which the files of builds.json are relative;
an empty file is the embedded demo. With names, only these builds are computed
and printed, and nothing is written. Needs Python 3, NumPy, SciPy and PyYAML.
"""

import json
import multiprocessing
import os
import platform
import sys
import time

import numpy
import scipy
import yaml

import model

HERE = os.path.dirname(os.path.abspath(__file__))
DEMO = "drivetrain/buildfile/demo.yaml"


def plain(v):
    if isinstance(v, dict):
        return {k: plain(x) for k, x in v.items()}
    if isinstance(v, (list, tuple)):
        return [plain(x) for x in v]
    if isinstance(v, numpy.bool_):
        return bool(v)
    if isinstance(v, numpy.floating):
        return float(v)
    return v


def one(job):
    root, b = job
    start = time.time()
    try:
        doc = model.figures(model.load(os.path.join(root, b["file"] or DEMO), b["set"]))
    except Exception as e:  # reported, and the batch fails at its end
        doc = {"failed": f"{type(e).__name__}: {e}"}
    return dict(name=b["name"], file=b["file"], set=b["set"], figures=plain(doc)), time.time() - start


def main():
    root, names = sys.argv[1], sys.argv[2:]
    with open(os.path.join(HERE, "builds.json"), encoding="utf-8") as f:
        builds = json.load(f)
    if names:
        builds = [b for b in builds if b["name"] in names]
    start = time.time()
    with multiprocessing.Pool(2) as pool:
        done = pool.map(one, [(root, b) for b in builds], chunksize=1)
    failed = 0
    for r, seconds in done:
        print(f"{seconds:7.2f} s  {r['name']}: {r['figures'].get('failed') or r['figures']['outcome']}", file=sys.stderr)
        failed += "failed" in r["figures"]
    print(f"{time.time() - start:7.2f} s  {len(done)} builds, {failed} failed", file=sys.stderr)
    doc = dict(computed_with=dict(python=platform.python_version(), numpy=numpy.__version__, scipy=scipy.__version__, pyyaml=yaml.__version__),
               tolerance=dict(cycle=model.RTOL, flight=model.FLIGHT_RTOL),
               results=[r for r, _ in done])
    if names:
        json.dump(doc, sys.stdout, indent=1, ensure_ascii=False)
    else:
        with open(os.path.join(HERE, "results.json"), "w", encoding="utf-8") as f:
            json.dump(doc, f, indent=1, ensure_ascii=False)
            f.write("\n")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()

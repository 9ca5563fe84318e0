"""Computes every build of builds.json with model.py and writes results.json.

    python3 batch.py ROOT [NAME...]

ROOT is the repository's root, to which the files of builds.json are relative.
With names, only these builds are computed and printed, and nothing is written.
A build that is marked as refused has no figures: it must fail here, by an error
of the model's own. Needs Python 3, NumPy, SciPy and PyYAML.
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
    start = time.process_time()
    try:
        doc = model.figures(model.load(os.path.join(root, b["file"]), b["set"]))
        if b.get("refused"):
            doc = {"failed": "wasn't refused"}
    except Exception as e:  # reported, and the batch fails at its end
        if b.get("refused") and isinstance(e, model.Refused):
            doc = {"refused": str(e)}
        else:
            doc = {"failed": f"{type(e).__name__}: {e}"}
    return dict(name=b["name"], file=b["file"], set=b["set"], figures=plain(doc)), time.process_time() - start


def main():
    root, names = sys.argv[1], sys.argv[2:]
    with open(os.path.join(HERE, "builds.json"), encoding="utf-8") as f:
        builds = json.load(f)
    if names:
        builds = [b for b in builds if b["name"] in names]
    start = time.time()
    done, failed = [], 0
    with multiprocessing.Pool(2) as pool:
        for r, seconds in pool.imap(one, [(root, b) for b in builds]):
            done.append(r)
            f = r["figures"]
            failed += "failed" in f
            print(f"{seconds:7.2f} s  {r['name']}: {f.get('failed') or f.get('refused') or f['outcome']}", file=sys.stderr)
    print(f"{time.time() - start:7.2f} s  {len(done)} builds, {failed} failed", file=sys.stderr)
    doc = dict(computed_with=dict(python=platform.python_version(), numpy=numpy.__version__, scipy=scipy.__version__, pyyaml=yaml.__version__),
               tolerance=dict(cycle=model.RTOL, flight=model.FLIGHT_RTOL),
               results=done)
    if names:
        json.dump(doc, sys.stdout, indent=1, ensure_ascii=False)
    else:
        with open(os.path.join(HERE, "results.json"), "w", encoding="utf-8") as f:
            json.dump(doc, f, indent=1, ensure_ascii=False)
            f.write("\n")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()

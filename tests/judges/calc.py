"""Holds `obvert calc --jsonl` against an independent Python twin of every formula.

    calc.py --obvert PATH [--rows N] [--seed N] [--only NAME]

For each formula: N random rows within its ranges, ends of the ranges included, and some outside of
them. Both must answer or both refuse; answers agree to 1e-9 of their size. Standard library only.
Exit code 1 when a formula has no twin, or with the first rows on which the two differ.
"""

import argparse
import json
import math
import random
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor

from twin import Refused, loads, site, walls, water

AGREEMENT = 1e-9
SHARE_OUTSIDE = 0.03
WATER_AND_GROUND = [("groundwater_above_crown_m", "cover_m"),
                    ("groundwater_above_crown_ft", "cover_ft")]
HUNDREDTHS = ("minimum_wall_thickness_mm", "wall_step_mm")

COMPOSED = {
    "gravity-wall-si": lambda **i: walls.gravity_wall(False, False, **i),
    "gravity-wall-us": lambda **i: walls.gravity_wall(True, False, **i),
    "gravity-wall-before-2007": lambda **i: walls.gravity_wall(True, True, **i),
    "pressure-wall-deteriorated-si": lambda **i: walls.pressure_wall_deteriorated(False, **i),
    "pressure-wall-deteriorated-us": lambda **i: walls.pressure_wall_deteriorated(True, **i),
    "as-built-si": lambda **i: walls.as_built(False, **i),
    "as-built-us": lambda **i: walls.as_built(True, **i),
}


def twin_of(name):
    """The Python function of a formula, or None."""
    if name in COMPOSED:
        return COMPOSED[name]
    for module in (walls, loads, water, site):
        if found := getattr(module, name.replace("-", "_"), None):
            return found
    return None


def one(draw, field):
    """A value within the range of a field, its ends included."""
    low, high = field["min"], field["max"]
    kind = draw.random()
    if kind < 0.02:
        return low
    if kind < 0.04:
        return high
    if kind < 0.52:
        return draw.uniform(low, high)
    if low > 0:
        return min(high, max(low, low * (high / low) ** draw.random()))
    return max(low, high * 10 ** -draw.uniform(0, 8))


def row(draw, fields):
    """Inputs of one row: within the ranges, plausible together more often than not."""
    values = {field["name"]: one(draw, field) for field in fields}
    ranges = {field["name"]: (field["min"], field["max"]) for field in fields}

    def near(name, value):
        low, high = ranges[name]
        values[name] = min(high, max(low, value))

    if draw.random() < 0.9:
        for above, ground in WATER_AND_GROUND:
            if above in values and ground in values:
                near(above, values[ground] * draw.choice([0, 1, draw.random(), draw.random()]))
        for name in ("wall_thickness_mm", "measured_wall_thickness_mm"):
            if name in values and "host_diameter_mm" in values:
                near(name, values["host_diameter_mm"] * draw.uniform(0.002, 0.52))
        for name in ("short_term_flexural_modulus_mpa", "measured_modulus_mpa"):
            if name in values and "long_term_flexural_modulus_mpa" in values:
                near("long_term_flexural_modulus_mpa", values[name] * draw.uniform(0.1, 1.01))
        if "mean_diameter_mm" in values:
            near("maximum_diameter_mm", values["mean_diameter_mm"] * draw.uniform(0.999, 1.2))
            near("minimum_diameter_mm", values["mean_diameter_mm"] * draw.uniform(0.8, 1.001))
        for name in HUNDREDTHS:
            if name in values and "wall_step_mm" in values:
                near(name, round(values[name], 2))
    if draw.random() < SHARE_OUTSIDE:
        field = draw.choice(fields)
        beyond = (field["max"] - field["min"]) * draw.choice([1e-6, 0.1, 3])
        values[field["name"]] = draw.choice([field["min"] - beyond, field["max"] + beyond])
    return values


def answer(twin, fields, values):
    """What the twin gives, or Refused: ranges, and what looks like a mistake of a person."""
    for field in fields:
        if not field["min"] <= values[field["name"]] <= field["max"]:
            raise Refused(field["name"])
    if 0 < values.get("ovality_percent", 0) < 0.1:
        raise Refused("looks like a fraction")
    for above, ground in WATER_AND_GROUND:
        if above in values and ground in values and values[above] > values[ground]:
            raise Refused("water above the ground")
        if (above in values and ground in values and values[above] > 0
                and abs(values[ground] / values[above] * 0.3048 - 1) < 0.001):
            raise Refused("one height in feet and in metres")
    return twin(**values)


def difference(ours, theirs):
    """Relative difference of two results; infinite where only one of them is there."""
    if ours is None or theirs is None:
        return 0.0 if ours is theirs else math.inf
    size = max(abs(ours), abs(theirs))
    return abs(ours - theirs) / size if size else 0.0


class Compared:
    """One formula: how many rows were answered, how many refused, and the largest difference."""

    def __init__(self):
        self.answered = self.refused = 0
        self.largest = 0.0
        self.wrong = []

    def add(self, formula, values, twin, reply):
        try:
            expected = answer(twin, formula["inputs"], values)
        except Refused as refusal:
            self.refused += 1
            if "error" not in reply:
                self.wrong.append((values, f"refused ({refusal})", reply))
            return
        self.answered += 1
        if "result" not in reply:
            self.wrong.append((values, expected, reply))
            return
        names = [output["name"] for output in formula["outputs"]]
        if list(reply["result"]) != names or len(expected) != len(names):
            self.wrong.append((values, expected, reply))
            return
        pairs = zip(expected, reply["result"].values())
        apart = max(difference(ours, theirs) for ours, theirs in pairs)
        self.largest = max(self.largest, apart)
        if apart > AGREEMENT:
            self.wrong.append((values, expected, reply))


def compare(task):
    """Runs the rows of one formula through both; None when there is no twin."""
    obvert, formula, rows, seed = task
    name = formula["formula"]
    twin = twin_of(name)
    if twin is None:
        return None
    draw = random.Random(f"{seed} {name}")
    inputs = [row(draw, formula["inputs"]) for _ in range(rows)]
    text = "".join(json.dumps({"formula": name, "inputs": one}) + "\n" for one in inputs)
    done = subprocess.run([obvert, "calc", "--jsonl"], input=text, capture_output=True, text=True,
                          check=True)
    replies = done.stdout.splitlines()
    if len(replies) != rows:
        sys.exit(f"{name}: {rows} rows in, {len(replies)} rows out")
    compared = Compared()
    for values, reply in zip(inputs, replies):
        compared.add(formula, values, twin, json.loads(reply))
    return compared


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--obvert", required=True)
    parser.add_argument("--rows", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only")
    given = parser.parse_args()
    listed = subprocess.run([given.obvert, "calc", "--list", "--json"], capture_output=True,
                            text=True, check=True)
    formulas = [one for one in json.loads(listed.stdout) if given.only in (None, one["formula"])]
    failed = False
    print(f"{'formula':34} {'answered':>8} {'refused':>8}  largest difference")
    with ProcessPoolExecutor() as pool:
        tasks = [(given.obvert, one, given.rows, given.seed) for one in formulas]
        for formula, compared in zip(formulas, pool.map(compare, tasks)):
            failed |= not told(formula["formula"], compared)
    if failed or not formulas:
        sys.exit("the two do not agree")


def told(name, compared):
    """Prints what was found of a formula; whether the two agree."""
    if compared is None:
        print(f"{name:34} has no twin")
        return False
    print(f"{name:34} {compared.answered:8} {compared.refused:8}  {compared.largest:.1e}")
    for values, expected, reply in compared.wrong[:3]:
        print(f"    inputs {json.dumps(values)}\n    twin   {expected}\n    obvert {reply}")
    return not compared.wrong


if __name__ == "__main__":
    main()

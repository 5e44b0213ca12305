"""Whether two builds of the program give the same answers: every command's JSON on random cars, held against each other to the last
digit.

    python3 tests/same-answers.py OLD NEW [--cars 500] [--seed 1]

OLD and NEW are two programs. The cars are the examples and those of tests/cars with every number of their points, readings and arms a
little off. A key of OLD's answer that NEW's has not, or has otherwise, is told; new keys may come. So are exit statuses, and what is
told on standard error where there is no answer.
"""

import argparse
import concurrent.futures
import json
import pathlib
import random
import re
import subprocess
import tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
CARS = sorted((ROOT / "examples").glob("*.toml")) + sorted((ROOT / "tests/cars").glob("*.toml"))
RECORDS = sorted((ROOT / "examples/records").glob("*.toml"))
SURVEY = ROOT / "examples/surveys/tansy-wharf.toml"
# Keys whose numbers are moved, and by how much, mm or degrees.
MOVED = {"subframe": 6.0, "knuckle": 6.0, "centre": 4.0, "camber": 0.3, "toe": 0.08, "arch_gap": 4.0, "setting": 5.0, "upper": 5.0, "lower": 5.0}
TOLD = 20


def moved(text, draw):
    """A text with its numbers a little off: those of a table's line that begins with one of the keys."""
    number = r"-?\d+(?:\.\d+)?"

    def line(found):
        key = found["key"]
        if key not in MOVED or '"' in found["value"]:
            return found[0]
        off = lambda n: f"{float(n[0]) + draw.gauss(0.0, MOVED[key]):.2f}"
        return found["head"] + re.sub(number, off, found["value"])

    return re.sub(r"(?m)^(?P<head>(?P<key>\w+) *= *)(?P<value>[^#\n]*)", line, text)


def questions(profile, drop, record, survey):
    """Every command that answers in JSON, as it is asked of one car."""
    at = ["--drop", f"{drop:.2f}"]
    uneven = ["--drop-left", f"{drop:.2f}", "--drop-right", f"{drop - 3.0:.2f}"]
    for command in ("lower", "cams", "arms", "plan", "sheet", "shop", "tune", "travel", "clearance", "joints", "springs", "loads", "bolts", "lockout"):
        yield [command, profile, *at]
    for command in ("lower", "cams", "plan", "arms"):
        yield [command, profile, *uneven]
    yield ["plan", profile, *at, "--cams", "keep"]
    yield ["plan", profile, *at, "--samples", "40"]
    yield ["check", profile]
    yield ["readings", profile, record]
    yield ["correct", profile, "--record", record]
    yield ["correct", profile, *at, "--left=-1.4,0.3", "--right=-0.8,-0.1"]
    yield ["fit", profile, record, *at]
    yield ["survey", survey]
    yield ["spec", "toe", "0.05..0.15", "--each"]
    yield ["check", profile, "--explain", "upper length"]
    yield ["lower", profile, *at, "--explain", "lowered camber left"]


def asked(program, words):
    run = subprocess.run([program, *words, "--format", "json"], capture_output=True, text=True, timeout=300)
    try:
        answer = json.loads(run.stdout)
    except ValueError:
        answer = None
    return run.returncode, answer, run.stderr


def differences(old, new, place=""):
    if isinstance(old, dict) and isinstance(new, dict):
        for key, value in old.items():
            if key not in new:
                yield f"{place}.{key} is gone"
            else:
                yield from differences(value, new[key], f"{place}.{key}")
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for i, pair in enumerate(zip(old, new)):
            yield from differences(*pair, f"{place}[{i}]")
    elif old != new or type(old) is not type(new):
        yield f"{place}: {old!r}, now {new!r}"


def compared(old, new, number, seed):
    draw = random.Random(f"{seed} {number}")
    base = CARS[number % len(CARS)]
    record = RECORDS[number // len(CARS) % len(RECORDS)]
    told, answers = [], 0
    with tempfile.TemporaryDirectory() as folder:
        profile = pathlib.Path(folder, "car.toml")
        profile.write_text(moved(base.read_text(), draw))
        survey = pathlib.Path(folder, "survey.toml")
        survey.write_text(re.sub(r"(reads *= *)(\d+\.\d+)", lambda m: f"{m[1]}{float(m[2]) + draw.gauss(0, 1.5):.1f}", SURVEY.read_text()))
        for words in questions(str(profile), draw.uniform(-10.0, 60.0), str(record), str(survey)):
            before, after = asked(old, words), asked(new, words)
            answers += before[1] is not None
            shown = " ".join(words).replace(folder + "/", "")
            if before[0] != after[0]:
                told.append(f"car {number} ({base.name}): {shown}: exit {before[0]}, now {after[0]}\n{after[2]}")
            elif before[1] is None and before[2] != after[2]:
                told.append(f"car {number} ({base.name}): {shown}:\n{before[2]}now:\n{after[2]}")
            else:
                told += [f"car {number} ({base.name}): {shown}: {what}" for what in differences(before[1], after[1])]
    return told, answers


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("old")
    parser.add_argument("new")
    parser.add_argument("--cars", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    told, answers = [], 0
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for found, count in pool.map(lambda number: compared(args.old, args.new, number, args.seed), range(args.cars)):
            told += found
            answers += count
    print("\n".join(told[:TOLD]))
    print(f"{args.cars} cars, {answers} answers, {len(told)} differences")
    raise SystemExit(bool(told))


if __name__ == "__main__":
    main()

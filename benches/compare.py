"""How fast rodset is, and beside it the same equations in numpy, scipy and C++: `python3 benches/compare.py [--build]`.

Needs numpy, scipy, a C++ compiler with Eigen and valgrind; what is not there is left out and said so. `--build` measures a clean
release build too, which takes a minute or two. Nothing else should run meanwhile."""

import os
import pathlib
import platform
import shutil
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
EIGEN = ["/usr/include/eigen3", "/usr/local/include/eigen3"]

# Additions, multiplications and divisions of the solver's parts, counted in src/geometry (row, slope, pose, solve).
ROD = 15 + 6 + 3 + 9 + 3 + 7  # arm, line, along, moment, its lever, miss
ROD_MISS = 15 + 6 + 3 + 7  # without the moment
FILL = 5 * ROD + 1
MISSES = 5 * ROD_MISS + 1
FACTOR = sum(1 + (5 - k) * (1 + 2 * (5 - k)) for k in range(6))
SOLVE = 2 * 15 + 2 * 15 + 6
INVERSE = 2 * sum((5 - k) * (k + 1) for k in range(5)) + 6 * (2 * 15 + 6)
NORM = 12
STEPPED = 43 + 45 + 3  # Cayley's turn, its product, the shift
SQUARED = 45 + 9 + 45 + 9
CORRECTION = 6 + SOLVE + NORM + STEPPED + 5
WARM = (
    (FILL + FACTOR + 6 + SOLVE + NORM + 6 + STEPPED)  # the tangent
    + (FILL + FACTOR + CORRECTION)
    + (MISSES + CORRECTION)
    + (SQUARED + FILL + 72 + FACTOR + INVERSE + 72)  # the last look
)


def run(*words, env=None, given=None):
    return subprocess.run(
        words, check=True, text=True, capture_output=True, cwd=ROOT, env={**os.environ, **(env or {})}, input=given
    ).stdout


def harness():
    """The compiled questions, and where cargo puts things."""
    import json

    said = run("cargo", "bench", "--bench", "work", "--locked", "--no-run", "--message-format", "json")
    made = [json.loads(line) for line in said.splitlines() if line.startswith("{")]
    return next(m["executable"] for m in made if m.get("executable") and m["target"]["name"] == "work")


def timed(work, *names, threads=None):
    env = {"RAYON_NUM_THREADS": str(threads)} if threads else None
    answers = {}
    for line in run(work, "time", *names, env=env).splitlines():
        name, count, ns, said = line.split("\t")
        answers[name] = (float(ns), int(count), said)
    return answers


def instructions(work, name, times):
    """Of one question, by a counter: what so many more of them take more."""

    def collected(count):
        with tempfile.TemporaryDirectory() as folder:
            done = subprocess.run(
                ["valgrind", "--tool=callgrind", f"--callgrind-out-file={folder}/out", work, "count", name, str(count)],
                capture_output=True, text=True, check=True, cwd=ROOT,
            )
        return int(done.stderr.split("Collected :")[1].split()[0])

    return (collected(times) - collected(0)) / times


def process(binary):
    """Least wall time in ms and greatest memory in MB of whole runs of `plan`."""
    words = [binary, "plan", "examples/tansy-wharf.toml", "--drop", "40"]
    least = float("inf")
    for _ in range(100):
        begin = time.perf_counter()
        subprocess.run(words, cwd=ROOT, stdout=subprocess.DEVNULL, check=True)
        least = min(least, time.perf_counter() - begin)
    if not shutil.which("time"):
        return least * 1e3, None
    # A child of Python counts as Python's own what it had before it became another program; `time` is small.
    said = subprocess.run(["time", "-f", "%M", *words], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=True)
    return least * 1e3, int(said.stderr) / 1024


def eigen(rods):
    place = next((place for place in EIGEN if os.path.isdir(place)), None)
    compiler = shutil.which("g++") or shutil.which("clang++")
    if not (place and compiler):
        return None
    with tempfile.TemporaryDirectory() as folder:
        program = f"{folder}/newton"
        run(compiler, "-O3", "-march=native", "-DNDEBUG", f"-I{place}", "-o", program, "benches/newton.cpp")
        ns, off, _ = map(float, run(program, given=rods).split())
    return ns, off


def processor():
    for line in open("/proc/cpuinfo"):
        if line.startswith("model name"):
            return line.split(":")[1].strip()
    return platform.processor()


def main():
    work = harness()
    print(f"{processor()}, {os.cpu_count()} cores, {time.strftime('%Y-%m-%d')}\n")
    answers = timed(work)
    print(f"{'question':12} {'time':>12} {'an answer':>12}")
    for name, (ns, count, said) in answers.items():
        print(f"{name:12} {said_time(ns):>12} {said_time(ns / count):>12}   {said}")

    if shutil.which("valgrind"):
        print("\ninstructions of one")
        for name, times in [("step", 20000), ("cold", 20000), ("warm", 20000), ("inverse", 20000), ("four", 20000), ("plan", 20)]:
            print(f"{name:12} {instructions(work, name, times):12.0f}")

    warm, four = answers["warm"][0], answers["four"][0] / 4
    scalar, lanes = map(float, run(work, "floor").split())
    print(f"\nfloor: {WARM} operations at {scalar:.1f} and, four at once, {lanes:.1f} a ns")
    print(f"{'warm':12} {said_time(WARM / scalar):>12}   {warm / (WARM / scalar):.1f} times the floor")
    print(f"{'four':12} {said_time(WARM / lanes):>12}   {four / (WARM / lanes):.1f} times the floor")

    one, two = (2e5 / (timed(work, "samples", threads=threads)["samples"][0] / 1e9) for threads in (1, 2))
    print(f"\nsampled plans of one side a second: {one:,.0f} on one core, {two:,.0f} on two, {two / one:.2f} times")

    rods = run(work, "rods")
    print(f"\n{'the warm position elsewhere':32} {'time':>10}   times rodset's, and four at once   off, mm")
    rivals = []
    if (done := eigen(rods)) is not None:
        rivals.append(("C++ with Eigen, -march=native", *done))
    try:
        sys.path.insert(0, str(ROOT / "benches"))
        sys.dont_write_bytecode = True
        import others

        wheel = others.Wheel(rods)
        rivals.append(("numpy, 100,000 at once", *others.batch(wheel)))
        rivals.append(("scipy fsolve", *others.scalar(wheel, "fsolve")))
        rivals.append(("scipy least_squares", *others.scalar(wheel, "least_squares")))
    except ImportError as error:
        print(f"left out: {error}")
    for name, ns, off in rivals:
        print(f"{name:32} {said_time(ns):>10}   {ns / warm:8.1f} {ns / four:10.1f} {off:27.0e}")

    target = pathlib.Path(work).parents[2]
    if "--build" in sys.argv:
        with tempfile.TemporaryDirectory() as folder:
            begin = time.perf_counter()
            run("cargo", "build", "--release", "--locked", "--target-dir", folder)
            print(f"\nclean release build: {time.perf_counter() - begin:.0f} s")
    run("cargo", "build", "--release", "--locked")
    binary = target / "release" / "rodset"
    ms, megabytes = process(str(binary))
    memory = "memory left out, there is no `time`" if megabytes is None else f"{megabytes:.1f} MB"
    print(f"a whole `plan`: {ms:.1f} ms, {memory}; binary {binary.stat().st_size / 1e6:.2f} MB")


def said_time(ns):
    for unit, size in [("s", 1e9), ("ms", 1e6), ("µs", 1e3)]:
        if ns >= size:
            return f"{ns / size:.3g} {unit}"
    return f"{ns:.3g} ns"


main()

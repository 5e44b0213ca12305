"""Puts the program's present output into the console blocks of the README and of the guide, keeping what each block leaves
out as `...`, and draws the guide's pictures again.

Run in the project's folder after a wanted change of output, then read the diff: python3 tests/refresh-documents.py

A block shows one command or several, each behind `$ `. Under it stand its printed lines; each stretch of them is found again
by its first and its last line. The picture of the printed sheet needs Debian's packages `chromium` and `poppler-utils`.
"""

import os
import pathlib
import re
import shutil
import subprocess
import tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "target/debug"
PICTURES = ROOT / "examples/pictures"
# A stretch is known by so many letters of its first and of its last line.
KNOWN_BY = 12


def run(line, folder):
    environment = os.environ | {"PATH": f"{PROGRAM}:{os.environ['PATH']}", "SOURCE_DATE_EPOCH": "1763769600"}
    environment.pop("COLUMNS", None)
    run = subprocess.run(
        ["sh", "-c", line], cwd=folder, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True
    )
    return (run.stdout + run.stderr).splitlines()


def stretches(shown):
    """The shown lines between the gaps."""
    found = [[]]
    for line in shown:
        if line == "...":
            found.append([])
        else:
            found[-1].append(line)
    return found


def same(printed, shown):
    """Whether a printed line is the shown one, or begins with it where only its beginning was written down."""
    return printed[:KNOWN_BY] == shown[:KNOWN_BY] or bool(shown) and len(shown) < KNOWN_BY and printed.startswith(shown)


def refreshed(shown, printed):
    result, at = [], 0
    parts = stretches(shown)
    for number, part in enumerate(parts):
        if part:
            first = next(i for i in range(at, len(printed)) if same(printed[i], part[0]))
            there = first + len(part) - 1
            lasts = [i for i in range(first, len(printed)) if same(printed[i], part[-1])]
            last = min(lasts, key=lambda i: abs(i - there)) if len(part) > 1 else first
            result += printed[first : last + 1]
            at = last + 1
        if number < len(parts) - 1:
            result.append("...")
    return result


def refresh(document, folder):
    def block(match):
        text = ""
        for session in re.split(r"^\$ ", match.group(1), flags=re.M)[1:]:
            command, *shown = session.splitlines()
            printed = run(command, folder)
            try:
                lines = refreshed(shown, printed)
            except (StopIteration, ValueError):
                raise SystemExit(f"{document}: what is shown of `{command}` is not printed any more:\n" + "\n".join(printed))
            text += "\n".join([f"$ {command}", *lines]) + "\n"
        return f"```console\n{text}```"

    path = ROOT / document
    path.write_text(re.sub(r"```console\n((?:.*\n)*?)```", block, path.read_text()))


def picture_of(page, picture):
    """The second sheet of a printed page, where the arms are."""
    with tempfile.TemporaryDirectory() as folder:
        pdf = pathlib.Path(folder) / "page.pdf"
        subprocess.run(
            ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer",
             "--disable-background-networking", f"--user-data-dir={folder}/profile", f"--print-to-pdf={pdf}", page.as_uri()],
            check=True, capture_output=True,
        )
        subprocess.run(
            ["pdftoppm", "-f", "1", "-r", "72", "-gray", "-png", "-singlefile", pdf, picture.with_suffix("")], check=True
        )


def main():
    subprocess.run(["cargo", "build", "--quiet"], cwd=ROOT, check=True)
    refresh("README.md", ROOT)
    refresh("examples/measuring.md", ROOT)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        shutil.copytree(ROOT / "examples", folder / "examples")
        refresh("examples/README.md", folder)
        for drawing in ["curves.svg", "links.svg", "blade.svg", "strut.svg", "integral.svg"]:
            shutil.copy(folder / drawing, PICTURES)
        if shutil.which("chromium") and shutil.which("pdftoppm"):
            picture_of(folder / "sheet.html", PICTURES / "sheet.png")


main()

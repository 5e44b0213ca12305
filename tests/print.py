"""Prints the pages of `sheet` and `shop` in headless Chromium and looks at what comes out.

    cargo build && python3 tests/print.py [FOLDER]

It needs Debian's packages `chromium` and `poppler-utils`; `cargo test` runs it where they are. For both cars and both papers it
checks the number of pages, that every page is of that paper, that no text is lost or lies outside the margins, and
that nothing but grey is printed. PDFs and pictures of their pages stay in FOLDER (default: target/print) to be looked at.
"""

import collections
import html
import os
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
RODSET = pathlib.Path(os.environ.get("RODSET", ROOT / "target/debug/rodset"))
# Width and height in points, and the margins that sheet.css gives every page.
PAPERS = {"A4": (595.3, 841.9), "letter": (612.0, 792.0)}
MARGIN = 12 / 25.4 * 72
# What is printed, and how many pages it may take.
SHEETS = {
    "tansy-wharf": (["sheet", "examples/tansy-wharf.toml", "--drop", "40"], range(4, 11)),
    "sedge-mill": (["sheet", "examples/sedge-mill.toml", "--drop-left", "45", "--drop-right", "40"], range(4, 11)),
    "three-arms": (["sheet", "examples/tansy-wharf.toml", "--drop", "40", "--fit", "upper,toe,traction"], range(4, 11)),
    "out-of-reach": (["sheet", "examples/tansy-wharf.toml", "--drop", "40", "--camber", "4"], range(4, 11)),
    "shop": (["shop", "examples/tansy-wharf.toml", "--drop", "40"], range(1, 3)),
    "shop-mm": (["shop", "examples/sedge-mill.toml", "--drop", "30", "--fit", "toe", "--toe-unit", "mm"], range(1, 3)),
}
CHROMIUM = [
    "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-dev-shm-usage",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-pdf-header-footer",
]


def run(*command):
    return subprocess.run([str(part) for part in command], cwd=ROOT, capture_output=True, text=True, check=True).stdout


def page_words(page):
    """The words of a page of HTML, without its style and its boxes."""
    body = re.sub(r"<title>.*?</title>|<style>.*?</style>", " ", page, flags=re.S)
    return html.unescape(re.sub(r"<[^>]*>", " ", body)).split()


def check(name, paper, folder, page, counts):
    size = PAPERS[paper]
    # The page leaves the paper to the printer; here it is said in the place where a print dialogue says it.
    source = folder / f"{name}-{paper}.html"
    source.write_text(page.replace("</style>", f"@page {{ size: {paper}; }}\n</style>"), encoding="utf-8")
    pdf = folder / f"{name}-{paper}.pdf"
    with tempfile.TemporaryDirectory() as profile:
        run(*CHROMIUM, f"--user-data-dir={profile}", f"--print-to-pdf={pdf}", source.as_uri())
    info = run("pdfinfo", pdf)
    count = int(re.search(r"Pages:\s+(\d+)", info)[1])
    assert count in counts, f"{pdf}: {count} pages"
    boxes = run("pdftotext", "-bbox", pdf, "-")
    found = []
    for width, height, inside in re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', boxes, re.S):
        assert abs(float(width) - size[0]) < 2 and abs(float(height) - size[1]) < 2, f"{pdf}: {width} x {height}"
        on_page = re.findall(r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', inside)
        assert on_page, f"{pdf}: an empty page"
        for x0, y0, x1, y1, word in on_page:
            x0, y0, x1, y1 = map(float, (x0, y0, x1, y1))
            sound = MARGIN - 1 <= x0 and x1 <= size[0] - MARGIN + 1 and 10 <= y0 and y1 <= size[1] - 10
            assert sound, f"{pdf}: {word} at {x0},{y0} to {x1},{y1} is outside the margins"
            found.append(html.unescape(word))
    # Every letter of the page is on paper. Texts in drawings come twice: their white edge, then themselves.
    letters = lambda parts: collections.Counter("".join(parts))
    lost = letters(page_words(page)) - letters(found)
    assert not lost, f"{pdf}: lost {lost}"
    run("pdftoppm", "-r", "70", "-png", pdf, folder / f"{name}-{paper}")
    picture = subprocess.run(["pdftoppm", "-r", "40", pdf], capture_output=True, check=True).stdout
    at = 0
    while at < len(picture):
        _, w, h, _ = header = picture[at:at + 40].split(None, 4)[:4]
        start = at + len(b" ".join(header)) + 1
        end = start + int(w) * int(h) * 3
        body = picture[start:end]
        assert body[0::3] == body[1::3] == body[2::3], f"{pdf}: there is colour in it"
        at = end
    return count


def main():
    folder = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "target/print").resolve()
    folder.mkdir(parents=True, exist_ok=True)
    for name, (command, counts) in SHEETS.items():
        file = folder / f"{name}.html"
        done = subprocess.run([RODSET, *command, "--output", file], cwd=ROOT, capture_output=True, text=True)
        assert done.returncode in (0, 3), done.stderr
        page = file.read_text(encoding="utf-8")
        for paper in PAPERS:
            count = check(name, paper, folder, page, counts)
            print(f"{name} on {paper}: {count} pages, nothing cut off")


if __name__ == "__main__":
    main()

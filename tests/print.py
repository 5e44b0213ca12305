"""Prints the pages to be printed in headless Chromium and Firefox and looks at what comes out.

    cargo build && python3 tests/print.py [FOLDER]

It needs Debian's packages `chromium`, `firefox-esr` and `poppler-utils`; `cargo test` runs it where they are. On both papers and in both
browsers it checks that every sheet of the page is one page of that paper, with its head and its foot on it, that no text is lost or
lies outside the margins, and that nothing but grey is printed. PDFs and pictures of their pages stay in FOLDER (default:
target/print) to be looked at.
"""

import base64
import collections
import html
import json
import os
import pathlib
import re
import socket
import subprocess
import sys
import tempfile
import time
import unicodedata

ROOT = pathlib.Path(__file__).resolve().parent.parent
RODSET = pathlib.Path(os.environ.get("RODSET", ROOT / "target/debug/rodset"))
# Width and height in points, and the margins that sheet.css gives every page.
PAPERS = {"A4": (595.3, 841.9), "letter": (612.0, 792.0)}
MARGIN = {"across": 12 / 25.4 * 72, "along": 9 / 25.4 * 72}
FIRST = "examples/tansy-wharf.toml"
# Names as long as people give them, and an arm on every link.
NAMES = {
    "upper": "rear upper camber control arm",
    "toe": "rear lower toe control link",
    "traction": "rear upper traction arm",
    "lower front": "rear lower front control arm",
    "lower rear": "rear lower spring support arm",
}
# What is printed, and on how many sheets.
SHEETS = {
    "two-arms": (["sheet", FIRST, "--drop", "40", "--fit", "upper"], 2),
    "four-arms": (["sheet", FIRST, "--drop", "40", "--fit", "upper,toe"], 2),
    "one-thread": (["sheet", "examples/sedge-mill.toml", "--drop", "45"], 2),
    "uneven": (["sheet", "examples/sedge-mill.toml", "--drop-left", "45", "--drop-right", "40"], 2),
    "long-names": (["sheet", "LONG", "--drop", "40", "--fit", ",".join(list(NAMES.values())[:2])], 2),
    "ten-arms": (["sheet", "LONG", "--drop", "40", "--fit", ",".join(NAMES.values())], 4),
    "all-parts": (["sheet", "LONG", "--drop", "40", "--with", "shop,drawings,curves"], range(6, 10)),
    "out-of-reach": (["sheet", FIRST, "--drop", "40", "--camber", "4"], range(3, 5)),
    "without-arms": (["sheet", FIRST, "--drop", "30", "--fit", "none"], 2),
    "shop": (["shop", "LONG", "--drop", "40"], 2),
    "survey-sheet": (["survey", "examples/surveys/tansy-wharf.toml", "--sheet"], range(1, 4)),
    "travel": (["travel", FIRST, "--drop", "40", "--detail", "--every", "10"], range(4, 14)),
    "plan": (["plan", "LONG", "--drop", "40"], range(1, 4)),
}


def run(*command):
    return subprocess.run([str(part) for part in command], cwd=ROOT, capture_output=True, text=True, check=True).stdout


class Chromium:
    # Texts in drawings can be read from what it prints; Firefox draws letters that have an edge as lines.
    draws_text = True

    def __init__(self, folder):
        self.profile = folder / "chromium"

    def print(self, page, paper, pdf):
        # The page leaves the paper to the printer; here it is said in the place where a print dialogue says it.
        text = page.read_text(encoding="utf-8").replace("</style>", f"@page {{ size: {paper}; }}\n</style>")
        sized = page.with_suffix(f".{paper}.html")
        sized.write_text(text, encoding="utf-8")
        run("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-dev-shm-usage",
            "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-pdf-header-footer",
            f"--user-data-dir={self.profile}", f"--print-to-pdf={pdf}", sized.as_uri())
        sized.unlink()

    def end(self):
        pass


class Firefox:
    """Firefox as its own remote control (Marionette) has it print: messages of JSON behind their length."""

    draws_text = False

    def __init__(self, folder):
        profile = folder / "firefox"
        profile.mkdir()
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        (profile / "user.js").write_text(f'user_pref("marionette.port", {port});\n')
        self.process = subprocess.Popen(
            ["firefox-esr", "--headless", "--marionette", "--no-remote", "--profile", profile],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        for _ in range(600):
            try:
                self.socket = socket.create_connection(("127.0.0.1", port))
                break
            except OSError:
                time.sleep(0.1)
        self.answers, self.asked = self.socket.makefile("rb"), 0
        self.answer()
        self.ask("WebDriver:NewSession")

    def answer(self):
        size = b""
        while (digit := self.answers.read(1)) != b":":
            size += digit
        return json.loads(self.answers.read(int(size)))

    def ask(self, command, **values):
        self.asked += 1
        message = json.dumps([0, self.asked, command, values]).encode()
        self.socket.sendall(b"%d:%s" % (len(message), message))
        _, _, error, value = self.answer()
        assert not error, error
        return value

    def print(self, page, paper, pdf):
        width, height = (points / 72 * 2.54 for points in PAPERS[paper])
        margin = {"left": 1.2, "right": 1.2, "top": 0.9, "bottom": 0.9}
        self.ask("WebDriver:Navigate", url=page.as_uri())
        printed = self.ask("WebDriver:Print", page={"width": width, "height": height}, margin=margin, background=True, shrinkToFit=False)
        pdf.write_bytes(base64.b64decode(printed["value"] if isinstance(printed, dict) else printed))

    def end(self):
        self.process.terminate()
        self.process.wait()


def page_words(page):
    """The words of a page of HTML, without its style, its boxes and what describes its drawings."""
    body = re.sub(r"<title>.*?</title>|<desc>.*?</desc>|<style>.*?</style>", " ", page, flags=re.S)
    return html.unescape(re.sub(r"<[^>]*>", " ", body)).split()


def check(pdf, paper, page, drawn_as_text):
    size = PAPERS[paper]
    if not drawn_as_text:
        page = re.sub(r"<svg.*?</svg>", " ", page, flags=re.S)
    sheets = re.findall(r"<main>(.*?)</main>", page, re.S)
    boxes = run("pdftotext", "-bbox", pdf, "-")
    printed = re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', boxes, re.S)
    assert len(printed) == len(sheets), f"{pdf}: {len(printed)} pages of {len(sheets)} sheets"
    letters = lambda parts: collections.Counter("".join(parts))
    for number, (sheet, (width, height, inside)) in enumerate(zip(sheets, printed), 1):
        assert abs(float(width) - size[0]) < 2 and abs(float(height) - size[1]) < 2, f"{pdf}: {width} x {height}"
        words = re.findall(r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', inside)
        # Two letters may be printed as one.
        places = [(*map(float, word[:4]), unicodedata.normalize("NFKC", html.unescape(word[4]))) for word in words]
        for x0, y0, x1, y1, word in places:
            across = MARGIN["across"] - 1 <= x0 and x1 <= size[0] - MARGIN["across"] + 1
            sound = across and MARGIN["along"] - 2 <= y0 and y1 <= size[1] - MARGIN["along"] + 2
            assert sound, f"{pdf}: {word} at {x0},{y0} to {x1},{y1} is outside the margins"
        # Every letter of the sheet is on its page. Texts in drawings come twice: their white edge, then themselves.
        lost = letters(page_words(sheet)) - letters(word for *_, word in places)
        assert not lost, f"{pdf}: page {number} lost {lost}"
        # Its head is above all else on it, and its foot below.
        foot = [y for _, y, _, _, word in places if word == "page"][-1]
        content = [y1 for _, _, _, y1, word in places if y1 < foot - 4]
        assert f"page {number} of {len(sheets)}" in " ".join(word for *_, word in places), f"{pdf}: page {number} has no foot"
        assert content and max(content) <= foot, f"{pdf}: page {number} has something on its foot"
        head = re.search(r"<header>(.*?)</header>", sheet, re.S)
        if head:
            first = page_words(head[1])[0]
            top = min(y for _, y, _, _, _ in places)
            assert any(word == first and y < top + 8 for _, y, _, _, word in places), f"{pdf}: page {number} has no head"
    run("pdftoppm", "-r", "70", "-png", pdf, pdf.with_suffix(""))
    picture = subprocess.run(["pdftoppm", "-r", "40", pdf], capture_output=True, check=True).stdout
    at = 0
    while at < len(picture):
        _, w, h, _ = header = picture[at:at + 40].split(None, 4)[:4]
        start = at + len(b" ".join(header)) + 1
        end = start + int(w) * int(h) * 3
        body = picture[start:end]
        assert body[0::3] == body[1::3] == body[2::3], f"{pdf}: there is colour in it"
        at = end


def long_names(folder):
    text = (ROOT / FIRST).read_text(encoding="utf-8")
    for short, long in NAMES.items():
        text = text.replace(f'name = "{short}"', f'name = "{long}"').replace(f'"{short}"]', f'"{long}"]')
    axis = "knuckle_axis = [1.0, 0.0, 0.0]\n"
    before, lower = text.split(NAMES["lower front"])
    front, rear, rest = lower.split(axis, 2)
    arm = 'sets = "camber"\n[link.arm]\nshortest = %s\nlongest = %s\nthreads = ["M16x1.5 RH", "M16x1.5 LH"]\n'
    text = before + NAMES["lower front"] + front + axis + arm % (340.0, 380.0) + rear + axis + arm % (350.0, 390.0) + rest
    file = folder / "long-names.toml"
    file.write_text(text, encoding="utf-8")
    return file


def main():
    folder = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "target/print").resolve()
    folder.mkdir(parents=True, exist_ok=True)
    names = long_names(folder)
    pages = {}
    for name, (command, counts) in SHEETS.items():
        file = folder / f"{name}.html"
        file.unlink(missing_ok=True)
        command = [names if part == "LONG" else part for part in command]
        done = subprocess.run([RODSET, *command, "--output", file], cwd=ROOT, capture_output=True, text=True)
        assert done.returncode in (0, 3), done.stderr
        page = pages[name] = file.read_text(encoding="utf-8")
        count = page.count("<main>")
        assert count in (counts if isinstance(counts, range) else [counts]), f"{name}: {count} sheets"
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profiles:
        for browser in [Firefox, Chromium]:
            printer = browser(pathlib.Path(profiles))
            try:
                for name, page in pages.items():
                    for paper in PAPERS:
                        pdf = folder / f"{name}-{browser.__name__.lower()}-{paper}.pdf"
                        printer.print(folder / f"{name}.html", paper, pdf)
                        check(pdf, paper, page, browser.draws_text)
                        print(f"{name} on {paper} from {browser.__name__}: {page.count('<main>')} sheets, nothing cut off")
            finally:
                printer.end()


if __name__ == "__main__":
    main()

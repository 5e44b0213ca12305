"""Writes data/licences.txt: under which licence each crate is that goes into the program or builds it, on any system, with the texts.

Run in the project's folder after a change of Cargo.lock: python3 tests/refresh-licences.py

Where a crate may be had under one of several licences, the first of `PREFERRED` is taken. Needs the sources of the crates, which
`cargo metadata` fetches where they are not there yet.
"""

import json
import pathlib
import re
import subprocess
import textwrap

ROOT = pathlib.Path(__file__).resolve().parent.parent
PREFERRED = ["MIT", "Zlib", "Apache-2.0", "Unicode-3.0"]
HEAD = """\
The crates that go into rodset or build it, each with the licence under which it is used, of those that its authors offer.
Made by tests/refresh-licences.py. rodset itself is under MIT or Apache-2.0, at your choice.
"""


def built():
    """The crates that the program is built from, by name and version."""
    text = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--locked"], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout
    metadata = json.loads(text)
    packages = {package["id"]: package for package in metadata["packages"]}
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    root = metadata["resolve"]["root"]
    found, ways = set(), [root]
    while ways:
        for needed in nodes[ways.pop()]["deps"]:
            kinds = {kind["kind"] for kind in needed["dep_kinds"]}
            if kinds - {"dev"} and needed["pkg"] not in found:
                found.add(needed["pkg"])
                ways.append(needed["pkg"])
    return sorted((packages[found] for found in found), key=lambda package: (package["name"], package["version"]))


def taken(package):
    """The licences that are taken: of each group of alternatives one."""
    groups = package["license"].replace("/", " OR ").replace("(", "").replace(")", "").split(" AND ")
    wanted = []
    for group in groups:
        offered = [name.strip() for name in group.split(" OR ")]
        wanted.append(next(name for name in PREFERRED if name in offered))
    return wanted


def texts(package):
    """What the licence files of a crate say, by their names."""
    folder = pathlib.Path(package["manifest_path"]).parent
    begins = ("LICENSE", "LICENCE", "COPYRIGHT", "NOTICE", "COPYING")
    files = [file for file in sorted(folder.iterdir()) if file.is_file() and file.name.upper().startswith(begins)]
    return {file.name: file.read_text(errors="replace") for file in files}


def holders(package):
    """Who holds the copyright, as the crate's files say it; its authors where they do not."""
    lines = "\n".join(text for name, text in texts(package).items() if "APACHE" not in name.upper()).splitlines()
    said = [" ".join(line.split()) for line in lines if re.match(r"\s*copyright\s+(\(c\)|©|\d|the)", line, re.I)]
    authors = ["Copyright (c) " + ", ".join(package["authors"])] if package["authors"] else []
    return list(dict.fromkeys(said)) or authors or [f"Copyright (c) the authors of {package['name']}"]


def permission(packages, licence):
    """The text of a licence without its copyright lines, from the first crate that has it."""
    marks = {"MIT": "Permission is hereby granted, free of charge", "Zlib": "This software is provided 'as-is'",
             "Apache-2.0": "TERMS AND CONDITIONS FOR USE", "Unicode-3.0": "UNICODE LICENSE V3"}
    for package in packages:
        for text in texts(package).values():
            if marks[licence] in text:
                begin = text.index(marks[licence])
                end = text.find("END OF TERMS AND CONDITIONS")
                return text[begin : end if end > 0 else None].strip()
    raise SystemExit(f"no crate has the text of {licence}")


def main():
    packages = built()
    page = HEAD
    for licence in PREFERRED:
        under = [package for package in packages if licence in taken(package)]
        page += f"\n\n{'=' * 40} {licence}\n"
        for package in under:
            page += f"\n{package['name']} {package['version']}\n"
            for holder in holders(package):
                page += textwrap.fill(holder, 120, initial_indent="    ", subsequent_indent="    ") + "\n"
        # Apache-2.0 asks for the notices of works that have one.
        notices = [text for package in under for name, text in texts(package).items() if name.upper().startswith("NOTICE")]
        page += "\n" + "\n\n".join([permission(packages, licence), *(notices if licence == "Apache-2.0" else [])]) + "\n"
    (ROOT / "data/licences.txt").write_text("\n".join(line.rstrip() for line in page.splitlines()) + "\n")


main()

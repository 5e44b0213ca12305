"""Puts the program's present output into the console blocks of the README, keeping what each block leaves out as `...`.

Run in the project's folder after a wanted change of output, then read the diff: python tests/refresh-readme.py
"""
import pathlib
import re
import subprocess

readme = pathlib.Path("README.md")


def refresh(block):
    command, shown = block.group(1), block.group(2).splitlines()
    run = subprocess.run(["cargo", "run", "--quiet", "--", *command.split()], capture_output=True, text=True)
    printed = (run.stdout + run.stderr).splitlines()
    result, at = [], 0
    pieces, piece = [], []
    for line in shown + ["..."]:
        if line == "...":
            pieces.append(piece)
            piece = []
        else:
            piece.append(line)
    # Each piece is found again by its first and its last line.
    for number, piece in enumerate(pieces):
        if piece:
            first = next(i for i in range(at, len(printed)) if printed[i][:12] == piece[0][:12])
            last = next(i for i in range(first, len(printed)) if printed[i][:12] == piece[-1][:12] and i >= first + len(piece) // 2)
            result += printed[first : last + 1]
            at = last + 1
        if number < len(pieces) - 1:
            result.append("...")
    return f"```console\n$ rodset {command}\n" + "\n".join(result) + "\n```"


readme.write_text(re.sub(r"```console\n\$ rodset (.*)\n((?:.*\n)*?)```", refresh, readme.read_text()))

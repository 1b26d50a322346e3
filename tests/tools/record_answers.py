"""Record what every command answers, so that two states of the program can be compared figure by figure.

    python -m tests.tools.record_answers OUT [--plants RECORD] [--only WORD] [--quick]
    python -m tests.tools.compare_answers OLD NEW [--words]

OUT gets `plants/` (the samples, their wrong variants, and every plant that a closed-form test reads),
`answers/` (the JSON of each command for each plant, compressed) and `sheets/` (the texts of the printed sheet
with their places). A second record should be made with `--plants` and the folder of the first, so that both
are of the same plants, whatever the tests have become meanwhile. `--only` takes the plants whose name holds a
word; `--quick` leaves out the study of second circulators, the slowest part, and sizes of wrong variants.

To record an older state of the program, copy this file into a worktree of it and run it there, with that
worktree as PYTHONPATH.
"""

from __future__ import annotations

import argparse
import contextlib
import gzip
import io
import json
import re
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from core.commands import main as command
from core.files import read
from tests.plants.edits import SAMPLES
from tests.plants.variants import VARIANTS

Data = dict[str, Any]
SOLVES = {"solve": ["--all-cases"], "calls": ["--all-calls"]}
OTHERS = ("size", "second-pump", "call-sheet", "logbook")


def plants() -> dict[str, Data]:
    """All plants by name: "sample …", "variant …", "closed …"."""
    found = {
        f"sample {path.name.split('.')[0]}": json.loads(path.read_text(encoding="utf-8"))
        for path in sorted(SAMPLES.glob("*.plant.json"))
    }
    found |= {f"variant {one.name}": one.data() for one in VARIANTS}
    return found | closed_form_plants()


def closed_form_plants() -> dict[str, Data]:
    """Every plant that the closed-form tests read, named after the test and the order in it."""
    import pytest

    found: dict[str, Data] = {}
    known: set[str] = set()
    original: Callable[..., Any] = read.from_data

    class Running:
        test = ""

        def pytest_runtest_setup(self, item: pytest.Item) -> None:
            self.test = re.sub(r"[^\w.-]+", "_", item.nodeid.removeprefix("tests/closed_form/"))[:150]

    running = Running()

    def noting(data: Data, *more: Any, **named: Any) -> Any:
        text = json.dumps(data, sort_keys=True)
        plant = original(data, *more, **named)
        if text not in known:
            known.add(text)
            number = sum(name.startswith(f"closed {running.test} ") for name in found) + 1
            found[f"closed {running.test} {number}"] = json.loads(text)
        return plant

    read.from_data = noting
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            pytest.main(["-q", "-x", "--no-header", "-p", "no:cacheprovider", "tests/closed_form"], [running])
    finally:
        read.from_data = original
    return found


def answer(words: list[str]) -> Data:
    """What a command says: exit code, and its JSON or what it refused."""
    out = io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
            code = command(words)
        return {"exit": code, "json": json.loads(out.getvalue())}
    except Exception as fault:  # a crash is an answer too, to be compared
        return {"exit": 2, "json": None, "fault": f"{type(fault).__name__}: {fault}"}


def commands_for(name: str, quick: bool) -> dict[str, list[str]]:
    """The commands to ask about a plant: the slow study of second circulators for samples only."""
    asked = {key: ["solve", "FILE", *words, "--json"] for key, words in SOLVES.items()}
    for key in OTHERS:
        slow = key == "second-pump" and (quick or not name.startswith("sample"))
        if not slow and not (quick and key == "size" and name.startswith("variant")):
            asked[key] = [key, "FILE", "--json"]
    return asked


def sheet_texts(file: Path) -> list[list[Any]]:
    """Texts of the printed sheets: sheet, text, x, y, sorted."""
    from app.main import main

    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "sheet.svg"
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            main(["print", str(file), "-o", str(out)])
        found: list[list[Any]] = []
        for number, path in enumerate(sorted(out.parent.glob("*.svg")), 1):
            place = (0.0, 0.0)
            for match in re.finditer(
                r'<g [^>]*transform="matrix\(([^)]*)\)"|<text [^>]*?x="([^"]*)" y="([^"]*)"[^>]*>([^<]*)<',
                path.read_text(encoding="utf-8"),
            ):
                if match[1]:
                    a, b, c, d, e, f = (float(x) for x in match[1].split(","))
                    matrix = (a, b, c, d, e, f)
                    continue
                x, y = float(match[2]), float(match[3])
                a, b, c, d, e, f = matrix
                place = (a * x + c * y + e, b * x + d * y + f)
                found.append([number, match[4].strip(), round(place[0], 2), round(place[1], 2)])
    return sorted(found)


def write(path: Path, data: Any) -> None:
    """JSON, compressed; the same data makes the same file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    text = json.dumps(data, ensure_ascii=False).encode()
    path.write_bytes(gzip.compress(text, compresslevel=1, mtime=0))


def load(path: Path) -> Any:
    """What `write` wrote."""
    return json.loads(gzip.decompress(path.read_bytes()))


def record(out: Path, known: Path | None, only: str, quick: bool) -> None:
    """Ask every command about every plant."""
    if known is None:
        chosen = plants()
    else:
        files = sorted((known / "plants").glob("*.plant.json"))
        chosen = {f.name.removesuffix(".plant.json"): json.loads(f.read_text("utf-8")) for f in files}
    chosen = {name: data for name, data in chosen.items() if only in name}
    (out / "plants").mkdir(parents=True, exist_ok=True)
    spent: dict[str, float] = {}
    write(out / "answers" / "kinds.gz", answer(["kinds", "--json"]))
    for name, data in chosen.items():
        file = out / "plants" / f"{name}.plant.json"
        file.write_text(json.dumps(data, ensure_ascii=False, indent=1), encoding="utf-8")
        for key, words in commands_for(name, quick).items():
            before = time.process_time()
            said = answer([str(file) if word == "FILE" else word for word in words])
            write(out / "answers" / f"{name} {key}.gz", said)
            spent[key] = spent.get(key, 0.0) + time.process_time() - before
        if name.startswith("sample"):
            write(out / "sheets" / f"{name}.gz", sheet_texts(file))
    shown = ", ".join(f"{key} {seconds:.1f} s" for key, seconds in spent.items())
    print(f"{len(chosen)} plants recorded in {out}; processor time: {shown}", file=sys.stderr)


def main() -> None:
    """Record the answers of the program as it stands."""
    parser = argparse.ArgumentParser(prog="record_answers", description="Record all commands' answers.")
    parser.add_argument("out", type=Path)
    parser.add_argument("--plants", type=Path, help="take the plants of this earlier record")
    parser.add_argument("--only", default="", help="plants whose name holds this word")
    parser.add_argument("--quick", action="store_true", help="without the slowest commands")
    given = parser.parse_args()
    record(given.out, given.plants, given.only, given.quick)


if __name__ == "__main__":
    main()

"""Measures what has to be quick, each against something that does the same job otherwise.

    python tests/benchmarks/run.py

prints ratios, and says what each compares. The two sides take turns and the best of many
turns counts, so that whatever else the machine does falls on both. Nothing is asserted.
"""

from __future__ import annotations

import datetime
import gc
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from time import perf_counter
from typing import Any

import many_checks
import yaml
from by_hand import screen
from many_checks import write_ruleset

import modrules
from modrules.proofs.proving import prove
from modrules.ruleset.find import find_ruleset
from modrules.screening.binding import bind
from modrules.screening.prepared import Run
from modrules.screening.submission import read_submission
from modrules.trade.markings import parse_marking

ON = datetime.date(2026, 11, 1)
HERE = Path(__file__).parent
#: The grammar of tyre markings as one pattern, with a group for each part.
_MORE = r"(?:\s+(?:XL|EXTRA\s*LOAD|REINFORCED|RF|(?:LR|LOAD\s*RANGE)\s*[B-G]|\d{1,2}\s*PR))*"
_SERVICE = r"(\d{2,3})\s*(?:/\s*(\d{2,3})\s*)?([A-HJ-NP-WY]|A[1-8])"
MARKING = re.compile(
    r"\s*(P|LT)?\s*"
    r"(?:(\d{3})\s*(?:/\s*(\d{2,3})\s*)?|(?:(\d{2}(?:\.5)?)\s*X\s*)?(\d{1,2}(?:\.\d{1,2})?)\s*)"
    rf"(ZR|[RDB-])\s*(\d{{1,2}}(?:\.5)?)\s*(LT|C)?({_MORE})"
    rf"(?:\s+(?:{_SERVICE}|\(\s*{_SERVICE}\s*\)))?(?:\s+(?:{_SERVICE}|\(\s*{_SERVICE}\s*\)))?"
    rf"({_MORE})\s*",
    re.ASCII | re.IGNORECASE,
)


def best(
    sides: Sequence[Callable[[], Any]], turns: int, *, collecting: bool = False
) -> list[float]:
    """The shortest time of each side in seconds; they take turns.

    Garbage is collected meanwhile only where ``collecting`` says so.
    """
    times = [float("inf")] * len(sides)
    if not collecting:
        gc.disable()
    for _ in range(turns):
        for index, side in enumerate(sides):
            start = perf_counter()
            side()
            times[index] = min(times[index], perf_counter() - start)
    gc.enable()
    gc.collect()
    return times


def told(what: str, side: float, other: float, against: str, target: float) -> None:
    sides = f"{shown(side)}, {against} {shown(other)}"
    print(f"{side / other:7.2f}  (at most {target:g})  {what} {sides}", flush=True)


def shown(seconds: float) -> str:
    if seconds < 1e-3:
        return f"{seconds * 1e6:.1f} µs"
    return f"{seconds * 1e3:.1f} ms" if seconds < 1 else f"{seconds:.2f} s"


def screening() -> None:
    """The demo against the full jurisdiction, all facts exact."""
    ruleset = modrules.load_ruleset("orrinmark", on=ON)
    demo = find_ruleset("orrinmark") / "submissions" / "needs-plates.yaml"
    bound = bind(read_submission(demo), ruleset.typed, ruleset.layout, ON, fragment=True)
    checks = {check.id: check for check in ruleset.typed.checks}
    engine, by_hand = best(
        [
            lambda: Run(ruleset, bound).screen(),
            lambda: screen(bound.world, Run(ruleset, bound).held, checks),
        ],
        2000,
    )
    findings = len(Run(ruleset, bound).screen())
    told(f"screening needs-plates ({findings} findings)", engine, by_hand, "by hand", 1.3)


def loading() -> None:
    """Rulesets of many checks, against reading the same bytes with the C safe loader."""
    per_check = []
    for checks, turns in ((100, 20), (1000, 5), (5000, 2)):
        with tempfile.TemporaryDirectory() as folder:
            made = write_ruleset(Path(folder) / "many", checks)
            files = [path.read_bytes() for path in sorted(made.glob("*.yaml"))]

            def plain(files: list[bytes] = files) -> list[Any]:
                return [yaml.load(data, Loader=yaml.CSafeLoader) for data in files]

            def load(made: Path = made) -> Any:
                return modrules.load_ruleset(made)

            def cached(made: Path = made) -> Any:
                return modrules.load_ruleset(made, cache=True)

            cached()
            full, again, bare = best([load, cached, plain], turns, collecting=True)
            quick, quiet = best([load, plain], turns)
            per_check.append(f"{full / checks * 1e6:.0f} µs of {checks}")
            told(f"loading {checks} checks", full, bare, "yaml.load", 4)
            print(f"{quick / quiet:7.2f}  the same while no garbage is collected")
            told(f"loading {checks} checks with cache=True", again, bare, "yaml.load", 1)
    print(f"         per check: {', '.join(per_check)}")


def proving() -> None:
    """Proofs of rulesets whose checks share next to no facts: the same for each check."""
    per_check = []
    declared = many_checks.FACTS
    for checks in (25, 100, 400):
        many_checks.FACTS = 3 * checks
        with tempfile.TemporaryDirectory() as folder:
            ruleset = modrules.load_ruleset(write_ruleset(Path(folder) / "many", checks))
            (seconds,) = best([lambda ruleset=ruleset: prove(ruleset)], 2, collecting=True)  # type: ignore[misc]
        per_check.append(f"{seconds / checks * 1e3:.1f} ms of {checks}")
    many_checks.FACTS = declared
    print(f"         proofs, per check: {', '.join(per_check)}", flush=True)


def fresh(*arguments: str) -> Callable[[], None]:
    """Runs Python afresh with these arguments, its modules compiled as after an installation."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(Path(modrules.__file__).parents[1]),
        "PYTHONPYCACHEPREFIX": os.environ["MODRULES_CACHE"],
    }
    environment.pop("PYTHONDONTWRITEBYTECODE", None)

    def run() -> None:
        subprocess.run(
            [sys.executable, *arguments], env=environment, stdout=subprocess.DEVNULL, check=False
        )

    return run


def answered(plates: Callable[[], None], *, keep: bool) -> float:
    """The seconds that an answer takes; without ``keep`` no ruleset is kept from before."""
    if not keep:
        for entry in Path(os.environ["MODRULES_CACHE"]).glob("*.ruleset"):
            entry.unlink()
    start = perf_counter()
    plates()
    return perf_counter() - start


def starting() -> None:
    """Fresh processes: what an import costs, and an owner's answer."""
    bare, ours, theirs = best(
        [fresh("-c", ""), fresh("-c", "import modrules"), fresh("-c", "import pydantic")], 15
    )
    told("import modrules", ours - bare, theirs - bare, "import pydantic", 1.5)
    demo = find_ruleset("orrinmark") / "submissions" / "needs-plates.yaml"
    plates = fresh("-m", "modrules.cli", "plates", str(demo), "--ruleset", "orrinmark")
    # The first time also compiles the modules, which is no part of it.
    plates()
    for how, keep in (("ruleset made ready anew", False), ("ruleset kept from before", True)):
        seconds = min(answered(plates, keep=keep) for _ in range(8))
        print(f"{seconds:7.2f} s (aim: 0.5 s)  modrules plates on the demo, {how}", flush=True)


def markings() -> None:
    """Reading tyre markings, against a pattern that matches the same texts."""
    corpus = yaml.safe_load((HERE.parent / "trade" / "markings.yaml").read_text(encoding="utf-8"))
    texts = [str(entry["marking"]) for entry in corpus["valid"]]
    wrong = [str(entry["marking"]) for entry in corpus["invalid"]]
    matching, passing = (sum(map(bool, map(MARKING.fullmatch, each))) for each in (texts, wrong))
    print(
        f"         (the pattern takes {matching} of {len(texts)} markings, and {passing} of "
        f"{len(wrong)} texts that are none: it knows no numbers)"
    )
    parsed, matched = best(
        [
            lambda: [parse_marking(text) for text in texts],
            lambda: [MARKING.fullmatch(text) for text in texts],
        ],
        300,
    )
    told("reading a tyre marking", parsed / len(texts), matched / len(texts), "re.fullmatch", 3)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as kept:
        os.environ["MODRULES_CACHE"] = kept
        for measure in (loading, proving, screening, markings, starting):
            measure()

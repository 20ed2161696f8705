"""A ruleset of any number of checks, for measuring how loading grows."""

from __future__ import annotations

from pathlib import Path

_HEAD = """\
ruleset: many
title: Many checks
edition: "1"
in_force: {from: 2020-01-01}
files: [checks.yaml]
texts:
  - {id: code, title: The code, edition: "1"}
certifications:
  - {id: plate, title: A plate, kind: plate}
conditions:
  - {id: unladen, title: Unladen}
subjects:
  - {id: vehicle, title: The vehicle}
  - {id: axle, title: Axle, list: axles}
kinds:
  - {id: tyres, title: Tyres}
  - {id: suspension, title: Suspension}
facts:
"""

_FACT = """\
  - id: {id}
    title: A length
    type: length
    unit: mm
    range: {{from: 0 mm, to: 3000 mm}}
    question: How long is it?
    measure: With a tape, on level ground.
"""

_CHECKS = (
    """\
  - id: measured-{n}
    title: Length number {n} against its limits
    about: suspension
    per: vehicle
    applies_if: vehicle.length_{a} > {n} mm
    measures: vehicle.length_{a} - vehicle.length_{b}
    bands:
      - {{up_to: {n} mm, outcome: complies}}
      - {{over: {n} mm, up_to: {m} mm, outcome: certification required, certification: plate}}
      - {{over: {m} mm, outcome: not permitted}}
    caution: Measure on level ground, with the tyres at their placard pressure.
    cites: {{text: code, clause: "{n}.1", quote: "shall not exceed"}}
""",
    """\
  - id: required-{n}
    title: Length number {n} in proportion
    about: [tyres, suspension]
    per: vehicle
    requires: vehicle.length_{a} <= 1.07 * vehicle.length_{b} + {n} mm
    exempt_if:
      - condition: vehicle.length_{b} < 900 mm and vehicle.length_{a} < 2 * vehicle.length_{b}
        cites: {{text: code, clause: "{n}.2"}}
    cites: {{text: code, clause: "{n}.1"}}
""",
    """\
  - id: axles-{n}
    title: Height number {n} at each axle
    about: tyres
    per: axle
    requires: axle.height_{a} >= {n} mm and axle.height_{a} <= vehicle.length_{b} / 3
    otherwise: inspect
    question: Is there enough room at full travel?
    cites: {{text: code, clause: "{n}.1"}}
""",
    """\
  - id: over-{n}
    title: Heights number {n} of all axles together
    about: tyres
    per: vehicle
    requires: sum(axle.height_{a} for each axle where axle.height_{b} > {n} mm) <= 3000 mm
    otherwise: caution
    advice: Choose springs of another height.
    cites: {{text: code, clause: "{n}.1"}}
""",
)

FACTS = 40


def write_ruleset(folder: Path, checks: int) -> Path:
    """Writes a ruleset with that many checks of four shapes, and gives its folder."""
    folder.mkdir(parents=True, exist_ok=True)
    facts = [_FACT.format(id=f"vehicle.length_{i}") for i in range(FACTS)]
    facts += [_FACT.format(id=f"axle.height_{i}") for i in range(FACTS)]
    (folder / "ruleset.yaml").write_text(_HEAD + "".join(facts), encoding="utf-8")
    written = ["checks:\n"]
    for n in range(checks):
        shape = _CHECKS[n % len(_CHECKS)]
        a, b = n % FACTS, (n * 7 + 3) % FACTS
        written.append(shape.format(n=n, m=n + 50, a=a, b=b if b != a else (b + 1) % FACTS))
    (folder / "checks.yaml").write_text("".join(written), encoding="utf-8")
    return folder

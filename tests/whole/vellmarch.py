"""A small invented ruleset with its text, and a plan, in files: for the commands on texts."""

from __future__ import annotations

from pathlib import Path

RULESET = """\
ruleset: vellmarch
title: Vellmarch trial rules
edition: "1"
in_force: {from: 2020-01-01}
texts:
  - {id: code, title: The Vellmarch code, edition: "1", file: texts/code.txt}
subjects:
  - {id: vehicle, title: The vehicle}
  - {id: modification, title: Modification, list: modifications}
kinds:
  - {id: lift, title: Lift}
certifications:
  - {id: plate, title: Plate, kind: plate}
facts:
  - {id: lift.height, title: Height of the lift, type: length, unit: mm,
     range: {from: 0 mm, to: 200 mm}, question: How high is the lift?}
  - {id: vehicle.width, title: Width, type: length, unit: mm,
     range: {from: 0 mm, to: 3000 mm}, question: How wide is it?}
checks:
  - id: lift-height
    title: Height of a lift
    about: lift
    per: lift
    measures: lift.height
    bands:
      - {up_to: 50 mm, outcome: complies}
      - {over: 50 mm, outcome: certification required, certification: plate}
    cites: {text: code, clause: "1.1"}
  - id: lift-care
    title: Care with a lift
    about: lift
    per: lift
    requires: lift.height <= 40 mm
    otherwise: not permitted
    cites: {text: code, clause: "1.1"}
  - id: width
    title: Width of the vehicle
    about: lift
    per: lift
    requires: vehicle.width <= 2500 mm
    otherwise: inspect
    question: Does it fit the road?
    cites: {text: code, clause: "1.2"}
"""
WORDS = """\
1 Lifts

1.1 A lift of more than 50 mm takes a plate.

1.2 A wide vehicle is to be judged.

2 Loads

2.1 A load must be tied.
"""
PLAN = """\
submission: A lift
modifications: [{id: lift, kind: lift, height: 60 mm}]
"""
TEXT_FORMATS = ("terminal", "html", "markdown", "sarif")


def written(folder: Path) -> Path:
    """The folder of the ruleset, in a folder that holds the plan too."""
    made = folder / "vellmarch"
    (made / "texts").mkdir(parents=True)
    (made / "ruleset.yaml").write_text(RULESET, encoding="utf-8")
    (made / "texts" / "code.txt").write_text(WORDS, encoding="utf-8")
    (folder / "plan.yaml").write_text(PLAN, encoding="utf-8")
    return made

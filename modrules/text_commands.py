"""The commands on texts: the index of one, pins, editions, coverage; ``cli`` adds them."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from modrules.commands import Add, show
from modrules.problems import ModrulesError, Problem, nearest
from modrules.targets import target_of

if TYPE_CHECKING:
    from modrules.ruleset.flat import FlatRuleset
    from modrules.texts import Text


_NO_TEXT = Problem("no text is at hand", None, "give it: --text ID=FILE")


def add_text_commands(command: Add) -> None:
    """The commands of this module."""
    one = command("text", _text, "the clauses of a text, and what is doubtful about its index")
    one.add_argument("file", metavar="FILE", help="plain text, Markdown, HTML, PDF or Akoma Ntoso")
    one.add_argument("--clause", metavar="CLAUSE", help="show the words of one clause")
    one.add_argument("--find", metavar="WORDS", help="only clauses in which all these words stand")
    _format(one, "terminal", "json")
    one = command("pin", _pin, "note the words that a ruleset's citations rest on, in pins.json")
    _ruleset(one)
    one = command(
        "pins",
        _pins,
        "hold the texts against the pins of a ruleset",
        "exit status: 0 all hold, 1 some don't, 2 there are none or they can't be read",
    )
    _ruleset(one)
    one = command("amended", _amended, "what another edition of a text means for a ruleset")
    _ruleset(one)
    one.add_argument(
        "--before",
        required=True,
        metavar="FILE",
        help="the text as it was; --text ID=FILE gives it as it is now",
    )
    one = command(
        "progress", _progress, "clause by clause: finished, unfinished, not begun or set aside"
    )
    _ruleset(one)
    _format(one, "terminal", "json")
    one = command("coverage", _coverage, "which clauses of a text a ruleset cites, and which not")
    _ruleset(one)
    _format(one, "terminal", "json", "html")


def _format(parser: argparse.ArgumentParser, *formats: str) -> None:
    parser.add_argument("--format", choices=formats, default=formats[0])
    parser.add_argument("--output", metavar="FILE", help="save to a file instead of showing it")


def _ruleset(parser: argparse.ArgumentParser) -> None:
    from modrules.cli import _add_text

    parser.add_argument("ruleset", metavar="RULESET", help="a folder, or the id of a shipped one")
    _add_text(parser)


def _texts_of(arguments: argparse.Namespace) -> tuple[FlatRuleset, Path, dict[str, Text]]:
    """The ruleset, its folder, and the texts given for it or shipped with it."""
    from modrules.api import supplied
    from modrules.cli import _texts
    from modrules.ruleset.load import collect, find_ruleset

    problems: list[Problem] = []
    given = _texts(arguments.text, problems)
    folder = find_ruleset(arguments.ruleset)
    collected = collect(folder)
    problems += collected.errors
    for name in given:
        if name not in collected.ruleset.texts:
            hint = nearest(name, collected.ruleset.texts)
            problems.append(Problem(f'the ruleset cites no text "{name}"', None, hint))
    if problems:
        raise ModrulesError(problems)
    return collected.ruleset, folder, supplied(collected.ruleset, given, cache=True)


def _json(data: Any) -> str:
    return json.dumps(data, ensure_ascii=True, indent=2) + "\n"


def _text(arguments: argparse.Namespace) -> int:
    import modrules
    from modrules.reports.text_pages import clause_page, index_page
    from modrules.texts import resolve, search

    output = target_of(arguments)
    path = Path(arguments.file)
    text = modrules.read_text(path, id="text", title=path.name, cache=True)
    if arguments.clause is not None:
        note = resolve(text, arguments.clause).note
        show(clause_page(text, _clause(text, arguments.clause), note), output)
        return 0
    found = search(text, arguments.find) if arguments.find else tuple(text.clauses.values())
    if arguments.format == "json":
        clauses = [
            {
                "number": clause.number,
                "kind": clause.kind,
                "heading": clause.heading,
                "lines": [clause.first_line, clause.last_line],
                "pages": list(clause.pages) if clause.pages else None,
                "digest": clause.digest,
            }
            for clause in found
        ]
        doubts = [doubt._asdict() for doubt in text.doubts]
        show(_json({"digest": text.digest, "clauses": clauses, "doubts": doubts}), output)
    else:
        show(index_page(text, found, whole=not arguments.find), output)
    return 0


def _clause(text: Text, number: str) -> Any:
    from modrules.texts import resolve

    indices = text.find(number)
    if len(indices) == 1:
        return text.clause_at(indices[0])
    excerpt = resolve(text, number)
    several = excerpt.status == "ambiguous" and not indices
    near = () if several else excerpt.candidates[:8]
    hint = f"it may be {', '.join(near)}" if near else excerpt.note
    if several:
        message = f'"{number}" is a list of clauses: ask for one of them'
    else:
        message = f'{"several clauses have" if indices else "no clause has"} the number "{number}"'
    raise ModrulesError(Problem(message, None, hint))


def _pin(arguments: argparse.Namespace) -> int:
    from modrules.reports.save import save
    from modrules.ruleset.citing import citations_of, pins_file
    from modrules.texts import pin, pins_as_text

    flat, folder, texts = _texts_of(arguments)
    target = pins_file(folder)
    cited = [citation for citation in citations_of(flat) if citation.text in texts]
    if not cited:
        raise ModrulesError(Problem("there is no text to pin to", None, "give it: --text ID=FILE"))
    pins = pin(texts, cited)
    save(pins_as_text(pins), target)
    show(f"{len(pins.pins)} citations pinned in {target}\n", None)
    return 0


def _pins(arguments: argparse.Namespace) -> int:
    from modrules.reports.text_pages import pins_page
    from modrules.ruleset.citing import pins_of
    from modrules.texts import check_pins

    flat, folder, texts = _texts_of(arguments)
    pins = pins_of(folder)
    if pins is None:
        hint = f"pin it: modrules pin {arguments.ruleset}"
        raise ModrulesError(Problem("this ruleset is not pinned", None, hint))
    checked = check_pins(texts, pins)
    show(pins_page(f"{flat.id} {flat.edition}", checked), None)
    return 0 if all(one.holds for one in checked) else 1


def _amended(arguments: argparse.Namespace) -> int:
    import modrules
    from modrules.proofs.progress import set_aside
    from modrules.reports.text_pages import editions_page
    from modrules.ruleset.citing import citations_of
    from modrules.texts import added_and_uncited, affected, changed_and_uncited, compare

    flat, _, texts = _texts_of(arguments)
    given = [one.partition("=")[0] for one in arguments.text]
    if len(given) != 1:
        raise ModrulesError(Problem("give the text as it is now, once: --text ID=FILE"))
    new = texts[given[0]]
    old = modrules.read_text(Path(arguments.before), id=new.id, title=new.title, cache=True)
    comparison = compare(old, new)
    cited = citations_of(flat)
    asides = set_aside(old, flat)
    changed = []
    for one in changed_and_uncited(comparison, old, new, cited):
        around = old.lookup.outwards(old.clauses[one.old].index)
        changed.append((one, next((asides[i] for i in around if i in asides), "")))
    page = editions_page(
        f"{flat.id} {flat.edition}, text {new.id}",
        comparison,
        affected(comparison, old, cited),
        changed,
        added_and_uncited(comparison, old, new, cited),
    )
    show(page, None)
    return 0


def _progress(arguments: argparse.Namespace) -> int:
    from modrules.proofs.progress import progress, progress_as_data
    from modrules.reports.text_pages import progress_page

    output = target_of(arguments)
    flat, _, texts = _texts_of(arguments)
    if not texts:
        raise ModrulesError(_NO_TEXT)
    rows = [(text, progress(text, flat)) for text in texts.values()]
    if arguments.format == "json":
        show(_json({"texts": [progress_as_data(text, found) for text, found in rows]}), output)
    else:
        show("\n".join(progress_page(text, found) for text, found in rows), output)
    return 0


def _coverage(arguments: argparse.Namespace) -> int:
    from modrules.reports.text_pages import coverage_html, coverage_page
    from modrules.ruleset.citing import citations_of
    from modrules.texts import coverage, coverage_as_data

    output = target_of(arguments)
    flat, _, texts = _texts_of(arguments)
    if not texts:
        raise ModrulesError(_NO_TEXT)
    cited = citations_of(flat)
    rows = {name: coverage(text, cited) for name, text in texts.items()}
    if arguments.format == "json":
        data = [coverage_as_data(texts[name], found) for name, found in rows.items()]
        show(_json({"texts": data}), output)
        return 0
    render = coverage_html if arguments.format == "html" else coverage_page
    show("".join(render(texts[name], found) for name, found in rows.items()), output)
    return 0

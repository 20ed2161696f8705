"""Akoma Ntoso: laws in the XML of the OASIS standard LegalDocML, by their own structure.

The elements of the standard say what is a clause, so nothing has to be guessed: the
outline is made from them, and a plain body of text is written along with it.
Entities and document types are refused, whether they do harm or not.
"""

from __future__ import annotations

from xml.parsers import expat

from modrules.problems import ModrulesError, Place, Problem
from modrules.texts import outline as ol
from modrules.texts.akoma_elements import (
    ANNEX_NAME,
    ATTACHED,
    BLOCKS,
    CLAUSES,
    DEFINED,
    OUTER,
    PARTS,
    SILENT,
    TABLE_NAME,
    Level,
    Note,
    Table,
    bare,
)
from modrules.texts.builder import Builder
from modrules.texts.citations import canonical, definition_key, heading_key
from modrules.texts.furniture import Roll
from modrules.texts.numbers import ANNEXES, styles_of
from modrules.texts.outline import Outline
from modrules.texts.words import clean

MOST_DEEP = 200  # elements in one another


def akoma_as_text(data: bytes, path: str) -> tuple[Roll, Outline]:
    """The body and the outline of an Akoma Ntoso document.

    Raises ModrulesError for XML that is damaged, is something else, or declares
    entities or a document type.
    """
    reader = _Reader(path)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.buffer_text = True
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.data
    parser.StartDoctypeDeclHandler = reader.refuse_doctype
    parser.EntityDeclHandler = reader.refuse_entity
    parser.ExternalEntityRefHandler = reader.refuse_external
    reader.parser = parser
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        message = f"The XML is damaged: {expat.errors.messages.get(error.code, 'not well formed')}."
        place = Place(path, error.lineno, error.offset + 1)
        raise ModrulesError(Problem(message, place)) from None
    except (LookupError, ValueError):
        raise ModrulesError(Problem("The XML is damaged: its encoding is not known.",
                                    Place(path, 1))) from None  # fmt: skip
    return reader.finished()


def _refuse(path: str, message: str, line: int = 0) -> ModrulesError:
    hint = "Save the document again without a document type; no text of the law needs one."
    return ModrulesError(Problem(message, Place(path, line), hint))


class _Reader:
    def __init__(self, path: str) -> None:
        self.path = path
        self.parser: expat.XMLParserType | None = None
        self.builder = Builder("", {}, lambda *_: None)
        self.levels: list[Level] = []
        self.names: list[str] = []
        self.parts = ["\n"]
        self.length = 1
        self.numbers: list[int] = []
        self.words: list[str] = []
        self.line = 1
        self.silent = 0
        self.tables: list[Table] = []
        self.notes: list[Note] = []  # that are open, in one another
        self.noted: list[tuple[str, int, str]] = []  # marker, line, words: to be written
        self.owner_changed = False
        self.pending = 0  # the line of a number that was written and no words yet

    # ---- what is refused --------------------------------------------------------

    def _at(self) -> int:
        return self.parser.CurrentLineNumber if self.parser is not None else 0

    def refuse_doctype(self, *_: object) -> None:
        raise _refuse(self.path, "The XML has a document type, which is refused.", self._at())

    def refuse_entity(self, *_: object) -> None:
        raise _refuse(self.path, "The XML declares an entity, which is refused.", self._at())

    def refuse_external(self, *_: object) -> int:
        raise _refuse(self.path, "The XML refers to an external entity, which is refused.",
                      self._at())  # fmt: skip

    # ---- elements ---------------------------------------------------------------

    def start(self, name: str, attributes: dict[str, str]) -> None:
        name = name.rpartition(" ")[2]
        if not self.names and name != "akomaNtoso":
            raise ModrulesError(Problem(
                f"This is XML, but no Akoma Ntoso: it starts with <{name}>.", Place(self.path, 1),
                "Save the text as HTML or as plain text."))  # fmt: skip
        if len(self.names) >= MOST_DEEP:
            raise ModrulesError(Problem(
                f"The XML has more than {MOST_DEEP} elements in one another.",
                Place(self.path, self._at())))  # fmt: skip
        self.names.append(name)
        if name in SILENT:
            self.silent += 1
        if self.silent:
            return
        if name == "authorialNote":
            marker = " ".join(clean(attributes.get("marker", "")).split())[:12]
            self.notes.append(Note(marker, self._at(), self.words, len(self.noted)))
            self.words = []
        elif self.notes:
            self.words.append(" " if name in BLOCKS else "")
        elif name in PARTS or name in CLAUSES or name in ATTACHED:
            self._flush_all()
            if name == "hcontainer" and attributes.get("name", "").capitalize() in ANNEXES:
                name = "attachment"
            self.levels.append(Level(name, len(self.builder.stack) - 1, self._at()))
        elif name in ("num", "heading", "subheading", "docTitle", "def"):
            if "".join(self.words).strip():
                if name != "def":
                    self._flush()
            elif name == "def":
                self.names[-1] = DEFINED
        elif name == "table":
            self._flush()
            self._open_all()
            self.tables.append(Table(len(self.builder.stack) - 1))
        elif name in BLOCKS and not (self._in_row() and name != "tr"):
            self._flush()
            if name == "tr" and self.tables:
                self.tables[-1].data = False
            if name in ("wrapUp", "listWrapUp"):
                self.owner_changed = True
        elif name in ("td", "th"):
            if self.tables:
                self.tables[-1].data |= name == "td"
            if "".join(self.words).strip():
                self.words.append(" | ")
        elif name in ("br", "eol"):
            self.words.append(" ")

    def end(self, name: str) -> None:
        name = self.names.pop()
        if name in SILENT:
            self.silent -= 1
            return
        if self.silent:
            return
        if name == "authorialNote":
            words, note = self._taken(), self.notes.pop()
            self.words = note.around
            if words:
                self.noted.insert(note.place, (note.marker, note.line, words))
        elif not self.notes:
            self._end(name)

    def _end(self, name: str) -> None:
        level = self.levels[-1] if self.levels else None
        if name in ("num", "heading", "subheading", "docTitle") and level and not level.opened:
            if name == "num":
                level.num = self._taken()
                return
            if name != "docTitle" or level.name in ATTACHED:
                words = self._taken()
                if name == "subheading":
                    level.subheading = f"{level.subheading} {words}".strip()
                else:
                    level.heading = f"{level.heading} {words}".strip()
                return
        if name == DEFINED:
            self._define(" ".join("".join(self.words).split()))
        elif name == "table":
            self._flush()
            self.builder.close_to(self.tables.pop().depth, self.length)
            self.owner_changed = True
        elif name == "caption" and self.tables:
            self._caption(self.tables[-1])
        elif name == "tr" and self.tables:
            self._row(self.tables[-1])
        elif name in PARTS or name in CLAUSES or name in ATTACHED:
            self._flush_all()
            self._close()
        elif self._in_row():
            self.words.append(" ")
        elif name in BLOCKS:
            self._flush()

    def _in_row(self) -> bool:
        """Whether a row of a table is being read: its cells stay on one line."""
        return bool(self.tables) and "tr" in self.names

    def _taken(self) -> str:
        """The words that were being read, on one line."""
        words = " ".join(clean("".join(self.words)).split())
        self.words = []
        return words

    def data(self, data: str) -> None:
        if self.silent:
            return
        if not self.words:
            if not data.strip():
                return
            self.line = self._at()
        self.words.append(data)

    # ---- clauses ----------------------------------------------------------------

    def _write(self, words: str, line: int) -> None:
        self.parts.append(words + "\n\n")
        self.length += len(words) + 2
        self.numbers += (self.pending or line, line)
        self.pending = 0

    def _flush(self) -> None:
        """Write the words of the block that was being read."""
        words = self._taken()
        if not words:
            return
        self._open_all()
        if self.owner_changed:
            self.builder.give(self.length)
            self.owner_changed = False
        self._write(words, self.line)

    def _flush_all(self) -> None:
        """Write the block that was being read, and the notes: a clause's own words end here."""
        self._flush()
        if self.noted:
            self._open_all()
        noted, self.noted = self.noted, []
        for marker, line, told in noted:
            self._add(ol.NOTE, f"note {marker}".strip(), told, line)

    def _add(self, kind: str, name: str, words: str, line: int) -> None:
        """Write a note or a row, which holds no clauses, below the innermost open clause."""
        builder = self.builder
        depth, base = len(builder.stack) - 1, builder.stack[-1].base
        if depth + 1 < ol.MOST_DEEP:
            builder.add(kind, f"{base}, {name}" if base else name, self.length, self.length)
        self._write(words, line)
        builder.close_to(depth, self.length)
        self.owner_changed = True

    def _caption(self, table: Table) -> None:
        """A table is a clause by the number in its caption."""
        match = TABLE_NAME.match("".join(self.words).strip())
        builder = self.builder
        if match is not None and len(builder.stack) < ol.MOST_DEEP:
            table.key = " ".join(match[0].split())
            opened = builder.add(ol.TABLE, table.key, self.length, self.length + len(table.key))
            opened.base = table.key
            self.owner_changed = False
        self._flush()

    def _row(self, table: Table) -> None:
        """A row of a table that is a clause; its head is the table's own."""
        if not (table.key and table.data):
            self._flush()
            return
        table.rows += 1
        self._add(ol.ROW, f"row {table.rows}", self._taken(), self.line)

    def _open_all(self) -> None:
        for level in self.levels:
            if not level.opened:
                self._open(level)

    def _open(self, level: Level) -> None:
        level.opened = True
        builder = self.builder
        if level.name == "crossHeading" or not (level.num or level.heading):
            return
        if len(builder.stack) >= ol.MOST_DEEP:
            builder.doubt("too deep", self.length, f"more than {ol.MOST_DEEP} levels",
                          builder.stack[-1].index)  # fmt: skip
            return
        level.depth = len(builder.stack) - 1
        if level.name in ATTACHED and not level.num:
            named = ANNEX_NAME.match(level.heading)
            if named is not None:
                level.num, rest = named[0], level.heading[named.end() :]
                level.heading = rest.strip(" .:—–-")
        start = self.length
        label = level.num
        kind, key, base = self._named(level)
        opened = builder.add(kind, key, start, start + len(label))
        self.owner_changed = False
        opened.base, opened.number = base or key, bare(level.num)
        if heading := f"{level.heading} {level.subheading}".strip():
            self._write(f"{label} {heading}".strip(), level.line)
        else:
            self.parts.append(label + " ")
            self.length += len(label) + 1
            self.pending = self.pending or level.line

    def _named(self, level: Level) -> tuple[str, str, str]:
        """Kind, key, and what the numbers of items are put behind, of an element's clause."""
        stack = self.builder.stack
        number = bare(level.num)
        annexed = next((o.base for o in reversed(stack) if o.kind is ol.ANNEX), "")
        prefix = annexed + ", " if annexed else ""
        outer = next((o for o in reversed(stack) if o.kind in (ol.CLAUSE, ol.ITEM)), None)
        if level.name in ATTACHED:
            return ol.ANNEX, prefix + (canonical(level.num) or canonical(level.heading)), ""
        if level.name in PARTS and number:
            word = level.num if level.num[:1].isalpha() else f"{PARTS[level.name]} {number}"
            return ol.PART, prefix + canonical(word), ""
        if not number:
            base = next((o.base for o in reversed(stack) if o.kind is not ol.FRONT), "")
            return ol.HEADING, heading_key(level.heading), base
        if level.name == "recital":
            return ol.ITEM, f"{prefix}Recital {number}", ""
        if outer is not None and level.name not in OUTER:
            if number.startswith(outer.number + ".") and outer.number:
                return ol.CLAUSE, prefix + number, ""
            if styles_of(number):
                return ol.ITEM, f"{outer.base}({number})", ""
        return ol.CLAUSE, prefix + number, ""

    def _close(self) -> None:
        level = self.levels.pop()
        if not level.opened:
            self._open(level)
        self.builder.close_to(level.depth, self.length)
        self.owner_changed = True

    def _define(self, term: str) -> None:
        """A definition that begins its block: it runs to the end of what is open."""
        if not term:
            return
        words, self.words = self.words, []
        self._open_all()
        builder = self.builder
        depth = len(builder.stack) - 1
        while depth > 0 and builder.stack[depth].kind is ol.DEFINITION:
            depth -= 1
        builder.close_to(depth, self.length)
        if len(builder.stack) < ol.MOST_DEEP:
            opened = builder.add(ol.DEFINITION, definition_key(term), self.length, self.length)
            builder.terms[opened.index] = term
            self.owner_changed = False
        self.words = words

    def finished(self) -> tuple[Roll, Outline]:
        self._flush_all()
        self.builder.close_to(-1, self.length)
        return Roll("".join(self.parts)[1:], tuple(self.numbers)), self.builder.finished()

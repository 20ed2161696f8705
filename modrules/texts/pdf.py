"""PDF: the text layer of a file, page by page, by an optional library (pypdf)."""

from __future__ import annotations

import io
import logging

from modrules.problems import ModrulesError, Place, Problem
from modrules.texts.furniture import Roll, join_pages
from modrules.texts.words import clean

MOST_PAGES = 10_000
MOST_CHARACTERS = 200_000_000

_DAMAGE = (
    ValueError, KeyError, TypeError, IndexError, AttributeError, OSError, RecursionError,
    NotImplementedError, AssertionError, ImportError,
)  # fmt: skip


def pdf_as_lines(data: bytes, path: str) -> tuple[Roll, tuple[int, ...]]:
    """The lines of a PDF with the page of each, and the pages that hold no text.

    Lines are numbered through the whole document. Raises ModrulesError where the
    library is missing, the file is damaged or encrypted, or no page has text.
    """
    try:
        import pypdf
        from pypdf.errors import DependencyError, PyPdfError
    except ImportError:
        raise _refused(path, "PDF files need the optional library pypdf.",
                       'Install it with: pip install "modrules[pdf]".') from None  # fmt: skip
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    pages: list[list[tuple[int, str]]] = []
    empty: list[int] = []
    try:
        reader = pypdf.PdfReader(io.BytesIO(data))
        if reader.is_encrypted and not reader.decrypt(""):
            raise _refused(path, "The PDF is encrypted.", "Save a copy without a password.")
        if len(reader.pages) > MOST_PAGES:
            raise _refused(path, f"The PDF has more than the limit of {MOST_PAGES:,} pages.",
                           "Split it into its parts.")  # fmt: skip
        line, size = 1, 0
        for number, page in enumerate(reader.pages, 1):
            lines = clean(page.extract_text()).split("\n")
            size += sum(map(len, lines))
            if size > MOST_CHARACTERS:
                raise _refused(path, "The PDF holds more text than the limit of "
                               f"{MOST_CHARACTERS:,} characters.")  # fmt: skip
            if not any(text.strip() for text in lines):
                empty.append(number)
            pages.append([(line + n, text) for n, text in enumerate(lines)])
            line += len(lines)
    except ModrulesError:
        raise
    except DependencyError:
        # The ciphers of newer files take a further library, even where the password is empty.
        hint = "Save a copy without encryption, or print it to a new PDF."
        raise _refused(path, "The PDF is encrypted.", hint) from None
    except (PyPdfError, *_DAMAGE) as error:
        # The library meets damage in many ways, and tells of most by built-in errors.
        locked = "crypt" in str(error).lower()
        kind = "encrypted in a way that cannot be read" if locked else "damaged"
        hint = "Save it again, or print it to a new PDF."
        raise _refused(path, f"The PDF is {kind}.", hint) from error
    if len(empty) == len(pages):
        hint = "Run a text recognition over it first, or ask for the text itself."
        raise _refused(path, "The PDF holds no text, only pictures of pages.", hint)
    return join_pages(pages), tuple(empty)


def _refused(path: str, message: str, hint: str = "") -> ModrulesError:
    return ModrulesError(Problem(message, Place(path), hint))

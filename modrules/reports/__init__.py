"""Reports: from the JSON report, a plain dict, to what people and tools read.

``shape`` declares the dict; every renderer is a pure function of it.
"""

from typing import Final

#: Each form of a report, and the module here whose ``render`` makes it.
FORMS: Final = {
    "terminal": "terminal",
    "plates": "owner_page",
    "plates in full": "plates",
    "letter": "letter",
    "json": "as_json",
    "html": "html",
    "pdf": "pdf",
    "markdown": "markdown",
    "sarif": "sarif",
}

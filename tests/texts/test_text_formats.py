"""HTML, Akoma Ntoso and PDF; and what is refused of each."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from modrules.problems import ModrulesError
from modrules.texts import Text, read_text, resolve
from tests.texts.pdfs import encrypted, pdf_of
from tests.texts.samples import FIXTURES, fixture, refusal

PAGE = """<!DOCTYPE html>
<html><head><title>9 Not a clause</title><style>p {content: "8 Nor this"}</style>
<script>var clause = "7 Nor this";</script></head>
<body>
<h1>The Quillhaven Code</h1>
<h2>1 Wheels &amp; tyres</h2>
<p>1.1 A wheel must be
<b>sound</b>, and must&nbsp;have:</p>
<!-- 1.2 not this -->
<ol type="a"><li>studs;<li>nuts, which may be
  <ol type="i"><li>steel;</li><li>brass,</li></ol></li></ol>
<p>unless the hub has none.</p>
<p>1.2 The tyre:</p>
<ul><li>(a) is round;</li><li>(b) is black.</li></ul>
<table><caption>Table 1 Sizes</caption>
<tr><th>No</th><th>Size</th></tr>
<tr><td>1</td><td><p>50 mm</p></td></tr>
<tr><td>2</td><td>75 mm</td></tr></table>
<p>2 &lt;script&gt; is a word here.</p>
</body></html>
"""

_SOURCE = "".join(
    f"<FRBR{level}><FRBRthis value='/akn/xq/act/2026/1/{at}'/><FRBRuri value='/akn/xq/act/2026/1'/>"
    f"<FRBRdate date='2026-01-05' name='made'/><FRBRauthor href='#r'/>{more}</FRBR{level}>"
    for level, at, more in (
        ("Work", "!main", "<FRBRcountry value='xq'/>"),
        ("Expression", "eng/!main", "<FRBRlanguage language='eng'/>"),
        ("Manifestation", "eng/!main.xml", ""),
    )
)
META = f"<meta><identification source='#r'>{_SOURCE}</identification></meta>"
ACT = """<?xml version="1.0" encoding="UTF-8"?>
<akomaNtoso xmlns="http://docs.oasis-open.org/legaldocml/ns/akn/3.0">
 <act name="act">
  META
  <preamble><recitals>
    <recital><num>(1)</num><p>Vehicles are many.</p></recital>
    <recital><num>(2)</num><p>Rules help.</p></recital>
  </recitals></preamble>
  <body>
   <part><num>Part 1</num><heading>Opening</heading>
    <section><num>1.</num><heading>Words</heading>
      <intro><p>In this Act:</p></intro>
      <paragraph><num>(a)</num>
        <content><p><def>kerb mass</def> means the mass;</p></content></paragraph>
      <paragraph><num>(b)</num><intro><p>words that are</p></intro>
        <subparagraph><num>(i)</num><content><p>old;</p></content></subparagraph>
        <subparagraph><num>(ii)</num><content><p>new,</p></content></subparagraph>
        <wrapUp><p>count.</p></wrapUp>
      </paragraph>
      <wrapUp><p>unless shown otherwise.</p></wrapUp>
    </section>
   </part>
   <part><num>Part 2</num><heading>Duties</heading>
    <section><num>2.</num><heading>Driving</heading>
      <subsection><num>(1)</num><content>
        <p>Drive as <ref href="#s1">section 1</ref> says, and:</p>
        <blockList><item><num>(a)</num><p>stop;</p></item>
        <item><num>(b)</num><p>wait.</p></item></blockList>
      </content></subsection>
    </section>
   </part>
  </body>
  <attachments><attachment><heading>Schedule 1</heading><doc name="schedule">META
   <mainBody><paragraph><num>1.</num><content><p>First.</p></content></paragraph></mainBody>
  </doc></attachment></attachments>
 </act>
</akomaNtoso>
""".replace("META", META)


def saved(tmp_path: Path, name: str, source: str | bytes) -> Path:
    path = tmp_path / name
    path.write_bytes(source if isinstance(source, bytes) else source.encode())
    return path


def tiled(text: Text) -> bool:
    return "".join(text.body[s.start : s.end] for s in text.spans) == text.body


# ---- HTML -----------------------------------------------------------------------


def test_html_has_the_clauses_of_the_page(tmp_path: Path) -> None:
    text = read_text(saved(tmp_path, "code.html", PAGE), id="t")
    assert list(text.clauses) == [
        "the quillhaven code", "1", "1.1", "1.1(a)", "1.1(b)", "1.1(b)(i)", "1.1(b)(ii)", "1.2",
        "1.2(a)", "1.2(b)", "Table 1", "Table 1, row 1", "Table 1, row 2", "2",
    ]  # fmt: skip
    assert text.clauses["1.1"].own_words == (
        "A wheel must be sound, and must have: unless the hub has none."
    )
    assert text.clauses["1"].heading == "Wheels & tyres"
    assert text.clauses["1.1"].first_line == 7
    assert text.clauses["Table 1, row 2"].first_line == 18
    assert resolve(text, "Table 1, row 1", "50 mm").status == "found"
    assert tiled(text)


def test_scripts_styles_and_comments_are_ignored(tmp_path: Path) -> None:
    text = read_text(saved(tmp_path, "code.html", PAGE), id="t")
    for word in ("Nor this", "not this", "Not a clause", "var clause"):
        assert word not in text.body
    assert "<script>" in text.body  # as a word that was escaped in the page


@pytest.mark.parametrize("name", ["page.txt", "page", "page.HTM"])
def test_html_is_known_by_its_start_or_name(tmp_path: Path, name: str) -> None:
    assert "1.2(b)" in read_text(saved(tmp_path, name, PAGE), id="t").clauses


def test_html_says_its_encoding(tmp_path: Path) -> None:
    page = '<html><meta charset="iso-8859-2"><p>1 Příklad.</p></html>'
    text = read_text(saved(tmp_path, "p.html", page.encode("iso-8859-2")), id="t")
    assert text.clauses["1"].words == "Příklad."
    assert text.doubts == ()


@pytest.mark.parametrize(
    "page",
    [
        "<a " * 50_000,
        "<!--" * 50_000,
        "<script>" * 50_000,
        "<1" * 50_000 + ">",
        "<a =\">" * 50_000,
        "</" * 50_000,
        "<![" * 50_000,
        "<p>" * 50_000,
        "<table><tr><td>" * 20_000,
        "<ol><li>" * 20_000,
        "&#" * 50_000,
        "<p>1 One" + "<b" * 50_000,
    ],
)  # fmt: skip
def test_hostile_html_is_read_in_the_end(tmp_path: Path, page: str) -> None:
    assert tiled(read_text(saved(tmp_path, "p.html", "<html>" + page), id="t"))


# ---- Akoma Ntoso ----------------------------------------------------------------


def test_akoma_ntoso_has_the_clauses_of_its_elements(tmp_path: Path) -> None:
    text = read_text(saved(tmp_path, "act.xml", ACT), id="t")
    assert list(text.clauses) == [
        "Recital 1", "Recital 2", "Part 1", "1", "1(a)", "definition of kerb mass", "1(b)",
        "1(b)(i)", "1(b)(ii)", "Part 2", "2", "2(1)", "2(1)(a)", "2(1)(b)", "Schedule 1",
        "Schedule 1, 1",
    ]  # fmt: skip
    assert text.doubts == ()
    assert text.clauses["1"].heading == "Words"
    assert text.clauses["1"].own_words == "In this Act: unless shown otherwise."
    assert text.clauses["1(b)"].own_words == "words that are count."
    assert text.clauses["2(1)"].label == "(1)"
    assert text.clauses["2(1)(b)"].first_line == 28
    assert resolve(text, "section 1(b)(ii)").excerpt == (
        "In this Act: … (b) words that are … (ii) new, count. unless shown otherwise."
    )
    assert resolve(text, "Schedule 1, paragraph 1").excerpt == "First."
    assert tiled(text)


ENTITIES = '<!DOCTYPE a [<!ENTITY b "{}">]>'


@pytest.mark.parametrize(
    ("xml", "word"),
    [
        (ACT.replace("<akoma", '<!DOCTYPE a SYSTEM "a.dtd"><akoma', 1), "document type"),
        (ACT.replace("<akoma", ENTITIES.format("words") + "<akoma", 1), "document type"),
        (ACT.replace("<akoma", ENTITIES.format("&#38;b;&#38;b;") + "<akoma", 1), "document type"),
        (ACT.replace("First.", "&b;"), "damaged"),
        (ACT[:900], "damaged"),
        ('<?xml version="1.0"?><feed/>', "no Akoma Ntoso"),
        ("<?xml version='1.0'?><akomaNtoso>" + "<p>" * 300, "in one another"),
        ("<?xml version='1.0' encoding='x-none'?><akomaNtoso/>", "damaged"),
    ],
)
def test_xml_that_is_refused(tmp_path: Path, xml: str, word: str) -> None:
    assert word in refusal(saved(tmp_path, "act.xml", xml))


def test_place_of_damaged_xml(tmp_path: Path) -> None:
    with pytest.raises(ModrulesError) as caught:
        read_text(
            saved(tmp_path, "act.xml", "<?xml version='1.0'?>\n<akomaNtoso>\n<a></b>"), id="t"
        )
    place = caught.value.problems[0].place
    assert place is not None
    assert place.line == 3


# ---- PDF ------------------------------------------------------------------------


def manual_pages() -> list[list[str]]:
    """The departmental manual, printed on pages with running heads and page numbers."""
    source = (FIXTURES / "model_code.txt").read_text(encoding="utf-8").split("\n")
    rows = 36
    return [
        ["Caldermoor Model Code", "", *source[at : at + rows], "", f"Page {at // rows + 1}"]
        for at in range(0, len(source), rows)
    ]


def test_pdf_has_the_clauses_and_pages(tmp_path: Path) -> None:
    text = read_text(saved(tmp_path, "code.pdf", pdf_of(manual_pages())), id="t")
    plain = fixture("model_code")
    # Without blank lines a heading, and columns without their gaps, are no longer seen.
    lost = {"edition of 2026", "Table 1, row 1", "Table 1, row 2", "Table 1, row 3"}
    assert set(text.clauses) | lost == set(plain.clauses) | lost
    assert "Caldermoor Model Code" not in text.body
    assert "Page 2" not in text.body
    assert text.clauses["1"].pages == (1, 1)
    assert text.clauses["7"].pages == (3, 3)
    excerpt = resolve(text, "4.2.1", "nor more than 26 mm smaller")
    assert (excerpt.status, excerpt.pages) == ("found", (3, 3))
    assert tiled(text)


def test_sentence_over_a_page_break_is_one(tmp_path: Path) -> None:
    pages = [
        ["Code", "", "1 Wheels", "", "1.1 A wheel must be held by as many studs as", "", "Page 1"],
        ["Code", "", "the maker chose, and by no fewer than three.", "", "1.2 Next.", "", "Page 2"],
    ]
    text = read_text(saved(tmp_path, "code.pdf", pdf_of(pages)), id="t")
    assert resolve(text, "1.1", "as many studs as the maker chose").status == "found"
    assert text.clauses["1.1"].pages == (1, 2)
    assert text.clauses["1.2"].pages == (2, 2)


def test_pdf_without_text_on_a_page_is_doubted(tmp_path: Path) -> None:
    text = read_text(saved(tmp_path, "code.pdf", pdf_of([["1 One."], [], ["2 Two."]])), id="t")
    assert [doubt.kind for doubt in text.doubts] == ["page without text"]
    assert "page 2" in text.doubts[0].message


def test_pdf_that_is_refused(tmp_path: Path) -> None:
    whole = pdf_of([["1 One."]])
    assert "no text" in refusal(saved(tmp_path, "scan.pdf", pdf_of([[], []])))
    assert "damaged" in refusal(saved(tmp_path, "cut.pdf", whole[:100]))
    assert "damaged" in refusal(saved(tmp_path, "noise.pdf", b"%PDF-1.4\n" + bytes(range(256))))
    assert "encrypted" in refusal(saved(tmp_path, "lock.pdf", encrypted(whole, "secret")))


def test_pdf_with_an_empty_password_is_read(tmp_path: Path) -> None:
    data = encrypted(pdf_of([["1 One."]]), "")
    assert list(read_text(saved(tmp_path, "open.pdf", data), id="t").clauses) == ["1"]


def test_pdf_without_the_library_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pypdf", None)
    assert "modrules[pdf]" in refusal(saved(tmp_path, "code.pdf", pdf_of([["1 One."]])))

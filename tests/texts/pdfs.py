"""Small PDF files made from lines of text, for the tests."""

from __future__ import annotations

import io


def pdf_of(pages: list[list[str]]) -> bytes:
    """A PDF with one line of Windows-1252 text under the other on each page."""
    objects: list[bytes] = []
    kids = " ".join(f"{4 + 2 * n} 0 R" for n in range(len(pages)))
    objects.append(b"<< /Type /Catalog /Pages 2 0 R >>")
    objects.append(f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>".encode())
    objects.append(b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica "
                   b"/Encoding /WinAnsiEncoding >>")  # fmt: skip
    for number, lines in enumerate(pages):
        content = b"BT /F1 10 Tf 50 800 Td 12 TL\n"
        for line in lines:
            escaped = line.encode("windows-1252")
            for sign in (b"\\", b"(", b")"):
                escaped = escaped.replace(sign, b"\\" + sign)
            content += b"(" + escaped + b") Tj T*\n"
        content += b"ET"
        objects.append(
            b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Resources << /Font << "
            + f"/F1 3 0 R >> >> /Contents {5 + 2 * number} 0 R >>".encode()
        )
        objects.append(
            b"<< /Length " + str(len(content)).encode() + b" >>\nstream\n" + content
            + b"\nendstream"
        )  # fmt: skip
    out = io.BytesIO()
    out.write(b"%PDF-1.4\n")
    places: list[int] = []
    for number, body in enumerate(objects, 1):
        places.append(out.tell())
        out.write(f"{number} 0 obj\n".encode() + body + b"\nendobj\n")
    table = out.tell()
    out.write(f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n".encode())
    for place in places:
        out.write(f"{place:010} 00000 n \n".encode())
    out.write(
        f"trailer << /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{table}\n%%EOF\n".encode()
    )
    return out.getvalue()


def encrypted_anew(data: bytes) -> bytes:
    """The PDF with the entry of a newer cipher (AES, 256 bits), with which nothing opens it."""

    def noise(count: int) -> bytes:
        return b"<" + b"ab" * count + b">"

    entry = (
        b"/Filter /Standard /V 5 /R 6 /Length 256 /P -4 /O " + noise(48) + b" /U " + noise(48)
        + b" /OE " + noise(32) + b" /UE " + noise(32) + b" /Perms " + noise(16)
        + b" /CF << /StdCF << /CFM /AESV3 /AuthEvent /DocOpen /Length 32 >> >>"
        + b" /StmF /StdCF /StrF /StdCF"
    )  # fmt: skip
    end = b" >>\nstartxref"
    assert data.count(end) == 1
    return data.replace(end, b" /Encrypt << " + entry + b" >> /ID [<00> <00>]" + end)


def encrypted(data: bytes, password: str) -> bytes:
    """The PDF with a password that is asked for on opening."""
    from pypdf import PdfReader, PdfWriter

    writer = PdfWriter(PdfReader(io.BytesIO(data)))
    writer.encrypt(password, algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()

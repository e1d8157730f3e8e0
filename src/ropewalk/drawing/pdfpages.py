"""Pages of a PDF as pictures, to be looked at before they are printed."""

from __future__ import annotations

import io

import pypdfium2

#: dots per inch of a picture
DOTS = 110


def page_pictures(contents: bytes) -> tuple[bytes, ...]:
    """Return every page of a PDF as a PNG.

    Parameters
    ----------
    contents : bytes
        The PDF.
    """
    document = pypdfium2.PdfDocument(contents)
    try:
        return tuple(_picture(page) for page in document)
    finally:
        document.close()


def _picture(page: pypdfium2.PdfPage) -> bytes:
    stream = io.BytesIO()
    page.render(scale=DOTS / 72.0, grayscale=True).to_pil().save(stream, "PNG")
    return stream.getvalue()

"""How many pages a PDF has, read back by another library than wrote it."""

import pypdfium2


def page_count(content: bytes) -> int:
    """Return how many pages a PDF has."""
    document = pypdfium2.PdfDocument(content)
    try:
        return len(document)
    finally:
        document.close()

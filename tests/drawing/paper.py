"""PDF files as paper: rasterised and read by PDFium, which is independent of what writes them."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdfium2


def rasterise(path: Path, dpi: float) -> Iterator[np.ndarray]:
    """Yield each page in grey, (H, W) uint8."""
    with pypdfium2.PdfDocument(path) as file:
        for page in file:
            yield np.asarray(page.render(scale=dpi / 72, grayscale=True).to_pil())


def words(path: Path) -> list[str]:
    """Return the text of each page."""
    with pypdfium2.PdfDocument(path) as file:
        return [page.get_textpage().get_text_bounded() for page in file]
